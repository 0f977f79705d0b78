"""From a mesh to its network."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from stemwall.materials.material import Material
from stemwall.solver.discretisation.boundary_faces import ExposedFaces, with_drains
from stemwall.solver.discretisation.control_volumes import (
    cell_corners,
    edges,
    nodes_of_corners,
    sub_control_volumes,
    with_grain,
)
from stemwall.solver.discretisation.membranes import membranes
from stemwall.solver.discretisation.mesh import Mesh
from stemwall.solver.discretisation.network import Network
from stemwall.solver.model.section import Section


def conducting(section: Section, materials: Mapping[str, Material]) -> tuple[Material, ...]:
    """Materials in the order of ``scv_material``: those drawn, then wood along its grain."""
    grained = (materials[key] for key in section.grained)
    return (*(materials[key] for key in section.materials), *(wood.along or wood for wood in grained))


def build_network(mesh: Mesh) -> Network:
    """Nodes, sub-control volumes, edges, membranes and faces of a mesh.

    Raises
    ------
    SectionError
        If a drain lies in no solid part of the section.
    """
    quadrant_node, node_x, node_y = nodes_of_corners(mesh)
    corner_node = cell_corners(quadrant_node)
    corner_scv, across = sub_control_volumes(mesh, corner_node)
    along_x, along_y, volumes = with_grain(mesh, corner_scv, across)
    scv_node, scv_material, scv_region, scv_volume = volumes
    edge_a, edge_b, edge_shape, edge_rise = edges(mesh, along_x, along_y, scv_node, node_y)
    between = membranes(mesh, quadrant_node)
    faces = ExposedFaces(mesh, corner_node, corner_scv)
    surfaces, face_arrays = with_drains(mesh, faces.surfaces(), faces.arrays(), scv_node, scv_region, node_x, node_y)
    return Network(
        mesh, node_x, node_y, corner_node.astype(np.int32), corner_scv.astype(np.int32),
        scv_node, scv_material, scv_region, scv_volume,
        edge_a, edge_b, edge_shape, edge_rise, *between, *face_arrays, surfaces=surfaces,
    )  # fmt: skip
