"""Plants on the ground: what their leaves evaporate, and what that does to the ground below.

Leaves stand above the thermal resistance of the cover.  They take in sun and longwave, evaporate, and give the
rest to the air and, through that resistance, to the ground; some sun passes between them.  Without heat of their
own they can be taken out of the balance: the ground then meets another film and another gain.  The water comes
out of the soil within reach of the roots, and what dry roots cannot give is not evaporated.

References
----------
.. [1] Shuttleworth, W. J., Wallace, J. S. (1985), Evaporation from sparse crops, Q. J. R. Meteorol. Soc. 111,
   839-855: leaves and ground as two sources that share the air between them (from memory, to be checked).
.. [2] Feddes, R. A., Kowalik, P. J., Zaradny, H. (1978), Simulation of field water use and crop yield: uptake
   falls with suction (form from memory, to be checked; its falling branch is taken over the logarithm here).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.solver.discretisation.network import Network
from stemwall.solver.integration.system import State, System, potential_of_suction
from stemwall.solver.kernels.support.layout import C_W, KELVIN, L_V, SIGMA
from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.model.climate import Climate, FacingLoads
from stemwall.weather.moistair import saturation_pressure

#: suctions [Pa] up to which roots take what leaves ask for, and from which they take nothing: stress begins about
#: there in lawns (common practice, no source); wilting point of soil science
STRESS, WILTING = 5.0e4, 1.5e6


@dataclass(frozen=True)
class Canopy:
    """Balance of leaves hour by hour, arrays of one shape (hours,).

    Parameters
    ----------
    film : Floats
        Convection and longwave between leaves and air [W/(m2 K)].
    gain : Floats
        Sun and net longwave that leaves at air temperature take in [W/m2].
    leaf : Floats
        Heat that evaporation takes per pascal between leaf and air [W/(m2 Pa)].
    deficit, slope : Floats
        Saturation deficit of the air [Pa], slope of saturation [Pa/K].
    resistance : Floats
        Between leaves and ground [m2 K/W].
    air : Floats
        Air temperature [degC].
    """

    film: Floats
    gain: Floats
    leaf: Floats
    deficit: Floats
    slope: Floats
    resistance: Floats
    air: Floats

    @classmethod
    def of(cls, temperature: Floats, humidity: Floats, loads: FacingLoads, sun: Floats, emissivity: float) -> Canopy:
        """Return the balance under a climate's air and loads; ``sun`` is what the leaves absorb [W/m2]."""
        assert loads.leaves is not None
        assert loads.resistance is not None
        kelvin = temperature + KELVIN
        pressure = saturation_pressure(temperature)
        slope = (saturation_pressure(temperature + 0.5) - saturation_pressure(temperature - 0.5)) / 1.0
        return cls(
            film=loads.convective + loads.radiative + 4.0 * emissivity * SIGMA * kelvin**3,
            gain=sun + emissivity * (loads.longwave - SIGMA * kelvin**4),
            leaf=loads.leaves.conductance,
            deficit=(1.0 - humidity) * pressure,
            slope=np.asarray(slope),
            resistance=loads.resistance,
            air=temperature,
        )

    def towards_ground(self, share: float | Floats = 1.0) -> tuple[Floats, Floats]:
        """Film [W/(m2 K)] and gain [W/m2] that the ground meets, if leaves evaporate a share of what they could."""
        film = self.film + share * self.leaf * self.slope
        through = 1.0 / (1.0 + film * self.resistance)
        return film * through, (self.gain - share * self.leaf * self.deficit) * through

    def evaporation(self, ground: float | Floats, share: float | Floats = 1.0) -> Floats:
        """Heat that evaporation takes [W/m2] above ground of a temperature [degC]; dew is left out."""
        leaf, to_ground = share * self.leaf, 1.0 / self.resistance
        warmer = self.gain - leaf * self.deficit + to_ground * (ground - self.air)
        warmer = warmer / (self.film + leaf * self.slope + to_ground)
        return np.asarray(np.maximum(leaf * (self.deficit + self.slope * warmer), 0.0))

    def moistens(self, vapour_film: Floats) -> Floats:
        """Rise of the vapour pressure between the leaves [Pa] behind a film to the air [kg/(m2 s Pa)].

        Over ground as warm as the air, and with water enough [1]_.
        """
        return np.asarray(self.evaporation(self.air) / (L_V * vapour_film))


@dataclass(frozen=True)
class _Patch:
    """Ground of one surface with its plants: nodes of the face and their shares, nodes of the roots and theirs."""

    name: str
    canopy: Canopy
    width: float
    face: Ints
    face_share: Floats
    roots: Ints
    root_share: Floats


