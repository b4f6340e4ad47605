"""What plan and link must know of the past, as values. Folded from run files by `shop`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class History:
    """What earlier soaks left behind.

    wall_lost_m: taken from this canister's wall, per side, mean over its area; weighed where it was weighed, else the
    central estimate. scaling_scale: factor on the scaling rate K that weighings of this canister ask for.
    scaling_sd_ln: doubt of its ln, one sigma; None: never weighed, the usual doubt holds.
    """

    wall_lost_m: float = 0.0
    scaling_scale: float = 1.0
    scaling_sd_ln: float | None = None
