"""The functions of one or two materials in one figure: storage, vapour, conductivity and liquid flow."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from stemwall.cases.setup.material_tables import resistance_factor
from stemwall.materials.material import Material
from stemwall.materials.water import FloatArray, suction_from_humidity

#: relative humidities of the curves [-]
HUMIDITY = np.concatenate([np.linspace(0.01, 0.95, 95), 1.0 - np.geomspace(0.049, 1e-4, 40)])
#: suctions of the liquid curve [Pa]
SUCTION = np.geomspace(1.0, 1e8, 400)
#: least liquid conductivity that is drawn, as a share of the greatest
LEAST = 1e-15


def curves(material: Material) -> list[tuple[FloatArray, list[FloatArray]]]:
    """Return abscissa and ordinates of the four panels.

    Water [kg/m3], resistance factors of vapour alone and with liquid over relative humidity, conductivity
    [W/(m K)] over water content, liquid conductivity [s] over suction [Pa].
    """
    water = material.water_content(suction_from_humidity(HUMIDITY))
    contents = np.linspace(0.0, material.storage.saturation, 200)
    return [
        (HUMIDITY, [water]),
        (HUMIDITY, list(resistance_factor(material, HUMIDITY))),
        (contents, [material.thermal_conductivity(contents)]),
        (SUCTION, [material.liquid_conductivity(SUCTION)]),
    ]


def save_figure(materials: Sequence[Material], path: Path) -> None:
    """Write the figure of one or two materials; the suffix says the format.

    Raises
    ------
    ValueError
        If the format is not known.
    OSError
        If the file cannot be written.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.0, 7.0), layout="constrained")
    panels = figure.subplots(2, 2).ravel()
    words = (
        ("relative humidity", "water content [kg/m³]"),
        ("relative humidity", "vapour resistance factor"),
        ("water content [kg/m³]", "thermal conductivity [W/(m K)]"),
        ("suction [Pa]", "liquid conductivity [s]"),
    )
    for number, material in enumerate(materials):
        colour = f"C{number}"
        for panel, (x, ordinates) in zip(panels, curves(material), strict=True):
            for kind, y in enumerate(ordinates):
                name = material.id if len(ordinates) == 1 else f"{material.id}, {('vapour', 'with liquid')[kind]}"
                panel.plot(x, y, color=colour, linestyle=("-", "--")[kind], label=name)
    for panel, (across, up) in zip(panels, words, strict=True):
        panel.set(xlabel=across, ylabel=up)
        panel.grid(visible=True, linewidth=0.3)
        panel.legend(fontsize="small")
    panels[1].set_yscale("log")
    panels[3].set_xscale("log")
    top = max(float(material.liquid_conductivity(SUCTION).max()) for material in materials)
    if top > 0.0:
        panels[3].set_yscale("log")
        panels[3].set_ylim(top * LEAST, top * 3.0)
    figure.savefig(path)
