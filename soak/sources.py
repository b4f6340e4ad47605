"""A number and where it comes from. Imports nothing of ours.

`how` is one of: seen (read on a public page or paper), memory (own knowledge, unchecked), computed (worked out here).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

How = Literal["seen", "memory", "computed", "judgement"]


@dataclass(frozen=True, slots=True)
class Sourced:
    """One constant: its value in SI, its unit, the range it holds in, its source and how that is known."""

    value: float
    unit: str
    valid: str
    source: str
    how: How
