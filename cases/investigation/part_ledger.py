"""The ledger of a part: heat, vapour and liquid that crossed each of its faces, and what it stores since.

A run is marched once more and looked at every hour.  What passes to air, to the ground at an edge and into drains is
what the run itself books there.  Inside a solid a flow belongs to a path between two nodes; at a node on a face the
part owns a share of the volume, so what enters it there is what leaves along the part's own paths plus what its
share stores.  Flows along paths are those of the ends of hours, joined by straight lines.  What this misses shows at
the inner nodes, whose storage is known: it is led to the faces along the part's paths, by the potential that it
takes [1]_.  So every ledger closes; `PartLedger.led` says how much was led.

References
----------
.. [1] Minimal correction of measured flows in a network by its balances, in the norm of its conductances: data
   reconciliation (method in common use, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from stemwall.cases.investigation.faces import EDGE, Face, faces_of
from stemwall.cases.section.eaves_strip import OUTDOORS
from stemwall.cases.setup.build import Setup
from stemwall.cases.setup.switched_off import OCTOBER_TO_MARCH
from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.integration.system import water_at_saturation
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.settings import YEAR
from stemwall.solver.run import Run, prepare
from stemwall.solver.spin_up import settle

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: what is told apart: heat in total; vapour; liquid [J/m, kg/m]
HEAT, VAPOUR, LIQUID = range(3)
#: names of the two half-years
COLDER, WARMER = "colder half-year", "warmer half-year"
#: the last row: what the run books on no part, and what is left open
OPEN, STREAMS = "not told apart", "air streaming through, standing water"


@dataclass(frozen=True)
class PartLedger:
    """What crossed the faces of a part in each half-year of the last 12 months, or of a shorter run.

    ``flows`` has the shape (seasons, rows, 3), in the order of ``seasons`` and ``rows``, and the kinds of flow of this
    module, positive into the part [J/m], [kg/m]; ``stored`` (seasons, 2) is the change of heat and water [J/m], [kg/m].
    ``faces`` are the first rows.  ``led`` is what was led along paths to close the balances of inner nodes, its amounts
    over all hours and nodes as a share of what crossed the border of the part from hour to hour, heat and water.
    """

    part: str
    hours: int
    seasons: tuple[str, ...]
    months: tuple[str, ...]
    rows: tuple[str, ...]
    faces: tuple[Face, ...]
    flows: Floats
    stored: Floats
    led: tuple[float, float]

    def to_frame(self) -> pd.DataFrame:
        """Return rows by season and name, in kWh/m and kg/m."""
        index = pd.MultiIndex.from_product([self.seasons, self.rows], names=["season", "row"])
        values = self.flows.reshape(-1, 3) / np.array([3.6e6, 1.0, 1.0])
        return pd.DataFrame(values, index=index, columns=["heat", "vapour", "liquid"])


def part_ledger(setup: Setup, part: str, told: Callable[[int, int], None] | None = None) -> PartLedger:
    """March a case and return the ledger of one of its regions.

    Parameters
    ----------
    setup : Setup
        The case.
    part : str
        Name of a region that is seen.
    told : callable, optional
        Called with (hours done, hours in all) every hour of the record.

    Raises
    ------
    KeyError
        If there is no such region.
    SectionError, SolverError
        See `stemwall.solver.run.prepare` and `simulate`.
    """
    run = prepare(
        setup.section, setup.materials, setup.climates, start=setup.start, hours=setup.hours, ground=setup.ground,
        start_settings=setup.start_state, accuracy=setup.accuracy, mesh=setup.mesh, environment=setup.environment,
    )  # fmt: skip
    names = [region.name for region in run.system.network.mesh.section.regions]
    if part not in names:
        raise KeyError(part)
    if setup.spin_up:
        settle(run, setup.spin_up)
    account = _Account(run, names.index(part))
    half = _halves(setup)
    sums = np.zeros((2, len(account.rows), 3))
    stored = np.zeros((2, 2))
    first = max(0, setup.hours - YEAR)
    account.begin()
    for hour in range(setup.hours):
        run.actions.before(hour, run.integrator.state)
        run.integrator.advance_to((hour + 1) * HOUR)
        flows, change = account.hour()
        if hour >= first:
            sums[half[hour]] += flows
            stored[half[hour]] += change
        if told:
            told(hour + 1, setup.hours)
    kept = [k for k in (0, 1) if (half[first:] == k).any()]
    months = _months(setup)
    return PartLedger(
        part, setup.hours - first, tuple((COLDER, WARMER)[k] for k in kept), tuple(months[k] for k in kept),
        tuple(account.rows), tuple(account.faces), sums[kept], stored[kept], account.led,
    )  # fmt: skip


def _first_half(setup: Setup) -> NDArray[np.bool_]:
    stamps = np.datetime64(setup.start, "m") + np.arange(setup.hours) * np.timedelta64(60, "m")
    return np.asarray(np.isin(stamps.astype("datetime64[M]").astype(np.int64) % 12 + 1, OCTOBER_TO_MARCH))


def _northern(setup: Setup) -> bool:
    first, outdoors = _first_half(setup), setup.climates.get(OUTDOORS)
    if outdoors is None or first.all() or not first.any():
        return True
    air = outdoors.temperature[: setup.hours]
    return bool(air[first].mean() <= air[~first].mean())


def _halves(setup: Setup) -> Ints:
    """Zero in hours of the colder half-year, one in others, told by the outdoor air, (hours,)."""
    return np.where(_first_half(setup) == _northern(setup), 0, 1)


def _months(setup: Setup) -> tuple[str, str]:
    names = ("Oct–Mar", "Apr–Sep")
    return names if _northern(setup) else names[::-1]


class _Account:
    """What crosses the faces of a region from hour to hour in a run that stands at the end of an hour."""

    def __init__(self, run: Run, region: int) -> None:
        self.run, network = run, run.system.network
        self.faces = faces_of(network, region)
        self.part = np.flatnonzero(network.scv_region == region)
        self.own = np.isin(np.arange(network.scv_node.size), self.part)
        self.paths = np.flatnonzero(self.own[network.edge_a] & self.own[network.edge_b])
        own = [k for k, surface in enumerate(network.surfaces) if surface.region == region]
        self.surfaces = [k for k in own if not network.surfaces[k].group]
        self.drains = [k for k in own if network.surfaces[k].drain]
        self.full = water_at_saturation(run.system.tables)
        nodes = np.unique(network.scv_node[self.part])
        self.place = np.full(network.nodes, -1, dtype=np.int64)
        self.place[nodes] = np.arange(nodes.size)
        self.nodes = nodes
        leaks = run.actions.leaking.placed
        here = [number for number, node in enumerate(leaks.nodes) if self.place[node] >= 0]
        self.weight = self._weights()
        self.beside = self._beside()
        self.inner = self.weight.sum(axis=0) == 0.0
        self.sheets = _Sheets(run, self.faces, self.place)
        self.in_air = self._groups_in_air()
        self.laplacian = self._laplacian()
        self.streamed = self._streamed()
        self.solve = (
            None if self.streamed or not self.inner.any() else splu(self.laplacian[self.inner][:, self.inner].tocsc())
        )
        self.moved = np.zeros((2, 2))
        #: surfaces of leaks and drains, and places of the nodes that each touches
        self.given = [*(leaks.surfaces[number] for number in here), *self.drains]
        self.given_at = [self._face_nodes(k) for k in self.given]
        self.rows = [
            *(face.name for face in self.faces),
            *(f"given: {leaks.sources[number].name}" for number in here),
            *(network.surfaces[k].group for k in self.drains),
            STREAMS if self.streamed else OPEN,
        ]

    def _streamed(self) -> bool:
        """Whether air that moves, or standing water, meets the part: the run books these on rows of no part."""
        network = self.run.system.network
        ends = np.concatenate([network.link_a, network.link_b])
        return bool(np.isin(ends, self.nodes).any()) or bool(self.run.actions.flooding.spaces)

    def _face_nodes(self, surface: int) -> Ints:
        """Places of the nodes of the part that a surface touches."""
        network = self.run.system.network
        found = self.place[network.face_node[network.face_surface == surface]]
        return np.asarray(found[found >= 0])

    def _weights(self) -> Floats:
        """Share of each face (rows) in what enters through each node of the part (columns); zero inside."""
        found = np.zeros((len(self.faces), self.nodes.size))
        for row, face in enumerate(self.faces):
            for node, width in face.widths.items():
                found[row, self.place[node]] += width
        total = found.sum(axis=0)
        return np.asarray(found / np.where(total > 0.0, total, 1.0))

    def _beside(self) -> Floats:
        """The same without membranes inside solids, whose flows are known, unless there is nothing else at a node."""
        membranes = np.array([face.solid and bool(face.membrane) for face in self.faces])
        others = np.where(membranes[:, None], 0.0, self.weight)
        others = np.where(others.sum(axis=0) > 0.0, others, self.weight)
        total = others.sum(axis=0)
        return np.asarray(others / np.where(total > 0.0, total, 1.0))

    def begin(self) -> None:
        """Note what is there at the start."""
        system = self.run.system
        march = self.run.integrator
        loads = march.loads.at(march.time, march.time)
        system.assemble(march.state, 0.0, np.zeros_like(system.storage), loads, jacobian=False)
        self.left, self.held, self.passing = self._leaving(), self._held(), self.sheets.passing()
        self.through = self.run.integrator.through.copy()

    def hour(self) -> tuple[Floats, Floats]:
        """Flows of the hour that has passed (rows, 3), and the change of what is stored (2,)."""
        left, held, through = self._leaving(), self._held(), self.run.integrator.through.copy()
        along = 0.5 * (self.left + left) * HOUR
        change, booked = held - self.held, through - self.through
        passing = self.sheets.passing()
        sheets = 0.5 * (self.passing + passing) * HOUR
        self.left, self.held, self.through, self.passing = left, held, through, passing
        rows = np.zeros((len(self.rows), 3))
        # what enters the part at each of its nodes: what leaves along its paths and what its share stores
        entering = np.stack([along[:, HEAT], along[:, VAPOUR] + along[:, LIQUID]], axis=1) + change
        self._given(entering, booked, rows)
        self._lead(entering)
        self._through_sheets(entering, sheets, rows)
        self._share(entering, along, booked, rows)
        stored = np.asarray(change.sum(axis=0))
        rows[-1, HEAT] = stored[0] - rows[:-1, HEAT].sum()
        rows[-1, VAPOUR] = stored[1] - rows[:-1, VAPOUR:].sum()
        return rows, stored

    @property
    def led(self) -> tuple[float, float]:
        """See `PartLedger`."""
        moved, crossed = self.moved
        share = moved / np.where(crossed > 0.0, crossed, 1.0)
        return float(share[0]), float(share[1])

    def _given(self, entering: Floats, booked: Floats, rows: Floats) -> None:
        """Fill the rows of leaks and drains, and take them out of what enters at their nodes."""
        for row, (k, nodes) in enumerate(zip(self.given, self.given_at, strict=True), len(self.faces)):
            rows[row] = _told_apart(booked[k])
            entering[nodes] -= _sums(rows[row]) / max(nodes.size, 1)

    def _lead(self, entering: Floats) -> None:
        """Lead what is open at inner nodes to the faces, along the part's paths."""
        if self.solve is None:
            return
        open_ = entering[self.inner]
        potential = np.zeros_like(entering)
        potential[self.inner] = self.solve.solve(open_)
        entering -= self.laplacian @ potential
        self.moved[0] += np.abs(open_).sum(axis=0)
        self.moved[1] += np.abs(entering[~self.inner]).sum(axis=0)

    def _groups_in_air(self) -> list[list[int]]:
        """Rows of the faces in air, those together that meet at a node where no solid lies beyond."""
        in_air = [row for row, face in enumerate(self.faces) if not face.solid]
        only = np.isclose(self.beside[in_air].sum(axis=0), 1.0)
        touches = self.beside[in_air][:, only] > 0.0
        count, label = connected_components(csr_array(touches.astype(np.int64) @ touches.T.astype(np.int64)))
        return [[row for row, own in zip(in_air, label, strict=True) if own == k] for k in range(count)]

    def _laplacian(self) -> csr_array:
        """The part's paths as a matrix: what leaves each node along them at a potential of nodes, (nodes, nodes)."""
        network, count = self.run.system.network, self.nodes.size
        i = self.place[network.scv_node[network.edge_a[self.paths]]]
        j = self.place[network.scv_node[network.edge_b[self.paths]]]
        shape = network.edge_shape[self.paths]
        entries = np.concatenate([shape, shape, -shape, -shape])
        at = np.concatenate([i, j, i, j]), np.concatenate([i, j, j, i])
        return csr_array(coo_array((entries, at), shape=(count, count)))

    def _through_sheets(self, entering: Floats, sheets: Floats, rows: Floats) -> None:
        """Book what passes membranes at nodes that are on another face too, and take it out of what enters there."""
        for sheet, row in enumerate(self.sheets.row.tolist()):
            node = self.sheets.at[sheet]
            if self.weight[row, node] < 1.0 - 1e-9:
                rows[row] += sheets[sheet]
                entering[node] -= _sums(sheets[sheet])

    def _share(self, entering: Floats, along: Floats, booked: Floats, rows: Floats) -> None:
        """Fill the rows of the faces: those in air by what the run booked, others by what else enters at their nodes.

        Where a node is on several faces, what the run booked on an air face beyond its other nodes comes through it;
        other faces share the rest by their lengths.  Vapour is what leaves along the part's paths as vapour, and all
        that its share of the volume stores where there is more of it than of liquid.
        """
        known, left = self._booked(booked), entering.copy()
        for row, face in enumerate(self.faces):
            if not face.solid:
                rows[row] = known.get((face.beyond, face.side, face.membrane), np.zeros(3))
        for group in self.in_air:
            weight = self.beside[group].sum(axis=0)
            alone, shared = weight >= 1.0 - 1e-9, (weight > 0.0) & (weight < 1.0 - 1e-9)
            rest = sum(_sums(rows[row]) for row in group) - left[alone].sum(axis=0)
            left[alone] = 0.0
            if shared.any():
                left[shared] -= np.outer(weight[shared] / weight[shared].sum(), rest)
            else:
                self._to_membranes(alone, rest, rows)
        solid = np.array([face.solid for face in self.faces])
        weights = np.where(solid[:, None], self.beside, 0.0)
        total = weights.sum(axis=0)
        weights = weights / np.where(total > 0.0, total, 1.0)
        left[total == 0.0] = 0.0
        wetter = np.abs(along[:, LIQUID]) > np.abs(along[:, VAPOUR])
        # a node on one face alone tells vapour by its paths; one on several by what there is more of
        pure = np.isclose(total, 1.0)
        vapour = np.where(pure & wetter, along[:, VAPOUR], np.where(wetter, 0.0, left[:, 1] - pure * along[:, LIQUID]))
        phases = np.stack([left[:, 0], vapour, left[:, 1] - vapour], axis=1)
        rows[: len(self.faces)] += weights @ phases

    def _to_membranes(self, nodes: NDArray[np.bool_], rest: Floats, rows: Floats) -> None:
        """Take what faces in air were given too little of out of the membranes that their nodes meet, by length."""
        width = np.where(self.beside > 0.0, 0.0, self.weight)[:, nodes].sum(axis=1)
        if width.sum() > 0.0:
            share = np.outer(width / width.sum(), rest)
            wetter = np.abs(rows[: len(self.faces), LIQUID]) > np.abs(rows[: len(self.faces), VAPOUR])
            rows[: len(self.faces), HEAT] -= share[:, 0]
            rows[: len(self.faces), VAPOUR] -= np.where(wetter, 0.0, share[:, 1])
            rows[: len(self.faces), LIQUID] -= np.where(wetter, share[:, 1], 0.0)

    def _booked(self, booked: Floats) -> dict[tuple[str, str, str], Floats]:
        """What the run booked on the surfaces of the part, by what lies beyond, the side and the membrane on it."""
        sides = {"up": "above", "down": "below", "left": "left", "right": "right"}
        found: dict[tuple[str, str, str], Floats] = {}
        for k in self.surfaces:
            surface = self.run.system.network.surfaces[k]
            beyond = surface.climate if surface.climate and surface.edge is None else EDGE
            key = (beyond, sides[surface.facing], surface.membrane.name if surface.membrane else "")
            found[key] = found.get(key, np.zeros(3)) + _told_apart(booked[k])
        return found

    def _leaving(self) -> Floats:
        """What leaves each node of the part along the part's own paths now, (nodes, 3) [W/m], [kg/(m s)]."""
        system, network = self.run.system, self.run.system.network
        a, b = network.edge_a[self.paths], network.edge_b[self.paths]
        i, j = network.scv_node[a], network.scv_node[b]
        pressure = system.node_state[i, layout.PV] - system.node_state[j, layout.PV]
        conducted = 0.5 * (system.scv_state[a, layout.VAP] + system.scv_state[b, layout.VAP])
        vapour = network.edge_shape[self.paths] * conducted * pressure
        heat, water = system.edge_flux[self.paths].T
        flows = np.stack([heat, vapour, water - vapour], axis=1)
        found = np.zeros((self.nodes.size, 3))
        np.add.at(found, self.place[i], flows)
        np.subtract.at(found, self.place[j], flows)
        return found

    def _held(self) -> Floats:
        """Heat and water of the part's share of each of its nodes, (nodes, 2) [J/m], [kg/m]."""
        system, network, parts = self.run.system, self.run.system.network, self.part
        volume, material, nodes = network.scv_volume[parts], network.scv_material[parts], network.scv_node[parts]
        water = system.scv_state[parts, layout.WATER]
        ice = system.scv_state[parts, layout.ICE] * self.full[material]
        capacity = system.tables.heat_capacity[material] + layout.C_W * (water - ice) + layout.C_I * ice
        heat = volume * (capacity * self.run.integrator.state.temperature[nodes] - layout.L_F * ice)
        found = np.zeros((self.nodes.size, 2))
        np.add.at(found, self.place[nodes], np.stack([heat, volume * water], axis=1))
        return found


