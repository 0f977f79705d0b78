"""Parts that every written property shares: numbers in range, and provenance beside them."""

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, model_validator

from stemwall.materials.described import Spelling, described, required
from stemwall.materials.kinds import Band, Density, Porosity, SpecificHeat
from stemwall.materials.material import Confidence, Provenance

#: keys of a property that say where its principal number may lie
BANDS = ("low", "high")


class Spec(BaseModel):
    """A table that accepts no unknown key."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Origin(Spec):
    """Where one number of a property comes from, where that is not what the property says."""

    source: str | None = described(None, "where the number comes from; by default as the property says")
    confidence: Confidence | None = described(None, "how far it can be trusted; by default as the property says")
    note: str = described("", "anything worth saying about it")
    low: Band | None = described(None, "lower end of the band in which the number may lie")
    high: Band | None = described(None, "upper end of that band")


class Sourced(Spec):
    """A property with its provenance.

    Any number of it may be written as a table with `value` and a provenance and band of its own; `numbers` keeps
    these by key. The band of the property itself is that of its principal number.
    """

    PRINCIPAL: ClassVar[str] = "value"

    source: str = described("", "where the numbers come from: title, year, table")
    confidence: Confidence = described(
        "unsourced",
        "how far they can be trusted: tested on the product itself, seen in the source, in a copy of it, derived, "
        "recalled, guessed, or not said",
        "nothing is said",
    )
    note: str = described("", "anything worth saying about them")
    low: Band | None = described(None, "lower end of the band in which the principal number may lie")
    high: Band | None = described(None, "upper end of that band")
    numbers: dict[str, Origin] = described(
        {}, "provenance and band of single numbers by key, as if written beside each as a table with `value`"
    )

    @model_validator(mode="before")
    @classmethod
    def _take_apart(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        apart = {name: given for name, given in raw.items() if is_number_table(given)}
        if not apart:
            return raw
        # "numbers" of a table that was taken apart before, as of a base
        numbers = {name: {key: part for key, part in given.items() if key != "value"} for name, given in apart.items()}
        plain = {name: given["value"] for name, given in apart.items()}
        return {**raw, **plain, "numbers": {**numbers, **raw.get("numbers", {})}}

    @property
    def provenance(self) -> Provenance:
        """Source, confidence, note and band."""
        return Provenance(self.source, self.confidence, self.note, self.low, self.high)

    def provenance_of(self, name: str) -> Provenance:
        """Provenance of one number by its key: its own, else that of the property."""
        own = self.numbers.get(name, Origin())
        principal = name == self.PRINCIPAL
        return Provenance(
            self.source if own.source is None else own.source,
            self.confidence if own.confidence is None else own.confidence,
            own.note if name in self.numbers else self.note,
            own.low if own.low is not None or not principal else self.low,
            own.high if own.high is not None or not principal else self.high,
        )


def is_number_table(given: object) -> bool:
    """Whether a number is written as a table: `value`, and where it comes from."""
    return isinstance(given, Mapping) and "value" in given


class DensityValue(Sourced):
    """A dry density."""

    value: Density = required("dry density in kg/m3")


class SpecificHeatValue(Sourced):
    """A specific heat."""

    value: SpecificHeat = required("specific heat of the dry material in J/(kg K)")


class PorosityValue(Sourced):
    """A porosity."""

    value: Porosity = required("share of the pores in m3/m3")


def _as_table(raw: Any) -> Any:
    return {"value": raw} if isinstance(raw, int | float) and not isinstance(raw, bool) else raw


_PLAIN = Spelling("a number, or a table")
DensityTable = Annotated[DensityValue, BeforeValidator(_as_table), _PLAIN]
SpecificHeatTable = Annotated[SpecificHeatValue, BeforeValidator(_as_table), _PLAIN]
PorosityTable = Annotated[PorosityValue, BeforeValidator(_as_table), _PLAIN]
