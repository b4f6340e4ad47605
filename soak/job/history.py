"""What plan and link must know of the past, as values. Folded from run files by `shop`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class History:
    """wall_lost_m: what earlier soaks took from this canister's wall, central estimate, per side."""

    wall_lost_m: float = 0.0
