"""Base of all parts of a case: strict models whose fields explain themselves."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict

from stemwall.materials.described import described as described
from stemwall.materials.described import required as required

PRACTICE = "common practice, no source"


class Strict(BaseModel):
    """A part of a case: unknown keys are errors, values do not change once read."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, validate_default=True, arbitrary_types_allowed=True
    )


def _membrane(value: object) -> object:
    if value is False:
        return None
    if value is None or isinstance(value, str):
        return value
    raise ValueError('the id of a membrane such as "pe_015", or false for none')


#: the id of a membrane, or None (``false`` in a case file)
MembraneId = Annotated[str | None, BeforeValidator(_membrane)]
