"""Derivatives of a flow between two nodes, put into the blocks of the Jacobian."""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import unsigned


@kernel
def add_pair(blocks, own_i, own_j, ii, jj, ij, ji, q_ta, q_sa, f_ta, f_sa, q_tb, q_sb, f_tb, f_sb):
    """Derivatives of a flow out of node i into node j, into the blocks of the rows that are renewed."""
    ii, jj, ij, ji = unsigned(ii), unsigned(jj), unsigned(ij), unsigned(ji)
    if own_i:
        blocks[ii, 0] += q_ta
        blocks[ii, 1] += q_sa
        blocks[ii, 2] += f_ta
        blocks[ii, 3] += f_sa
        blocks[ij, 0] += q_tb
        blocks[ij, 1] += q_sb
        blocks[ij, 2] += f_tb
        blocks[ij, 3] += f_sb
    if own_j:
        blocks[ji, 0] -= q_ta
        blocks[ji, 1] -= q_sa
        blocks[ji, 2] -= f_ta
        blocks[ji, 3] -= f_sa
        blocks[jj, 0] -= q_tb
        blocks[jj, 1] -= q_sb
        blocks[jj, 2] -= f_tb
        blocks[jj, 3] -= f_sb
