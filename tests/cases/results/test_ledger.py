"""Ledgers: in every kind of case heat and water close, as computed and as printed, and each row has its name."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report.flow_bars import heat_bars, water_bars
from stemwall.cases.report.tables import ledger_table, summary
from stemwall.cases.report.verdicts import periods
from stemwall.cases.results import ledger
from stemwall.cases.results.given_air import given_air
from stemwall.cases.results.ledger import WAYS, WITH_WATER, WITHOUT_WATER
from stemwall.cases.results.ledger_tables import NET, SUM, Account, Shown, account
from stemwall.cases.results.variant import Variant, load
from stemwall.cases.setup.build import build
from stemwall.solver.model.settings import MeshRule, Output
from stemwall.solver.simulate import simulate
from tests.cases.samples import WALL, changed, read

HOURS = 30
AIR = '[indoor.room]\ntemperature = 20\nhumidity = "50 %"\n'
HOUSE = '[indoor.house]\ntemperature = 21\nhumidity = "40 %"\n'


def zone(table: str, text: str = WALL) -> str:
    """The wall with the air of its room computed."""
    return changed(AIR, f"{HOUSE}[zone.room]\nhouse_leakage = 0\noutdoor_leakage = 0\n{table}\n", text)


def path(source: str, target: str, text: str = WALL) -> str:
    joint = f'\n[[air_path]]\nname = "joint"\nfrom = "{source}"\nto = "{target}"\n'
    points = "[[0.2, 0.5], [0, 0.5]]" if source == "room" else "[[0, 0.5], [0.2, 0.5]]"
    return text + joint + f'points = {points}\nflow = "0.1 L/s/m"\n'


#: a wall that takes the water of a leak as fast as it comes, as concrete in its long-term law does not
BRICK = changed("concrete_wc050", "brick_1700")
LEAK = '\n[[leak]]\nname = "pipe"\nx = 0.1\ny = 0.5\namount = "6 kg/m"\nstart_hour = 3\nhours = 9\n'
FLOOD = '\n[[flood]]\nname = "river"\nlevel = "10 in"\nstart_hour = 5\nhours = 6\n'
DRAIN = '\n[[drain]]\nname = "tile"\nx = [-0.5, -0.4]\ny = [-0.9, -0.8]\n'

#: a case of each kind, and the groups that it must show with some heat or water
KINDS: dict[str, tuple[str, set[str]]] = {
    "given air": (WALL, {"outdoors", "room", "ground"}),
    "vents": (zone("vents = { ratio = 0.0067 }"), {"air from outdoors"}),
    "leakage": (zone("").replace("_leakage = 0", "_leakage = 0.3"), {"air from outdoors", "air from house"}),
    "heater and gains": (
        zone('heater = { set_point = 25 }\nmoisture_gain = "2 kg/m/day"\nheat_gain = "30 W/m"'),
        {"heater: room", "gains: room"},
    ),
    "dehumidifier": (zone("dehumidifier = { set_point = 0.3 }\nmoisture_gain = 2"), {"dehumidifier: room"}),
    "ground air": (
        zone('exhaust = "1 L/s/m^2"\nmake_up_ground = 0.3'), {"air from ground", "air from outdoors", "air from house"},
    ),
    "leak": (BRICK + LEAK, {"leak: pipe"}),
    "leak beside computed air": (
        changed("concrete_wc050", "brick_1700", zone("vents = { ratio = 0.0067 }")) + LEAK,
        {"leak: pipe", "air from outdoors"},
    ),
    "flood outdoors": (WALL + FLOOD, {"flood: outdoors", "outdoors"}),
    "flood in given air": (WALL + FLOOD + 'where = "room"\n', {"flood: room", "room"}),
    "flood in computed air": (zone("") + FLOOD + 'where = "room"\n', {"flood: room"}),
    "drain": (changed('water = "table"', 'water = "table"\n[site]\nwater_table = "-0.3 m"') + DRAIN, {"drain: tile"}),
    "air path": (path("room", "outdoors"), {"air from room", "air from outdoors"}),
    "air path into computed air": (path("outdoors", "room", zone("")), {"air from outdoors"}),
    "snow": (changed("years = 0.01", "years = 0.01\nstart = 2002-01-03"), {"outdoors"}),
    "fresh concrete": (changed("years = 0.01", 'years = 0.01\nstart_moisture = "fresh"'), {"room"}),
}  # fmt: skip


def computed(text: str, folder: Path) -> Variant:
    """A short run on a coarse mesh, as a report reads it."""
    made = build(read(text).base, years=HOURS / 8760)
    out = simulate(
        made.section, made.materials, made.climates, start=made.start, hours=made.hours, ground=made.ground,
        path=folder / "r.nc", mesh=MeshRule(0.05, 2.0, 2.0, 1), output=Output(field_hours=100),
        start_state=made.start_state, environment=made.environment, case_text=text, title=made.case.title,
        provenance=made.provenance,
    )  # fmt: skip
    return load([out])[0]


@pytest.mark.parametrize("kind", KINDS)
def test_heat_and_water_close_as_computed_and_as_printed(kind: str, tmp_path: Path) -> None:
    text, expected = KINDS[kind]
    variant = computed(text, tmp_path)
    found = ledger.ledger(variant.dataset, ledger.last_year(variant))
    for column, change, error, closure, size in (
        ([WITHOUT_WATER, WITH_WATER], found.heat, found.heat_error, "heat_closure", 3.6e6),
        (["net"], found.water, found.water_error, "water_closure", 1.0),
    ):
        rows = found.rows.assign(net=ledger.net(found.rows))
        turnover = np.abs(rows[column].to_numpy()).sum()
        assert rows[column].to_numpy().sum() == pytest.approx(change, abs=1e-6 * turnover)
        assert error * size == pytest.approx(float(variant.dataset[closure][-1]), abs=1e-9 * turnover * size)
    assert expected <= {str(group) for group in found.rows.index.get_level_values("group")}
    for group in expected:
        assert np.abs(found.rows.loc[[group], [WITHOUT_WATER, WITH_WATER, *WAYS]].to_numpy()).max() > 1e-6
    for units in (Units(), Units("IP")):
        shown = account(variant, units)
        for table, sums in ((shown.heat, [SUM, *shown.seasons]), (shown.water, [NET])):
            _adds_up(table, sums)
            if table.inner is not None:
                _adds_up(table.inner, [])
        _near(shown.water, found.rows.assign(**{NET: ledger.net(found.rows)}), [*WAYS, NET])
        _near(shown.heat, found.rows, [WITHOUT_WATER, WITH_WATER])


def _adds_up(shown: Shown, closing: list[str]) -> None:
    """The printed numbers of each block, of all blocks and of the whole table add up to the last digit."""
    table = ledger_table(shown)

    def numbers(row: list[str]) -> np.ndarray:
        return np.array([float(text.replace("−", "-").replace(",", "") or "0") for text in row])

    tolerance = 1e-9 + 1e-12 * np.abs(shown.rows.to_numpy()).max()
    total = np.zeros(len(table.columns))
    for block in table.blocks:
        if block.rows:
            np.testing.assert_allclose(sum(numbers(row) for _, row in block.rows), numbers(block.total), atol=tolerance)
        total += numbers(block.total)
    np.testing.assert_allclose(total, numbers(table.whole), atol=tolerance)
    at = [table.columns.index(name) for name in closing]
    closed = numbers(table.whole) + numbers(table.error)
    np.testing.assert_allclose(closed[at], numbers(table.change)[at], atol=tolerance)
    for rows in ([row for block in table.blocks for row in (block.total, *(r for _, r in block.rows))], [table.whole]):
        for row in rows:
            value = dict(zip(table.columns, numbers(row), strict=True))
            if NET in value:
                way_sum = sum(value[way] if way.endswith("in") else -value[way] for way in WAYS)
                assert value[NET] == pytest.approx(way_sum, abs=tolerance)
            else:
                season_sum = sum(value[name] for name in table.columns[:2])
                assert value[SUM] == pytest.approx(season_sum, abs=tolerance)
                assert value[SUM] == pytest.approx(value[WITHOUT_WATER] + value[WITH_WATER], abs=tolerance)


def _near(shown: Shown, rows: pd.DataFrame, columns: list[str]) -> None:
    """No printed number is off by a unit of its last digit."""
    exact = rows[columns].to_numpy() * float(shown.quantity.factor)
    assert np.abs(shown.rows[columns].to_numpy() - exact).max() < 10.0**-shown.quantity.digits


def test_computed_air_is_no_indoor_climate(tmp_path: Path) -> None:
    """What a computed space and its faces exchange is inside; heat from indoors is that of the house alone."""
    variant = computed(KINDS["leakage"][0], tmp_path)
    shown = account(variant, Units())
    assert shown.given == ("house",)
    assert "room" not in shown.heat.groups.index
    data = variant.dataset
    house = data["surface_climate"].values == "house"
    heat = float(data["heat_flow"].values[:, house].sum()) / 1000.0
    assert heat != 0.0
    assert shown.indoors()[SUM] == pytest.approx(heat, abs=0.11)
    (row,) = summary([variant], [shown], periods([variant])[0], Units())
    assert row.heat[-1] == shown.heat.text(float(shown.heat.groups.loc["air from house", SUM]))
    assert shown.heat.inner is not None
    assert list(shown.heat.inner.groups.index) == ["room"]


def test_water_that_a_leak_brings_carries_its_heat(tmp_path: Path) -> None:
    variant = computed(KINDS["leak"][0], tmp_path)
    rows = ledger.ledger(variant.dataset, ledger.last_year(variant)).rows.loc["leak: pipe"]
    assert float(rows["liquid in"].iloc[0]) == pytest.approx(6.0, rel=1e-9)
    air = variant.dataset["climate_temperature"].sel(climate="outdoors").values[3:12].mean()
    assert float(rows[WITH_WATER].iloc[0]) == pytest.approx(6.0 * 4180.0 * air / 3.6e6, rel=1e-6)
    assert float(rows[WITHOUT_WATER].iloc[0]) == 0.0


def test_vapour_from_a_wet_wall_takes_its_heat_of_evaporation(tmp_path: Path) -> None:
    """Into air at 20 degC each kilogram takes between 2.5 and 2.55 MJ: L_v + c_v T."""
    variant = computed(KINDS["fresh concrete"][0], tmp_path)
    rows = ledger.ledger(variant.dataset, ledger.last_year(variant)).rows.loc[["room"]].sum()
    water = float(rows["vapour out"] - rows["vapour in"])
    assert water > 0.01
    assert 2.5 < -3.6 * float(rows[WITH_WATER]) / water < 2.55


def test_a_season_is_the_part_of_the_year_that_its_months_say(tmp_path: Path) -> None:
    """Hours at the turn of March are parted; the halves add up to the whole, what is stored included."""
    variant = computed(changed("years = 0.01", "years = 0.01\nstart = 2002-03-31T12:00:00"), tmp_path)
    cold, warm = (ledger.ledger(variant.dataset, season.hours) for season in ledger.seasons(variant))
    whole = ledger.ledger(variant.dataset, ledger.last_year(variant))
    assert sorted(int(season.hours.sum()) for season in ledger.seasons(variant)) == [12, HOURS - 12]
    np.testing.assert_allclose(cold.rows + warm.rows, whole.rows, atol=1e-9)
    assert cold.heat + warm.heat == pytest.approx(whole.heat, abs=1e-9)
    assert cold.heat_error == pytest.approx(0.0, abs=1e-6)


def _with(given: Account, name: str, water: float, heat: float) -> Account:
    """The account of a variant whose room's air takes up so much more water and gives so much more heat."""

    def more(shown: Shown, column: str, by: float) -> Shown:
        groups = shown.groups.copy()
        groups.loc["room", column] += by
        return replace(shown, groups=groups)

    return replace(given, name=name, water=more(given.water, NET, -water), heat=more(given.heat, WITHOUT_WATER, heat))


