"""How hot this job may go, and which of its limits says so. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from soak.job.job import Job
from soak.physics.scaling import limits

COOLEST_C = 850.0
STEP_C = 10.0
ALKALI_MOST_C, ALKALI_SHARE = 1000.0, 0.05
ALKALI = ("Na2CO3", "K2CO3")


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The lowest of the limits [degC], and whose it is."""

    hold_c: float
    whose: str


def alkali_share(job: Job) -> float:
    return sum(job.pack.energizer.get(name, 0.0) for name in ALKALI)


def hard(job: Job) -> Ceiling:
    """Limits that nothing lifts: oven, canister, the job's own."""
    found = [Ceiling(job.oven.temperature_max_c, f"the oven {job.oven.name}")]
    if job.canister.temperature_max_c is not None:
        found.append(Ceiling(job.canister.temperature_max_c, f"the canister {job.canister.name}"))
    for limit in limits(job.canister.material):
        if limit.severity == "refuse":
            text = f"the canister's {job.canister.material} ({limit.text})"
            found.append(Ceiling(limit.above_K - 273.15, text))
    if job.limits.temperature_max_c is not None:
        found.append(Ceiling(job.limits.temperature_max_c, "the job's temperature_max"))
    return min(found, key=lambda c: c.hold_c)


def usual(job: Job) -> Ceiling:
    """The hard limits, and 1000 degC with more than 5 % alkali carbonate (its vapour attacks brick and elements)."""
    top = hard(job)
    if alkali_share(job) > ALKALI_SHARE and top.hold_c > ALKALI_MOST_C:
        return Ceiling(ALKALI_MOST_C, "alkali vapour from more than 5 % soda or potash (--at goes hotter)")
    return top


def candidates(top: Ceiling) -> tuple[float, ...]:
    """Hold temperatures to try, coolest first, in steps of 10 degC; the ceiling itself is one of them."""
    steps = int((top.hold_c - COOLEST_C) // STEP_C)
    grid = [COOLEST_C + STEP_C * i for i in range(steps + 1)]
    return tuple(grid) if grid and grid[-1] == top.hold_c else (*grid, top.hold_c)
