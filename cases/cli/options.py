"""Arguments and options that several commands share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

CaseArgument = Annotated[
    Path | None, typer.Argument(metavar="[CASE]", help="Case file (TOML); without one, the default case.")
]
VariantOption = Annotated[list[str] | None, typer.Option("--variant", "-v", help="Only this variant; may be repeated.")]


class Units(StrEnum):
    """Units of a report."""

    SI = "SI"
    IP = "IP"


UnitsOption = Annotated[Units, typer.Option("--units", "-u", help="Units of the report: SI or inch-pound (IP).")]
WorkersOption = Annotated[
    int | None, typer.Option("--workers", "-w", min=1, max=1024, help="Runs at once; as many as cores by default.")
]
