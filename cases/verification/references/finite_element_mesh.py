"""Meshes of drawings for scikit-fem: quadratic elements on graded lines, facets by what they look at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, ElementQuad2, FacetBasis, MeshQuad

from stemwall.cases.verification.references.finite_element_drawing import STEP, Drawing
from stemwall.solver.model.settings import MeshRule

Floats = NDArray[np.float64]
#: Gauss quadrature exact to this degree in each direction
DEGREE = 4


@dataclass(frozen=True)
class Elements:
    """Quadratic elements of a drawing.

    Parameters
    ----------
    drawing : Drawing
    basis : Basis
    filling : mapping of str to array
        Elements of every material.
    faces : mapping of (air, box) to FacetBasis
        Facets of a solid box that look at an air.
    """

    drawing: Drawing
    basis: Any
    filling: Mapping[str, NDArray[np.int64]]
    faces: Mapping[tuple[str, str], Any]

    def at(self, values: Floats, places: Floats) -> Floats:
        """Values of nodal unknowns at places (n, 2) [m]."""
        return np.asarray(self.basis.probes(places.T) @ values)


def build_elements(drawing: Drawing, rule: MeshRule) -> Elements:
    """Elements between the lines of a rule."""
    full = MeshQuad.init_tensor(*drawing.lines(rule))
    number = drawing.box_at(*full.p[:, full.t].mean(axis=1))
    is_air = np.array([box.filling in drawing.airs for box in drawing.boxes])
    mesh = full.remove_elements(np.flatnonzero(is_air[number]))
    centre = mesh.p[:, mesh.t].mean(axis=1)
    number = drawing.box_at(*centre)
    materials = sorted({box.filling for box in drawing.boxes} - set(drawing.airs))
    fillings = np.array([box.filling for box in drawing.boxes])[number]
    filling = {key: np.flatnonzero(fillings == key) for key in materials}
    faces: dict[tuple[str, str], list[int]] = {}
    for facet in mesh.boundary_facets():
        element = mesh.f2t[0, facet]
        middle = mesh.p[:, mesh.facets[:, facet]].mean(axis=1)
        outwards = middle - centre[:, element]
        air = drawing.air_at(*(middle + STEP * outwards / np.linalg.norm(outwards)))
        if air is not None:
            faces.setdefault((air, drawing.boxes[number[element]].name), []).append(int(facet))
    bases = {key: FacetBasis(mesh, ElementQuad2(), facets=np.array(f), intorder=DEGREE) for key, f in faces.items()}
    return Elements(drawing, Basis(mesh, ElementQuad2(), intorder=DEGREE), filling, bases)
