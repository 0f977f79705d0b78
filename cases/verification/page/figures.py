"""Figures of the verification page: both curves over their difference, and errors over cells or steps."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from io import StringIO

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import FACTOR, RELATIVE, Comparison

Floats = NDArray[np.float64]
#: comparisons with fewer points are given as numbers only
FEWEST_POINTS = 3
MOST_CURVES = 6
#: with more names than this under a figure they stand upright
MOST_LABELS = 5
#: sizes that many curves are shared out in, the first that fits
SHARES = (4, 5, 6, 3)
COLOURS = ("#17506b", "#a2521f", "#5b7d2b", "#7a4f8c", "#b08d1a", "#4a4a4a")
MARKS = ("o", "s", "^", "D", "v", "P")
STYLE = {
    "svg.fonttype": "none", "svg.hashsalt": "verification", "font.size": 8, "font.family": "sans-serif",
    "axes.linewidth": 0.6, "axes.edgecolor": "#5c666c", "axes.labelcolor": "#26323a", "xtick.color": "#5c666c",
    "ytick.color": "#5c666c", "xtick.direction": "in", "ytick.direction": "in", "axes.formatter.limits": (-4, 5),
    "axes.formatter.useoffset": False, "axes.formatter.use_mathtext": True,
}  # fmt: skip
#: what a drawing program writes and a page does not need: metadata, remarks, indents, names that would occur twice
_SPARE = (
    re.compile(r"<metadata>.*?</metadata>", re.DOTALL),
    re.compile(r"<!--.*?-->", re.DOTALL),
    re.compile(r"\n\s*(?=<)"),
    re.compile(r' id="(?:figure|axes|patch|line2d|text|[xy]tick|matplotlib|legend)[^"]*"'),
)
_NUMBERED = re.compile(r"\d+ [^,]+(, \d+ [^,]+)*")


def figures(comparisons: Sequence[Comparison], sources: Sequence[str]) -> str:
    """All figures of a case: one for each quantity with enough points, runs together, and one for each refinement.

    ``sources`` are the references of the case in the order of their numbers.
    """
    groups: dict[tuple[str, str], list[Comparison]] = {}
    for c in comparisons:
        if c.refinement is None and c.points.size >= FEWEST_POINTS:
            groups.setdefault((c.quantity, c.axis), []).append(c)
    found = []
    for group in groups.values():
        size = _share(len(group))
        found += [plot(group[k : k + size], sources, several=len(group) > size) for k in range(0, len(group), size)]
    return "".join(found + [plot_refinement(c) for c in comparisons if c.refinement is not None])


def _share(count: int) -> int:
    """How many curves to a figure."""
    if count <= MOST_CURVES:
        return count
    fitting = [size for size in SHARES if count % size == 0]
    return fitting[0] if fitting else -(-count // -(-count // 5))


def plot(runs: Sequence[Comparison], sources: Sequence[str] = (), *, several: bool = False) -> str:
    """Figure of runs that share quantity and axis: expected as lines, computed as marks, their difference below.

    ``several`` says that there are other figures of the quantity: what the names begin with then heads it.
    """
    with matplotlib.rc_context(STYLE):
        first, labels = runs[0], labels_of(runs[0])
        crowded = len(labels) > MOST_LABELS
        figure = Figure(figsize=(4.5, 5.0 if crowded else 3.9), layout="constrained")
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[3, 1])
        common, names = short_names(runs, sources)
        for k, (c, name) in enumerate(zip(runs, names, strict=True)):
            _draw(upper, lower, c, name, COLOURS[k % MOST_CURVES], MARKS[k % MOST_CURVES])
        if labels:
            lower.set_xticks(np.arange(len(labels)), labels)
            lower.set_xlim(-0.5, len(labels) - 0.5)
            if crowded:
                lower.tick_params("x", labelrotation=90, labelsize=6)
        else:
            lower.set_xlabel(first.axis)
        lower.axhline(0.0, color="#9aa3a8", lw=0.6, zorder=0)
        heading = f"{first.quantity}\n{common}" if several and common else first.quantity
        upper.set_title(heading, fontsize=8, loc="left")
        lower.set_ylabel(_difference_name(first), fontsize=7)
        if len(runs) > 1 or names[0]:
            longest = max(map(len, names))
            columns = 3 if longest < 22 else 2 if longest < 38 else 1
            figure.legend(frameon=False, fontsize=7, ncols=columns, loc="outside lower left")
        for axes in (upper, lower):
            axes.spines[["top", "right"]].set_visible(False)
        return _svg(figure, f"{first.quantity}: computed and expected over {first.axis}")


def plot_refinement(c: Comparison) -> str:
    """Figure of errors over counts on logarithmic axes, with the slope that the scheme promises."""
    study = c.refinement
    if study is None:
        raise ValueError(f"{c.name}: no refinement to draw")
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(4.5, 3.0), layout="constrained")
        axes = figure.subplots()
        promised = study.errors[-1] * (study.counts[-1] / study.counts) ** study.design
        axes.loglog(study.counts, promised, color="#9aa3a8", lw=1.0, label=f"order {study.design:g}")
        axes.loglog(study.counts, study.errors, "o-", lw=0.8, ms=4, mfc="none", color=COLOURS[0], label="error")
        for k, order in enumerate(study.orders):
            middle = np.sqrt(study.counts[k] * study.counts[k + 1]), np.sqrt(study.errors[k] * study.errors[k + 1])
            axes.annotate(f"{order:.2f}", middle, xytext=(5, 3), textcoords="offset points", fontsize=7)
        axes.set_xticks(study.counts, [f"{n:g}" for n in study.counts])
        axes.minorticks_off()
        axes.set_xlabel(study.what)
        axes.set_title(f"{c.name}: error [{study.unit}]", fontsize=8, loc="left")
        axes.legend(frameon=False, fontsize=7)
        axes.spines[["top", "right"]].set_visible(False)
        return _svg(figure, f"{c.name}: {c.quantity}")


def labels_of(c: Comparison) -> tuple[str, ...]:
    """Names of the points where they are no scale: given, or numbered in the axis ("1 centre, 2 corner")."""
    if c.labels:
        return c.labels
    if _NUMBERED.fullmatch(c.axis):
        names = tuple(part.strip().partition(" ")[2] for part in c.axis.split(","))
        if len(names) == c.points.size:
            return names
    return ()


def short_names(runs: Sequence[Comparison], sources: Sequence[str] = ()) -> tuple[str, list[str]]:
    """What the names of runs all begin with, and the rest of each, with its source's number if there are several."""
    parts = [re.split(r"(?<=[,:]) ", c.name) for c in runs]
    same = 0
    while same < min(map(len, parts)) and len({p[same].rstrip(",:") for p in parts}) == 1:
        same += 1
    common, short = " ".join(parts[0][:same]).rstrip(",:"), [" ".join(p[same:]) for p in parts]
    if len({c.source for c in runs}) > 1:
        short = [f"{name} [{sources.index(c.source) + 1}]".strip() for name, c in zip(short, runs, strict=True)]
    return common, short


