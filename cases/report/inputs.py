"""Inputs as a page shows them: materials, membranes, probes, climates, and every value with its origin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stemwall.cases.case_file.stated import Setting, settings_of
from stemwall.cases.inputs.display_units import Units, number, perms, significant
from stemwall.cases.report.section_plot import GROUND
from stemwall.cases.results.variant import Variant
from stemwall.cases.setup.material_tables import KELVIN, liquid_in_words
from stemwall.materials.catalogue import catalogue
from stemwall.materials.material import Material
from stemwall.materials.water import AIR_PERMEABILITY

#: relative humidity at which moist conductivity is shown [-]
MOIST = 0.80
#: a layer is at least this many times longer than thick
SLENDER = 1.5


@dataclass(frozen=True)
class MaterialRow:
    """One material: where it is, and its main numbers with their sources."""

    name: str
    where: list[str]
    dry: str
    moist: str
    density: str
    vapour: str
    liquid: str
    sources: list[str]


def materials(variant: Variant, units: Units) -> list[MaterialRow]:
    """Return the materials of a section in the order in which they are drawn."""
    section = variant.section
    if section is None:
        return []
    return [_material(variant, variant.materials[key], units) for key in section.materials]


def _material(variant: Variant, material: Material, units: Units) -> MaterialRow:
    suction = -KELVIN * np.log(np.array([MOIST]))
    water = np.array([0.0, float(material.water_content(suction)[0])])
    dry, moist = material.thermal_conductivity(water)
    factor = AIR_PERMEABILITY / float(material.vapour_permeability(suction)[0])
    conductivity = units["conductivity"]
    origins = [
        f"{word}: {origin.source or 'not given'} ({origin.confidence})"
        for word, key in (
            ("λ", "conductivity"),
            ("ρ", "density"),
            ("μ", "vapour"),
            ("w", "storage"),
            _liquid_origin(material),
        )
        if (origin := material.provenance.get(key))
    ]
    return MaterialRow(
        material.name, _where(variant, material, units),
        significant(float(conductivity.of(dry))), significant(float(conductivity.of(moist))),
        units["density"].text(material.density), significant(factor),
        liquid_in_words(material), origins,
    )  # fmt: skip


def _liquid_origin(material: Material) -> tuple[str, str]:
    """Symbol and property that the law of liquid in use rests on."""
    return ("K", "liquid.long_term") if material.liquid_service == "long-term" else ("A", "liquid")


def _where(variant: Variant, material: Material, units: Units) -> list[str]:
    """Return the regions of a material, with a thickness where a region is a layer."""
    assert variant.section is not None
    found = []
    for region in variant.section.regions:
        if region.material != material.id:
            continue
        thin, long = sorted((region.x1 - region.x0, region.y1 - region.y0))
        layer = material.hatch not in GROUND[:1] and long >= SLENDER * thin
        found.append(f"{region.name}, {units.thickness(thin)}" if layer else region.name)
    return list(dict.fromkeys(found))


@dataclass(frozen=True)
class MembraneRow:
    """One membrane: its diffusion-equivalent thickness and permeance, dry and wet, and liquid."""

    name: str
    sd: str
    perm: str
    liquid: str


def membranes(variant: Variant) -> list[MembraneRow]:
    """Return the membranes of a section."""
    if variant.section is None:
        return []
    rows = [
        MembraneRow(
            m.name,
            _pair(significant(m.sd_dry), significant(m.sd_wet)),
            _pair(significant(perms(m.sd_dry)), significant(perms(m.sd_wet))),
            "passes" if m.liquid == "open" else "does not pass",
        )
        for m in variant.section.membranes
    ]
    return list(dict.fromkeys(rows))


def _pair(dry: str, wet: str) -> str:
    return dry if dry == wet else f"{dry} dry, {wet} wet"


@dataclass(frozen=True)
class ProbeRow:
    """One probe: its number in the drawing, place and kind."""

    number: int
    name: str
    kind: str
    mould_class: str
    material: str
    where: str
    note: str


def probes(variant: Variant, units: Units) -> list[ProbeRow]:
    """Return the probes of a result, numbered as in the drawing."""
    data = variant.dataset
    names = dict(zip(map(str, data["material"].values), map(str, data["material_name"].values), strict=True))
    return [
        ProbeRow(
            n + 1, str(data["probe"].values[n]), str(data["probe_kind"].values[n]),
            str(data["probe_mould_class"].values[n]) or "–",
            names.get(str(data["probe_material"].values[n]), ""),
            ", ".join(units.place(float(data[axis].values[n])) for axis in ("probe_x", "probe_y")),
            str(data["probe_note"].values[n]),
        )
        for n in range(data.sizes["probe"])
    ]  # fmt: skip


def sources(variant: Variant) -> list[tuple[str, str]]:
    """Return the sources that the materials refer to: identifier, and title with how it was obtained."""
    used = {origin.source for m in variant.materials.values() for origin in m.provenance.values()}
    register = catalogue().sources
    rows = []
    for key in sorted(used & set(register)):
        source = register[key]
        parts = (source.title, str(source.year or ""), source.part, source.obtained)
        rows.append((key, "; ".join(part for part in parts if part)))
    return rows


def origins(variant: Variant) -> list[tuple[str, str]]:
    """Return what the result says of weather, rain, what the site does to them, indoor air and the environment."""
    attrs = variant.dataset.attrs
    rows = [
        ("weather", variant.text("weather")),
        ("rain", variant.text("rain")),
        ("notes on the weather", variant.text("weather_notes")),
        ("moisture at the start", variant.text("start_moisture")),
    ]
    site, space = "outdoors_", "indoor_"
    for prefix in (site, "environment_"):
        rows += [(k.removeprefix(prefix).replace("_", " "), str(t)) for k, t in attrs.items() if k.startswith(prefix)]
    return rows + [(f"air of {k.removeprefix(space)}", str(t)) for k, t in attrs.items() if k.startswith(space)]


def settings(variant: Variant) -> list[Setting]:
    """Return every single value of the case, stated or default, in SI."""
    return [] if variant.case is None else list(settings_of(variant.case))


def evidence(variant: Variant) -> list[tuple[str, str]]:
    """Return what shows how well a run was computed, and what made it."""
    count = ("steps", "rejected_error", "rejected_newton", "steps_at_floor", "updates", "linear_iterations")
    words = (
        "time steps", "steps repeated for their error", "steps repeated for no convergence",
        "steps kept although a faster transient in them was not resolved", "nonlinear updates",
        "linear iterations",
    )  # fmt: skip
    rows = [
        (
            "largest heat balance error, share of all heat that flowed",
            significant(variant.number("balance_heat_relative"), 2),
        ),
        (
            "largest water balance error, share of all water that flowed",
            significant(variant.number("balance_water_relative"), 2),
        ),
        ("cells; nodes", f"{number(variant.number('cells'), 0)}; {number(variant.number('nodes'), 0)}"),
        ("hours computed", number(float(variant.hours), 0)),
        *((word, number(variant.number(f"integrator_{key}"), 0)) for word, key in zip(words, count, strict=True)),
        (
            "worst local time error, share of that allowed",
            significant(variant.number("integrator_worst_error"), 4),
        ),
        (
            "largest balance residual carried by an accepted step, share of a node’s saturation",
            significant(variant.number("integrator_max_residual")),
        ),
        ("computing time, s", number(variant.number("computing_seconds"), 0)),
        ("run complete", variant.text("completed")),
        ("computed at", variant.text("history").removesuffix(" computed")),
        ("weather, SHA-256", variant.text("weather_sha256")),
    ]
    return rows
