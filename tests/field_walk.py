"""All models that a model may hold, and which of their fields take numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel


def models_of(annotation: Any) -> list[type[BaseModel]]:
    """Return every model inside an annotation, by name."""
    return sorted(set(_models(annotation)), key=lambda model: model.__name__)


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
        for field in annotation.model_fields.values():
            yield from _models(field.annotation)
            for item in field.metadata:
                yield from _models(item)
    for argument in get_args(annotation):
        yield from _models(argument)


def numeric(annotation: Any) -> bool:
    """Whether a field of this type takes numbers."""
    return annotation in (int, float) or any(numeric(argument) for argument in get_args(annotation))
