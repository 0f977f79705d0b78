"""A reference in two dimensions: coupled heat and moisture in quadratic finite elements of scikit-fem.

Fluxes are integrated by Gauss points, storage at the nodes (Simpson's rule, which is
exact enough for quadratic elements and makes the matrix of capacities diagonal), so
that a stiff integrator of a library advances T and ln p_c of the nodes under its own
error control, with Newton's method in every step.  See `reference_physics` for the equations.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import bmat, csc_matrix, diags
from skfem import BilinearForm, LinearForm
from skfem.helpers import dot, grad

from stemwall.cases.verification.references.finite_element_mesh import Elements, Floats
from stemwall.cases.verification.references.physics import Substance, storage_slopes, transport

GRAVITY = 9.81
#: steps of T [K] and u for derivatives of coefficients
NUDGE = (1e-4, 1e-6)
Pair = tuple[Floats, Floats]


def _source(v: Any, w: Any) -> Any:
    return w.s * v


def _along(v: Any, w: Any) -> Any:
    return w.x_flux * v.grad[0] + w.y_flux * v.grad[1]


def _slopes(u: Any, v: Any, w: Any) -> Any:
    """Flux that answers to grad u and to u itself."""
    return w.c * dot(grad(u), grad(v)) + u * (w.x_flux * v.grad[0] + w.y_flux * v.grad[1])


def _film(u: Any, v: Any, w: Any) -> Any:
    return w.s * u * v


class MoistElements:
    """Heat and moisture in a drawing.

    Parameters
    ----------
    elements : Elements
    substances : mapping of str to Substance
    """

    def __init__(self, elements: Elements, substances: Mapping[str, Substance]) -> None:
        self.elements, self.substances = elements, substances
        self.nodes = int(elements.basis.N)
        self.volumes = {key: self._lumped(index) for key, index in elements.filling.items()}
        self.airs = elements.drawing.airs

    def run(self, start: tuple[float, float], times: Sequence[float], tolerance: float = 1e-5) -> Floats:
        """States (times, 2, nodes) of T, u at times [s] from a uniform start."""
        n = self.nodes
        found = solve_ivp(
            lambda t, z: np.concatenate(self.rates(t, (z[:n], z[n:]))),
            (0.0, times[-1]),
            np.repeat(start, n),
            "BDF",
            t_eval=list(times),
            rtol=tolerance,
            atol=tolerance,
            jac=lambda t, z: self.jacobian(t, (z[:n], z[n:])),
            first_step=1.0,
        )
        if not found.success:
            raise RuntimeError(f"the finite elements stopped: {found.message}")
        self.work = (found.nfev, found.njev, found.nlu)
        return np.asarray(found.y.T.reshape(len(times), 2, n))

    def rates(self, time: float, state: Pair) -> Pair:
        """dT/dt and du/dt of the nodes."""
        return self._solve(state, self.gains(time, state))

    def gains(self, time: float, state: Pair) -> Pair:
        """Net inflow of energy [W/m] and water [kg/(m s)] of the nodes."""
        along, basis = LinearForm(_along), self.elements.basis
        fluxes = self._fluxes(*self._at_points(state))
        energy, water = (np.asarray(along.assemble(basis, x_flux=x, y_flux=y)) for x, y in fluxes)
        for (air, _), face in self.elements.faces.items():
            t, u = (np.asarray(face.interpolate(v)) for v in state)
            heat, vapour, _ = self.airs[air].inflow(time, t, u)
            energy = energy + LinearForm(_source).assemble(face, s=heat)
            water = water + LinearForm(_source).assemble(face, s=vapour)
        return energy, water

    def water(self, state: Pair, key: str) -> float:
        """Water in one material [kg/m]."""
        return float(self.volumes[key] @ self.substances[key].water_and_slope(state[1])[0])

    def inflow(self, key: tuple[str, str], time: float, state: Pair) -> tuple[float, float]:
        """Energy [W/m] and vapour [kg/(m s)] through a face into the solids."""
        face = self.elements.faces[key]
        t, u = (np.asarray(face.interpolate(v)) for v in state)
        heat, vapour, _ = self.airs[key[0]].inflow(time, t, u)
        return float(np.sum(heat * face.dx)), float(np.sum(vapour * face.dx))

    def jacobian(self, time: float, state: Pair) -> csc_matrix:
        """Derivatives of the rates."""
        base = self.gains(time, state)
        blocks = self._gain_slopes(time, state)
        rates, nudged = self._solve(state, base), []
        for k, step in enumerate(NUDGE):
            moved = (state[0] + step, state[1]) if k == 0 else (state[0], state[1] + step)
            nudged.append([(b - a) / step for a, b in zip(rates, self._solve(moved, base), strict=True)])
        # columns of inverse capacities: rates of unit gains
        ones, none = np.ones(self.nodes), np.zeros(self.nodes)
        of_energy, of_water = self._solve(state, (ones, none)), self._solve(state, (none, ones))
        rows = [
            [
                diags(of_energy[i]) @ blocks[0][k] + diags(of_water[i]) @ blocks[1][k] + diags(nudged[k][i])
                for k in (0, 1)
            ]
            for i in (0, 1)
        ]
        return csc_matrix(bmat(rows))

    def _solve(self, state: Pair, gains: Pair) -> Pair:
        """Rates of T and u by which the nodes take up gains."""
        heat, moist, slope = np.zeros((3, self.nodes))
        for key, volume in self.volumes.items():
            parts = storage_slopes(self.substances[key], *state)
            heat += volume * parts[0]
            moist += volume * parts[1]
            slope += volume * parts[2]
        rate = gains[1] / slope
        return (gains[0] - moist * rate) / heat, rate

    def _at_points(self, state: Pair) -> tuple[Pair, Pair]:
        """Values and gradients of T and u at the points of quadrature."""
        fields = [self.elements.basis.interpolate(v) for v in state]
        return (np.asarray(fields[0]), np.asarray(fields[1])), (fields[0].grad, fields[1].grad)

    def _fluxes(self, values: Pair, slopes: Pair) -> list[list[Floats]]:
        """Energy and water along x and y at the points."""
        flux = np.empty((2, 2, *values[0].shape))
        for key, index in self.elements.filling.items():
            law = transport(self.substances[key], values[0][index], values[1][index])
            for axis, pull in ((0, 0.0), (1, -GRAVITY)):
                flux[0, axis, index], flux[1, axis, index] = law.fluxes(
                    slopes[0][axis][index], slopes[1][axis][index], pull
                )
        return [list(flux[0]), list(flux[1])]

    def _gain_slopes(self, time: float, state: Pair) -> list[list[Any]]:
        """Derivatives of gains of energy and water (first index) with respect to T and u (second)."""
        values, slopes = self._at_points(state)
        unit, none = np.ones((2, *values[0].shape)), np.zeros((2, *values[0].shape))
        base, still = self._fluxes(values, slopes), self._fluxes(values, (none, none))
        answers = [self._fluxes(values, (unit, none)), self._fluxes(values, (none, unit))]
        blocks: list[list[Any]] = [[None, None], [None, None]]
        for k, step in enumerate(NUDGE):
            moved = (values[0] + step, values[1]) if k == 0 else (values[0], values[1] + step)
            shifted = self._fluxes(moved, slopes)
            for e in (0, 1):
                x, y = ((shifted[e][axis] - base[e][axis]) / step for axis in (0, 1))
                c = answers[k][e][0] - still[e][0]
                blocks[e][k] = BilinearForm(_slopes).assemble(self.elements.basis, c=c, x_flux=x, y_flux=y)
        self._add_films(time, state, blocks)
        return blocks

    def _add_films(self, time: float, state: Pair, blocks: list[list[Any]]) -> None:
        for (air, _), face in self.elements.faces.items():
            values = [np.asarray(face.interpolate(v)) for v in state]
            base = self.airs[air].inflow(time, *values)
            for k, step in enumerate(NUDGE):
                moved = [v + step if i == k else v for i, v in enumerate(values)]
                shifted = self.airs[air].inflow(time, *moved)
                for e in (0, 1):
                    blocks[e][k] = blocks[e][k] + BilinearForm(_film).assemble(face, s=(shifted[e] - base[e]) / step)

    def _lumped(self, index: Any) -> Floats:
        """Volume of every node in some elements [m2], by Simpson's rule."""
        dofs = self.elements.basis.element_dofs[:, index]
        mesh = self.elements.basis.mesh
        corners = mesh.p[:, mesh.t[:, index]]
        area = np.ptp(corners[0], axis=0) * np.ptp(corners[1], axis=0)
        places = self.elements.basis.doflocs[:, dofs]
        low, high = corners.min(axis=1), corners.max(axis=1)
        # a node at an end of its element in both directions is a corner, in one the middle of a side
        at_end = np.minimum(np.abs(places - low[:, None]), np.abs(places - high[:, None])) < 1e-9
        share = np.choose(at_end.sum(axis=0), (16 / 36, 4 / 36, 1 / 36))
        return np.asarray(np.bincount(dofs.ravel(), (share * area).ravel(), self.nodes), dtype=float)
