"""Parts that every written property shares: numbers in range, and provenance beside them."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from stemwall.materials.material import Confidence, Provenance

Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
Fraction = Annotated[float, Field(gt=0.0, le=1.0)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Points = Annotated[list[Number], Field(min_length=1)]


class Spec(BaseModel):
    """A table that accepts no unknown key."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Sourced(Spec):
    """A property with its provenance."""

    source: str = ""
    confidence: Confidence = "unsourced"
    note: str = ""
    low: float | None = None
    high: float | None = None

    @property
    def provenance(self) -> Provenance:
        """Source, confidence, note and band."""
        return Provenance(self.source, self.confidence, self.note, self.low, self.high)


class Value(Sourced):
    """A positive number."""

    value: Positive


def _as_table(raw: Any) -> Any:
    return {"value": raw} if isinstance(raw, int | float) and not isinstance(raw, bool) else raw


Scalar = Annotated[Value, BeforeValidator(_as_table)]
