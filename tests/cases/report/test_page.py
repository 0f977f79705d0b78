"""The report: every section is there, it needs no network, variants are compared, units are switched."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.inputs.display_units import Units, number, perms
from stemwall.cases.report import verdicts
from stemwall.cases.report.page import write_report
from stemwall.cases.results import ledger
from stemwall.cases.results.variant import load
from stemwall.cases.setup.build import build
from stemwall.cases.setup.material_tables import liquid_in_words
from stemwall.materials import catalogue, material_from_mapping
from stemwall.solver.assessment.criteria import CRITERIA
from stemwall.solver.model.settings import MeshRule, Output
from stemwall.solver.simulate import simulate
from tests.cases.samples import WALL, read

CASE = (
    WALL
    + """\
kind = "surface"
mould_class = "MR"
[[region]]
name = "plate"
material = "lumber_spf"
x = [0, 0.2]
y = [0.9, 1]
[[probe]]
name = "plate core"
x = 0.1
y = 0.95
region = "plate"
kind = "wood"
mould_class = "S"
[[probe]]
name = "soil below"
x = 0.1
y = -0.3
region = "soil"
kind = "footing"
[[variant]]
name = "lightweight <wall>"
note = "another material for the wall"
[variant.change]
"region.wall.material" = "brick_1700"
leak = [{ name = "burst pipe", x = 0.1, y = -0.3, amount = 2, start = 2001-10-02 }]
membrane = []
probe = [{ name = "inner face", x = 0.2, y = 0.5, region = "wall", kind = "surface", mould_class = "MR" },
  { name = "plate core", x = 0.05, y = 0.95, region = "plate", kind = "wood", mould_class = "S" }]
"""
)
SECTIONS = ("says", "section", "places", "time", "mould", "maps", "flows", "evidence", "limits")
VOID = {"meta", "br", "image", "path", "use", "rect", "stop", "link"}


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Two short runs on a coarse mesh, through the real solver and writer."""
    folder = tmp_path_factory.mktemp("results")
    paths = []
    for n, case in enumerate(read(CASE).variants()):
        s = build(case, years=50 / 8760)
        path = simulate(
            s.section, s.materials, s.climates, start=s.start, hours=s.hours, ground=s.ground,
            path=folder / f"{n}.nc", mesh=MeshRule(0.05, 2.0, 2.0, 1), output=Output(field_hours=10),
            case_text=s.case.text, title=s.case.title, provenance=s.provenance,
        )  # fmt: skip
        paths.append(path)
    return paths


@pytest.fixture(scope="module")
def page(results: list[Path], tmp_path_factory: pytest.TempPathFactory) -> str:
    return write_report(results, tmp_path_factory.mktemp("page") / "new" / "report.html").read_text()


