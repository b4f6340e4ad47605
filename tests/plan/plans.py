"""Small jobs that plan quickly, and the one default plan that several tests look at."""

from __future__ import annotations

import dataclasses
import sys
from functools import cache
from pathlib import Path

from soak.errors import PlanError
from soak.job.job import Job
from soak.job.target import Limits, Target
from soak.plan.choose import Planned, choose

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import OVEN, job, strip

# falls quickly: plans are run to the end, and the end is not what is tested here
QUICK = dataclasses.replace(OVEN, cooling=((60.0, 500.0), (400.0, 800.0), (1000.0, 1200.0)))


def small(carbon: float = 0.005, hours: float = 5.5, **more: object) -> Job:
    """Four strips of 3 mm; 0.5 % C; 5.5 h of heat."""
    given = {"oven": QUICK, "limits": Limits(heat_on_max_h=hours), "target": Target(carbon)} | more
    return job([strip(3.0, 4)], **given)  # type: ignore[arg-type]


@cache
def default() -> Planned:
    return choose(small(), members=16)


@cache
def at(hold_c: float) -> Planned:
    return choose(small(), at_c=hold_c, members=1)


def refusal(of: Job, **more: object) -> PlanError:
    try:
        choose(of, members=2, **more)  # type: ignore[arg-type]
    except PlanError as error:
        return error
    raise AssertionError("the plan was not refused")
