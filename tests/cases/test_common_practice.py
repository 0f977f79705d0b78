"""Common practice and published direction: changes to the default crawlspace move results the right way.

Signs, not numbers: coarse meshes and a short run. Sources stand beside each test.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.build import build
from stemwall.cases.case_file import default_path, parse_case
from stemwall.cases.runs import simulate_setup

pytestmark = pytest.mark.slow

COARSE = """\
[mesh]
finest = 0.03
growth = 2.0
coarsest = 2.0
layer_cells = 2

"""
#: from 1 October to the end of February
WINTER = 151 / 365
MONTH = 30 * 24
HOUR = 3600.0

#: a slab that starts near the humidity of a crawlspace that never changes: what flows late comes from the ground
STEADY = (
    ("years = 3", 'years = 3\ninitial_humidity = "50 %"'),
    (
        'temperature = { winter = "63 degF", summer = "72 degF" }\nhumidity = { winter = "45 %", summer = "60 %" }',
        'temperature = 20\nhumidity = "50 %"',
    ),
)
#: variants with a probe on the foam's face to the crawlspace, and with more foam
THICK = """
[[variant]]
name = "foam with a probe"
change.probe = [{ name = "foam face", x = 0.2540, y = 0.05, region = "inside insulation" }]

[[variant]]
name = "thick foam"
change.probe = [{ name = "foam face", x = 0.3048, y = 0.05, region = "inside insulation" }]
change."detail.insulation.inside.thickness" = "4 in"

[[variant]]
name = "thick foam under the slab"
change = { "detail.slab.insulation_thickness" = "2 in" }
"""

Computed = Callable[..., xr.Dataset]


@pytest.fixture(scope="session")
def computed(tmp_path_factory: pytest.TempPathFactory) -> Computed:
    """Results of the default case on a coarse mesh, each computed once."""
    kept: dict[tuple[str, float, bool], xr.Dataset] = {}

    def result(variant: str = "base", years: float = WINTER, steady: bool = False) -> xr.Dataset:
        key = (variant, years, steady)
        if key not in kept:
            path = tmp_path_factory.mktemp("practice") / "result.nc"
            simulate_setup(build(_case(steady).variant(variant), years), path)
            with xr.open_dataset(path) as opened:
                kept[key] = opened.load()
        return kept[key]

    return result


def _case(steady: bool):
    text = default_path().read_text(encoding="utf-8") + THICK
    for old, new in (("[detail]\n", COARSE + "[detail]\n"), *(STEADY if steady else ())):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return parse_case(text, Path("coarse.toml"))


def _late(dataset: xr.Dataset, name: str, place: str) -> float:
    """Mean of the last month at a probe."""
    return float(dataset[f"probe_{name}"].sel(probe=place)[-MONTH:].mean())


def _from_slab(dataset: xr.Dataset) -> float:
    """Vapour from the slab into the crawlspace over the last quarter of the run [kg/m]."""
    [at] = [n for n, name in enumerate(dataset["surface"].values) if str(name) == "crawlspace | slab, up"]
    hours = dataset.sizes["time"]
    return -float(dataset["vapour_flow"][-hours // 4 :, at].sum()) * HOUR


def test_a_capillary_break_keeps_the_sill_drier(computed: Computed) -> None:
    """One house: sill with a closed-cell sealer dry, crawl plate without one wet (owner report, trade press)."""
    with_break, without = computed(), computed("no capillary break")
    for place in ("sill underside", "sill core"):
        assert _late(without, "water_content", place) > _late(with_break, "water_content", place)
    humidity = [_late(d, "relative_humidity", "sill underside") for d in (without, with_break)]
    assert humidity[0] > humidity[1] + 0.02


def test_a_batt_wets_the_concrete_behind_it(computed: Computed) -> None:
    """Batts on basement walls lead to mould growth and decay (report on renovating basements, 2003, abstract)."""
    place = "wall inner face, upper"
    batt, foam = computed("batt inside"), computed()
    assert _late(batt, "relative_humidity", place) > _late(foam, "relative_humidity", place)
    assert _late(batt, "water_content", place) > _late(foam, "water_content", place)


def test_a_ground_sheet_stops_most_of_the_moisture_from_the_ground(computed: Computed) -> None:
    """Up to 90 % less evaporation (researchers cited in the trade press, 1984); full cover 80 %: common practice."""
    sheet = _from_slab(computed("base", 1.0, steady=True))
    bare = _from_slab(computed("no ground sheet", 1.0, steady=True))
    assert bare > 0.0
    assert sheet < 0.4 * bare


def test_foam_outside_keeps_the_wall_warmer(computed: Computed) -> None:
    """Exterior insulation: wall warmer, less condensation (foundation design handbook, section 2-1)."""
    inside, outside = computed(), computed("foam outside")
    for place in ("wall inner face, upper", "wall inner face, middle", "stem wall core"):
        assert _late(outside, "temperature", place) > _late(inside, "temperature", place)
    place = "wall inner face, upper"
    assert _late(outside, "relative_humidity", place) < _late(inside, "relative_humidity", place)


def test_the_strip_above_grade_is_the_coldest_part_of_a_bare_wall(computed: Computed) -> None:
    """Most intense heat transfer at the edge above grade (foundation design handbook, section 4-1)."""
    bare = computed("no insulation")
    coldest = {
        place: float(bare["probe_temperature"].sel(probe=place).min())
        for place in ("wall inner face, upper", "wall inner face, middle", "wall inner face, lower")
    }
    assert min(coldest, key=lambda place: coldest[place]) == "wall inner face, upper"
    loss = -bare["heat_flow"][-3 * MONTH :].mean("time") / bare["surface_length"]
    outdoors = loss.where(bare["surface_climate"] == "outdoors", drop=True)
    names = [str(name) for name in outdoors["surface"].values]
    assert names[int(np.argmax(outdoors.values))] == "outdoors | stem wall, left (strip above grade)"


def test_without_insulation_the_wall_loses_more_heat(computed: Computed) -> None:
    """Foam of the thickness here has about 13 times the resistance of the concrete; common practice, no source."""

    def lost(dataset: xr.Dataset) -> float:
        wall = (dataset["surface_climate"] == "crawlspace") & (dataset["surface_facing"] == "right")
        return float(dataset["heat_flow"].where(wall, drop=True).sum())

    assert lost(computed("no insulation")) > 2.0 * lost(computed()) > 0.0


@pytest.mark.parametrize(
    ("variant", "places"),
    [("thick foam", ("foam face",)), ("thick foam under the slab", ("slab top, middle", "slab top, edge"))],
)
def test_more_foam_never_wets_the_room_side(computed: Computed, variant: str, places: tuple[str, ...]) -> None:
    """Adding foam never wets the face of the insulated part to the room in winter; common practice, no source."""
    thin, thick = computed("foam with a probe"), computed(variant)
    for place in places:
        assert _late(thick, "relative_humidity", place) < _late(thin, "relative_humidity", place)
        assert _late(thick, "temperature", place) > _late(thin, "temperature", place)


def test_a_year_closes_its_balances(computed: Computed) -> None:
    year = computed("base", 1.0, steady=True)
    assert year.attrs["balance_water_relative"] < 1e-6
    assert year.attrs["balance_heat_relative"] < 1e-6
    assert np.isfinite(year["stored_water"].values).all()
