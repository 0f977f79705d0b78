"""The catalogue: materials and membranes from the data files of this folder."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from stemwall.materials.check import check
from stemwall.materials.definition import (
    material_from_spec,
    membrane_from_spec,
    merged,
    parse,
    provenance,
)
from stemwall.materials.material import Material, MembraneProduct
from stemwall.materials.problems import MaterialError, Problem, UnknownMaterialError
from stemwall.materials.schema import MaterialSpec, MembraneSpec

SOURCE_FILE = "sources.toml"


@dataclass(frozen=True)
class Source:
    """An entry of the source register.

    Parameters
    ----------
    id, title, part, obtained : str
        Identifier, bibliographic title, table or chapter, and how the numbers were obtained.
    year : int or None
        Year of the edition.
    """

    id: str
    title: str
    year: int | None = None
    part: str = ""
    obtained: str = ""


@dataclass(frozen=True)
class Catalogue(Mapping[str, Material | MembraneProduct]):
    """Materials, membranes and sources by identifier.

    Parameters
    ----------
    materials, membranes, sources : mapping
        By identifier.
    """

    materials: Mapping[str, Material]
    membranes: Mapping[str, MembraneProduct]
    sources: Mapping[str, Source]

    def __getitem__(self, key: str) -> Material | MembraneProduct:
        if key in self.materials:
            return self.materials[key]
        if key in self.membranes:
            return self.membranes[key]
        raise UnknownMaterialError(key, self)

    def __contains__(self, key: object) -> bool:
        return key in self.materials or key in self.membranes

    def __iter__(self) -> Iterator[str]:
        yield from self.materials
        yield from self.membranes

    def __len__(self) -> int:
        return len(self.materials) + len(self.membranes)

    def material(self, key: str) -> Material:
        """The material of that identifier; raises `UnknownMaterialError`."""
        if key not in self.materials:
            raise UnknownMaterialError(key, self.materials)
        return self.materials[key]

    def membrane(self, key: str) -> MembraneProduct:
        """The membrane of that identifier; raises `UnknownMaterialError`."""
        if key not in self.membranes:
            raise UnknownMaterialError(key, self.membranes)
        return self.membranes[key]


@cache
def catalogue() -> Catalogue:
    """The catalogue shipped with the package, read once.

    Raises
    ------
    MaterialError
        With every problem in all data files.
    """
    return build_catalogue(_entries(), _sources())


def build_catalogue(entries: Mapping[str, Mapping[str, Any]], sources: Mapping[str, Source]) -> Catalogue:
    """Catalogue of written entries, each property with a registered source and a confidence."""
    materials: dict[str, Material] = {}
    membranes: dict[str, MembraneProduct] = {}
    problems: list[Problem] = []
    for key, entry in entries.items():
        try:
            if "sd" in entry:
                membrane = parse(MembraneSpec, key, entry)
                problems += _unsourced(key, membrane, sources)
                membranes[key] = membrane_from_spec(key, membrane)
            else:
                material = parse(MaterialSpec, key, entry)
                problems += _unsourced(key, material, sources)
                materials[key] = _checked(material_from_spec(key, material))
        except MaterialError as error:
            problems += error.problems
    if problems:
        raise MaterialError(problems)
    return Catalogue(materials, membranes, sources)


def material_from_mapping(key: str, mapping: Mapping[str, Any]) -> Material:
    """Material written inline: complete, or a catalogue material with changes.

    With ``base = "identifier"`` the other entries replace those of the catalogue material; a
    property table of the same kind is merged, and loses the source of the old numbers.

    Parameters
    ----------
    key : str
        Identifier of the new material, the first part of the place in error messages.
    mapping : mapping
        Entries as in the catalogue files.

    Raises
    ------
    MaterialError
        With every problem found, errors of the plausibility check included.
    """
    changes = {name: value for name, value in mapping.items() if name != "base"}
    if "base" not in mapping:
        return _checked(material_from_spec(key, parse(MaterialSpec, key, {"name": key, **changes})))
    entries = {name: entry for name, entry in _entries().items() if "sd" not in entry}
    if mapping["base"] not in entries:
        nearest = UnknownMaterialError(str(mapping["base"]), entries).nearest
        expected = f"a catalogue material, such as {', '.join(nearest) or 'concrete_wc050'}"
        raise MaterialError([Problem(f"{key}.base", repr(mapping["base"]), expected)])
    entry = merged(entries[mapping["base"]], changes)
    return _checked(material_from_spec(key, parse(MaterialSpec, key, entry)))


def _checked(material: Material) -> Material:
    """The material, unless the plausibility check rejects it."""
    errors = [finding for finding in check(material) if finding.severity == "E"]
    if errors:
        raise MaterialError([Problem(f"{material.id}.{e.place}", e.found, e.expected) for e in errors])
    return material


def _unsourced(key: str, spec: MaterialSpec | MembraneSpec, sources: Mapping[str, Source]) -> list[Problem]:
    """Properties without a registered source or without a confidence."""
    problems = []
    for name, origin in provenance(spec).items():
        if origin.source not in sources:
            problems.append(Problem(f"{key}.{name}.source", repr(origin.source), f"an id of {SOURCE_FILE}"))
        if origin.confidence == "unsourced":
            problems.append(Problem(f"{key}.{name}.confidence", "nothing", "how far the value is trusted"))
    return problems


@cache
def _entries() -> dict[str, dict[str, Any]]:
    """All written entries by identifier."""
    entries: dict[str, dict[str, Any]] = {}
    problems = []
    for path in sorted(files("stemwall.materials").iterdir(), key=lambda item: item.name):
        if not path.name.endswith(".toml") or path.name == SOURCE_FILE:
            continue
        for key, entry in tomllib.loads(path.read_text(encoding="utf-8")).items():
            if key in entries:
                problems.append(Problem(key, f"a second entry in {path.name}", "one entry per identifier"))
            entries[key] = entry
    if problems:
        raise MaterialError(problems)
    return entries


def _sources() -> dict[str, Source]:
    text = files("stemwall.materials").joinpath(SOURCE_FILE).read_text(encoding="utf-8")
    return {key: Source(key, **entry) for key, entry in tomllib.loads(text).items()}
