"""Does the charge fit, how many pieces would, how much pack goes round them. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable

from soak.job.job import Job
from soak.job.layout import SLACK, along_of, inside_m, lay
from soak.job.packing import Fit
from soak.job.stock import Stock

_MOST = 500  # pieces; beyond, "500 or more" is all anybody wants to know


def steel_volume_m3(stock: Stock) -> float:
    """Volume of all pieces of a stock [m3]: count * length * section."""
    t, w = stock.thickness_m, stock.width_m
    section = {"round": math.pi / 4 * t * t, "tube": math.pi * t * (w - t)}.get(stock.shape, t * w)
    return stock.count * stock.length_m * section


def inside_volume_m3(job: Job) -> float:
    """Volume inside the canister [m3]."""
    width, height, length = inside_m(job.canister)
    return (math.pi / 4 if job.canister.form == "pipe" else 1.0) * width * height * length


def fit(job: Job) -> Fit:
    """Whether the job's pieces fit, and how many of the job's own mix (in its order, repeated) would."""
    count = sum(piece.count for piece in job.stock)
    most = _largest(lambda n: _fits(n, job), max(_MOST, count))
    inside, steel = inside_volume_m3(job), sum(map(steel_volume_m3, job.stock))
    return Fit(
        fits=most >= count,
        count=count,
        count_that_fits=most,
        steel_fraction=steel / inside,
        pack_volume_m3=max(0.0, inside - steel),
        text=_text(job, count, most),
    )


def chamber_complaint(job: Job) -> str:
    """Why the canister does not go into the oven's chamber; empty if it does. Any way round, 5 mm of air each side."""
    c = job.canister
    outside = sorted([c.length_m, *((c.diameter_m, c.diameter_m) if c.form == "pipe" else (c.width_m, c.height_m))])
    room = sorted(job.oven.chamber_m)
    if all(size <= space + SLACK for size, space in zip(outside, room, strict=True)):
        return ""
    return f"the canister ({_sizes(outside)}) does not go into the chamber of {job.oven.name} ({_sizes(room)})"


def _sizes(sizes: list[float]) -> str:
    return " x ".join(f"{size * 1e3:.0f}" for size in sizes) + " mm"


def _fits(n: int, job: Job) -> bool:
    return sum(place.pieces for place in lay(_mix(n, job), job)) == n


def _mix(n: int, job: Job) -> list[int]:
    """n pieces of the job's mix: whole mixes, then the rest in the order of the job."""
    whole, rest = divmod(n, sum(piece.count for piece in job.stock))
    counts = []
    for piece in job.stock:
        extra = min(rest, piece.count)
        rest -= extra
        counts.append(whole * piece.count + extra)
    return counts


def _largest(holds: Callable[[int], bool], most: int) -> int:
    """The largest n up to `most` that holds, by halving: what holds for n holds for every smaller number."""
    low, high = 0, most + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _text(job: Job, count: int, most: int) -> str:
    for piece in job.stock:
        if not along_of(piece, job.canister, job.packing):
            need, have = piece.length_m + 2 * job.packing.cover_m, inside_m(job.canister)[2]
            size = f"{piece.length_m * 1e3:.4g} mm and twice {job.packing.cover_m * 1e3:.3g} mm cover"
            return f"too long: {size} need {need * 1e3:.4g} mm, the canister has {have * 1e3:.4g} mm inside"
    shapes = {piece.shape for piece in job.stock}
    noun = {"strip": "strip", "round": "bar"}.get(shapes.pop(), "piece") if len(shapes) == 1 else "piece"
    said = f"{min(count, most)} of {count} {noun}{'s' if count != 1 else ''} fit{'s' if count == 1 else ''}"
    if most < count:
        return said
    return (
        f"{said}, {f'{most} or more would' if most >= _MOST else 'no more would' if most == count else f'{most} would'}"
    )
