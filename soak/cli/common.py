"""Options every command shares, and how a quantity said in an option is read. Touches nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from soak.cli.output import Units
from soak.errors import JobError, UsageError


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


def quantity(option: str, said: str, read: Callable[[object], float], least: str = "", most: str = "") -> float:
    """What `said` means, and whether it lies between `least` and `most` (as a person would write them).

    A slip here is the command line's (UsageError, exit 2), not a job's: the error names the option.
    """
    try:
        value = read(said)
    except JobError as error:
        raise UsageError(error.code, f"{option}: {error.text}", error.hint) from None
    if least and not read(least) <= value <= read(most):
        text = f'{option}: read "{said}", outside what is sensible here ({least} to {most})'
        raise UsageError("out-of-range", text, "look at the number and at its unit")
    return value
