"""Options every command shares. Touches nothing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from soak.cli.output import Units


@Parameter(name="*")
@dataclass(frozen=True)
class Common:
    """The same everywhere."""

    json: Annotated[bool, Parameter(name="--json", negative="")] = False
    """One JSON document on stdout instead of text."""
    units: Annotated[Units, Parameter(name="--units")] = "si"
    """us: degF, inches and pounds in text; JSON and CSV stay metric."""
    shop: Annotated[Path | None, Parameter(name="--shop")] = None
    """The shop's folder (else SOAK_SHOP, else the system's usual place)."""


COMMON = Common()
