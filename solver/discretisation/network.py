"""The network: nodes at the mesh corners and everything that joins them.

Unknowns live at the corners of the cells, so that every interface and every
exposed surface carries a node of its own: temperature and potential are
continuous there and the *total* heat and moisture flux is continuous, whatever
the two materials are.  A corner that a membrane cuts gets one node per side.

Vocabulary
    node     a corner (or one side of it), with unknowns T and y
    scv      sub-control volume: the share of a node that lies in one material; along the grain of wood a second one,
             without volume, conducts
    edge     joins two sub-control volumes of one material along an edge of a cell, and conducts
    membrane joins two nodes across an interface of no thickness, or a face and the air of a zone
    face     an exposed length of a node that meets a surface (a climate or an edge of the section)
    surface  one balance line: a climate (or edge of the section) seen by one region in one direction
    link     air that moves between two nodes, or between a node and a climate
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.mesh import Mesh
from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.model.climate import Facing
from stemwall.solver.model.section import Edge, Finish, Membrane

# Quadrants round a corner, counter-clockwise; quadrants q and q + 1 share an arm.
SW, SE, NE, NW = 0, 1, 2, 3


@dataclass(frozen=True)
class Surface:
    """One balance line: what a region shows to a climate, or the edge of the section.

    ``facing`` is the direction in which the solid looks; ``climate`` is None on
    an edge of kind "ground".  ``length`` [m] is the exposed length.
    ``group`` says what the flows are of where it is not the climate or the ground: a drain, an appliance, air that
    streams in.  What an ``inner`` surface passes on stays within the balance: it lies between the section and an
    air zone.
    """

    name: str
    climate: str | None
    edge: Edge | None
    region: int
    facing: Facing
    finish: Finish | None
    membrane: Membrane | None
    length: float
    drain: bool = False
    group: str = ""
    inner: bool = False

    @property
    def booked(self) -> str:
        """What its flows are of."""
        return self.group or self.climate or "ground"


@dataclass(frozen=True)
class Network:
    """Arrays of the network; lengths N nodes, S sub-control volumes, E edges, M membranes, F faces, L air links.

    node_x, node_y (N,) [m]; corner_node (ny, nx, 4): node of a cell's SW, SE, NE, NW corner or -1;
    corner_scv likewise; scv_node, scv_material (from ``section.materials``, then ``section.grained`` along the
    grain), scv_region (S,), scv_volume (S,) [m2], 0 of those along the grain;
    edge_a, edge_b (E,) sub-control volumes, edge_shape (E,) width over length [-], edge_rise (E,) y_a - y_b [m];
    membrane_a, membrane_b (M,) nodes, membrane_width (M,) [m], membrane_index (M,) or -1 for the films between a
    face and an air zone: membrane_film (M, 2) [W/(m2 K)], [s/m], membrane_surface (M,) or -1;
    face_scv, face_node, face_surface (F,), face_width (F,) [m];
    link_a, link_b (L,) nodes between which air moves, link_b = -1: the climate of
    link_surface (L,); link_edges (L, 2) edges beside it or -1; see `air_paths`.
    """

    mesh: Mesh
    node_x: Floats
    node_y: Floats
    corner_node: NDArray[np.int32]
    corner_scv: NDArray[np.int32]
    scv_node: Ints
    scv_material: Ints
    scv_region: Ints
    scv_volume: Floats
    edge_a: Ints
    edge_b: Ints
    edge_shape: Floats
    edge_rise: Floats
    membrane_a: Ints
    membrane_b: Ints
    membrane_width: Floats
    membrane_index: Ints
    membrane_surface: Ints
    membrane_film: Floats
    face_scv: Ints
    face_node: Ints
    face_surface: Ints
    face_width: Floats
    surfaces: tuple[Surface, ...]
    link_a: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    link_b: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    link_surface: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    link_edges: Ints = field(default_factory=lambda: np.zeros((0, 2), dtype=np.int64))

    @property
    def nodes(self) -> int:
        """Number of nodes, N."""
        return int(self.node_x.size)