@pytest.fixture(scope="module")
def long_result(results: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A synthetic result of 14 months: the hours of a short run over and over."""
    with xr.open_dataset(results[0], engine="h5netcdf") as opened:
        short = opened.load()
    hours = short.sizes["time"]
    index = np.arange(14 * 730) % hours
    series = [name for name in short.data_vars if "time" in short[name].dims]
    time = short["time"].values[0] + np.arange(index.size) * np.timedelta64(1, "h")
    made = short.drop_dims("time").assign({name: (short[name].dims, short[name].values[index]) for name in series})
    made = made.assign_coords(time=time)
    made.attrs = {**short.attrs, "title": "synthetic, not computed", "case": "", "variant": "synthetic"}
    del made.attrs["sealed"]
    path = tmp_path_factory.mktemp("long") / "synthetic.nc"
    made.drop_encoding().to_netcdf(path, engine="h5netcdf")
    return path


def test_every_section_is_there(page: str) -> None:
    for name in SECTIONS:
        assert f'<section id="{name}">' in page
        assert f'href="#{name}"' in page
    for words in (
        "licensed",
        "ignition or a",
        "Radon",
        "Local codes",
        "borrowed below grade",
        "no damage in itself",
    ):
        assert words in page


def test_it_needs_no_network(page: str) -> None:
    sources = re.findall(r'(?:src|href)\s*=\s*"([^"]*)"', page)
    assert sources
    assert all(source.startswith(("#", "data:")) for source in sources)
    assert "@import" not in page
    assert not re.search(r"url\((?!['\"]?(?:#|data:))", page)
    assert "<script" not in page


def test_it_names_no_folder_and_calls_nothing_safe(page: str, results: list[Path]) -> None:
    assert str(results[0].parent) not in page
    words = re.sub(r"<[^>]*>", " ", page)
    assert not re.search(r"\bsafe\b", words, flags=re.IGNORECASE)


def test_tags_are_balanced(page: str) -> None:
    class Checker(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.open: list[str] = []

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            if tag not in VOID:
                self.open.append(tag)

        def handle_endtag(self, tag: str) -> None:
            if tag not in VOID:
                assert self.open.pop() == tag

    checker = Checker()
    checker.feed(page)
    assert checker.open == []


def test_variants_are_compared_and_escaped(page: str) -> None:
    assert "Against the base" in page
    assert "lightweight &lt;wall&gt;" in page
    assert "lightweight <wall>" not in page
    assert "another material for the wall" in page


def rows_after(page: str, heading: str) -> list[str]:
    """The rows of the table after a heading as plain text."""
    table = page.split(heading, 1)[1].split("</table>", 1)[0]
    plain = (re.sub(r"<[^>]*>", " ", row) for row in table.split("<tr")[1:])
    return [" ".join(row.partition(">")[2].split()) if row.startswith(" class") else " ".join(row.split()).lstrip("> ")
            for row in plain]  # fmt: skip


def test_inputs_of_a_variant_are_shown_below_those_of_the_base(page: str) -> None:
    """Regression: "leaks: none" of the base stood above a variant with a leak."""
    other = "in lightweight &lt;wall&gt;"
    rows = rows_after(page, "<h3>Where the inputs come from</h3>")
    leaks = rows.index("leaks none")
    assert rows[leaks + 1].startswith(f"{other} burst pipe: 2 kg/m from 2001-10-02 00:00 for 24 h")
    assert f"{other} none" not in rows
    probes = rows_after(page, "<h3>Probes</h3>")
    core = next(n for n, row in enumerate(probes) if "plate core" in row)
    assert probes[core + 1] == f"{other} 0.050, 0.950"
    assert probes[-2].startswith("3 soil below")
    assert probes[-1] == f"{other} not there"
    materials = rows_after(page, "<h3>Materials</h3>")
    assert sum(row == f"{other} not there" for row in materials) == 1
    assert sum("not in the base" in row for row in materials) == 1
    assert rows_after(page, "<h3>Membranes</h3>")[-1] == f"{other} not there"
    settings = rows_after(page, "<summary>Every value of all variants")
    wall = settings.index(next(row for row in settings if row.startswith("region.wall.material")))
    assert settings[wall + 1] == f"{other} brick_1700"
    leak = settings.index("leak.burst pipe.x not in the base")
    assert settings[leak + 1].startswith(f"{other} 0.1 ")


def test_every_column_of_the_summary_has_its_heading(page: str) -> None:
    """Regression: a criterion was added to the rows alone, and numbers stood under another's name."""
    table = page.split('<table class="summary">')[1].split("</table>")[0]
    counts = {row.count("<th") + row.count("<td") for row in re.split(r"<tr>", table.replace("<thead>", ""))[1:]}
    assert counts == {len(verdicts.FIRST) + 3}
    for key in verdicts.FIRST:
        assert CRITERIA[key].name.capitalize() in table


def test_case_and_sources_are_shown(page: str) -> None:
    assert "title = &#34;A wall on soil&#34;" in page
    assert "common practice, no source" in page
    assert "SHA-256" in page
    assert page.count('role="img"') >= 8


def test_a_single_result_has_no_comparison(results: list[Path], tmp_path: Path) -> None:
    page = write_report(results[:1], tmp_path / "one.html").read_text()
    assert "Against the base" not in page
    assert all(f'<section id="{name}">' in page for name in SECTIONS)


def test_inch_pound_units(results: list[Path], tmp_path: Path) -> None:
    page = write_report(results, tmp_path / "ip.html", units="IP").read_text()
    for unit in ("°F", "kBtu/ft", "lb/ft", "Btu in/(h ft² °F)", "US perm", "7.87 in"):
        assert unit in page
    assert "kWh/m" not in page


def test_unusual_input_is_shown_where_it_first_stands(results: list[Path], tmp_path: Path) -> None:
    made = []
    for count, path in enumerate(results):
        with xr.open_dataset(path, engine="h5netcdf") as opened:
            data = opened.load()
        data.attrs["doubts"] = "room: found 50 °C; expected usually −10 to 40 °C" + "\nwall: found <8>" * count
        del data.attrs["sealed"]
        made.append(tmp_path / f"{count}.nc")
        data.drop_encoding().to_netcdf(made[-1], engine="h5netcdf")
    page = write_report(made, tmp_path / "report.html").read_text()
    assert page.count("Unusual input, used as stated") == 1
    assert page.count("found 50 °C; expected usually −10 to 40 °C") == 1
    assert page.count("wall: found &lt;8&gt;") == 1


def test_unknown_units_and_no_results_are_refused(results: list[Path], tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="expected"):
        write_report(results, tmp_path / "x.html", units="CGS")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="at least one"):
        write_report([], tmp_path / "x.html")
    assert not (tmp_path / "x.html").exists()


