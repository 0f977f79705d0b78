"""Drawings: they show what is in the section, at true scale."""

from __future__ import annotations

import matplotlib.pyplot as plt
import pytest

from stemwall.cases.case_file.read import default_path, load_case
from stemwall.cases.inputs.display_units import Units, feet
from stemwall.cases.report.section_drawing import draw_case
from stemwall.cases.report.section_plot import chain
from stemwall.cases.setup.build import draw_section


@pytest.mark.parametrize(("mesh", "inches"), [(False, False), (True, True)])
def test_default_case_is_drawn(mesh: bool, inches: bool) -> None:
    case = load_case(default_path()).base
    section, materials = draw_section(case)
    figure = draw_case(case, section, materials, mesh=mesh, inches=inches)
    figure.canvas.draw()
    close = figure.axes[1]
    words = {text.get_text() for text in close.texts}
    assert {"outdoors", "crawlspace", "house"} <= words
    numbers = {text.get_text() for axes in figure.axes[:2] for text in axes.texts}
    assert {str(n) for n in range(1, len(section.probes) + 1)} <= numbers
    listed = "\n".join(text.get_text() for text in figure.axes[3].texts)
    assert all(item.name in listed for item in (*section.probes, *section.membranes))
    assert close.get_aspect() == 1.0
    assert ("8″" if inches else "0.203") in words
    plt.close(figure)


@pytest.mark.parametrize(
    ("metres", "text"),
    [
        (0.2032, "8″"),
        (0.762, "2′ 6″"),
        (0.0127, "½″"),
        (0.1397, "5½″"),
        (0.3048, "1′ 0″"),
        (0.98425, "3′ 2¾″"),
        (-0.381, "−1′ 3″"),
        (-0.1, "−3⅞″"),
        (-0.0001, "0″"),
    ],
)
def test_feet_and_inches(metres: float, text: str) -> None:
    assert feet(metres) == text
    assert Units("IP").place(metres) == text
    assert Units("SI").place(0.1524) == "0.152"


def test_chain_drops_what_is_too_close() -> None:
    assert chain([0.0, 0.01, 0.2, 5.0, -1.0, 0.2], 0.0, 1.0, 0.05) == [0.0, 0.2]
