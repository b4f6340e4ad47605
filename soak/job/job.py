"""A job: everything a plan needs to know, frozen."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from soak.job.canister import Canister
from soak.job.controller import Controller
from soak.job.oven import Oven
from soak.job.pack import Pack
from soak.job.packing import Packing
from soak.job.stock import Stock
from soak.job.target import Limits, Target


@dataclass(frozen=True, slots=True)
class Job:
    """`coupons` lie in the core of the charge to be weighed or broken; the plan does not wait for them.

    `text` is the job as written; `profiles` the profiles it used, as written, by "kind/name" (kept with the run)."""

    name: str
    title: str
    target: Target
    stock: tuple[Stock, ...]
    packing: Packing
    canister: Canister
    pack: Pack
    oven: Oven
    controller: Controller | None
    limits: Limits
    coupons: tuple[Stock, ...] = ()
    text: str = ""
    profiles: dict[str, dict[str, Any]] = field(default_factory=dict)
