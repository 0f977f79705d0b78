"""A reference in two dimensions: heat conduction in quadratic finite elements of scikit-fem.

In time: collocation at the three Radau points (fifth order, L-stable; Hairer & Wanner,
Solving Ordinary Differential Equations II, section IV.5, from memory), whose coefficients
are computed from its definition.  As the problem is linear the stages are decoupled by
the eigenvectors of the coefficients, and one real and one complex factorisation serve all steps.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu
from skfem import BilinearForm, LinearForm
from skfem.helpers import dot, grad

from stemwall.cases.verification.references.finite_element_mesh import Elements, Floats

#: Radau points of a step of one
POINTS = np.array([(4 - np.sqrt(6)) / 10, (4 + np.sqrt(6)) / 10, 1.0])


def radau_coefficients() -> Floats:
    """Integrals from 0 to each point of the polynomials that are one at one point and zero at the others."""
    powers = np.arange(3)
    values = POINTS[:, None] ** powers
    integrals = POINTS[:, None] ** (powers + 1) / (powers + 1)
    return np.asarray(integrals @ np.linalg.inv(values))


def _mass(u: Any, v: Any, w: Any) -> Any:
    return w.c * u * v


def _stiffness(u: Any, v: Any, w: Any) -> Any:
    return w.c * dot(grad(u), grad(v))


def _film(u: Any, v: Any, w: Any) -> Any:
    return u * v


def _face(v: Any, w: Any) -> Any:
    return v


class HeatElements:
    """Conduction in a drawing: M dT/dt + K T = sum of film loads.

    Parameters
    ----------
    elements : Elements
    solids : mapping of str to (float, float)
        lambda [W/(m K)] and C [J/(m3 K)] of every material.
    """

    def __init__(self, elements: Elements, solids: Mapping[str, tuple[float, float]]) -> None:
        self.elements = elements
        self.airs = elements.drawing.airs
        conductivity, capacity = np.zeros((2, elements.basis.nelems))
        for key, index in elements.filling.items():
            conductivity[index], capacity[index] = solids[key]
        points = np.ones(elements.basis.dx.shape)
        self.mass = BilinearForm(_mass).assemble(elements.basis, c=capacity[:, None] * points).tocsc()
        self.stiffness = BilinearForm(_stiffness).assemble(elements.basis, c=conductivity[:, None] * points).tocsc()
        self.faces = {key: LinearForm(_face).assemble(basis) for key, basis in elements.faces.items()}
        for (air, _), basis in elements.faces.items():
            self.stiffness = self.stiffness + self.airs[air].film * BilinearForm(_film).assemble(basis).tocsc()
        inverse, vectors = np.linalg.eig(np.linalg.inv(radau_coefficients()))
        real, upper = int(np.argmin(np.abs(inverse.imag))), int(np.argmax(inverse.imag))
        self._modes = [(inverse[real].real, real), (inverse[upper], upper)]
        self._vectors, self._back = vectors, np.linalg.inv(vectors)

    def run(self, start: float, step: float, count: int) -> Floats:
        """Nodal temperatures after each of the equal steps [s] from a uniform start, (count, nodes)."""
        factors = [self._factorise(rate / step) for rate, _ in self._modes]
        t, found = np.full(self.elements.basis.N, start), []
        for k in range(count):
            loads = np.array([self._load((k + c) * step) for c in POINTS])
            held = self.mass @ t
            t = np.zeros_like(t)
            for factor, (rate, mode) in zip(factors, self._modes, strict=True):
                right = rate / step * self._back[mode].sum() * held + self._back[mode] @ loads
                part = self._vectors[2, mode] * factor.solve(right.real if np.isreal(rate) else right)
                t += part.real if np.isreal(rate) else 2 * part.real
            found.append(t)
        return np.array(found)

    def flow(self, key: tuple[str, str], time: float, t: Floats) -> float:
        """Heat through a face into the solids [W/m]."""
        air, face = self.airs[key[0]], self.faces[key]
        return float(air.film * (air.temperature(time) * face.sum() - face @ t))

    def _load(self, time: float) -> Floats:
        airs = self.airs
        return np.asarray(
            sum(airs[air].film * airs[air].temperature(time) * face for (air, _), face in self.faces.items())
        )

    def _factorise(self, rate: complex) -> Any:
        matrix = csc_matrix(rate * self.mass + self.stiffness)
        options = {"SymmetricMode": True}
        return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
