"""What kernels hand to each other, by name: tuples of arrays.

N nodes, S sub-control volumes, E edges, M membranes, F exposed faces, L air links, Z materials, K cells of a material
table, B rows of boundary conditions (surfaces), R rows of the matrix with empty ones, nnz blocks of the Jacobian.
Unknowns are temperature T [degC] and the stretched potential y [-], see `layout`; the two equations of a node are
energy [W/m] and water [kg/(m s)], per metre of section.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Ints32 = NDArray[np.int32]
Flags = NDArray[np.bool_]


class Volumes(NamedTuple):
    """Sub-control volumes: start (N + 1,), of (S,): by node; node, material (S,); area (S,) [m2].

    viscous (S,): whether the liquid of its material thins with temperature.
    """

    start: Ints
    of: Ints
    node: Ints
    material: Ints
    area: Floats
    viscous: Flags


class Edges(NamedTuple):
    """Edges between sub-control volumes of one material.

    a, b (E,): sub-control volumes at both ends; shape (E,): width over length [-]; rise (E,): height of the first end
    over the second [m].  start (N + 1,), of, other (2 E,): edges by node, and the node at the other end.
    """

    a: Any
    b: Any
    shape: Floats
    rise: Floats
    start: Ints
    of: Ints32
    other: Ints32


class Membranes(NamedTuple):
    """Interface resistances without thickness.

    a, b (M,): nodes on both sides; width (M,) [m]; data (M, 5): conductance [W/(m2 K)], dry and wet permeance of a
    membrane at 20 degC, liquid conductance [kg/(m2 s Pa)], vapour resistance of a film before it [m2 s Pa/kg]; surface
    (M,): row of flows, or -1.
    """

    a: Ints
    b: Ints
    width: Floats
    data: Floats
    surface: Ints


class Faces(NamedTuple):
    """Exposed faces.

    node, scv, surface (F,); width (F,) [m]; data (F, 6): thermal resistance [m2 K/W] of a membrane on the face, its
    dry and wet permeance at 20 degC [kg/(m2 s Pa)] (zero: bare), y of the face [m], conductance by which standing water
    enters it [kg/(m2 s Pa)], and by how much the suction of hydrostatic rest exceeds that at the foot of its edge [Pa].
    """

    node: Ints
    scv: Ints
    surface: Ints
    width: Floats
    data: Floats


class AirLinks(NamedTuple):
    """Air that moves: a, b (L,): nodes, b = -1 for the climate of surface (L,); beside (L, 2): edges, or -1."""

    a: Ints
    b: Ints
    surface: Ints
    beside: Ints


class Tables(NamedTuple):
    """Material functions.

    s0, ds: first place and width of the cells of `columns` over s = asinh(p_c / P0); columns (Z, K, 5, 4): cubics, see
    `layout.T_WATER` and following.  t0, dt, factor (Z, ., 1, 4): conductivity over temperature; varies (Z,): whether
    it does.  heat_capacity (Z,) [J/(m3 K)]; vapour_exponent (Z,) [-]; has_liquid, viscous (Z,); full (Z,): water
    content at zero suction [kg/m3]; freezing: whether water freezes.
    """

    s0: float
    ds: float
    columns: Floats
    t0: float
    dt: float
    factor: Floats
    varies: Flags
    heat_capacity: Floats
    vapour_exponent: Floats
    has_liquid: Flags
    viscous: Flags
    full: Floats
    freezing: bool


class MaterialState(NamedTuple):
    """What the unknowns make of the materials.

    node (N, 16), scv (S, 16): columns of `layout`; storage (N, 2): enthalpy [J/m], water and ice [kg/m]; capacity
    (N, 3): dH/dT, dH/dy, dw/dy; water_slope (S,): dw/dy of a material [kg/m3].  linearised_at (N, 4): unknowns that
    the state holds for now, and those at which it was evaluated; jacobian_dirty (N,): evaluated since its row of the
    Jacobian was assembled; block: work space.
    """

    node: Floats
    scv: Floats
    storage: Floats
    capacity: Floats
    water_slope: Floats
    linearised_at: Floats
    jacobian_dirty: Flags
    block: Floats


class Balance(NamedTuple):
    """The balances of the nodes.

    controls (., 7): heaters and dehumidifiers, see
    `physics.surfaces.through_controls`; link_flow (L,): dry air [kg/(s m)] from a to b.
    edge_flux (E, 2): heat and water along each edge; edge_outflow (N, 2): what leaves each node along its edges, both
    kept from call to call; inflow, residual (N, 2); flows (B, 5): through surfaces, inwards, heat in total [W/m],
    vapour, liquid, runoff [kg/(m s)], heat that vapour and liquid carry [W/m].
    uptake_kink (N,): potential below which a node refuses some of the rain, infinite without a face.
    """

    controls: Floats
    link_flow: Floats
    edge_flux: Floats
    edge_outflow: Floats
    inflow: Floats
    residual: Floats
    flows: Floats
    uptake_kink: Floats


class Jacobian(NamedTuple):
    """Block-sparse Jacobian: rows as in compressed sparse rows, blocks (nnz + 1, 4) row-major, the last zero.

    A block holds dE/dT, dE/dy, dW/dT, dW/dy.  diagonal (N,), edge_slots (E, 2), membrane_slots (M, 2), link_slots
    (L, 2): places of the blocks on the diagonal and of both couplings.
    """

    indptr: Ints
    indices: Ints32
    diagonal: Ints
    edge_slots: Ints32
    membrane_slots: Ints32
    link_slots: Ints32
    blocks: Floats


class RowBlocks(NamedTuple):
    """Rows in blocks of four mutually independent nodes, and links between them; R rows, first and last block empty.

    row (N,): row of each node; node (R,): node of each row or -1; own (R,): place of its block on the diagonal.
    lower_first (blocks + 1,): links of each block to lower rows; lower_start: the row that the first of the block is
    coupled to, those of the others follow; lower_slot, lower_back (., 4): places of the blocks of the matrix and of
    those that lead back.  upper_first, upper_start, upper_slot: the same for higher rows.  Where there is no block, the
    place is that of one of zeros, behind those of the matrix.
    """

    row: Ints
    node: Ints
    own: Any
    lower_first: Ints
    lower_start: Ints
    lower_slot: Any
    lower_back: Any
    upper_first: Ints
    upper_start: Ints
    upper_slot: Any

    @property
    def groups(self) -> Ints:
        """All blocks of four that have rows, in ascending order."""
        return np.arange(1, self.lower_first.size - 2)


class Factors(NamedTuple):
    """An incomplete factorisation D (1 + L) (1 + U), see `linear.dilu`, by entry of the blocks, row-major.

    lower, upper: blocks of L and U by link, entry and lane; inverse, middle (4 R,): blocks of 1/D, and of A/D - 2 on
    the diagonal, by entry and row.
    """

    lower: NDArray[np.floating[Any]]
    upper: NDArray[np.floating[Any]]
    inverse: NDArray[np.floating[Any]]
    middle: NDArray[np.floating[Any]]


class LinearSolver(NamedTuple):
    """What the linear solver works with.

    rows: the order of the rows; blocks: those of the Jacobian; groups: all blocks of four rows; row_mask (R,): rows
    that have a node.  factors: of the whole matrix; factors_dirty (N,): rows that changed since; dirty (2,): whether
    all did, whether any did; dirty_groups: room.  subset_factors: of the rows of a subset; subset_groups, subset_count
    (1,), subset_mask (R,): which these are.  zeros (2 R,), work (11, 2 R): vectors, finite, zero in empty rows.
    """

    rows: RowBlocks
    blocks: Floats
    groups: Ints
    row_mask: Flags
    factors: Factors
    factors_dirty: Flags
    dirty: Flags
    dirty_groups: Ints
    subset_factors: Factors
    subset_groups: Ints
    subset_count: Ints
    subset_mask: Flags
    zeros: NDArray[np.floating[Any]]
    work: NDArray[np.floating[Any]]


class Stop(NamedTuple):
    """When the linear iteration ends.

    The largest weighted entry of the preconditioned remainder must be below tolerance and below drop times that of the
    first guess, but need not come below floor times that: four-byte numbers do not get there.  most: iterations.
    """

    tolerance: float
    drop: float
    floor: float
    most: int


class Subset(NamedTuple):
    """Some nodes in ascending order, the edges that touch them, and marks of the nodes (N,)."""

    nodes: Ints
    edges: Ints32
    marked: Flags


class Unknowns(NamedTuple):
    """Temperature [degC] and stretched potential [-] of every node, (N,) each."""

    temperature: Floats
    potential: Floats


class Tolerances(NamedTuple):
    """Wanted errors.

    wanted (4,): local errors of temperature [K], relative humidity [-], water content as a share of saturation [-] and
    pressure where saturated [Pa]; importance (N,): weights of nodes.  shares (3,): of the wanted errors to which
    Newton's iteration and the linear solver work, and below which share of its first remainder this need not come.
    """

    wanted: Floats
    importance: Floats
    shares: Floats


class Damping(NamedTuple):
    """What damped updates remember.

    capacity (N, 3): storage derivatives when the row of the Jacobian was assembled; freezing_nodes (N,), target (N,),
    temperature_before (N,): for the enthalpy inversion; previous_update (N,): of the potential.
    """

    capacity: Floats
    freezing_nodes: Ints
    target: Floats
    temperature_before: Floats
    previous_update: Floats


class Newton(NamedTuple):
    """Work space of the nonlinear solution.

    weights (N, 2): reciprocals of the wanted local errors of the unknowns; update (N, 2): the next update, its sign
    turned; saturation (N,): water at zero suction [kg/m]; always_dirty (N,): rows that change with the loads; listed
    (N,): room for a list of nodes.  whole: all nodes and edges; active: room for a subset; before: unknowns to return
    to; spare (N, 2).  counts, flags: see `newton.counts`.
    """

    weights: Floats
    update: Floats
    saturation: Floats
    always_dirty: Flags
    listed: Ints
    whole: Subset
    active: Subset
    before: Unknowns
    spare: Floats
    counts: Ints
    flags: Floats


class Problem(NamedTuple):
    """Everything that stays in place during a run."""

    volumes: Volumes
    edges: Edges
    membranes: Membranes
    faces: Faces
    links: AirLinks
    tables: Tables
    state: MaterialState
    balance: Balance
    jacobian: Jacobian
    linear: LinearSolver
    tolerances: Tolerances
    damping: Damping
    newton: Newton


class Stage(NamedTuple):
    """Equations of one implicit stage: rate * storage = rhs + inflow, under loads (B, columns).

    rate: 1 / (diagonal coefficient * step) [1/s]; rhs (N, 2) [W/m, kg/(m s)]; source (N, 2): given gains, part of the
    inflow [W/m, kg/(m s)].
    """

    rate: float
    rhs: Floats
    loads: Floats
    source: Floats


class Mode(NamedTuple):
    """What `physics.assembly.assemble` does.

    rebuild: add up the flows along edges anew, all edges given; jacobian: assemble rows of the Jacobian;
    subset_only: balances of the subset alone.
    """

    rebuild: bool
    jacobian: bool
    subset_only: bool


class StageStates(NamedTuple):
    """Unknowns at the beginning of a step, at its first stage and at its end."""

    start: Unknowns
    middle: Unknowns
    end: Unknowns


class StepLoads(NamedTuple):
    """Rows of boundary conditions (B, columns) at the three times of a step, and room for one within it.

    source_start, source_middle, source_end (N, 2): given gains at these times [W/m, kg/(m s)], mostly one and the same
    array; sub-steps take the last for all of their step.
    """

    start: Floats
    middle: Floats
    end: Floats
    now: Floats
    source_start: Floats
    source_middle: Floats
    source_end: Floats


class Accounts(NamedTuple):
    """What a step accounts with.

    conserved (N, 2): storage by the fluxes; drift (N, 2): change of the unknowns per second at the end of the last
    step; rhs, zeros (N, 2); inflows (3, N, 2), flows (3, B, 5): at the three times of the step.
    through (B, 5), injected (2,): sums over the run, through surfaces and from sources [J/m, kg/m]; defect (1,): the
    largest water residual carried, as a share of the saturation of its node.
    """

    conserved: Floats
    drift: Floats
    rhs: Floats
    zeros: Floats
    inflows: Floats
    flows: Floats
    through: Floats
    injected: Floats
    defect: Floats


class Substeps(NamedTuple):
    """Work space of local time stepping: room for n nodes of a subset, b ghost nodes beyond it, c edges across.

    nodes (N,), edges (E,), seen (N,); interface_edges (E,), interface_nodes (E,): edges across and their outer ends;
    interface_sign (c,): 1 where the flow along an edge is an outflow, -1 where it is an inflow.
    conserved, entered (n, 2), crossed (c, 2), through (B, 5): sums over the sub-steps; inflows (3, n, 2), crossings
    (3, c, 2), flows (3, B, 5): at the three times of a sub-step; start (2, n).  ghost_t, ghost_y (3, b): unknowns of
    the ghost nodes at the three times of the global step.  end (2, N): unknowns of all nodes before.
    """

    nodes: Ints
    edges: Ints32
    interface_edges: Ints32
    interface_nodes: Ints32
    seen: Flags
    interface_sign: Floats
    conserved: Floats
    entered: Floats
    crossed: Floats
    through: Floats
    inflows: Floats
    crossings: Floats
    flows: Floats
    start: Floats
    ghost_t: Floats
    ghost_y: Floats
    end: Floats


class Local(NamedTuple):
    """A subset that is sub-stepped: itself, its ghost nodes, and the edges across with their outer ends."""

    subset: Subset
    ghosts: Ints
    interface: Ints32
    interface_nodes: Ints32


class StageFluxes(NamedTuple):
    """What flows at a stage of a sub-step: into the nodes (n, 2), across the interface (c, 2), at surfaces (B, 5)."""

    inflow: Floats
    crossing: Floats
    surface: Floats


class Tableau(NamedTuple):
    """Butcher tableau of a step of two implicit stages with one diagonal, all shares of the step (N2).

    middle: time of the first stage; diagonal: of both; begun: 1 if the first stage has the flows at the start as well,
    else 0; before, within: weights of the flows at the start and at the first stage in the last.
    """

    middle: float
    diagonal: float
    begun: float
    before: float
    within: float


class Entry(NamedTuple):
    """How a step of all nodes is entered.

    resolve: its last stage is solved again after the nodes of ``moved`` were sub-stepped; current: material state and
    error weights already belong to the start, only loads changed; tableau: the scheme.
    """

    resolve: bool
    current: bool
    moved: Subset
    tableau: Tableau


class StepControl(NamedTuple):
    """How a step is judged.

    resolved: errors of steps of at most this length are accepted [s]; max_local_share: largest share of the nodes that
    may be sub-stepped; equal: errors do not count; damped: by implicit Euler, whose error is not estimated.
    """

    resolved: float
    max_local_share: float
    equal: bool
    damped: bool
