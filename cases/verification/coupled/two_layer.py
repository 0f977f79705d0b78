"""Condensation in a two-layer wall: capillary-active layer outside, insulation inside."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import FACTOR, RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import DAY
from stemwall.cases.verification.references.method_of_lines import End, Layer, Line
from stemwall.cases.verification.references.similarity import CONSERVED, STANDARD, EnergyForm, kelvin_suction
from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.reference import en15026, two_layer_insulation
from stemwall.materials.water import saturation_pressure
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
DAYS = np.array([1.0, 10, 30, 60, 90, 95, 100, 120, 180])
OUTER, INNER = 0.10, 0.05
THIN = 1e-3
INDOOR, INDOOR_FILM, INDOOR_BETA, OUTDOOR_FILM = (20.0, 0.60), 7.0, 2e-8, 25.0
START = (10.0, 0.80)

# rows: day, water in layer 1 and 2 [kg/m2], T and phi at the interface, T of the outer surface,
# heat [W/m2] and vapour [1e-9 kg/(m2 s)] from the room; vertex-centred finite volumes, 120 + 120 cells,
# liquid enthalpy not carried (computed for the dossier of these cases)
TABLE = np.array(
    (
        (1, 8.0829, 0.00784, 2.8494, 0.8757, 2.4475, 10.3652, 305.5),
        (10, 8.3044, 0.01128, 2.8388, 0.9489, 2.4437, 10.3876, 281.7),
        (30, 8.7771, 0.01555, 2.8302, 0.9793, 2.4435, 10.4075, 272.4),
        (60, 9.4662, 0.0256, 2.8205, 0.9955, 2.4446, 10.4450, 267.8),
        (90, 10.064, 0.122, 2.8248, 0.9993, 2.4525, 10.641, 269.3),
        (95, 9.9263, 0.00666, 24.6968, 0.8790, 24.8339, -2.8338, -522.2),
        (100, 9.7377, 0.00448, 24.7223, 0.7570, 24.8483, -2.8507, -373.9),
        (120, 9.2939, 0.00324, 24.7529, 0.6066, 24.8660, -2.8695, -191.6),
        (180, 8.6299, 0.00281, 24.7673, 0.5248, 24.8756, -2.8779, -92.4),
    )
)


def outdoor_temperature(seconds: float) -> float:
    """Two degrees for 90 days, then 25 [degC]."""
    return 2.0 if seconds <= 90 * DAY else 25.0


def _clustered(start: float, end: float, cells: int) -> Floats:
    """Lines crowding at both ends."""
    u = np.linspace(-1.0, 1.0, cells + 1)
    return np.asarray(start + (end - start) * 0.5 * (1 + np.tanh(1.6 * u) / np.tanh(1.6)))


def lines(cells: int) -> tuple[Floats, Floats]:
    """Mesh lines of the two layers [m]."""
    return _clustered(0.0, OUTER, cells), _clustered(OUTER, OUTER + INNER, cells)


def by_method_of_lines(cells: int, form: EnergyForm = CONSERVED) -> Floats:
    """Rows like `TABLE`, by the independent solution."""
    outer, inner = lines(cells)
    layers = (Layer(en15026(), outer), Layer(two_layer_insulation(), inner))
    room = End(lambda t: INDOOR[0], INDOOR_FILM, INDOOR[1] * float(saturation_pressure(INDOOR[0])), INDOOR_BETA)
    rows: list[list[float]] = []
    cold = Line(layers, (End(lambda t: 2.0, OUTDOOR_FILM), room), form)
    warm = Line(layers, (End(lambda t: 25.0, OUTDOOR_FILM), room), form)
    first = cold.run(START[0], kelvin_suction(START[1], START[0]), list(DAYS[DAYS <= 90] * DAY))
    second = warm.run(first[-1, 0], np.exp(first[-1, 1]), list((DAYS[DAYS > 90] - 90) * DAY))
    node = outer.size - 1
    for day, (t, u) in zip(DAYS, np.concatenate([first, second]), strict=True):
        heat, _, vapour = cold.inflow(0.0, t, u, 1)
        kelvin = float(np.exp(-np.exp(u[node]) / (1000.0 * 461.5 * (t[node] + 273.15))))
        rows.append([day, cold.water(u, 0), cold.water(u, 1), t[node], kelvin, t[0], heat, 1e9 * vapour])
    return np.array(rows)


def by_solver(cells: int) -> tuple[Floats, Floats]:
    """Rows like `TABLE` by the solver, and its imbalance of energy and water."""
    outer, inner = lines(cells)

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "left":
            return {"air_temperature": outdoor_temperature(t), "film": OUTDOOR_FILM}
        return air(*INDOOR, INDOOR_FILM, INDOOR_BETA)

    bench = Bench(
        bar([("outer", OUTER), ("inner", INNER)], depth=THIN),
        {"outer": en15026(), "inner": two_layer_insulation()},
        np.concatenate([outer, inner[1:]]),
        [0.0, THIN],
        load,
        temperature=START[0],
        suction=kelvin_suction(START[1], START[0]),
        accuracy=Accuracy(temperature=0.002, humidity=1e-4, saturation=1e-4),
    )
    right = [s.climate for s in bench.network.surfaces].index("right")
    rows = []
    for day in DAYS:
        bench.run_to(day * DAY)
        node = bench.node_at(OUTER, 0.0)
        face = bench.temperature[bench.node_at(OUTER + INNER, 0.0)]
        rows.append(
            [
                day,
                bench.water(0) / THIN,
                bench.water(1) / THIN,
                bench.temperature[node],
                bench.humidity[node],
                bench.temperature[bench.node_at(0.0, 0.0)],
                INDOOR_FILM * (INDOOR[0] - face),
                1e9 * bench.system.flows[right, 1] / THIN,
            ]
        )
    return np.array(rows), bench.closure()


def _against(name: str, source: str, computed: Floats, expected: Floats, note: str = "") -> list[Comparison]:
    columns = (
        (1, "water in the outer layer [kg/m²]", 0.02, "largest difference"),
        (2, "water in the insulation [kg/m²]", 1.3, FACTOR),
        (3, "temperature at the interface [°C]", 0.02, "largest difference"),
        (4, "relative humidity at the interface [-]", 0.005, "largest difference"),
        (5, "temperature of the outer surface [°C]", 0.02, "largest difference"),
        (6, "heat from the room [W/m²]", 3e-3, RELATIVE),
    )
    return [
        compare(
            name,
            source,
            quantity,
            DAYS,
            computed[:, k],
            expected[:, k],
            limit,
            norm,
            axis="time [d]",
            note=note,
        )
        for k, quantity, limit, norm in columns
    ]


def condensation() -> list[Comparison]:
    """Ninety days of condensation at the interface, ninety of drying to the room.

    0.10 m of the EN 15026 material (vapour- and water-tight outside), 0.05 m of insulation without liquid flow;
    start 10 degC, 80 %; outdoors 2 degC for 90 days, then 25 degC behind 25 W/(m² K); room 20 degC, 60 % behind
    7 W/(m² K) and 2e-8 s/m.  Fully coupled: latent heat, vapour, capillary flow.

    60 and 60 cells crowded at the faces; wanted errors 0.002 K, 1e-4.  Two references: a method of lines with
    variable-order backward differences, written apart from the solver (the enthalpy of liquid carried along), and a
    table by vertex-centred finite volumes that leaves it out; the method of lines itself is held to that table
    in the table's equations.
    """
    computed, closure = by_solver(60)
    own = by_method_of_lines(60)
    standard = by_method_of_lines(60, STANDARD)
    table = "vertex-centred finite volumes, adaptive in time (dossier table); liquid enthalpy not carried"
    name = "Two-layer condensation"
    return [
        *_against(name, "method of lines with backward differentiation formulas, same equations", computed, own),
        *_against(name, table, computed, TABLE),
        *_against(f"{name}, method of lines itself in the equations of the table", table, standard, TABLE),
        compare(
            name,
            "conservation",
            "energy and water imbalance [-]",
            [1, 2],
            closure,
            [0, 0],
            1e-8,
            axis="balance",
        ),
    ]
