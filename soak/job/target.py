"""What the smith wants, and what must not be passed. Carbon as mass fraction, depth in m."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Where = Literal["mean", "surface", "centre", "depth"]


@dataclass(frozen=True, slots=True)
class Target:
    """`carbon` wanted `where`. For depth: `carbon` is the one reached at `depth_m` (0.40 % if the job does not say)."""

    carbon: float
    where: Where = "mean"
    tolerance: float = 0.0008
    depth_m: float | None = None
    depth_tolerance_m: float | None = None
    surface_max: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """temperature_max_c: of the plan. heat_on_max_h: from power on to power off."""

    temperature_max_c: float | None = None
    heat_on_max_h: float = 12.0
