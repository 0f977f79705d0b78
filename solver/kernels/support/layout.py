"""What the kernels of the balances share: constants, and the columns of their arrays.

Unknowns per node: temperature T [degC] and a stretched potential y of the suction p_c [Pa] that keeps every range
nearly linear: pressure where saturated, logarithm where capillary, relative
humidity where dry,

    p_c = P0 y (y < 0),   P0 sinh y (y <= Y1),   Kelvin's suction of RH1 - (y - Y1) D1 beyond,

smooth to the first derivative.  Material tables run over s = asinh(p_c / P0).
Names ending in _S are derivatives with respect to y.
"""

from __future__ import annotations

import math

import numpy as np

# An index of this kind is never taken for one that counts from the end, which spares a test at every access.  It is
# for nothing but access: a sum of it and a signed number would be a float.
unsigned = np.uint64

# Constants repeat stemwall.materials.water and stemwall.weather.moistair, so that the folder of compiled code need
# not be named after other rooms' files; tests hold them equal.
P0 = 100.0  # scale of the stretched potential [Pa]
RHO_W = 1000.0  # density of water [kg/m3]
R_V = 461.5  # gas constant of water vapour [J/(kg K)]
GRAVITY = 9.81  # [m/s2]
C_W = 4180.0  # specific heat of liquid water [J/(kg K)]
C_V = 1870.0  # specific heat of water vapour [J/(kg K)]
L_V = 2.5e6  # latent heat of evaporation at 0 degC [J/kg]
L_F = 3.34e5  # latent heat of freezing at 0 degC [J/kg]
C_I = 2000.0  # specific heat of ice [J/(kg K)]
CLAPEYRON = RHO_W * L_F / 273.15  # suction of water at ice per kelvin of undercooling [Pa/K]
FULL = 300.0  # suction round zero over which ice comes to bear the pressure in full pores [Pa]; no source
SPREAD = 0.2  # undercooling over which freezing begins gently [K]
IMPEDANCE = 7.0 * math.log(10.0)  # liquid conductivity falls by 10^-7 as ice fills the pores (Lundin 1990, from memory)
SIGMA = 5.670374e-8  # Stefan-Boltzmann constant [W/(m2 K4)]
KELVIN = 273.15
AIR_PERMEABILITY = 1.9664e-10  # vapour permeability of still air at 20 degC [kg/(m s Pa)]
AIR_EXPONENT = 0.81  # its growth with absolute temperature [-]
C_A = 1005.0  # specific heat of air [J/(kg K)]
MIXING = 0.622 / 101325.0  # vapour per kilogram of dry air and pascal at sea level [1/Pa]

# The dry branch of the potential: begins at suction P1, humidity RH1 at 20 degC, slope D1
P1 = 2.0e6
RT_REFERENCE = RHO_W * R_V * 293.15
Y1 = math.asinh(P1 / P0)
RH1 = math.exp(-P1 / RT_REFERENCE)
D1 = RH1 * math.sqrt(P1 * P1 + P0 * P0) / RT_REFERENCE
DRIEST = 1e-3  # relative humidity at 20 degC below which the dry branch stops
DRIEST_POTENTIAL = Y1 + (RH1 - DRIEST) / D1

# Columns of the node state, those first that flows along edges need.  TOTAL is the suction of all water were it
# liquid.  Where there is ice, the liquid has the suction PC + PRESS: PC holds it in the pores and says how much of it
# there is, PRESS (negative) is the pressure of ice that fills them.  _T and _S are derivatives with respect to T and y.
PV, FM, PC, PRESS, PV_T, PV_S, FM_T, PC_T, PC_S, PRESS_S, TOTAL, TOTAL_S, RH, RH_S, FV, FV_T = range(16)
NODE_COLUMNS = 16
# What only the sub-control volumes of a node ask for besides.  TAB.. are places in the tables: TAB_ALL that
# of TOTAL, TAB_ICE that of the suction of ice, zero without any; PER_ROOT is the slope of the place of PC over PC.
TAB_ICE, TAB_ICE_T, TAB_ALL, TAB_ALL_S, PER_ROOT = range(16, 21)
# Nodes are evaluated in blocks, each column of which fills BLOCK places; the unknowns stand behind the state.  At
# fixed places of one array, the compiler sees that columns do not overlap and does four nodes at once.
BLOCK = 64
BLOCK_T, BLOCK_Y, BLOCK_SIZE = 21 * BLOCK, 22 * BLOCK, 23 * BLOCK
# Columns of the state of a sub-control volume
FLOW, CON, VAP, LAM, ICE, WATER, ICE_T, ICE_S, FLOW_T, FLOW_S, CON_T, CON_S, VAP_T, VAP_S, LAM_T, LAM_S = range(16)
SCV_COLUMNS = 16
# Columns of the material tables over suction
T_WATER, T_FLOW, T_VAPOUR, T_LAMBDA, T_FROZEN = range(5)
# Columns of the loads on a surface
(
    AIR_T, AIR_PV, FILM, BETA, LONGWAVE, EMISSIVITY, SUN, AVAILABLE_WATER, UPTAKE_CONDUCTANCE, PRESCRIBED_SUCTION,
    DRAIN,
) = range(11)  # fmt: skip
# ... and standing water before it: its level [m] and temperature, the film in it, zero where there is none, and the row
# under which what passes between it and the face is booked
LEVEL, WATER_T, WATER_FILM, WATER_ROW = range(11, 15)
LOAD_COLUMNS = 15
UNLIMITED = 1e33  # supply of a surface that offers whatever is taken [kg/(m2 s)]
