"""Exposed faces under film, sun, long-wave radiation and rain, in ground water or draining: flows and derivatives."""

from __future__ import annotations

import math

from stemwall.solver.kernels.physics.material_state import saturation_pressure
from stemwall.solver.kernels.physics.membranes import behind_film
from stemwall.solver.kernels.support.exp_log import exponential, logarithm
from stemwall.solver.kernels.support.jit import kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    AIR_EXPONENT, AIR_PV, AIR_T, BETA, C_V, C_W, CON, CON_S, CON_T, DRAIN, EMISSIVITY, FILM, FM, FM_T, FV, GRAVITY,
    HELD_PC, ICE, ICE_S, ICE_T, IMPEDANCE, KELVIN, L_V, LEVEL, LONGWAVE, P0, PV, PV_S, PV_T, RH, RH_S, RHO_W, SIGMA,
    SUN, SUPPLY, TOTAL, TOTAL_S, UNLIMITED, UPTAKE, WATER_FILM, WATER_ROW, WATER_T,
)  # fmt: skip

# isort: on


@kernel
def _through_membrane(humidity, humidity_s, air_per_kelvin, kelvin, around, pressure, dry, wet, film):
    """Permeance of a membrane between a face and air (P8), behind a film, and its slopes over T and y of the node.

    The law is that of a membrane inside the section: the air stands for the node on its other side.
    """
    in_air = pressure / saturation_pressure(around)[0]
    growth = ((around + KELVIN) * (1.0 / 293.15)) ** AIR_EXPONENT
    permeance, by_rh, by_air = behind_film(
        0.5 * (humidity + in_air), 0.5 * (air_per_kelvin * kelvin + growth), dry, wet, film
    )
    return permeance, 0.5 * by_air * AIR_EXPONENT * air_per_kelvin, 0.5 * by_rh * humidity_s


@kernel
def _unit_gradient(n, part, node_state, part_state, viscous):
    """Liquid [kg/(m2 s)] that gravity draws out of a face (P11), as along an edge (P7), and its slopes over T and y."""
    con, ice = part_state[part, CON], part_state[part, ICE]
    fluidity, fluidity_t = 1.0, 0.0
    if viscous:
        fluidity, fluidity_t = node_state[n, FM], node_state[n, FM_T]
    scale = RHO_W * GRAVITY
    if ice > 0.0:
        scale *= exponential(-IMPEDANCE * ice)
    drained = scale * fluidity * con
    drained_t = scale * (fluidity_t * con + fluidity * part_state[part, CON_T])
    drained_s = scale * fluidity * part_state[part, CON_S]
    if ice > 0.0:
        drained_t -= drained * IMPEDANCE * part_state[part, ICE_T]
        drained_s -= drained * IMPEDANCE * part_state[part, ICE_S]
    return drained, drained_t, drained_s


