"""How the shared parts below the floor are drawn: ground, footing, stem wall, drain, and their probes."""

from __future__ import annotations

from typing import Literal

from stemwall.cases.details.dimensions import (
    FOOTING,
    FORM,
    INSIDE_INSULATION,
    NATIVE_SOIL,
    OUTSIDE_INSULATION,
    STEM_WALL,
    Backfill,
    Footing,
    FootingDrain,
    Wall,
    WallInsulation,
    Wing,
)
from stemwall.cases.details.frame import Frame
from stemwall.cases.section.canvas import NOTHING, Sheet, Span
from stemwall.solver.model.section import Finish

DRAIN, DRAIN_STONE, WING = "footing drain", "drain stone", "wing insulation"

#: thickness of a drainage mat: its core stands so far before the face that it keeps dry [m]; 8 to 10 mm (common
#: practice, no source)
MAT_CORE = 0.01


def draw_ground(sheet: Sheet, at: Frame, soil: str, backfill: Backfill) -> None:
    """Paint the native soil, the drained fill and its cap."""
    sheet.solid(NATIVE_SOIL, soil, (at.left, at.right), (at.bottom, 0.0))
    if backfill.width > 0:
        fill = (at.outer - backfill.width, 0.0)
        sheet.solid("backfill", backfill.material, fill, (at.footing_bottom, 0.0))
    if backfill.cap_width > 0:
        cap = (at.outer - backfill.cap_width, 0.0)
        sheet.solid("clay cap", backfill.cap_material, cap, (-backfill.cap_thickness, 0.0))


def draw_outside(sheet: Sheet, at: Frame, drain: FootingDrain, wing: Wing, *, mat: bool) -> None:
    """Paint what lies in the fill: the footing drain in its stone, the wing insulation.

    ``mat`` says whether a drainage mat covers the wall; it drains where it leads to a footing drain.
    """
    if drain.present:
        edge = at.footing[0]
        stone = (at.footing_bottom, at.footing_top + drain.stone_cover)
        sheet.solid(DRAIN_STONE, drain.stone, (edge - drain.stone_width, 0.0), stone)
        gap = (drain.stone_width - drain.size) / 2
        pipe = (edge - gap - drain.size, edge - gap)
        sheet.drain(DRAIN, pipe, (at.footing_bottom, at.footing_bottom + drain.size))
    if drain.present and mat:
        for name, face, height in _mat_pieces(at):
            sheet.drain(f"{name}, core", (face - MAT_CORE, face - MAT_CORE), height)
    board = (-wing.depth - wing.thickness, -wing.depth)
    sheet.solid(WING, wing.material, (at.outer - wing.width, 0.0), board)


def _mat_pieces(at: Frame) -> list[tuple[str, float, Span]]:
    """Return name, x [m] and height [m] of the mat: on the layer outside, and on the wall below its end."""
    low = min(max(at.outer_low, at.footing_top), 0.0) if at.outer < 0 else at.footing_top
    return [("drainage mat", at.outer, (low, 0.0)), ("drainage mat, lower", 0.0, (at.footing_top, low))]


def draw_wall(sheet: Sheet, at: Frame, wall: Wall, footing: Footing, insulation: WallInsulation) -> None:
    """Paint footing, stem wall, its insulation and its membranes."""
    sheet.solid(FOOTING, footing.material, at.footing, (at.footing_bottom, at.footing_top))
    height = (at.footing_top, at.wall_top)
    if insulation.outer:
        sheet.solid(OUTSIDE_INSULATION, insulation.outer.material, (at.outer, 0.0), (at.outer_low, at.wall_top))
    sheet.solid(STEM_WALL, wall.material, (0.0, at.thickness), height)
    if insulation.inner:
        inside = (at.thickness, at.inner)
        sheet.solid(INSIDE_INSULATION, insulation.inner.material, inside, (at.inner_low, at.wall_top))
    ledge = (0.0, max(at.thickness, at.footing[1]))
    sheet.level("footing capillary break", footing.capillary_break, ledge, at.footing_top)
    _draw_exterior_membranes(sheet, at, wall, insulation)


def _draw_exterior_membranes(sheet: Sheet, at: Frame, wall: Wall, insulation: WallInsulation) -> None:
    """Lay damp-proofing or waterproofing on the concrete, or on the outer panel of a form; the mat on top."""
    x = at.outer if insulation.placement == FORM else 0.0
    name, coat = ("damp-proofing", wall.damp_proofing)
    if wall.waterproofing is not None:
        name, coat = ("waterproofing", wall.waterproofing)
    sheet.upright(name, coat, x, (at.footing_top, 0.0))
    for piece, face, height in _mat_pieces(at):
        sheet.upright(piece, wall.drainage_mat, face, height)


def draw_inside_membrane(sheet: Sheet, at: Frame, insulation: WallInsulation, floor: float) -> None:
    """Lay the membrane on the room side of the layer inside, from the floor [m] to the top of the wall."""
    if insulation.inner:
        low = max(at.inner_low, floor)
        sheet.upright("inside membrane", insulation.inside_membrane, at.inner, (low, at.wall_top))


def finish_concrete(sheet: Sheet, at: Frame, absorptance: float) -> None:
    """Give the strip above grade its solar absorptance; longwave emissivity 0.9 as of most surfaces."""
    strip = (at.outer, 0.0, at.outer, at.wall_top)
    sheet.finishes.append(Finish("strip above grade", *strip, absorptance=absorptance, emissivity=0.9))


def probe_wall(sheet: Sheet, at: Frame, low: float, covered: float) -> None:
    """Place the probes of stem wall, footing and what covers them.

    Parameters
    ----------
    low : float
        Lower end of the inner face that is probed [m].
    covered : float
        Level up to which floor, fill or a sheet covers the inner face [m]; a bare face above is a surface.
    """
    for word, share in (("upper", 0.9), ("middle", 0.5), ("lower", 0.1)):
        _probe_inner_face(sheet, at, word, low + share * (at.wall_top - low), covered)
    kind: Literal["interface", "exterior"] = "exterior" if at.outer == 0 else "interface"
    sheet.probe("wall exterior face at grade", 0.0, 0.0, STEM_WALL, kind)
    sheet.probe("stem wall core", at.thickness / 2, (low + at.wall_top) / 2, STEM_WALL, "concrete")
    sheet.probe("footing core", at.thickness / 2, (at.footing_top + at.footing_bottom) / 2, FOOTING, "concrete")
    for word, x in (("outer", at.footing[0]), ("middle", at.thickness / 2), ("inner", at.footing[1])):
        note = "soil under the footing; frost here can heave"
        sheet.probe(f"under footing, {word}", x, at.footing_bottom, NATIVE_SOIL, "footing", None, note)


def _probe_inner_face(sheet: Sheet, at: Frame, word: str, y: float, covered: float) -> None:
    behind = at.inner_at(y) > at.thickness + NOTHING
    kind: Literal["interface", "surface"] = "interface" if behind or y < covered - NOTHING else "surface"
    note = "concrete behind the insulation" if behind else ""
    sheet.probe(f"wall inner face, {word}", at.thickness, y, STEM_WALL, kind, "MR", note)
