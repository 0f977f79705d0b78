"""Faces in ground contact: wet by nature, and nothing there for mould to live on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from stemwall.cases.section.section_checks import Painted
from stemwall.materials.material import Material
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity
from stemwall.solver.model.section import Opening, Probe, Region, Section

#: groups of the catalogue that are mineral throughout
MINERAL = ("concrete_masonry", "soil")
#: vapour resistance factor [-] at 50 % RH from which insulation keeps room air from what it lies on: closed-cell
#: foams have 20 and more, open-cell foam and fibres, through which air comes and dust with it, below 10
#: (EN ISO 10456, from memory, to be checked)
CLOSED = 20.0
NOTE = "mineral or closed-cell layers on both sides, no room air: nothing for mould to live on"


def with_ground_contact(section: Section, materials: Mapping[str, Material]) -> Section:
    """Return the section with those interfaces of it marked that carry nothing which mould could live on.

    A face between concrete, soil and closed-cell foam is near 100 % RH by nature where it is cold or damp ground is
    near, and is judged by its liquid water, not by limits for mould on wood.  Where one of the layers that meet there
    is wood, paper or lets room air through, the face stays an interface.

    Parameters
    ----------
    section : Section
        A section with its probes.
    materials : mapping of str to Material
        By the keys that the regions of the section use; unknown ones count as food.
    """
    painted = Painted(section)
    probes = tuple(_marked(probe, painted, materials) for probe in section.probes)
    return replace(section, probes=probes)


def _marked(probe: Probe, painted: Painted, materials: Mapping[str, Material]) -> Probe:
    if probe.kind != "interface":
        return probe
    met = painted.near(probe.x, probe.y, probe.x, probe.y)
    if not all(_nothing_to_eat(item, materials) for item in met):
        return probe
    note = "; ".join(filter(None, (probe.note, NOTE)))
    return replace(probe, kind="ground contact", mould_class=None, note=note)


def _nothing_to_eat(item: Region | Opening, materials: Mapping[str, Material]) -> bool:
    if isinstance(item, Opening) or item.material not in materials:
        return False
    material = materials[item.material]
    if material.group in MINERAL:
        return True
    permeability = float(material.vapour_permeability(suction_from_humidity(np.array([0.5])))[0])
    return material.group == "insulation" and CLOSED * permeability <= AIR_PERMEABILITY
