"""Section drawings to scale: overview and close-up, hatched, membranes heavy, probes numbered."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from stemwall.cases.case_file.case import Case
from stemwall.cases.report.hatching import INK, LOOKS, PAPER, STROKE
from stemwall.cases.report.section_plot import Sketch, Window, close_up
from stemwall.materials.material import Material
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import MeshRule

MESH_COLOUR = "#3b6ea5"


def draw_case(
    case: Case,
    section: Section,
    materials: Mapping[str, Material],
    *,
    mesh: bool = False,
    inches: bool = False,
) -> Figure:
    """Return the drawing of a case.

    Parameters
    ----------
    case : Case
        Gives the title and the mesh rule.
    section : Section
        What is drawn.
    materials : mapping
        Materials by key.
    mesh : bool
        Whether the mesh lies over the close-up.
    inches : bool
        Dimensions in feet and inches instead of metres.
    """
    figure = Figure(figsize=(15.0, 7.6), facecolor=PAPER)
    grid = figure.add_gridspec(
        2, 3, width_ratios=(1.0, 1.25, 0.72), height_ratios=(1.0, 0.72), wspace=0.16, hspace=0.16,
        left=0.045, right=0.985, top=0.92, bottom=0.06,
    )  # fmt: skip
    figure.suptitle(case.title, x=0.045, ha="left", fontsize=14, color=INK)
    overview, close = figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[:, 1])
    window = close_up(section, materials)
    sketch = Sketch(section, materials, inches=inches)
    sketch.draw(overview, Window(section.x0, section.y0, section.x1, section.y1), fine=False)
    overview.add_patch(_frame(window))
    sketch.draw(close, window, fine=True)
    if mesh:
        rule = MeshRule(**case.mesh.model_dump())
        _draw_mesh(close, section, rule)
    sketch.dimensions(close, window)
    _legend(figure.add_subplot(grid[1, 0]), sketch)
    _probe_list(figure.add_subplot(grid[:, 2]), sketch)
    return figure


def _frame(window: Window) -> Rectangle:
    return Rectangle(
        (window.x0, window.y0), window.x1 - window.x0, window.y1 - window.y0,
        fill=False, edgecolor=INK, linewidth=0.8, linestyle="--", zorder=7,
    )  # fmt: skip


def _draw_mesh(axes: Axes, section: Section, rule: MeshRule) -> None:
    mesh = build_mesh(section, rule)
    lines = [[(x, section.y0), (x, section.y1)] for x in mesh.x_lines]
    lines += [[(section.x0, y), (section.x1, y)] for y in mesh.y_lines]
    axes.add_collection(LineCollection(lines, colors=MESH_COLOUR, linewidths=0.3, zorder=2.5, alpha=0.7))


def _legend(axes: Axes, sketch: Sketch) -> None:
    axes.set_axis_off()
    handles = []
    for kind, names in sketch.kinds():
        look = LOOKS[kind]
        label = f"{look.label}: " + "; ".join(name.split(",")[0] for name in dict.fromkeys(names))
        handles.append(Patch(facecolor=look.tint, edgecolor=STROKE, hatch=look.pattern, label=_wrapped(label, 62)))
    axes.legend(
        handles=handles,
        loc="upper left",
        fontsize=7.5,
        frameon=False,
        handlelength=3.2,
        handleheight=2.0,
        labelspacing=0.9,
        borderaxespad=0.0,
    )


def _probe_list(axes: Axes, sketch: Sketch) -> None:
    axes.set_axis_off()
    probes = [f"{number:>2}  {probe.name}" for number, probe in enumerate(sketch.section.probes, start=1)]
    membranes = [
        f"–  {membrane.name}, sd {_sd(membrane.sd_dry, membrane.sd_wet)}" for membrane in sketch.section.membranes
    ]
    text = "\n".join(["Probes", *probes, "", "Membranes (heavy lines)", *membranes])
    axes.text(0, 1, text, va="top", ha="left", fontsize=8, linespacing=1.55, color=INK, transform=axes.transAxes)


def _sd(dry: float, wet: float) -> str:
    return f"{dry:.3g} m" if dry == wet else f"{dry:.3g} m dry, {wet:.3g} m wet"


def _wrapped(text: str, width: int) -> str:
    return "\n".join(textwrap.wrap(text, width))
