"""How the pieces lie in the canister: gaps, cover, touching; and whether they fit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Packing:
    """gap between pieces, cover between the outermost piece and the wall (m); `touching` pieces lie face to face."""

    gap_m: float = 0.010
    cover_m: float = 0.025
    touching: int = 1


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether the charge fits. `count_that_fits` is how many pieces of the job's own mix would."""

    fits: bool
    count: int
    count_that_fits: int
    steel_fraction: float
    pack_volume_m3: float
    text: str
