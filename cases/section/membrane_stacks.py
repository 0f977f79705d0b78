"""Membranes that lie on one another: where several share a line, one stands for all of them, in series.

The solver takes one membrane per line.  Equivalent air-layer thicknesses and
thermal resistances of layers in contact add up; liquid water passes only where
all of them let it.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from stemwall.solver.model.section import Membrane

#: lines closer than this are one line [m]
SAME = 1e-6


def in_series(membranes: list[Membrane]) -> list[Membrane]:
    """Return the membranes with every shared stretch replaced by one membrane for all that lie there.

    A membrane that shares nothing is returned as it is.  A shared stretch is named
    "first and second"; pieces left of one membrane keep its name, numbered from 2.

    Parameters
    ----------
    membranes : list of Membrane
        In any order; horizontal or vertical.
    """
    stacked: list[Membrane] = []
    for line in _lines(membranes):
        stacked += line if len(line) == 1 else _cut(line)
    return _numbered(stacked)


def _upright(membrane: Membrane) -> bool:
    return membrane.x0 == membrane.x1


def _position(membrane: Membrane) -> float:
    return membrane.x0 if _upright(membrane) else membrane.y0


def _ends(membrane: Membrane) -> tuple[float, float]:
    return (membrane.y0, membrane.y1) if _upright(membrane) else (membrane.x0, membrane.x1)


def _lines(membranes: list[Membrane]) -> list[list[Membrane]]:
    """Group membranes that lie on one endless line, in order of first appearance."""
    lines: list[list[Membrane]] = []
    for membrane in membranes:
        for line in lines:
            same = abs(_position(line[0]) - _position(membrane)) <= SAME
            if same and _upright(line[0]) == _upright(membrane):
                line.append(membrane)
                break
        else:
            lines.append([membrane])
    return lines


def _cut(line: list[Membrane]) -> list[Membrane]:
    """Cut the membranes of one line at all their ends, and join neighbouring stretches that are alike."""
    stops: list[float] = []
    for stop in sorted(end for membrane in line for end in _ends(membrane)):
        if not stops or stop - stops[-1] > SAME:
            stops.append(stop)
    stretches: list[tuple[float, float, list[Membrane]]] = []
    for low, high in pairwise(stops):
        middle = (low + high) / 2
        here = [membrane for membrane in line if _ends(membrane)[0] < middle < _ends(membrane)[1]]
        if here and stretches and stretches[-1][1] == low and stretches[-1][2] == here:
            stretches[-1] = (stretches[-1][0], high, here)
        elif here:
            stretches.append((low, high, here))
    return [_stack(here, low, high) for low, high, here in stretches]


def _stack(layers: list[Membrane], low: float, high: float) -> Membrane:
    first = layers[0]
    span = {"y0": low, "y1": high} if _upright(first) else {"x0": low, "x1": high}
    return replace(
        first,
        name=" and ".join(layer.name for layer in layers),
        sd_dry=sum(layer.sd_dry for layer in layers),
        sd_wet=sum(layer.sd_wet for layer in layers),
        liquid="open" if all(layer.liquid == "open" for layer in layers) else "break",
        resistance=sum(layer.resistance for layer in layers),
        **span,
    )


def _numbered(membranes: list[Membrane]) -> list[Membrane]:
    seen: dict[str, int] = {}
    named = []
    for membrane in membranes:
        seen[membrane.name] = seen.get(membrane.name, 0) + 1
        count = seen[membrane.name]
        named.append(membrane if count == 1 else replace(membrane, name=f"{membrane.name}, {count}"))
    return named
