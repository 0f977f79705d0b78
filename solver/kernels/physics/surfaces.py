"""What passes the surfaces of a section: exposed faces, and heaters and dehumidifiers of air zones."""

from __future__ import annotations

import math

from stemwall.solver.kernels.physics.material_state import saturation_pressure
from stemwall.solver.kernels.physics.membranes import behind_film
from stemwall.solver.kernels.support.exp_log import exponential, logarithm
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import (
    AIR_EXPONENT,
    AIR_PV,
    AIR_T,
    AVAILABLE_WATER,
    BETA,
    C_V,
    C_W,
    CON,
    CON_S,
    CON_T,
    DRAIN,
    EMISSIVITY,
    FILM,
    FM,
    FM_T,
    FV,
    GRAVITY,
    ICE,
    ICE_S,
    ICE_T,
    IMPEDANCE,
    KELVIN,
    L_V,
    LEVEL,
    LONGWAVE,
    P0,
    PRESCRIBED_SUCTION,
    PV,
    PV_S,
    PV_T,
    RH,
    RH_S,
    RHO_W,
    SIGMA,
    SUN,
    TOTAL,
    TOTAL_S,
    UNLIMITED,
    UPTAKE_CONDUCTANCE,
    WATER_FILM,
    WATER_ROW,
    WATER_T,
)


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
def _unit_gradient(n, part, node, scv, viscous):
    """Liquid [kg/(m2 s)] that gravity draws out of a face (P11), as along an edge (P7), and its slopes over T and y."""
    con, ice = scv[part, CON], scv[part, ICE]
    fluidity, fluidity_t = 1.0, 0.0
    if viscous:
        fluidity, fluidity_t = node[n, FM], node[n, FM_T]
    scale = RHO_W * GRAVITY
    if ice > 0.0:
        scale *= exponential(-IMPEDANCE * ice)
    drained = scale * fluidity * con
    drained_t = scale * (fluidity_t * con + fluidity * scv[part, CON_T])
    drained_s = scale * fluidity * scv[part, CON_S]
    if ice > 0.0:
        drained_t -= drained * IMPEDANCE * scv[part, ICE_T]
        drained_s -= drained * IMPEDANCE * scv[part, ICE_S]
    return drained, drained_t, drained_s


@kernel
def through_faces(subset, u, loads, mode, faces, viscous, state, balance, jacobian):
    """Exposed faces: film, sun and long-wave (P9), rain with its runoff (P10), drains and ground edges (P11).

    Rain is taken up as fast as the conductance of contact lets it while the face has suction, the rest runs off.
    ``uptake_kink`` (N,) takes the potential below which a node refuses some of the rain, the largest where it has
    several faces.  Standing water takes the place of air, sky, sun and rain, and has a row of flows of its own.
    ``viscous`` (S,): whether the liquid of a sub-control volume thins with temperature.
    """
    temperature, rows, node, scv = u.temperature, subset.marked, state.node, state.scv
    blocks, diagonal = jacobian.blocks, jacobian.diagonal
    face_node, face_scv, face_surface = faces.node, faces.scv, faces.surface
    face_width, face_data, uptake_kink = faces.width, faces.data, balance.uptake_kink
    residual, flows = balance.residual, balance.flows
    with_jacobian, subset_only = mode.jacobian, mode.subset_only
    for f in range(face_node.size):
        if not subset_only or rows[face_node[f]]:
            uptake_kink[face_node[f]] = 0.0
    for f in range(face_node.size):
        n, k, width = face_node[f], face_surface[f], face_width[f]
        if subset_only and not rows[n]:
            continue
        scv_of_face = face_scv[f]
        t = temperature[n]
        film, beta, around = loads[k, FILM], loads[k, BETA], loads[k, AIR_T]
        radiation, emissivity = loads[k, LONGWAVE] + loads[k, SUN], loads[k, EMISSIVITY]
        available, conductance, prescribed = (
            loads[k, AVAILABLE_WATER],
            loads[k, UPTAKE_CONDUCTANCE],
            loads[k, PRESCRIBED_SUCTION],
        )
        depth = loads[k, LEVEL] - face_data[f, 3]
        prescribed += face_data[f, 5]
        row = k
        if loads[k, WATER_FILM] > 0.0 and depth > 0.0:
            # standing water takes the place of air, sky, sun and rain, and has a row of flows of its own
            row = int(loads[k, WATER_ROW])
            film, beta, around = loads[k, WATER_FILM], 0.0, loads[k, WATER_T]
            radiation, emissivity = 0.0, 0.0
            available, conductance, prescribed = UNLIMITED, face_data[f, 4], -RHO_W * GRAVITY * depth
        if film > 0.0:
            film = 1.0 / (1.0 / film + face_data[f, 0])
        kelvin = t + KELVIN
        beta_t, beta_s = 0.0, 0.0
        if beta > 0.0 and face_data[f, 1] > 0.0:
            beta, beta_t, beta_s = _through_membrane(
                node[n, RH], node[n, RH_S], node[n, FV] / kelvin, kelvin, around, loads[k, AIR_PV], face_data[f, 1],
                face_data[f, 2], 1.0 / beta,
            )  # fmt: skip
        glow = emissivity * SIGMA * kelvin * kelvin * kelvin
        fv = width * beta * (loads[k, AIR_PV] - node[n, PV])
        # water offered: taken up while the surface has suction, given back where it has none
        fl = 0.0
        fl_s = 0.0
        runoff = 0.0
        if conductance > 0.0:
            if 0.0 < available < 1e30:
                suction = max((prescribed + available / conductance) * (1.0 / P0), 0.0)
                uptake_kink[n] = max(uptake_kink[n], logarithm(suction + math.sqrt(suction * suction + 1.0)))
            uptake = conductance * (node[n, TOTAL] - prescribed)
            if uptake >= available:
                fl = width * available
            else:
                fl = width * uptake
                fl_s = width * conductance * node[n, TOTAL_S]
                runoff = width * available - fl if available < 1e30 else 0.0
        fl_t = 0.0
        if loads[k, DRAIN] > 0.0:
            drained, drained_t, drained_s = _unit_gradient(n, scv_of_face, node, scv, viscous[scv_of_face])
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
        flows[row, 3] += runoff
        flows[row, 4] += carried
        if not with_jacobian or not rows[n]:
            continue
        d = diagonal[n]
        dpv = loads[k, AIR_PV] - node[n, PV]
        fv_t = width * (beta_t * dpv - beta * node[n, PV_T])
        fv_s = width * (beta_s * dpv - beta * node[n, PV_S])
        own = C_W * fl if fl <= 0.0 else 0.0
        q_t = -width * (film + 4.0 * glow) + hv * fv_t + C_V * fv + own + C_W * t_liquid * fl_t
        blocks[d, 0] -= q_t
        blocks[d, 1] -= hv * fv_s + C_W * t_liquid * fl_s
        blocks[d, 2] -= fv_t + fl_t
        blocks[d, 3] -= fv_s + fl_s


