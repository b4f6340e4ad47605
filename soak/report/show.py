"""Numbers for people: temperatures, lengths, times and bands as text, metric or US. Pure.

This is one of the two doors out of SI. Carbon stays mass %, times stay hours: both are said alike everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from soak.record.rows import Band

Number = TypeVar("Number", float, NDArray[np.float64])

System = Literal["si", "us"]
MM_PER_INCH = 25.4  # exact by definition
F_PER_C, F_ZERO = 1.8, 32.0  # exact by definition
NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Units:
    """How temperatures and lengths are shown."""

    system: System = "si"

    @property
    def temperature(self) -> str:
        return "°F" if self.system == "us" else "°C"

    @property
    def length(self) -> str:
        return "in" if self.system == "us" else "mm"

    def degrees(self, celsius: Number) -> Number:
        """A temperature [degC] in the unit shown.

        >>> Units("us").degrees(100.0)
        212.0
        """
        return celsius * F_PER_C + F_ZERO if self.system == "us" else celsius

    def steps(self, kelvin: Number) -> Number:
        """A difference of temperatures [K] in the unit shown.

        >>> Units("us").steps(10.0)
        18.0
        """
        return kelvin * F_PER_C if self.system == "us" else kelvin

    def span(self, mm: Number) -> Number:
        """A length [mm] in the unit shown.

        >>> Units("us").span(50.8)
        2.0
        """
        return mm / MM_PER_INCH if self.system == "us" else mm

    def temperature_text(self, celsius: float | None) -> str:
        return NOT_KNOWN if celsius is None else f"{self.degrees(celsius):.0f} {self.temperature}"

    def rate_text(self, c_per_h: float) -> str:
        return f"{self.steps(c_per_h):.0f} {self.temperature}/h"

    def length_number(self, mm: float) -> str:
        return f"{self.span(mm):.3f}" if self.system == "us" else f"{mm:.2f}"

    def length_text(self, mm: float | None) -> str:
        return NOT_KNOWN if mm is None else f"{self.length_number(mm)} {self.length}"

    def size_text(self, mm: float) -> str:
        """A size as a person would say it: no zeros at the end."""
        return f"{self.size_number(mm)} {self.length}"

    def size_number(self, mm: float) -> str:
        return f"{round(self.span(mm), 3 if self.system == 'us' else 2):.6g}"


SI = Units("si")


def carbon_text(pct: float | None, digits: int = 2) -> str:
    return NOT_KNOWN if pct is None else f"{pct:.{digits}f} %"


def carbon_band(band: Band) -> str:
    """The band of a carbon content: "0.70 to 0.98 %"."""
    if band.low is None or band.high is None:
        return NOT_KNOWN
    return f"{band.low:.2f} to {band.high:.2f} %"


def length_band(band: Band, units: Units) -> str:
    if band.low is None or band.high is None:
        return NOT_KNOWN
    return f"{units.length_number(band.low)} to {units.length_number(band.high)} {units.length}"


def duration(seconds: float | None) -> str:
    """A stretch of time as people say it.

    >>> duration(5430.0)
    '1 h 31 min'
    """
    if seconds is None:
        return NOT_KNOWN
    minutes = int(seconds / 60.0 + 0.5)  # half a minute counts up, always
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60} min"


def clock(seconds: float) -> str:
    """Time since the run began, h:mm:ss.

    >>> clock(3661.0)
    '1:01:01'
    """
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def plain_words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")