def test_long_run_is_judged_over_both_periods(long_result: Path, results: list[Path], tmp_path: Path) -> None:
    page = write_report([long_result, results[0]], tmp_path / "long.html").read_text()
    assert "The same over the last 12 months" in page
    assert "The section cannot be drawn" in page
    assert "differ in more than the variant: recorded hours, case text" in page
    variant = load([long_result])[0]
    assert sum(season.hours.sum() for season in ledger.seasons(variant)) == 8760


def test_a_result_without_named_flows_is_refused(results: list[Path], tmp_path: Path) -> None:
    with xr.open_dataset(results[0], engine="h5netcdf") as opened:
        old = opened.drop_vars("surface_group")
        del old.attrs["sealed"]
        old.to_netcdf(tmp_path / "old.nc", engine="h5netcdf")
    with pytest.raises(ValueError, match=r"old\.nc: found a result of an earlier version"):
        load([tmp_path / "old.nc"])


def test_the_page_shows_ledgers_that_close(page: str) -> None:
    for words in ("Heat, base", "Water, base", "change of the heat stored", "numerical error of the balance"):
        assert words in page
    assert "What given air had to take up and to give" in page
    assert "room: water, kg/m" in page


def test_changes_are_signed_towards_the_margin(results: list[Path]) -> None:
    variants = load(results)
    base = variants[0].verdicts
    frost = next(v for v in base if v.criterion.id == "frost-bearing-soil")
    colder = replace(frost, value=frost.value - 1.0)
    frozen = replace(frost, value=-0.5)
    change = verdicts._change(frost, colder, Units())
    assert (change.text, change.word) == ("−1.0 K", "▼ less margin")
    assert verdicts._change(frost, frozen, Units()).word == "no longer held"
    assert verdicts._change(frost, colder, Units("IP")).text == "−1.8 °F"
    assert verdicts._change(frost, None, Units()).word == "not comparable"


@pytest.mark.parametrize(
    ("kind", "value", "text"),
    [
        ("temperature", 20.0, "68.0"),
        ("heat", 1.0, "1.0"),
        ("density", 16.01846, "1.0"),
        ("conductivity", 0.144228, "1.000"),
    ],
)
def test_inch_pound_numbers(kind: str, value: float, text: str) -> None:
    assert Units("IP")[kind].text(value) == text


def test_numbers() -> None:
    assert number(-0.04, 1) == "0.0"
    assert number(-1234.56, 1) == "−1,234.6"
    assert number(float("nan"), 2) == "–"
    assert perms(34.5) == pytest.approx(0.1, rel=0.01)


def test_materials_name_the_law_of_liquid_in_use() -> None:
    concrete = catalogue().material("concrete_wc050")
    fresh = material_from_mapping("fresh", {"base": "concrete_wc050", "liquid": {"service": "short-term"}})
    others = (catalogue().material(key) for key in ("brick_1700", "xps_25"))
    words = [liquid_in_words(material) for material in (concrete, fresh, *others)]
    assert words == ["yes, long-term law", "yes, short-term law", "yes", "no"]