class _Sheets:
    """What passes the membranes between a part and other solids, by the node of the part; see `through_sheets`."""

    def __init__(self, run: Run, faces: Sequence[Face], place: Ints) -> None:
        self.run, network = run, run.system.network
        names = [membrane.name for membrane in network.mesh.section.membranes]
        found: list[tuple[int, int, int, int]] = []
        for row, face in enumerate(faces):
            if not (face.solid and face.membrane):
                continue
            own = network.membrane_index == names.index(face.membrane)
            for sheet in np.flatnonzero(own).tolist():
                a, b = int(network.membrane_a[sheet]), int(network.membrane_b[sheet])
                if a in face.widths and b not in face.widths:
                    found.append((sheet, a, b, row))
                elif b in face.widths and a not in face.widths:
                    found.append((sheet, b, a, row))
        self.sheet, self.inside, self.outside, self.row = np.array(found, dtype=np.int64).reshape(-1, 4).T
        self.at = place[self.inside]

    def passing(self) -> Floats:
        """What enters the part through each membrane now, (sheets, 3) [W/m], [kg/(m s)]."""
        system, i, j = self.run.system, self.outside, self.inside
        state, temperature = system.node_state, self.run.integrator.state.temperature
        width, data = system.network.membrane_width[self.sheet], system.membrane_data[self.sheet]
        humidity = 0.5 * (state[i, layout.RH] + state[j, layout.RH])
        share = np.clip((humidity - 0.25) / 0.5, 0.0, 1.0)
        permeance = data[:, 1] + share * (data[:, 2] - data[:, 1])
        air = 0.5 * (state[i, layout.FV] + state[j, layout.FV])
        vapour = width * air * permeance * (state[i, layout.PV] - state[j, layout.PV])
        suction = state[:, layout.PC] + state[:, layout.PRESS]
        liquid = width * data[:, 3] * (suction[j] - suction[i])
        mean = 0.5 * (temperature[i] + temperature[j])
        carried = (layout.L_V + layout.C_V * mean) * vapour + layout.C_W * mean * liquid
        heat = width * data[:, 0] * (temperature[i] - temperature[j]) + carried
        return np.stack([heat, vapour, liquid], axis=1)


def _told_apart(booked: Floats) -> Floats:
    """What a run booked on a surface, in the kinds of this module (3,)."""
    return np.array([booked[0], booked[1], booked[2]])


def _sums(row: Floats) -> Floats:
    """Heat and water of a row (2,)."""
    return np.array([row[HEAT], row[VAPOUR] + row[LIQUID]])