def _draw(upper: Axes, lower: Axes, c: Comparison, name: str, colour: str, mark: str) -> None:
    labels = labels_of(c)
    order = np.arange(c.points.size) if labels else np.argsort(c.points, kind="stable")
    x = order.astype(float) if labels else c.points[order]
    expected, computed = c.expected[order], c.computed[order]
    scattered = bool(labels) or c.axis.startswith("point")  # numbered points are no scale: nothing to join
    if scattered:
        upper.plot(x, expected, "_", ms=min(16.0, 240.0 / x.size), mew=1.2, color=colour, alpha=0.7)
    else:
        line = (x, expected) if c.curve is None else c.curve
        upper.plot(*line, color=colour, lw=1.1, alpha=0.7)
    upper.plot(x, computed, mark, label=name, ms=3.6, mfc="none", mew=0.9, color=colour)
    joined = mark if scattered else mark + "-"
    lower.plot(x, _difference(c)[order], joined, lw=0.5, ms=2.4, mfc="none", mew=0.9, color=colour)


def _difference(c: Comparison) -> Floats:
    """Signed difference in the measure of the norm; not a number where a ratio has no sense."""
    if c.norm not in (RELATIVE, FACTOR):
        return np.asarray(c.computed - c.expected)
    scale = c.expected if c.norm == FACTOR else np.abs(c.expected)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray((c.computed - c.expected) / scale)


def _difference_name(c: Comparison) -> str:
    return {RELATIVE: "relative\ndifference", FACTOR: "ratio\nless 1"}.get(c.norm, "computed\nless expected")


def _svg(figure: Figure, text: str) -> str:
    out = StringIO()
    figure.savefig(out, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    svg = re.sub(r'(?<= d=")[^"]*', lambda path: re.sub(r"(\.\d\d)\d+", r"\1", path[0]), out.getvalue())
    for spare in _SPARE:
        svg = spare.sub("", svg)
    return svg[svg.index("<svg") :].replace("<svg ", f'<svg role="img" aria-label="{escape(text)}" ', 1)
