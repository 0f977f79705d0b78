"""What a case can draw with: the catalogue, and the materials that the case brings itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from stemwall.cases.setup.own_material import whole
from stemwall.materials.catalogue import catalogue, material_doubts, material_from_mapping, written_whole
from stemwall.materials.definition import membrane_from_spec, parse
from stemwall.materials.doubts import doubts
from stemwall.materials.entries import OnDemand, membrane_keys
from stemwall.materials.material import Material, MembraneProduct
from stemwall.materials.problems import MaterialError
from stemwall.materials.schema import MembraneSpec

#: the property by which a table is that of a membrane
SD = "sd"


@dataclass(frozen=True)
class Stock:
    """Materials and membranes by id."""

    materials: Mapping[str, Material]
    membranes: Mapping[str, MembraneProduct]


def take_stock(
    own: Mapping[str, Mapping[str, Any]],
    report: Callable[[str, str, str], None],
    ask: Callable[[str, str, str], None],
    folder: Path = Path(),
) -> Stock:
    """Return the catalogue with a case's own materials added.

    Parameters
    ----------
    own : mapping
        Inline materials of the case, by id.
    report : callable
        Takes (path below [material], found, expected) of each problem; an own material with
        problems is left out.
    ask : callable
        Takes the same of what is unusual about an own material.
    folder : Path
        Folder that the names of material files start from.
    """
    shipped = catalogue()
    added: dict[str, Material] = {}
    sheets: dict[str, MembraneProduct] = {}
    for key, written in own.items():
        try:
            mapping = whole(key, written, folder)
            if SD in mapping or key in membrane_keys():
                spec = parse(MembraneSpec, key, written_whole(key, mapping))
                sheets[key] = membrane_from_spec(key, spec)
                for at, found, expected in doubts(spec, mapping):
                    ask(".".join([key, *map(str, at)]), found, expected)
            else:
                added[key] = material_from_mapping(key, mapping)
                for doubt in material_doubts(key, mapping):
                    ask(doubt.place, doubt.found, doubt.expected)
        except MaterialError as error:
            for problem in error.problems:
                report(problem.place, problem.found, problem.expected)

        if key in shipped and "density" in written:
            ask(key, f"the id {key!r}, which the catalogue has", "a name of its own, unless it is to take its place")

    def material(key: str) -> Material:
        return added[key] if key in added else shipped.materials[key]

    def membrane(key: str) -> MembraneProduct:
        return sheets[key] if key in sheets else shipped.membranes[key]

    return Stock(OnDemand([*shipped.materials, *added], material), OnDemand([*shipped.membranes, *sheets], membrane))
