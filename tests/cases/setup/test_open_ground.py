"""The ground of a case: from the balance of its surface, the air or what is stated, and that a run stays there."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.section.eaves_strip import OUTDOORS
from stemwall.cases.setup.build import build
from stemwall.cases.setup.open_ground import SiteGround
from stemwall.cases.surroundings.outdoor_climate import outdoors
from stemwall.solver.open_ground import GroundColumn, OpenGround

FREE = """
[bounds]
x = [-0.5, 0]
y = [-12, 0.5]
[[region]]
name = "soil"
material = "soil_loam"
x = [-0.5, 0]
y = [-12, 0]
[[opening]]
name = "air"
climate = "outdoors"
x = [-0.5, 0]
y = [0, 0.5]
[[edge]]
side = "bottom"
kind = "ground"
water = "table"
"""


def ground(site: str = "", run: str = "") -> SiteGround:
    text = f"[site]\n{site}\n[run]\n{run}\n{FREE}"
    return build(parse_case(text, Path("ground.toml")).variant("base")).ground


def test_nothing_is_computed_before_it_is_asked_for() -> None:
    assert "_outcome" not in vars(ground())


def test_bare_ground_is_warmer_than_the_air() -> None:
    own, air = ground(), ground('ground_from = "air"')
    assert own.wave.mean > air.wave.mean + 0.5
    assert "from the balance of the surface of soil_loam, bare" in own.describe()
    assert "suction at the start from there too" in own.describe()
    assert "that of the air: as stated" in air.describe()
    assert air.wave.mean == pytest.approx(air.year.ground_wave().mean)


def test_what_is_stated_holds() -> None:
    both = ground("ground_mean = 8\nground_amplitude = 5")
    assert (both.wave.mean, both.wave.amplitude) == (8.0, 5.0)
    assert "_outcome" not in vars(both) or both.at_start(1.0, 0.0)[1] is None
    mean = ground("ground_mean = 8")
    assert mean.wave.mean == 8.0
    assert mean.wave.amplitude == pytest.approx(ground().wave.amplitude)
    assert "as stated by site.ground_mean" in mean.describe()


def test_a_stated_suction_holds() -> None:
    assert ground(run='ground_suction = "33 kPa"').at_start(np.array([1.0]), 0.0)[1] is None


def test_without_soil_there_is_no_open_ground() -> None:
    text = FREE.replace("soil_loam", "concrete_wc050")
    text = text.replace('kind = "ground"\nwater = "table"', 'kind = "closed"')
    made = build(parse_case(text, Path("ground.toml")).variant("base")).ground
    assert "no open ground is drawn" in made.describe()


@pytest.mark.slow
@pytest.mark.parametrize("cover", ["bare", "grass", "gravel"])
def test_surface_and_lower_edge_stay_where_they_begin(cover: str) -> None:
    """Two years on from the start, and six years from the wave of the air: the same ground within 0.3 K."""
    made = ground(f'cover = {{ kind = "{cover}" }}')
    profile: Any = made._settled
    climate = outdoors(made.year, made.site, made.start, 8760, beside=False)[OUTDOORS]
    finish = (1.0 - made.site.ground_albedo, made.site.ground_emissivity) if made.site.covered else None
    given = OpenGround(made.soil, climate, made.start, made.water_table, finish, made._air)
    far = GroundColumn(replace(given, air=replace(made._air, mean=made._air.mean + 2.0)))
    mean = [far.march_year()[0] for _ in range(6)][-1]
    np.testing.assert_allclose(mean[far.depth < 2.0], profile.mean[far.depth < 2.0], atol=0.3)
    near = GroundColumn(given)
    near.begin_from(profile)
    first, second = near.march_year()[0], near.march_year()[0]
    np.testing.assert_allclose(first, profile.mean, atol=0.3)
    np.testing.assert_allclose(second, first, atol=0.1)
