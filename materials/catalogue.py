"""The catalogue: materials and membranes from the data files of this folder."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from stemwall.materials.check import check, uptake
from stemwall.materials.definition import (
    material_from_spec,
    membrane_from_spec,
    merged,
    parse,
    provenance,
)
from stemwall.materials.doubts import doubts
from stemwall.materials.entries import SOURCE_FILE, OnDemand, entries, membrane_keys
from stemwall.materials.material import Material, MembraneProduct
from stemwall.materials.problems import MaterialError, Problem, UnknownMaterialError
from stemwall.materials.schema import MaterialSpec, MembraneSpec
from stemwall.materials.schema_moisture import AbsorptionSpec
from stemwall.materials.texture import TextureSpec, soil_of_texture


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
    """The catalogue shipped with the package; each entry is read, checked and built when it is first asked for.

    Raises
    ------
    MaterialError
        Here, if an identifier stands in two files; on asking for an entry, with every problem of that entry.
    """
    written, sources = entries(), _sources()

    def one(key: str) -> Catalogue:
        return build_catalogue({key: written[key]}, sources)

    membranes = [key for key in written if key in membrane_keys()]
    materials = [key for key in written if key not in membrane_keys()]
    return Catalogue(
        OnDemand(materials, lambda key: one(key).materials[key]),
        OnDemand(membranes, lambda key: one(key).membranes[key]),
        sources,
    )


def build_catalogue(written: Mapping[str, Mapping[str, Any]], sources: Mapping[str, Source]) -> Catalogue:
    """Catalogue of written entries, each property with a registered source and a confidence."""
    materials: dict[str, Material] = {}
    membranes: dict[str, MembraneProduct] = {}
    problems: list[Problem] = []
    for key, entry in written.items():
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


def written_whole(key: str, own: Mapping[str, Any]) -> dict[str, Any]:
    """Written form of a material or membrane, with all that it takes from the catalogue or its texture.

    Parameters
    ----------
    key : str
        Identifier.
    own : mapping
        What is written inline; empty for an entry of the catalogue as it is.

    Raises
    ------
    UnknownMaterialError
        If nothing is written and the catalogue has no such entry.
    MaterialError
        If it starts from an entry that the catalogue does not have.
    """
    if own:
        return _whole_membrane(key, own) if "sd" in own or key in membrane_keys() else _whole(key, own)
    if key not in entries():
        raise UnknownMaterialError(key, entries())
    return dict(entries()[key])


def _whole_membrane(key: str, mapping: Mapping[str, Any]) -> dict[str, Any]:
    """The same of a membrane: complete, a catalogue membrane with changes, or changes under its own id."""
    changes = {name: value for name, value in mapping.items() if name != "base"}
    base = mapping.get("base", key if key in membrane_keys() and "liquid" not in mapping else None)
    if base is None:
        return {"name": key, **changes}
    if base not in membrane_keys():
        nearest = UnknownMaterialError(str(base), membrane_keys()).nearest
        expected = f"a catalogue membrane, such as {', '.join(nearest) or 'pe_015'}"
        raise MaterialError([Problem(f"{key}.base", repr(base), expected)])
    return merged(entries()[base], changes)


def material_from_mapping(key: str, mapping: Mapping[str, Any]) -> Material:
    """Material written inline: complete, a catalogue material with changes, or a soil by its texture.

    With ``base = "identifier"`` the other entries replace those of the catalogue material; a
    property table of the same kind is merged, and loses the source of the old numbers but those that
    state their own.  What has the identifier of a catalogue material, and neither base nor density,
    replaces numbers of that one.  With ``texture = { sand, silt, clay, density }`` they replace those of
    `soil_of_texture`.

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
    return _checked(material_from_spec(key, parse(MaterialSpec, key, _whole(key, mapping))))


def material_doubts(key: str, mapping: Mapping[str, Any]) -> list[Problem]:
    """What is unusual about a valid material written inline, and so may be a slip; arguments as above."""
    spec = parse(MaterialSpec, key, _whole(key, mapping))
    stated = [Problem(".".join([key, *map(str, at)]), found, expected) for at, found, expected in doubts(spec, mapping)]
    material = material_from_spec(key, spec)
    asked = [finding for finding in check(material) if finding.severity == "W"]
    if isinstance(spec.liquid, AbsorptionSpec):
        asked += uptake(spec.liquid.coefficient, material.storage.saturation)
    return stated + [Problem(f"{key}.{one.place}", one.found, one.expected) for one in asked]


def _whole(key: str, mapping: Mapping[str, Any]) -> dict[str, Any]:
    """Written form of a material written inline, with all that it takes from the catalogue or its texture."""
    changes = {name: value for name, value in mapping.items() if name not in ("base", "texture")}
    if "texture" in mapping:
        if "base" in mapping:
            raise MaterialError([Problem(f"{key}.texture", "a texture beside a base", "one of the two")])
        return merged(soil_of_texture(parse(TextureSpec, f"{key}.texture", mapping["texture"])), changes)
    known = [name for name in entries() if name not in membrane_keys()]
    if "base" not in mapping and key in known and "density" not in mapping:
        return merged(entries()[key], changes)
    if "base" not in mapping:
        return {"name": key, **changes}
    if mapping["base"] not in known:
        nearest = UnknownMaterialError(str(mapping["base"]), known).nearest
        expected = f"a catalogue material, such as {', '.join(nearest) or 'concrete_wc050'}"
        raise MaterialError([Problem(f"{key}.base", repr(mapping["base"]), expected)])
    return merged(entries()[mapping["base"]], changes)


def _checked(material: Material) -> Material:
    """The material, unless the plausibility check rejects it."""
    errors = [finding for finding in check(material) if finding.severity == "E"]
    if errors:
        raise MaterialError([Problem(f"{material.id}.{e.place}", e.found, e.expected) for e in errors])
    return material


def _unsourced(key: str, spec: MaterialSpec | MembraneSpec, sources: Mapping[str, Source]) -> list[Problem]:
    """Properties without a registered source or without a confidence."""
    problems: list[Problem] = []
    for name, origin in provenance(spec).items():
        if any(problem.place.startswith(f"{key}.{name.rpartition('.')[0]}.") for problem in problems):
            continue  # what the property itself lacks is said once
        if origin.source not in sources:
            problems.append(Problem(f"{key}.{name}.source", repr(origin.source), f"an id of {SOURCE_FILE}"))
        if origin.confidence == "unsourced":
            problems.append(Problem(f"{key}.{name}.confidence", "nothing", "how far the value is trusted"))
    return problems


def _sources() -> dict[str, Source]:
    text = files("stemwall.materials").joinpath(SOURCE_FILE).read_text(encoding="utf-8")
    return {key: Source(key, **entry) for key, entry in tomllib.loads(text).items()}