@kernel
def through_faces(
    temperature, node_state, part_state, part_material, viscous, face_node, face_part, face_surface, face_width,
    face_data, bends, loads, diagonal, residual, values, flows, rows, with_jacobian, alone,
):  # fmt: skip
    """Exposed faces: film, sun and long-wave radiation (P9), rain and runoff (P10), drains and ground edges (P11).

    face_data (F, 6): thermal resistance [m2 K/W] of a membrane on the face, its dry and wet permeance at 20 degC
    [kg/(m2 s Pa)] (zero: bare), y of the face [m], the conductance by which standing water enters it [kg/(m2 s Pa)],
    and by how much the suction of hydrostatic rest exceeds that at the foot of its edge [Pa].
    ``bends`` (N,): the potential below which a node refuses some of the rain offered to it, the largest where it has
    several faces; infinite, and left so, where it has none.
    """
    for f in range(face_node.size):
        if not alone or rows[face_node[f]]:
            bends[face_node[f]] = 0.0
    for f in range(face_node.size):
        n, k, width = face_node[f], face_surface[f], face_width[f]
        if alone and not rows[n]:
            continue
        part = face_part[f]
        t = temperature[n]
        film, beta, around = loads[k, FILM], loads[k, BETA], loads[k, AIR_T]
        radiation, emissivity = loads[k, LONGWAVE] + loads[k, SUN], loads[k, EMISSIVITY]
        supply, uptake, held = loads[k, SUPPLY], loads[k, UPTAKE], loads[k, HELD_PC]
        depth = loads[k, LEVEL] - face_data[f, 3]
        held += face_data[f, 5]
        row = k
        if loads[k, WATER_FILM] > 0.0 and depth > 0.0:
            # standing water takes the place of air, sky, sun and rain, and has a row of flows of its own
            row = int(loads[k, WATER_ROW])
            film, beta, around = loads[k, WATER_FILM], 0.0, loads[k, WATER_T]
            radiation, emissivity = 0.0, 0.0
            supply, uptake, held = UNLIMITED, face_data[f, 4], -RHO_W * GRAVITY * depth
        if film > 0.0:
            film = 1.0 / (1.0 / film + face_data[f, 0])
        kelvin = t + KELVIN
        beta_t, beta_s = 0.0, 0.0
        if beta > 0.0 and face_data[f, 1] > 0.0:
            beta, beta_t, beta_s = _through_membrane(
                node_state[n, RH], node_state[n, RH_S], node_state[n, FV] / kelvin, kelvin, around, loads[k, AIR_PV],
                face_data[f, 1], face_data[f, 2], 1.0 / beta,
            )  # fmt: skip
        glow = emissivity * SIGMA * kelvin * kelvin * kelvin
        fv = width * beta * (loads[k, AIR_PV] - node_state[n, PV])
        # water offered: taken up while the surface has suction, given back where it has none
        fl = 0.0
        fl_s = 0.0
        refused = 0.0
        if uptake > 0.0:
            if 0.0 < supply < 1e30:
                suction = max((held + supply / uptake) * (1.0 / P0), 0.0)
                bends[n] = max(bends[n], logarithm(suction + math.sqrt(suction * suction + 1.0)))
            wanted = uptake * (node_state[n, TOTAL] - held)
            if wanted >= supply:
                fl = width * supply
            else:
                fl = width * wanted
                fl_s = width * uptake * node_state[n, TOTAL_S]
                refused = width * supply - fl if supply < 1e30 else 0.0
        fl_t = 0.0
        if loads[k, DRAIN] > 0.0:
            drained, drained_t, drained_s = _unit_gradient(
                n, part, node_state, part_state, viscous[part_material[part]]
            )
            open_width = width * loads[k, DRAIN]
            fl -= open_width * drained
            fl_t -= open_width * drained_t
            fl_s -= open_width * drained_s
        hv = L_V + C_V * t
        t_liquid = around if fl > 0.0 else t
        carried = hv * fv + C_W * t_liquid * fl
        q = width * (film * (around - t) + radiation - glow * kelvin) + carried
        residual[n, 0] -= q
        residual[n, 1] -= fv + fl
        flows[row, 0] += q
        flows[row, 1] += fv
        flows[row, 2] += fl
        flows[row, 3] += refused
        flows[row, 4] += carried
        if not with_jacobian or not rows[n]:
            continue
        d = diagonal[n]
        dpv = loads[k, AIR_PV] - node_state[n, PV]
        fv_t = width * (beta_t * dpv - beta * node_state[n, PV_T])
        fv_s = width * (beta_s * dpv - beta * node_state[n, PV_S])
        own = C_W * fl if fl <= 0.0 else 0.0
        q_t = -width * (film + 4.0 * glow) + hv * fv_t + C_V * fv + own + C_W * t_liquid * fl_t
        values[d, 0] -= q_t
        values[d, 1] -= hv * fv_s + C_W * t_liquid * fl_s
        values[d, 2] -= fv_t + fl_t
        values[d, 3] -= fv_s + fl_s
