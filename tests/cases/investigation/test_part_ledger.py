"""The ledger of a part: it closes, its faces in air are those of the run, and two parts agree on what they share."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.investigation.faces import faces_of
from stemwall.cases.investigation.part_ledger import OPEN, STREAMS, PartLedger, part_ledger
from stemwall.cases.investigation.part_tables import page_ledger
from stemwall.cases.setup.build import Setup, build
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.model.settings import MeshRule
from stemwall.solver.results.stored_result import read_result
from tests.cases.samples import WALL, changed, read

HOURS = 36
LEAK = '\n[[leak]]\nname = "pipe"\nx = 0.1\ny = 0.5\namount = "0.2 kg/m"\nstart_hour = 3\nhours = 9\n'
JOINT = (
    '[[air_path]]\nname = "joint"\nfrom = "outdoors"\nto = "room"\npoints = [[0, 0.5], [0.2, 0.5]]\n'
    'flow = "0.1 L/s/m"\n'
)
ROOM = '[indoor.room]\ntemperature = 20\nhumidity = "50 %"\n'
ZONE = '[indoor.house]\ntemperature = 21\nhumidity = "40 %"\n[zone.room]\nhouse_leakage = 0.5\n'
BRICK = changed("concrete_wc050", "brick_1700")
DRAIN = (
    changed('water = "table"', 'water = "table"\n[site]\nwater_table = "-0.3 m"')
    + '[[drain]]\nname = "tile"\nx = [-0.5, -0.4]\ny = [-0.9, -0.8]\n'
)
#: a case of each kind, the part that is looked at, and a row that it must have
KINDS = {
    "given air": (WALL, "wall", "left: outdoors"),
    "computed air": (changed(ROOM, ZONE), "wall", "right: room"),
    "soil": (WALL, "soil", "below: edge of the section"),
    "leak": (BRICK + LEAK, "wall", "given: pipe"),
    "drain": (DRAIN, "soil", "drain: tile"),
    "joint": (WALL + JOINT, "wall", STREAMS),
}


def made(text: str) -> Setup:
    return replace(build(read(text).base, years=HOURS / 8760), mesh=MeshRule(0.05, 2.0, 2.0, 1))


def of(ledger: PartLedger, row: str) -> dict[str, float]:
    frame = ledger.to_frame()
    return dict(frame.xs(row, level="row").sum())


@pytest.mark.parametrize("kind", KINDS)
def test_what_crossed_the_faces_is_what_is_stored(kind: str) -> None:
    text, part, row = KINDS[kind]
    setup = made(text)
    found = part_ledger(setup, part)
    frame = found.to_frame()
    assert row in found.rows
    stored = found.stored.sum(axis=0)
    turnover = frame.abs().sum()
    assert frame["heat"].sum() * 3.6e6 == pytest.approx(stored[0], abs=1e-9 * turnover["heat"] * 3.6e6)
    water = turnover["vapour"] + turnover["liquid"]
    assert frame[["vapour", "liquid"]].to_numpy().sum() == pytest.approx(stored[1], abs=1e-9 * water)
    assert water > 0.0
    if found.rows[-1] == OPEN:  # nothing is left open
        assert abs(of(found, OPEN)["heat"]) < 1e-9 * turnover["heat"]
        assert abs(of(found, OPEN)["vapour"]) < 1e-9 * water
    for system in ("SI", "IP"):
        _closes_as_printed(page_ledger(found, setup.section, setup.materials, system).tables)


def _closes_as_printed(tables: list) -> None:  # type: ignore[type-arg]
    def value(text: str) -> float:
        return float(text.replace("−", "-").replace(",", "") or "nan")

    for table in tables:
        digits = max(len(cell.partition(".")[2]) for _, cells in table.rows for cell in cells)
        foot = {name: [value(cell) for cell in cells] for name, cells in table.foot}
        for column in range(len(table.columns)):
            total = sum(value(cells[column]) for _, cells in table.rows)
            assert total == pytest.approx(foot["sum"][column], abs=0.1 * 10.0**-digits)
            if not np.isnan(foot["stored since"][column]):
                rest = sum(v[column] for name, v in foot.items() if name not in ("sum", "stored since"))
                assert total + rest == pytest.approx(foot["stored since"][column], abs=0.1 * 10.0**-digits)


def test_faces_in_air_are_those_of_the_run(tmp_path: Path) -> None:
    setup = made(WALL)
    found = part_ledger(setup, "wall")
    data = read_result(simulate_setup(setup, tmp_path / "r.nc"))
    names = [str(name) for name in data["surface"].values]
    for row, surface in (("left: outdoors", "outdoors | wall, left"), ("right: room", "room | wall, right")):
        k = names.index(surface)
        booked = of(found, row)
        assert booked["heat"] == pytest.approx(float(data["heat_flow"][:, k].sum()) / 1000.0, rel=1e-6)
        assert booked["vapour"] == pytest.approx(float(data["vapour_flow"][:, k].sum()) * 3600.0, rel=1e-6)
        assert booked["liquid"] == pytest.approx(float(data["liquid_flow"][:, k].sum()) * 3600.0, rel=1e-6, abs=1e-12)


def test_two_parts_agree_on_what_passes_between_them() -> None:
    text = WALL.replace("y = [0, 1]\n[[membrane]]", 'y = [0, "50 cm"]\n[[region]]\nname = "upper"\n'
                        'material = "brick_1700"\nx = [0, "200 mm"]\ny = ["50 cm", 1]\n[[membrane]]')  # fmt: skip
    assert "upper" in text
    setup = made(text)
    found = part_ledger(setup, "wall")
    lower, upper = of(found, "above: upper"), of(part_ledger(setup, "upper"), "below: wall")
    largest = found.to_frame().abs().max()
    assert abs(lower["heat"]) > 0.0
    # corners of a face, which the air shares, are told by either part's own nodes
    assert lower["heat"] == pytest.approx(-upper["heat"], abs=0.01 * largest["heat"])
    water = [one["vapour"] + one["liquid"] for one in (lower, upper)]
    assert water[0] == pytest.approx(-water[1], abs=0.01 * max(largest["vapour"], largest["liquid"]))


def test_faces_go_once_round_a_part() -> None:
    setup = made(WALL)
    network = build_network(build_mesh(setup.section, setup.mesh))
    faces = faces_of(network, 1)
    lengths = {face.name: face.length for face in faces}
    expected = {"above: edge of the section": 0.2, "below: soil, through break": 0.2, "left: outdoors": 1.0,
                "right: room": 1.0}  # fmt: skip
    assert lengths == pytest.approx(expected)
    for face in faces:
        assert sum(face.widths.values()) == pytest.approx(face.length)
    assert faces[2].middle == pytest.approx((0.0, 0.5))


def test_a_part_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError, match="roof"):
        part_ledger(made(WALL), "roof")
