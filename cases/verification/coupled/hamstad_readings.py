"""What is read off a layered wall and its reference, and how far they may differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.cases.verification.coupled.hamstad_parts import DAY, THIN, Wall
from stemwall.cases.verification.references.physics import Floats, humidity
from stemwall.cases.verification.references.spectral_line import SpectralLine
from stemwall.cases.verification.rig import Bench
from stemwall.solver.model.errors import SolverError
from stemwall.solver.model.settings import Accuracy

TEMPERATURE, HUMIDITY, WATER, HEAT, VAPOUR = "temperature", "humidity", "water", "heat", "vapour"
UNITS = {
    TEMPERATURE: "temperature [°C]",
    HUMIDITY: "relative humidity [-]",
    WATER: "water [kg/m²]",
    HEAT: "heat from indoors [W/m²]",
    VAPOUR: "vapour from indoors [1e-9 kg/(m² s)]",
}

#: suction below which a node counts as saturated [Pa]; changes phi by 1e-8
LEAST = 1.0


@dataclass(frozen=True)
class Limits:
    """Largest differences that hold: of T [K] and phi [-]; of water, heat and vapour as a share of their range."""

    temperature: float = 0.05
    humidity: float = 0.005
    water: float = 0.01
    heat: float = 0.01
    vapour: float = 0.01

    def of(self, quantity: str, expected: Floats) -> float:
        """In the unit of the quantity."""
        share = float(getattr(self, quantity))
        return share if quantity in (TEMPERATURE, HUMIDITY) else share * float(np.ptp(expected))


@dataclass(frozen=True)
class Readings:
    """Rows over time of a wall: T and phi at places, water of layers, heat and vapour from indoors.

    Parameters
    ----------
    wall : Wall
    places : sequence of float
        [m].
    times : sequence of float
        [s].
    """

    wall: Wall
    places: Sequence[float] | Floats
    times: Sequence[float] | Floats

    def reference(self, elements: Sequence[int], order: int = 4, tolerance: float = 1e-6) -> Floats:
        """Rows of the reference, (times, columns)."""
        line = self.wall.reference(elements, order)
        states = self.wall.expected(line, [*self.times], tolerance)
        return np.array([self._of_line(line, t, s) for t, s in zip(self.times, states, strict=True)])

    def solver(self, cells: Sequence[int], accuracy: Accuracy) -> tuple[Floats, Bench]:
        """Rows of the solver, and the bench as it ends."""
        bench, rows = self.wall.bench(cells, accuracy), []
        for time in self.times:
            bench.run_to(time)
            rows.append(self._of_bench(bench, time))
        return np.array(rows), bench

    def plain(self, cells: Sequence[int]) -> Floats:
        """Rows of the solver with the program's default accuracy; not numbers if that run stops with an error."""
        try:
            return self.solver(cells, Accuracy())[0]
        except SolverError:
            return np.full((len(self.times), self.column(VAPOUR) + 1), np.nan)

    def column(self, quantity: str, number: int = 0) -> int:
        """Column of T or phi at a place, water of a layer, heat or vapour."""
        n, layers = len(self.places), len(self.wall.layers)
        first = {TEMPERATURE: 0, HUMIDITY: n, WATER: 2 * n, HEAT: 2 * n + layers, VAPOUR: 2 * n + layers + 1}
        return first[quantity] + number

    def _of_bench(self, bench: Bench, time: float) -> Floats:
        t = bench.along_x(bench.temperature, self.places)
        log_suction = np.log(np.maximum(bench.suction, LEAST))
        u = bench.along_x(log_suction, self.places)
        face = bench.node_at(float(self.wall.bounds[-1]), 0.0)
        water = [bench.water(k) / THIN for k in range(len(self.wall.layers))]
        flows = self._from_indoors(time, bench.temperature[face], log_suction[face])
        return np.concatenate([t, humidity(t, u), water, flows])

    def _of_line(self, line: SpectralLine, time: float, state: Floats) -> Floats:
        t, u = (line.at(values, self.places) for values in state)
        water = [line.water(state, k) for k in range(len(self.wall.layers))]
        return np.concatenate([t, humidity(t, u), water, self._from_indoors(time, state[0, -1], state[1, -1])])

    def _from_indoors(self, time: float, t: Any, u: Any) -> list[float]:
        """Heat through the film [W/m2] and vapour [1e-9 kg/(m2 s)]."""
        end = self.wall.ends[1]
        return [end.film * (end.temperature(time) - float(t)), 1e9 * float(end.inflow(time, t, u)[1])]


@dataclass(frozen=True)
class Wanted:
    """A quantity to compare over time, at one place or of one layer, or at all places at the end.

    Parameters
    ----------
    quantity : str
        One of the names of `UNITS`.
    where : str
        In words.
    number : int or None
        Place or layer; None for all places at the last time.
    """

    quantity: str
    where: str = ""
    number: int | None = 0


def judge(
    name: str,
    source: str,
    readings: Readings,
    wanted: Sequence[Wanted],
    limits: Limits,
    computed: tuple[Floats, Floats, Floats],
    expected: tuple[Floats, Floats],
) -> list[Comparison]:
    """Comparisons of the solver's rows with the reference's.

    ``computed`` are rows on the mesh that is judged, on one of half as many cells, and
    on the first with the program's default accuracy of time; ``expected`` rows on the
    reference's elements and on half as many.  Only the first of each are judged.
    """
    found = []
    for want in wanted:
        if want.number is None:
            first = readings.column(want.quantity)
            index: Any = (-1, slice(first, first + len(readings.places)))
            points, axis, unit = np.asarray(readings.places), "x [m]", UNITS[want.quantity]
        else:
            index = (slice(None), readings.column(want.quantity, want.number))
            points, axis, unit = np.asarray(readings.times) / DAY, "time [d]", UNITS[want.quantity]
        fine, coarse, plain = (rows[index] for rows in computed)
        exact, rough = (rows[index] for rows in expected)
        extra = {
            "error with half the cells": float(np.abs(coarse - exact).max()),
            "error at the program's default accuracy of time (– if the run stops)": float(np.abs(plain - exact).max()),
            "change of the reference from half its elements": float(np.abs(rough - exact).max()),
        }
        title = f"{name}, {want.where}" if want.where else name
        limit = limits.of(want.quantity, exact)
        found.append(compare(title, source, unit, points, fine, exact, limit, axis=axis, extra=extra))
    return found


def closure(name: str, bench: Bench) -> Comparison:
    """Imbalance of energy and water of a bench that has run."""
    shares = bench.closure()
    return compare(name, "conservation", "energy and water imbalance [-]", [1, 2], shares, [0, 0], 1e-8, axis="balance")
