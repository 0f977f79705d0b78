"""Fields of what is written in files, which explain themselves: what they mean, and where a default comes from."""

from dataclasses import dataclass
from typing import Any

from pydantic import Field


@dataclass(frozen=True)
class Spelling:
    """How a value is written that a validator of its own reads; it stands beside that in the annotation."""

    text: str


def described(default: Any, text: str, reason: str = "") -> Any:
    """Return a field with its default, what it means, and where the default comes from.

    ``default`` may be written with its unit, as in a case file.  ``reason`` is a
    source, or "common practice, no source"; empty if the default is no number.
    """
    return Field(default=default, description=text, json_schema_extra={"reason": reason})


def required(text: str) -> Any:
    """Return a field without default, and what it means."""
    return Field(description=text)
