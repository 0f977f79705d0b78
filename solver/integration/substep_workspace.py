"""Room for the few nodes that march alone where a step of all was too long, see `alone_kernels`."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.integration.system import System
from stemwall.solver.kernels.time import step as trial

Floats = NDArray[np.float64]
#: nodes with large errors march alone, with their neighbours, if they are at most this share of all
MOST_ALONE = 0.25
#: paths over a border for which there is room, for each node that may march alone, and at least
PER_NODE, LEAST_BORDER = 2, 256


def room_for_few(system: System, row: Floats) -> tuple[Any, ...]:
    """What `trial_kernels.try_step` calls ``few``, for a system with such rows of loads."""
    network = system.network
    count, paths = network.nodes, network.path_a.size
    most, border = int(MOST_ALONE * count), min(paths, max(PER_NODE * int(MOST_ALONE * count), LEAST_BORDER))
    links = network.sheet_a, network.sheet_b, network.stream_a, network.stream_b
    room = (
        np.empty(count, dtype=np.int64), np.empty(paths, dtype=np.int32), np.empty(paths, dtype=np.int32),
        np.empty(paths, dtype=np.int32), np.zeros(count, dtype=np.bool_),
    )  # fmt: skip
    shapes = (most, 2), (border, 2), system.flows.shape
    sums, flowing = (tuple(np.zeros((*stages, *shape)) for shape in shapes) for stages in ((), (3,)))
    beyond = np.zeros((3, border)), np.zeros((3, border))
    return (
        np.zeros(trial.NOTES), links, room, np.empty(border),
        (np.zeros((most, 2)), *sums, *flowing, np.zeros((2, most))), beyond, system.pages.zeros((2, count)),
        np.empty_like(row), system.narrow,
    )  # fmt: skip
