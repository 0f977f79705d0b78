"""Pieces of wood: their mean by hand, and a board between two rooms that is judged by it."""

from datetime import datetime

import numpy as np
import pytest
import xarray as xr

from stemwall.materials.reference import linear_vapour
from stemwall.solver.assessment.verdicts import assess, to_table
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Network
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.model.climate import indoor
from stemwall.solver.model.section import Opening, Probe, Region, Section
from stemwall.solver.model.settings import MeshRule, StartState
from stemwall.solver.results.probes import place_probes
from stemwall.solver.results.wood_piece import REACH, Pieces
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave

THICK, HOURS = 0.02, 600


def panel(*probes: Probe) -> Network:
    """A panel of 1 m with a notch, on a block, under the open air."""
    section = Section(
        0.0, 0.0, 1.0, 0.3,
        items=(
            Opening("air", "room", 0.0, 0.0, 1.0, 0.3), Region("block", "wood", 0.0, 0.0, 1.0, 0.1),
            Region("panel", "wood", 0.0, 0.1, 1.0, 0.12), Opening("notch", "room", 0.3, 0.11, 0.35, 0.12),
        ),
        probes=probes,
    )  # fmt: skip
    return build_network(build_mesh(section, MeshRule(0.005, 1.5, 0.05, 2)))


def test_the_mean_of_a_piece_is_that_of_what_is_seen_of_it_within_reach() -> None:
    probes = (
        Probe("panel", 0.1, 0.12, "panel", "wood"), Probe("face", 0.1, 0.12, "panel", "surface"),
        Probe("same", 0.1, 0.105, "panel", "wood"), Probe("block", 0.5, 0.05, "block", "wood"),
    )  # fmt: skip
    network = panel(*probes)
    pieces = Pieces(network, place_probes(network))
    x, y = network.node_x[network.scv_node], network.node_y[network.scv_node]
    # by hand: 0.4 m of the panel less the notch
    assert REACH == 0.3
    whole, notch = 0.4 * 0.02, 0.05 * 0.01
    expected = (whole * 0.2 - notch * 0.325) / (whole - notch), (whole * 0.11 - notch * 0.115) / (whole - notch)
    for function, by_hand, of_block in ((x, expected[0], 0.5), (y, expected[1], 0.05)):
        found = pieces.mean(1.0 + 2.0 * function)
        np.testing.assert_allclose(found[[0, 2]], 1.0 + 2.0 * by_hand, rtol=1e-12)
        assert np.isnan(found[1])
        assert found[3] == pytest.approx(1.0 + 2.0 * of_block, rel=1e-12)


def test_without_wood_there_is_nothing_to_average() -> None:
    network = panel(Probe("face", 0.1, 0.12, "panel", "surface"))
    assert np.isnan(Pieces(network, place_probes(network)).mean(np.ones(network.scv_node.size))).all()


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    """A board whose water content is 400 kg/m3 times humidity, from 45 % between rooms of 10 and 80 % at 20 degC."""
    section = Section(
        -0.05, 0.0, THICK + 0.05, 0.02,
        items=(
            Opening("left", "dry", -0.05, 0.0, 0.0, 0.02), Region("board", "wood", 0.0, 0.0, THICK, 0.02),
            Opening("right", "damp", THICK, 0.0, THICK + 0.05, 0.02),
        ),
        probes=tuple(
            Probe(name, share * THICK, 0.01, "board", "wood")
            for name, share in (("dry face", 0.0), ("quarter", 0.25), ("damp face", 1.0))
        ),
    )  # fmt: skip
    steady = np.full(HOURS, 20.0)
    rooms = {key: indoor(key, steady, np.full(HOURS, rh)) for key, rh in (("dry", 0.1), ("damp", 0.8))}
    path = simulate(
        section, {"wood": linear_vapour(1e-10, 400.0)}, rooms, start=datetime(2001, 1, 1), hours=HOURS,
        ground=GroundWave(20.0, 0.0, 0.0), start_state=StartState(relative_humidity=0.45, indoor_temperature=20.0),
        mesh=MeshRule(0.002, 1.5, 0.02, 4), path=tmp_path_factory.mktemp("board") / "board.nc",
    )  # fmt: skip
    with xr.open_dataset(path) as result:
        return result.load()


def test_a_gradient_across_a_board_leaves_its_mean(board: xr.Dataset) -> None:
    """Linear diffusion between equal films: the mean stays at 0.45 x 400 kg/m3, the profile ends as a straight line."""
    faces = board["probe_water_content"].values
    np.testing.assert_allclose(board["piece_water_content"].values, 180.0, atol=0.05)
    dry, quarter, damp = faces[-1]
    assert dry + damp == pytest.approx(360.0, abs=0.05)
    assert quarter == pytest.approx(0.75 * dry + 0.25 * damp, abs=0.1)
    assert damp > 250.0


def test_a_limit_for_the_piece_is_not_judged_at_its_wet_face(board: xr.Dataset) -> None:
    """Of 18 % on average and 28 % at the damp face the guide of 20 % holds, the line of fibre saturation does not."""
    table = to_table(assess(board)).set_index(["place", "id"])
    guide, line = (table.loc[("damp face", key)] for key in ("wood-moisture-piece", "wood-fibre-saturation"))
    assert guide["value"] == pytest.approx(18.0, abs=0.01)
    assert guide["holds"] is True
    assert (guide["basis"], guide["basis of beside"]) == ("mean of the piece", "at the place itself")
    assert guide["beside"] == line["value"] > 26.0
    assert line["holds"] is False
    assert (line["basis"], line["basis of beside"]) == ("at the place itself", "mean of the piece")
    assert line["beside"] == guide["value"]