@kernel
def through_controls(subset, u, mode, state, balance, jacobian):
    """Heaters and dehumidifiers of air zones (P13).

    controls (., 7): node, kind (0 heats, 1 dries), set point [degC or -], capacity [W/m or kg/(s m)], band, heat per
    kilogram [J/kg], row of flows.
    """
    temperature, rows, node = u.temperature, subset.marked, state.node
    controls, residual, flows = balance.controls, balance.residual, balance.flows
    blocks, diagonal = jacobian.blocks, jacobian.diagonal
    with_jacobian, subset_only = mode.jacobian, mode.subset_only
    for c in range(controls.shape[0]):
        n, row = int(controls[c, 0]), int(controls[c, 6])
        if subset_only and not rows[n]:
            continue
        set_point, capacity, band = controls[c, 2], controls[c, 3], controls[c, 4]
        t = temperature[n]
        if controls[c, 1] == 0.0:
            share = (set_point - t) / band
            slope = -capacity / band if 0.0 < share < 1.0 else 0.0
            q = capacity * min(max(share, 0.0), 1.0)
            residual[n, 0] -= q
            flows[row, 0] += q
            if with_jacobian and rows[n]:
                blocks[diagonal[n], 0] -= slope
            continue
        ps, ps_t = saturation_pressure(t)
        rh = node[n, PV] / ps
        share = (rh - set_point) / band
        active = 0.0 < share < 1.0
        taken = capacity * min(max(share, 0.0), 1.0)
        # the water leaves as liquid at zone temperature; its heat of evaporation stays, and the electricity
        leaves = C_W * t
        residual[n, 0] -= taken * (controls[c, 5] - leaves)
        residual[n, 1] += taken
        flows[row, 0] += taken * (controls[c, 5] - leaves)
        flows[row, 2] -= taken
        flows[row, 4] -= taken * leaves
        if with_jacobian and rows[n]:
            taken_t = 0.0
            taken_s = 0.0
            if active:
                taken_t = capacity / band * (node[n, PV_T] - rh * ps_t) / ps
                taken_s = capacity / band * node[n, PV_S] / ps
            d = diagonal[n]
            blocks[d, 0] -= taken_t * (controls[c, 5] - leaves) - taken * C_W
            blocks[d, 1] -= taken_s * (controls[c, 5] - leaves)
            blocks[d, 2] += taken_t
            blocks[d, 3] += taken_s
