"""Figures: what is averaged, marked and told apart; numbers that the page takes from them."""

from __future__ import annotations

import matplotlib
import numpy as np
import pytest
from matplotlib.figure import Figure

from stemwall.cases.report import style
from stemwall.cases.report.field_maps import _runs
from stemwall.cases.report.time_series import _month_shades


def _hours(count: int) -> np.ndarray[tuple[int], np.dtype[np.datetime64]]:
    return np.datetime64("2001-10-01T01:00") + np.arange(count) * np.timedelta64(1, "h")


@pytest.mark.parametrize(("hours", "count"), [(100, 100), (8760, 365), (4 * 8760, 4 * 8760 // 168)])
def test_means_keep_the_mean(hours: int, count: int) -> None:
    values = np.linspace(0.0, 1.0, hours)
    time, mean = style.means(_hours(hours), values)
    assert len(time) == len(mean) == count
    window = hours // count
    assert mean.mean() == pytest.approx(values[: count * window].mean())
    assert (np.diff(time) == time[1] - time[0]).all()


def test_lines_differ_in_colour_and_dash() -> None:
    names = [f"variant {n}" for n in range(6)]
    drawn = style.lines(names)
    assert len({line.colour for line in drawn.values()}) == 6
    assert len({str(line.dash) for line in drawn.values()}) == 6
    assert drawn["variant 0"].width > drawn["variant 1"].width
    assert list(style.lines(["only"])) == ["only"]


def test_lines_are_told_apart_in_grey() -> None:
    drawn = style.lines(["a", "b", "c", "d"])
    grey = [np.dot(matplotlib.colors.to_rgb(line.colour), (0.299, 0.587, 0.114)) for line in drawn.values()]
    assert (np.diff(grey) > 0.05).all()


def test_month_shades_are_dark_in_winter() -> None:
    grey = [np.dot(matplotlib.colors.to_rgb(shade), (0.299, 0.587, 0.114)) for shade in _month_shades()]
    assert np.argmin(grey) in (0, 11)
    assert np.argmax(grey) in (5, 6)


def test_svg_is_inline_labelled_and_free_of_links() -> None:
    with style.style("one"):
        figure = Figure()
        axes = figure.subplots()
        axes.plot([0, 1], [0, 1])
        text = style.svg(figure, 'a "label" & <more>')
    assert text.startswith('<svg role="img" aria-label="a &quot;label&quot; &amp; &lt;more>"')
    assert "metadata" not in text
    assert "DOCTYPE" not in text
    assert 'width="' not in text.split(">", 1)[0]


def test_same_figure_with_another_salt_has_other_ids() -> None:
    made = []
    for salt in ("one", "two"):
        with style.style(salt):
            figure = Figure()
            figure.subplots().plot([0, 1], [0, 1])
            made.append(style.svg(figure, "x"))
    assert made[0] != made[1]


def test_runs_join_neighbours() -> None:
    marked = np.array([[True, True, False, True], [False, False, False, False]])
    assert _runs(marked) == [(0, 0, 2), (0, 3, 4)]
