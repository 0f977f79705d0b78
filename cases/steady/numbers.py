"""From a case to the numbers that standards and codes ask of it, see `stemwall.cases.steady.results`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.batch.refinement import with_ground_to
from stemwall.cases.case_file.case import Case
from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.cases.setup.build import Setup, build
from stemwall.cases.setup.switched_off import GROUND
from stemwall.cases.steady.conduction import R_MOULD, R_OUTSIDE, R_UPRIGHT, Conduction, water_of
from stemwall.cases.steady.frost import amplitude_for, design_winter, freezing_indices
from stemwall.cases.steady.ground_standard import GroundFloor
from stemwall.cases.steady.layers import Line, between_airs, floor_of, level_line, upright_line
from stemwall.cases.steady.results import Frost, FrostPlace, Steady, Year
from stemwall.solver.kernels.support.layout import C_W
from stemwall.solver.model.section import Section
from stemwall.weather.ground import GroundWave, fit_ground_wave

Floats = NDArray[np.float64]

#: ground beside and below, in widths of the building (ISO 10211:2007, 5.2; from memory, to be checked)
REACH = 2.5
#: heat capacity of air at 20 degC [J/(m3 K)]
AIR_HEAT = 1.205 * 1005.0
#: difference of temperature at which the draught of vents is taken [K] (plain choice)
VENT_DIFFERENCE = 5.0
#: return period of the design winter, as codes for frost-protected footings have it (common practice, no source) [a]
RETURN_PERIOD = 100
#: days of the months
DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def steady(
    case: Case, *, ground: float | None = None, years: int = RETURN_PERIOD, freezing_index: float | None = None
) -> Steady:
    """Return the numbers of a case.

    Parameters
    ----------
    case : Case
        The case; its weather and given indoor air make the year, its vents, leakage and supply the air of other spaces.
    ground : float or None
        Conductivity of all soil in place of its own [W/(m K)].
    years : int
        Return period of the winter that frost is computed for [a].
    freezing_index : float or None
        Freezing index of that winter, if it is known [K d].

    Raises
    ------
    CaseError
        With every problem of the case.
    ValueError
        If the section has no given indoor air on its right side.
    """
    return _Solver(build(case, years=max(1.0, case.run.years)), ground).numbers(years, freezing_index)


class _Solver:
    """One set-up with its conduction, on ground as large as the standard asks for."""

    def __init__(self, setup: Setup, ground: float | None) -> None:
        self.setup, self.materials = setup, dict(setup.materials)
        self.zones = tuple(zone.key for zone in setup.environment.zones)
        spaces = [o.climate for o in setup.section.openings if o.climate not in (OUTDOORS, BESIDE)]
        self.spaces = tuple(dict.fromkeys(spaces))
        self.heated = tuple(key for key in self.spaces if key not in self.zones)
        floors = {key: floor_of(setup.section, key) for key in self.spaces}
        found = {key: floor for key, floor in floors.items() if floor is not None}
        if not found or not self.heated:
            raise ValueError("a section with given indoor air on its right side, the middle of the building")
        self.lowest = min(found, key=lambda key: found[key][0])
        self.house = max(
            (key for key in found if key in self.heated), key=lambda key: found[key][0], default=self.lowest
        )
        self.floors = found
        width = 2.0 * (setup.section.x1 - found[self.lowest][1])
        self.section = self._grown(width)
        outdoors = frozenset({OUTDOORS, BESIDE})
        self.conduction, self.mould = (
            Conduction.of(self.section, self.materials, setup.mesh, outdoors, ground=ground, inside=inside)
            for inside in (None, R_MOULD)
        )
        soil = next((k for k in self.section.materials if self.materials[k].group == "soil"), None)
        key = soil or self.section.materials[0]
        self.ground = float(self.conduction.conductivity[self.section.materials.index(key)])
        water = float(np.ravel(water_of(self.materials[key]))[0])
        self.ground_heat = self.materials[key].heat_capacity + C_W * water
        self.width = width

    def _grown(self, width: float) -> Section:
        """Return the section with ground as far out and down as the standard asks for, closed there."""
        section, reach = self.setup.section, REACH * width
        if not any(self.materials[r.material].group == "soil" for r in section.regions):
            return section
        return with_ground_to(section, min(section.x0, -reach), min(section.y0, -reach))

    def numbers(self, years: int, freezing_index: float | None) -> Steady:
        """Return all numbers."""
        fields = self.conduction.unit_fields()
        resting = self.conduction.flows(fields).real
        mixing = self._mixing(resting)
        weights = self._weights(mixing)
        theta = fields @ weights
        flows = resting @ weights
        airs = self.conduction.airs
        coupling = -float(flows[0]) + self._carried(weights)
        wall, heights = self._wall()
        floor = self._floor(wall)
        below = self._below_grade()
        return Steady(
            self.heated, self.zones, {key: float(weights[airs.index(key)]) for key in self.zones}, coupling, wall,
            heights, self._widths(), floor, below, self._surfaces(theta, weights),
            self._year(wall * heights[0], floor), self._frost(years, freezing_index, weights),
        )  # fmt: skip

    def _mixing(self, flows: Floats) -> Floats:
        """Return what ties airs to each other, (airs, airs) [W/(m K)]: the section, and air that is exchanged."""
        tied = -np.asarray(flows).copy()
        np.fill_diagonal(tied, 0.0)
        airs = self.conduction.airs
        for zone, table in self._exchanged().items():
            for source, conductance in table.items():
                if source in airs:
                    i, j = airs.index(zone), airs.index(source)
                    tied[i, j] += conductance
                    tied[j, i] += conductance
        return tied

    def _exchanged(self) -> dict[str, dict[str, float]]:
        """Return the heat that air carries into each computed air, by where it comes from [W/(m K)]."""
        found: dict[str, dict[str, float]] = {}
        for zone in self.setup.environment.zones:
            table = found.setdefault(zone.key, {})
            for stream in zone.streams:
                table[stream.source] = table.get(stream.source, 0.0) + AIR_HEAT * float(stream.flow.mean())
            if zone.vents is not None:
                draught = replace(zone.vents, wind=np.array([float(zone.vents.wind.mean())]))
                flow = draught.flow(0, VENT_DIFFERENCE, 0.0)
                table[zone.vents.source] = table.get(zone.vents.source, 0.0) + AIR_HEAT * flow
        return found

    def _weights(self, tied: Floats) -> Floats:
        """Return the temperature of each air with heated air at 1 and outdoors at 0."""
        airs = self.conduction.airs
        found = np.array([1.0 if key in self.heated else 0.0 for key in airs])
        free = [airs.index(key) for key in self.zones if key in airs]
        if free:
            matrix = np.diag(tied[free].sum(axis=1)) - tied[np.ix_(free, free)]
            found[free] = np.linalg.solve(matrix, tied[free] @ found)
        return found

    def _carried(self, weights: Floats) -> float:
        """Return the heat that air carries from unheated spaces to the outdoors [W/(m K)]."""
        airs = self.conduction.airs
        return sum(
            table.get(OUTDOORS, 0.0) * float(weights[airs.index(zone)])
            for zone, table in self._exchanged().items()
            if zone in airs
        )

    def _wall(self) -> tuple[float, tuple[float, float]]:
        """Return the transmittance of the house wall, and its height above the floor and above grade."""
        level = self.floors[self.house][0]
        top = self.section.y1
        line = level_line(self.conduction, self.materials, top - 1e-6, ground=False)
        if line is None or top - level <= 0.0:
            return 0.0, (0.0, 0.0)
        return 1.0 / (R_OUTSIDE + line.resistance + R_UPRIGHT), (top - level, top)

    def _widths(self) -> tuple[float, float]:
        """Return the half width of the floor by inner and outer dimensions [m]."""
        inner = self.floors[self.lowest][1]
        built = [
            r for r in self.section.regions if self.materials[r.material].hatch not in GROUND and r.y1 > 0.0 > r.y0
        ]
        outer = min((r.x0 for r in built), default=inner)
        return self.section.x1 - inner, self.section.x1 - outer

    def _floor(self, wall: float) -> GroundFloor:
        """Return the floor in the terms of ISO 13370."""
        level, left, _ = self.floors[self.lowest]
        middle = 0.5 * (left + self.section.x1)
        ground = upright_line(self.conduction, self.materials, middle, level + 1e-6)
        side = self._below_grade_line()
        thickness = self._widths()[1] - self._widths()[0]
        given = {
            "width": self.width, "wall": thickness, "conductivity": self.ground, "capacity": self.ground_heat,
            "floor": 0.0 if ground is None else ground.resistance,
        }  # fmt: skip
        if self.lowest in self.zones:
            above = between_airs(self.conduction, self.materials, middle, level)
            carried = self._exchanged().get(self.lowest, {}).get(OUTDOORS, 0.0) / (0.5 * self.width)
            upright = 0.0 if side is None else 1.0 / (R_OUTSIDE + side.resistance + R_UPRIGHT)
            rise = max(0.0, self.floors[self.house][0])
            through = upright * rise / (0.5 * self.width)
            return GroundFloor(
                "suspended floor", **given, depth=max(0.0, -level),
                suspended=0.0 if above is None else above.resistance, ventilation=carried + through,
            )  # fmt: skip
        if level < -0.1:
            return GroundFloor(
                "basement", **given, depth=-level, basement_wall=0.0 if side is None else side.resistance
            )
        return GroundFloor("slab on ground", **given)

    def _below_grade_line(self) -> Line | None:
        level = self.floors[self.lowest][0]
        if level >= 0.0:
            return None
        return level_line(self.conduction, self.materials, 0.5 * level, ground=True)

    def _below_grade(self) -> float | None:
        line = self._below_grade_line()
        return None if line is None or line.resistance <= 0.0 else 1.0 / line.resistance

    def _surfaces(self, theta: Floats, weights: Floats) -> dict[str, tuple[float, float, float, str]]:
        """Return the lowest temperature factor of the surfaces of each space, and where it is."""
        network, airs = self.conduction.network, self.mould.airs
        held = self.mould.unit_fields() @ weights
        found: dict[str, tuple[float, float, float, str]] = {}
        for node, k, part in zip(network.face_node, network.face_surface, network.face_scv, strict=True):
            key = network.surfaces[k].climate
            if key not in self.spaces or weights[airs.index(str(key))] <= 0.0:
                continue
            factor = float(held[node] / weights[airs.index(str(key))])
            if str(key) not in found or factor < found[str(key)][0]:
                region = self.section.regions[int(network.scv_region[part])].name
                found[str(key)] = factor, float(network.node_x[node]), float(network.node_y[node]), region
        return found

    def _waves(self) -> tuple[GroundWave, GroundWave]:
        """Return the yearly waves of the outdoors and of the given indoor air of the house."""
        year = self.setup.ground.year
        hours = min(8760, self.setup.hours)
        stamps = np.datetime64(self.setup.start, "h") + np.arange(hours)
        day = (stamps - stamps.astype("datetime64[Y]").astype("datetime64[h]")).astype(float) / 24.0 + 0.5 / 24.0
        indoors = self.setup.climates[self.house].temperature[:hours]
        return year.ground_wave(), fit_ground_wave(day, indoors)

    def _year(self, wall: float, floor: GroundFloor) -> Year:
        """Return the heat of the year below the house wall."""
        outdoors, indoors = self._waves()
        fields = self.conduction.yearly_fields()
        yearly = self.conduction.flows(fields)
        resting = self.conduction.flows(self.conduction.unit_fields())
        airs = self.conduction.airs
        heated = np.array([key in self.heated for key in airs])
        day = np.cumsum(DAYS) - 0.5 * DAYS
        turn = np.exp(2j * np.pi * day / 365.0)

        def amplitudes(wave: GroundWave) -> complex:
            return complex(-wave.amplitude * np.exp(-2j * np.pi * wave.coldest_day / 365.0))

        means = np.where(heated, indoors.mean, outdoors.mean).astype(np.complex128)
        waves = np.where(heated, amplitudes(indoors), amplitudes(outdoors))
        at_rest = self._given(resting, means, heated).real
        moving = self._given(yearly, waves, heated)
        # the house wall stores little: it follows at once
        at_rest -= wall * (indoors.mean - outdoors.mean)
        moving -= wall * (amplitudes(indoors) - amplitudes(outdoors))
        hours = 24.0 * DAYS
        months = (at_rest + (moving * turn).real) * hours / 1000.0
        return Year(months, self._standard(floor, outdoors, indoors, day) * hours / 1000.0, float(at_rest) * 8.76,
                    floor.stationary * (indoors.mean - outdoors.mean) * 8.76)  # fmt: skip

    def _given(
        self, flows: NDArray[np.complex128], temperature: NDArray[np.complex128], heated: NDArray[np.bool_]
    ) -> complex:
        """Return what heated airs give at temperatures of all airs, those of unheated spaces found first [W/m]."""
        tied = flows.copy()
        airs = self.conduction.airs
        for zone, table in self._exchanged().items():
            for source, conductance in table.items():
                if source in airs and zone in airs:
                    i, j = airs.index(zone), airs.index(source)
                    tied[i, i] += conductance
                    tied[j, j] += conductance
                    tied[i, j] -= conductance
                    tied[j, i] -= conductance
        free = [airs.index(key) for key in self.zones if key in airs]
        known = temperature.copy()
        if free:
            known[free] = 0.0
            known[free] = np.linalg.solve(tied[np.ix_(free, free)], -(tied[free] @ known))
        return complex((tied @ known)[heated].sum())

    def _standard(self, floor: GroundFloor, outdoors: GroundWave, indoors: GroundWave, day: Floats) -> Floats:
        """Return the heat of ISO 13370 by month [W/m]."""
        inner, outer = floor.periodic
        lead, lag = floor.lags
        month = 365.0 / 12.0

        def swing(wave: GroundWave, shift: float) -> Floats:
            return np.asarray(wave.amplitude * np.cos(2.0 * np.pi * (day - wave.coldest_day + shift) / 365.0))

        return np.asarray(
            floor.stationary * (indoors.mean - outdoors.mean)
            - inner * swing(indoors, lead * month)
            + outer * swing(outdoors, -lag * month)
        )

    def _frost(self, years: int, stated: float | None, weights: Floats) -> Frost:
        """Return the frost of the design winter."""
        outdoors, indoors = self._waves()
        winter = design_winter(freezing_indices(self.setup.ground.year), years, stated)
        amplitude = amplitude_for(winter.index, outdoors.mean)
        network, airs = self.conduction.network, self.conduction.airs
        share = np.array([weights[airs.index(key)] if key != OUTDOORS else 0.0 for key in airs])
        means = outdoors.mean + share * (indoors.mean - outdoors.mean)
        # spaces whose air is not given go with the outdoors by what they lack of the indoors
        swings = amplitude * (1.0 - share)
        lowest = self.conduction.unit_fields() @ means - np.abs(self.conduction.yearly_fields() @ swings)
        places = tuple(
            FrostPlace(
                probe.name, float(lowest[np.argmin(np.hypot(network.node_x - probe.x, network.node_y - probe.y))])
            )
            for probe in self.section.probes
            if probe.kind == "footing"
        )
        column = np.flatnonzero((np.abs(network.node_x - self.section.x0) < 1e-9) & (network.node_y <= 0.0))
        column = column[np.argsort(-network.node_y[column])]
        return Frost(winter, _crossing(-network.node_y[column], lowest[column]), places)


def _crossing(depth: Floats, lowest: Floats) -> float:
    """Return the depth at which the lowest temperature rises above zero [m]; 0 where it never lies below."""
    frozen = np.flatnonzero(lowest < 0.0)
    if not frozen.size:
        return 0.0
    k = int(frozen[-1])
    if k + 1 >= depth.size:
        return float(depth[-1])
    return float(np.interp(0.0, lowest[k : k + 2], depth[k : k + 2]))
