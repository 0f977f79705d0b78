"""Exposed faces under film, sun, long-wave radiation and rain, in ground water or draining: flows and derivatives."""

from __future__ import annotations

import math

from stemwall.solver.kernels.support.exp_log import logarithm
from stemwall.solver.kernels.support.jit import kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    AIR_PV, AIR_T, BETA, C_V, C_W, CON, CON_S, CON_T, DRAIN, EMISSIVITY, FILM, FM, FM_T, GRAVITY, HELD_PC, KELVIN,
    L_V, LEVEL, LONGWAVE, P0, PV, PV_S, PV_T, RHO_W, SIGMA, SUN, SUPPLY, TOTAL, TOTAL_S, UNLIMITED, UPTAKE,
    WATER_FILM, WATER_ROW, WATER_T,
)  # fmt: skip

# isort: on


@kernel
def through_faces(
    temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, bends, loads,
    diagonal, residual, values, flows, rows, with_jacobian, alone,
):  # fmt: skip
    """Exposed faces: film, sun and long-wave radiation (P9), rain and runoff (P10), drains and ground edges (P11).

    face_data (F, 4): thermal resistance [m2 K/W] and vapour resistance [m2 s Pa/kg] of a membrane on the face (zero:
    bare), y of the face [m], and the conductance by which standing water enters it [kg/(m2 s Pa)].
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
        depth = loads[k, LEVEL] - face_data[f, 2]
        row = k
        if loads[k, WATER_FILM] > 0.0 and depth > 0.0:
            # standing water takes the place of air, sky, sun and rain, and has a row of flows of its own
            row = int(loads[k, WATER_ROW])
            film, beta, around = loads[k, WATER_FILM], 0.0, loads[k, WATER_T]
            radiation, emissivity = 0.0, 0.0
            supply, uptake, held = UNLIMITED, face_data[f, 3], -RHO_W * GRAVITY * depth
        if film > 0.0:
            film = 1.0 / (1.0 / film + face_data[f, 0])
        if beta > 0.0:
            beta = 1.0 / (1.0 / beta + face_data[f, 1])
        kelvin = t + KELVIN
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
        if loads[k, DRAIN] > 0.0:
            fl -= width * loads[k, DRAIN] * RHO_W * GRAVITY * part_state[part, CON] * node_state[n, FM]
            fl_s -= width * loads[k, DRAIN] * RHO_W * GRAVITY * part_state[part, CON_S] * node_state[n, FM]
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
        fv_t, fv_s = -width * beta * node_state[n, PV_T], -width * beta * node_state[n, PV_S]
        fl_t = (
            -width
            * loads[k, DRAIN]
            * RHO_W
            * GRAVITY
            * (part_state[part, CON] * node_state[n, FM_T] + part_state[part, CON_T] * node_state[n, FM])
        )
        own = C_W * fl if fl <= 0.0 else 0.0
        q_t = -width * (film + 4.0 * glow) + hv * fv_t + C_V * fv + own + C_W * t_liquid * fl_t
        values[d, 0] -= q_t
        values[d, 1] -= hv * fv_s + C_W * t_liquid * fl_s
        values[d, 2] -= fv_t + fl_t
        values[d, 3] -= fv_s + fl_s
