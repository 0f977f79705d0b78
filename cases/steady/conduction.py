"""Heat conduction alone in a section: at rest, and in the yearly rhythm, by the network of the solver.

Materials have one conductivity each, at a stated moisture and 10 degC.  Faces have the surface resistances of the
standards instead of films that follow the weather; the edges of the section are closed.  What is linear is solved once
for each air: everything else follows from these solutions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from stemwall.materials.material import Material
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.integration.interfaces import LEAST_RESISTANCE
from stemwall.solver.kernels.support.layout import C_W
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import MeshRule

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: state that conductivities are those of: humidity of what is no soil [-], suction of soil [Pa], temperature [degC]
HUMIDITY, FIELD_CAPACITY, TEMPERATURE = 0.80, 33.0e3, 10.0
#: surface resistances [m2 K/W]: outdoors; inside on upright faces; inside on level ones, heat going down
#: (ISO 6946:2007, table 1; from memory, to be checked)
R_OUTSIDE, R_UPRIGHT, R_DOWN = 0.04, 0.13, 0.17
#: inside, for the temperature of a surface that must not grow mould (ISO 13788:2012; from memory, to be checked)
R_MOULD = 0.25
#: seconds of a year of 365 days
YEAR_SECONDS = 365.0 * 86400.0


def conductivities(materials: Mapping[str, Material], ground: float | None = None) -> dict[str, float]:
    """Return the conductivity of each material [W/(m K)].

    Parameters
    ----------
    materials : mapping
        By the keys of a section.
    ground : float or None
        Conductivity that all soil has instead of its own [W/(m K)].
    """
    found = {}
    for key, material in materials.items():
        own = material.thermal_conductivity(water_of(material), TEMPERATURE)
        found[key] = ground if ground is not None and material.group == "soil" else float(np.ravel(own)[0])
    return found


def water_of(material: Material) -> Floats:
    """Return the water content [kg/m3] that conductivity and heat capacity are those of."""
    soil = material.group == "soil"
    return material.water_content(FIELD_CAPACITY if soil else suction_from_humidity(HUMIDITY))


@dataclass(frozen=True, eq=False)
class Conduction:
    """A section as a linear network.

    Parameters
    ----------
    network : Network
        Nodes and what joins them.
    conductivity : Floats
        Of each material of the section [W/(m K)].
    airs : tuple of str
        Keys of the airs that faces look into.
    films : Floats
        Conductance from each node to each air, (nodes, airs) [W/(m K)].
    inner : csc_array
        Conductances between nodes as a matrix, without films, (nodes, nodes) [W/(m K)].
    capacity : Floats
        Heat capacity of each node, (nodes,) [J/(m K)].
    """

    network: Network
    conductivity: Floats
    airs: tuple[str, ...]
    films: Floats
    inner: csc_array
    capacity: Floats

    @classmethod
    def of(
        cls,
        section: Section,
        materials: Mapping[str, Material],
        rule: MeshRule,
        outdoors: frozenset[str],
        *,
        ground: float | None = None,
        inside: float | None = None,
    ) -> Conduction:
        """Return the network of a section.

        Parameters
        ----------
        section, materials, rule
            What is drawn, of what, and how finely it is cut.
        outdoors : frozenset of str
            Keys of outdoor climates, which count as one.
        ground : float or None
            See `conductivities`.
        inside : float or None
            Surface resistance inside in place of the usual ones [m2 K/W].

        Raises
        ------
        SectionError
            If the section cannot be meshed.
        """
        network = build_network(build_mesh(section, rule))
        used = [materials[key] for key in section.materials]
        found = conductivities({key: materials[key] for key in section.materials}, ground)
        lam = np.array([found[key] for key in section.materials])
        inner = _between_nodes(network, lam)
        airs, films = _to_airs(network, outdoors, inside)
        heat = np.array([m.heat_capacity + C_W * float(np.ravel(water_of(m))[0]) for m in used])
        per_part = network.scv_volume * heat[network.scv_material]
        capacity = np.asarray(np.bincount(network.scv_node, per_part, network.nodes), dtype=np.float64)
        return cls(network, lam, airs, films, inner, capacity)

    def unit_fields(self) -> Floats:
        """Return the temperature of each node with one air at 1 and all others at 0, (nodes, airs)."""
        return np.asarray(splu(self._with(self.films.sum(axis=1))).solve(self.films))

    def yearly_fields(self) -> Complex:
        """Return the same for a yearly wave of each air, as complex amplitudes of exp(2 pi i t / year)."""
        storing = self.films.sum(axis=1) + 2j * np.pi / YEAR_SECONDS * self.capacity
        return np.asarray(splu(self._with(storing)).solve(self.films.astype(np.complex128)))

    def flows(self, fields: Floats | Complex) -> Complex:
        """Return the heat that each air gives (rows) for each of some fields (columns), per air at 1 [W/(m K)]."""
        return np.asarray(np.diag(self.films.sum(axis=0)) - self.films.T @ fields, dtype=np.complex128)

    def _with(self, diagonal: Floats | Complex) -> csc_array:
        """Return the matrix with something more on its diagonal."""
        nodes = np.arange(self.network.nodes)
        return csc_array(self.inner + coo_array((diagonal, (nodes, nodes)), shape=self.inner.shape))


def _between_nodes(network: Network, lam: Floats) -> csc_array:
    """Conductances along paths and through membranes as a matrix."""
    a, b = network.scv_node[network.edge_a], network.scv_node[network.edge_b]
    along = network.edge_shape * lam[network.scv_material[network.edge_a]]
    membranes = network.mesh.section.membranes
    resistance = np.array([max(membranes[m].resistance, LEAST_RESISTANCE) for m in network.membrane_index])
    through = network.membrane_width / resistance if resistance.size else np.zeros(0)
    i, j = np.append(a, network.membrane_a), np.append(b, network.membrane_b)
    g = np.append(along, through)
    entries, rows, columns = np.concatenate([g, g, -g, -g]), np.concatenate([i, j, i, j]), np.concatenate([i, j, j, i])
    return csc_array(coo_array((entries, (rows, columns)), shape=(network.nodes, network.nodes)))


def _to_airs(network: Network, outdoors: frozenset[str], inside: float | None) -> tuple[tuple[str, ...], Floats]:
    """Keys of the airs, outdoors first, and the conductance from each node to each of them."""

    def key(surface: Surface) -> str | None:
        return "outdoors" if surface.climate in outdoors else surface.climate

    keys = [key(surface) for surface in network.surfaces]
    airs = tuple(dict.fromkeys(["outdoors", *(k for k in keys if k is not None)]))
    films = np.zeros((network.nodes, len(airs)))
    for node, k, width in zip(network.face_node, network.face_surface, network.face_width, strict=True):
        air = keys[k]
        if air is not None:
            films[node, airs.index(air)] += width / _resistance(network.surfaces[k], air, inside)
    return airs, films


def _resistance(surface: Surface, air: str, inside: float | None) -> float:
    covered = surface.membrane.resistance if surface.membrane else 0.0
    if air == "outdoors":
        return R_OUTSIDE + covered
    usual = R_UPRIGHT if surface.facing in ("left", "right") else R_DOWN
    return covered + (usual if inside is None else inside)
