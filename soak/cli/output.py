"""The door out: numbers into words for people, documents into JSON for programs. The only place that prints.

People's text goes to stdout, warnings and progress to stderr. No colour when piped or with NO_COLOR.
"""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import Any, Literal

from soak import __version__
from soak.errors import SoakError

Units = Literal["si", "us"]
WIDTH = 100


def emit_json(document: Mapping[str, Any]) -> None:
    """Exactly one JSON document on stdout, with `format` and `soak`."""
    print(json.dumps({"format": 1, "soak": __version__, **document}, ensure_ascii=False, allow_nan=False))


def emit_error(error: SoakError, as_json: bool) -> None:
    """What went wrong: to programs on stdout, to people on stderr."""
    if as_json:
        told: dict[str, Any] = {"code": error.code, "text": error.text, "hint": error.hint}
        if error.nearest is not None:
            told["nearest"] = error.nearest
        emit_json({"error": told})
        return
    say_err(*wrapped(error.text, "soak: "), *(wrapped(error.hint, "  -> ") if error.hint else ()))


def say(*lines: str) -> None:
    for line in lines:
        print(line)


def say_err(*lines: str) -> None:
    for line in lines:
        with suppress(OSError):  # the terminal hung up: the run goes on all the same
            print(line, file=sys.stderr, flush=True)


def wrapped(text: str, first: str = "", width: int = WIDTH) -> list[str]:
    """Lines no longer than `width`, the following ones indented under the first."""
    lines: list[str] = []
    for i, part in enumerate(text.splitlines() or [""]):
        head = first if i == 0 else " " * len(first)
        lines += textwrap.wrap(
            part, width, initial_indent=head, subsequent_indent=" " * len(first), break_on_hyphens=False
        ) or [head.rstrip()]
    return lines


def temperature(celsius: float, units: Units) -> str:
    return f"{celsius:.0f} degC" if units == "si" else f"{1.8 * celsius + 32:.0f} degF"


def rate(c_per_h: float | None, units: Units) -> str:
    if c_per_h is None:
        return ""
    return f"{c_per_h:.0f} degC/h" if units == "si" else f"{1.8 * c_per_h:.0f} degF/h"


def length(mm: float, units: Units, digits: int = 2) -> str:
    return f"{mm:.{digits}f} mm" if units == "si" else f"{mm / 25.4:.{digits + 1}f} in"


def mass(kg: float, units: Units) -> str:
    if units == "us":
        return f"{kg / 0.45359237:.2f} lb"
    return f"{1000 * kg:.0f} g" if kg < 2.0 else f"{kg:.2f} kg"


def duration(hours: float) -> str:
    """Hours and minutes, as a clock on the wall is read.

    >>> duration(1.26)
    '1 h 16 min'
    """
    minutes = round(60.0 * hours)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def percent(band: Mapping[str, float]) -> str:
    """0.85 % C (0.70 to 0.99)."""
    if band["low"] == band["high"]:
        return f"{band['mid']:.2f} %"
    return f"{band['mid']:.2f} % ({band['low']:.2f} to {band['high']:.2f})"


def lengths(band: Mapping[str, float], units: Units) -> str:
    factor, digits, name = (1.0, 2, "mm") if units == "si" else (1 / 25.4, 3, "in")
    low, mid, high = (factor * band[k] for k in ("low", "mid", "high"))
    if low == high:
        return f"{mid:.{digits}f} {name}"
    return f"{mid:.{digits}f} {name} ({low:.{digits}f} to {high:.{digits}f})"


def table(rows: Iterable[tuple[str, ...]], indent: str = "  ") -> list[str]:
    """Columns lined up, two spaces apart; the first row is the heading."""
    rows = list(rows)
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return [(indent + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True))).rstrip() for row in rows]