def test_given_air_that_swallows_water_is_told_of(tmp_path: Path) -> None:
    """Thresholds of a year, in proportion for shorter runs; the house is left out."""
    variant = computed(WALL, tmp_path)
    base = account(variant, Units())
    share = HOURS / 8760
    few = _with(base, "few", 2.9 * share, 19.0 * share)
    wet, warm = _with(base, "wet", 3.1 * share, 0.0), _with(base, "warm", 0.0, 21.0 * share)
    (alone,) = given_air([base, few], Units())
    data = variant.dataset
    room = data["surface_climate"].values == "room"
    taken = -float((data["vapour_flow"] + data["liquid_flow"]).values[:, room].sum()) * 3600.0
    assert (alone.space, alone.warnings) == ("room", [])
    assert float(alone.water[0].replace("−", "-")) == pytest.approx(taken, abs=0.01)
    dry = float((data["heat_flow"] - data["heat_with_water"]).values[:, room].sum()) / 1000.0
    assert float(alone.heat[0].replace("−", "-")) == pytest.approx(dry, abs=0.1)
    (water,), (heat,) = given_air([base, wet], Units())[0].warnings, given_air([base, warm], Units())[0].warnings
    assert "of water in base" in water
    assert "in wet" in water
    assert "of heat in base" in heat
    assert given_air([_with_house(base), _with_house(wet)], Units())[0].warnings == []


def _with_house(given: Account) -> Account:
    """The same account, its room called the house."""

    def renamed(shown: Shown) -> Shown:
        return replace(shown, groups=shown.groups.rename(index={"room": "house"}))

    return replace(given, given=("house",), heat=renamed(given.heat), water=renamed(given.water))


def test_bars_show_the_numbers_of_the_tables(tmp_path: Path) -> None:
    shown = account(computed(KINDS["leak beside computed air"][0], tmp_path), Units())
    for figure, table, columns in (
        (heat_bars([shown]), shown.heat, list(shown.seasons)),
        (water_bars([shown]), shown.water, ["vapour", "liquid"]),
    ):
        panels = {axes.get_title(): [text.get_text() for text in axes.texts] for axes in figure.axes if axes.texts}
        groups = table.groups
        expected = {}
        for group, row in groups.iterrows():
            values = [row[c] if c in groups else row[f"{c} in"] - row[f"{c} out"] for c in columns]
            if any(values):
                expected[str(group)] = [table.text(float(value)) for value in values]
        assert panels == expected
        assert "leak: pipe" in panels
