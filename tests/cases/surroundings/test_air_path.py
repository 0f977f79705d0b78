"""Air paths in case files: what they become, what is refused, and a draught under a sill."""

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import Setup, build
from stemwall.solver.model.air_path import Draught

CASE = """
[case]
title = "A joint in a wall of wood"
[run]
years = 0.02
[mesh]
finest = "20 mm"
[indoor.house]
temperature = 21
humidity = "50 %"
[bounds]
x = [0, 1]
y = [0, 0.5]
[[opening]]
name = "out"
climate = "outdoors"
x = [0, 0.4]
y = [0, 0.5]
[[region]]
name = "wall"
material = "lumber_spf"
x = [0.4, 0.5]
y = [0, 0.5]
[[opening]]
name = "in"
climate = "house"
x = [0.5, 1]
y = [0, 0.5]
[[probe]]
name = "cold end"
x = 0.4
y = 0.25
[[probe]]
name = "away"
x = 0.4
y = 0.03
"""
PATH = """
[[air_path]]
name = "joint"
from = "house"
to = "outdoors"
points = [[0.5, 0.25], [0.4, 0.25]]
"""


def setup(text: str) -> Setup:
    return build(parse_case(text, Path("case.toml")).variants()[0])


def test_a_given_flow_and_a_draught() -> None:
    flow = setup(CASE + PATH + 'flow = "0.1 L/s/m"').environment.air_paths[0].flow
    np.testing.assert_allclose(flow, 1.205e-4)
    draught = setup(CASE + PATH + 'gap = "1 mm"\nheight = "8 ft"').environment.air_paths[0].flow
    assert isinstance(draught, Draught)
    assert draught.height == pytest.approx(2.4384)
    assert draught.wind.size == 175


@pytest.mark.parametrize(
    ("found", "put", "place"),
    [
        ('from = "house"', 'from = "attic"', "air_path[0].from"),
        ('from = "house"', 'from = "outdoors"', "air_path[0]"),
        ("[0.4, 0.25]]", "[0.45, 0.25]]", "air_path[0].points"),
        ("[0.4, 0.25]]", "[0.4, 0.35]]", "air_path[0].points"),
        ('flow = "0.1 L/s/m"', "", "air_path[0]"),
    ],
)
def test_what_makes_no_path_is_refused(found: str, put: str, place: str) -> None:
    text = CASE + PATH + 'flow = "0.1 L/s/m"'
    assert text.count(found) >= 1
    with pytest.raises(CaseError) as caught:
        setup(text.replace(found, put))
    assert any(problem.place.endswith(place) for problem in caught.value.problems)


def test_house_air_wets_the_cold_end_of_a_joint_in_winter(tmp_path: Path) -> None:
    """Sign, common practice; the balance has a line for each end."""
    result = {}
    for name, flow in (("tight", 0.0), ("leaky", 0.1)):
        simulate_setup(setup(CASE + PATH + f'flow = "{flow} L/s/m"'), tmp_path / f"{name}.nc")
        with xr.open_dataset(tmp_path / f"{name}.nc") as opened:
            result[name] = opened.load()
    tight, leaky = (r["probe_relative_humidity"].sel(probe="cold end")[-48:].mean() for r in result.values())
    assert float(leaky) > float(tight) + 0.05
    lines = [str(s) for s in result["leaky"]["surface"].values if "air path joint" in str(s)]
    assert len(lines) == 2
    assert result["leaky"].attrs["balance_water_relative"] < 1e-6
