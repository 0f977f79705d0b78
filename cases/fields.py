"""Base of all parts of a case: strict models whose fields explain themselves."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

PRACTICE = "common practice, no source"


class Strict(BaseModel):
    """A part of a case: unknown keys are errors, values do not change once read."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, validate_default=True, arbitrary_types_allowed=True
    )


def described(default: Any, text: str, reason: str = "") -> Any:
    """Return a field with its default, what it means, and where the default comes from.

    ``default`` may be written with its unit, as in a case file.  ``reason`` is a
    source, or ``PRACTICE``; empty if the default is no number.
    """
    return Field(default=default, description=text, json_schema_extra={"reason": reason})


def _membrane(value: object) -> object:
    if value is False:
        return None
    if value is None or isinstance(value, str):
        return value
    raise ValueError('the id of a membrane such as "pe_015", or false for none')


#: the id of a membrane, or None (``false`` in a case file)
MembraneId = Annotated[str | None, BeforeValidator(_membrane)]
