"""Base of all parts of a case: strict models whose fields explain themselves."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic.fields import FieldInfo

from stemwall.materials.described import Spelling as Spelling
from stemwall.materials.described import described as described
from stemwall.materials.described import required as required

PRACTICE = "common practice, no source"
LONGEST_NAME = 200


class Strict(BaseModel):
    """A part of a case: unknown keys are errors, values do not change once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=True, arbitrary_types_allowed=True)


def _name(value: object) -> object:
    if isinstance(value, str) and value.strip() and len(value) <= LONGEST_NAME and "\n" not in value:
        return value
    raise ValueError(f'a name on one line, such as "north wall", of at most {LONGEST_NAME} letters')


def _space(value: object) -> object:
    if str(value).casefold().startswith("outdoors"):
        raise ValueError('the name of a space; "outdoors" is the weather outside, see [weather] and [site]')
    return _name(value)


def as_written(model: BaseModel, name: str, field: FieldInfo) -> Any:
    """Return the default with its unit, unless the model holds another value or there is no default."""
    fields = type(model).model_fields
    must = {key: getattr(model, key) for key, known in fields.items() if known.is_required()}
    same = name not in must and getattr(type(model)(**must), name) == getattr(model, name)
    return field.default if same else getattr(model, name)


def _membrane(value: object) -> object:
    if value is False:
        return None
    if value is None or isinstance(value, str):
        return value
    raise ValueError('the id of a membrane such as "pe_015", or false for none')


#: what something is called
Name = Annotated[str, BeforeValidator(_name)]
#: what a space is called whose air is given or computed
SpaceName = Annotated[str, BeforeValidator(_space)]
#: the id of a membrane, or None (``false`` in a case file)
MembraneId = Annotated[
    str | None, BeforeValidator(_membrane), Spelling('the id of a membrane, e.g. "pe_015", or false')
]