class Plants:
    """Draws water for the leaves out of the soil, hour by hour.

    Loads count with leaves that have all the water they ask for; what drier roots leave them without is given back
    to the face as heat here.
    """

    def __init__(
        self, system: System, climates: Mapping[str, Climate], soil: NDArray[np.bool_], absorptance: Floats,
        emissivity: Floats,
    ) -> None:  # fmt: skip
        self.system, network = system, system.network
        self._bends = potential_of_suction(np.array([STRESS, WILTING]))
        self.patches = tuple(
            _patch(network, k, climates[surface.climate], soil, float(absorptance[k]), float(emissivity[k]))
            for k, surface in enumerate(network.surfaces)
            if surface.climate is not None
            and surface.climate in climates
            and climates[surface.climate].facings[surface.facing].leaves is not None
        )

    @property
    def names(self) -> list[tuple[str, str]]:
        """Group and name of what `before` returns the amounts of, two for each surface."""
        rows = ("drawn by roots", "not evaporated for want of water")
        return [("plants", f"plants | {patch.name}: {row}") for patch in self.patches for row in rows]

    def before(self, hour: int, state: State) -> Floats:
        """Add what plants take during an hour to the sources of the system; return it [W/m, kg/(m s)]."""
        given = np.zeros((2 * len(self.patches), 2))
        for number, patch in enumerate(self.patches):
            canopy = _at(patch.canopy, hour)
            ground = float(patch.face_share @ state.temperature[patch.face])
            able = patch.root_share * self._unstressed(state, patch.roots)
            share = float(able.sum())
            drawn = float(canopy.evaporation(ground, share))
            film, gain = canopy.towards_ground()
            less_film, more_gain = canopy.towards_ground(share)
            back = patch.width * float(more_gain - gain + (less_film - film) * (canopy.air - ground))
            source = self.system.source
            source[patch.face, 0] += back * patch.face_share
            given[2 * number + 1, 0] = back
            if drawn > 0.0:
                water = patch.width * drawn / L_V * able / share
                heat = water * C_W * state.temperature[patch.roots]
                source[patch.roots, 0] -= heat
                source[patch.roots, 1] -= water
                given[2 * number] = -heat.sum(), -water.sum()
        return given

    def _unstressed(self, state: State, roots: Ints) -> Floats:
        """Share of what is asked for that roots of some nodes can take [-]: none dry, none frozen."""
        wet = np.interp(state.potential[roots], self._bends, (1.0, 0.0))
        return np.asarray(wet * (state.temperature[roots] > 0.0))


def soil_volumes(network: Network, materials: Sequence[Material]) -> NDArray[np.bool_]:
    """Which sub-control volumes are soil, (S,)."""
    soils = np.array([material.group == "soil" for material in materials], dtype=bool)
    known = network.scv_material < soils.size  # air of zones comes last
    return np.asarray(known & soils[np.minimum(network.scv_material, soils.size - 1)])


def _at(canopy: Canopy, hour: int) -> Canopy:
    return Canopy(*(values[hour] for values in vars(canopy).values()))


def _patch(
    network: Network, number: int, climate: Climate, soil: NDArray[np.bool_], absorptance: float, emissivity: float
) -> _Patch:
    """The plants of a surface; roots thin out in proportion to depth."""
    surface, loads = network.surfaces[number], climate.facings[network.surfaces[number].facing]
    assert loads.leaves is not None
    own = network.face_surface == number
    face, widths = network.face_node[own], network.face_width[own]
    x, y = network.node_x[face], float(network.node_y[face].max())
    scv_x, scv_y = network.node_x[network.scv_node], network.node_y[network.scv_node]
    depth = y - scv_y
    rooted = soil & (scv_x >= x.min() - 1e-9) & (scv_x <= x.max() + 1e-9) & (depth >= 0.0)
    rooted &= depth < loads.leaves.root_depth
    weight = network.scv_volume[rooted] * (1.0 - depth[rooted] / loads.leaves.root_depth)
    sun = loads.absorbed(absorptance) * loads.leaves.shade * loads.solar
    canopy = Canopy.of(climate.temperature, climate.relative_humidity, loads, sun, emissivity)
    roots = network.scv_node[rooted]
    thin = weight / max(float(weight.sum()), 1e-300)  # no roots: none to draw water
    return _Patch(surface.name, canopy, surface.length, face, widths / widths.sum(), roots, thin)
