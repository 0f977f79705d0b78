"""Common practice: insulation on the stem wall and at the rim, and where it loses its heat."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from stemwall.cases.verification.comparison import (
    ABOVE,
    BELOW,
    RELATIVE,
    Comparison,
    compare,
    sign,
)
from stemwall.cases.verification.rules_of_practice.runs import (
    BASEMENT,
    CRAWL,
    HEATING,
    HUMIDITY,
    KELVIN,
    PRACTICE,
    WICKING,
    WINTER,
    at,
    field,
    flow,
    heat,
    last,
    run,
)

BATTS = "report on renovating basements, 2003, abstract: batts on basement walls lead to mould and decay"
HANDBOOK_WALLS = "foundation design handbook of a national laboratory, section 2-1"
HANDBOOK_SLABS = "the same handbook, section 4-1: most intense heat transfer at the edge above grade"
BROCHURE = "insulation brochure that quotes a research group: −50 % and −70 % (second-hand)"
JUNCTION = "Xue et al. 2022, UCL Open Environment: five-year runs of a wall-floor junction"

#: inner face of the stem wall, and of 2 in and 4 in of foam on it [m]
WALL, FOAM, THICK_FOAM = 0.2032, 0.2540, 0.3048
UPPER, MIDDLE, LOWER = ("wall inner face, upper", "wall inner face, middle", "wall inner face, lower")
OUTSIDE = {"detail.insulation.placement": "outside"}
BARE = {"detail.insulation.placement": "none"}
R5 = {"detail.insulation.inside.thickness": "1 in", "detail.insulation.outside.thickness": "1 in"}
#: the two published numbers ask for a finer mesh
FINE = {"mesh.finest": 0.03, "mesh.growth": 2.0, "mesh.coarsest": 1.5}


def _with_face(x: float) -> dict[str, Any]:
    return {"probe": [{"name": "foam face", "x": x, "y": 0.05, "region": "inside insulation"}]}


def batt_or_foam() -> list[Comparison]:
    """An air-permeable batt inside the stem wall, and rigid foam of about the same resistance.

    The default crawlspace from October to January.  Behind the batt water must condense on the concrete: at
    least 99.5 % relative humidity, for more hours than behind the foam; and the foam's warm face must stay below
    saturation.
    """
    changes = {
        "detail.insulation.inside.material": "mineral_wool_batt_40",
        "detail.insulation.inside.thickness": "2 1/2 in",
    }
    batt, foam = run(CRAWL, WINTER, changes), run(CRAWL, WINTER, _with_face(FOAM))
    behind = [at(data, "relative_humidity", UPPER) for data in (batt, foam)]
    water = [last(at(data, "water_content", UPPER)) for data in (batt, foam)]
    wet = [float((humidity >= 0.995).sum()) for humidity in behind]
    face = float(at(foam, "relative_humidity", "foam face").max())
    name, quantity = "Concrete behind a batt, against behind foam", "relative humidity [-]"
    return [
        sign(name, BATTS, "water at its inner face, mean of January [kg/m3]", water[0], ABOVE, water[1], 1.0),
        sign(name, BATTS, "hours at 99.5 % and above [h]", wet[0], ABOVE, wet[1], 24.0),
        sign("Warm face of the foam, highest", BATTS, quantity, face, BELOW, 0.995, HUMIDITY),
    ]


def placement_and_heat() -> list[Comparison]:
    """The same foam inside and outside the whole wall of a basement.

    R-5 (1 in of extruded polystyrene), October to March; heat that wall, ledge, rim and slab take.
    """
    inside, outside = run(BASEMENT, HEATING, {**R5, **FINE}), run(BASEMENT, HEATING, {**R5, **FINE, **OUTSIDE})
    lost = [_to_wall(inside), _to_wall(outside)]
    whole = [w + heat(data, "basement | slab", "basement | ledge", "basement | rim")
             for w, data in zip(lost, (inside, outside), strict=True)]  # fmt: skip
    return [
        compare(
            "Foam outside, against inside", HANDBOOK_WALLS, "heat lost by the basement [kWh/m]",
            [0], whole[1], whole[0], 0.10, RELATIVE, note="little difference; within about 10 %",
        )
    ]  # fmt: skip


def _to_wall(data: xr.Dataset) -> float:
    """Heat [kWh/m] that the wall and what covers it take, all the faces they have."""
    names = [str(name) for name in data["surface"].values]
    parts = [n for n in names if n.startswith(("basement | stem wall", "basement | inside insulation"))]
    return heat(data, *parts)


def placement_and_warmth() -> list[Comparison]:
    """Foam outside, and the same foam inside the stem wall of the default crawlspace in winter."""
    inside, outside = run(CRAWL, WINTER, _with_face(FOAM)), run(CRAWL, WINTER, OUTSIDE)
    places = (UPPER, MIDDLE, "stem wall core")
    name = "Foam outside, against inside"
    found: list[Comparison] = [
        sign(
            f"{name}: {place}", HANDBOOK_WALLS, "temperature, mean of January [°C]",
            last(at(outside, "temperature", place)), ABOVE, last(at(inside, "temperature", place)), KELVIN,
        )
        for place in places
    ]  # fmt: skip
    humid = [last(at(data, "relative_humidity", UPPER)) for data in (outside, inside)]
    quantity = "relative humidity, mean of January [-]"
    return [*found, sign(f"{name}: {UPPER}", HANDBOOK_WALLS, quantity, humid[0], BELOW, humid[1], HUMIDITY)]


def half_and_full_height() -> list[Comparison]:
    """R-5 inside the upper 4 ft of a basement wall, and on its whole height.

    October to March; heat that the wall takes, less than that of the bare wall.  The source does not say which
    soil and climate it holds for; here these are the defaults.
    """
    half = {**R5, "detail.insulation.inside.reach": "4 ft"}
    bare, upper, whole = (_to_wall(run(BASEMENT, HEATING, {**change, **FINE})) for change in (BARE, half, R5))
    quantity = "share of the wall's heat loss that is saved [-]"
    return [
        compare("Upper half", BROCHURE, quantity, [0], 1.0 - upper / bare, 0.50, 0.10, note="± 10 points"),
        compare("Full height", BROCHURE, quantity, [0], 1.0 - whole / bare, 0.70, 0.10, note="± 10 points"),
    ]


def strip_above_grade() -> list[Comparison]:
    """The strip of a bare stem wall above grade, where it is coldest and loses most.

    The default crawlspace without insulation, October to January: lowest temperature of the inner face, and the
    mean heat flow per area through the faces that look outdoors.
    """
    data = run(CRAWL, WINTER, BARE)
    coldest = {place: float(at(data, "temperature", place).min()) for place in (UPPER, MIDDLE, LOWER)}
    names = [str(name) for name in data["surface"].values]
    lengths = dict(zip(names, data["surface_length"].values, strict=True))
    outdoors = [n for n in names if n.startswith("outdoors")]
    losses = {n: -last(flow(data, "heat_flow", n)) / float(lengths[n]) for n in outdoors}
    [strip] = [n for n in outdoors if "strip above grade" in n]
    others = max(loss for n, loss in losses.items() if n != strip)
    return [
        sign(
            "Inner face: top, against middle and foot", HANDBOOK_SLABS, "lowest temperature [°C]",
            [coldest[UPPER]] * 2, BELOW, [coldest[MIDDLE], coldest[LOWER]], KELVIN,
        ),
        sign(
            "Strip, against the most of any other face outdoors", HANDBOOK_SLABS,
            "heat lost in January [W/m2]", losses[strip], ABOVE, others, 1.0,
        ),
    ]  # fmt: skip


def junction() -> list[Comparison]:
    """Foot of a wall on its footing, with foam outside and without.

    The default crawlspace on walls that wick, at the end of January.  Over the cells of the stem wall foam outside
    must lower the mean relative humidity, and leave the highest, at the foot, where it is: the wall is then less even.
    """
    bare, outside = (
        field(run(CRAWL, WINTER, {**WICKING, **change}), "relative_humidity", "stem wall") for change in (BARE, OUTSIDE)
    )
    mean = [float(np.average(values, weights=areas)) for values, areas in (outside, bare)]
    highest = [float(values.max()) for values, _ in (outside, bare)]
    name = "Foam outside, against none"
    return [
        sign(name, JUNCTION, "mean relative humidity of the wall [-]", mean[0], BELOW, mean[1], HUMIDITY),
        compare(name, JUNCTION, "highest relative humidity [-]", [0], highest[0], highest[1], 0.01),
        sign(
            name, JUNCTION, "highest less mean [-]", highest[0] - mean[0], ABOVE, highest[1] - mean[1], HUMIDITY,
        ),
    ]  # fmt: skip


def thicker_foam() -> list[Comparison]:
    """Twice the foam inside the stem wall, and foam under the slab: the room side in winter.

    The default crawlspace from October to January.  More foam must never wet its face towards the room: the face must
    become warmer and less humid, be it by ever so little.
    """
    thin = run(CRAWL, WINTER, _with_face(FOAM))
    thick = run(CRAWL, WINTER, {**_with_face(THICK_FOAM), "detail.insulation.inside.thickness": "4 in"})
    under = run(CRAWL, WINTER, {"detail.slab.insulation_thickness": "2 in"})
    found: list[Comparison] = []
    for name, data, place in (
        ("4 in on the wall, against 2 in", thick, "foam face"),
        ("2 in under the slab, against none", under, "slab top, middle"),
        ("2 in under the slab, against none", under, "slab top, edge"),
    ):
        warm, humid = ([last(at(d, q, place)) for d in (data, thin)] for q in ("temperature", "relative_humidity"))
        run_of = f"{name}: {place}"
        found.append(sign(run_of, PRACTICE, "temperature, mean of January [°C]", warm[0], ABOVE, warm[1]))
        quantity = "relative humidity, mean of January [-]"
        found.append(sign(run_of, PRACTICE, quantity, humid[0], BELOW, humid[1]))
    return found
