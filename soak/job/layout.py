"""How the pieces lie in the cross-section of the canister: rows of rectangles. Pure geometry, lengths in m.

Pieces run along the canister. Rows are filled in a fixed order and never reordered, so that a wider gap or a thicker
cover can never make room for more: cleverer packing has no such promise, and nobody lays a charge that cleverly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from soak.job.canister import Canister
from soak.job.job import Job
from soak.job.packing import Packing
from soak.job.stock import Stock

SLACK = 1e-9  # m; a charge laid out to the millimetre must not fail on the last bit of a float


@dataclass(frozen=True, slots=True)
class Place:
    """Where something lies: lower left corner x, y and size w, h in m from the middle of the canister's inside.

    stock: index in job.stock. across: pieces face to face in it (touching). along: how many of that lie end to end.
    pieces: how many pieces lie here in all.
    """

    x: float
    y: float
    w: float
    h: float
    stock: int
    across: int
    along: int
    pieces: int


@dataclass(frozen=True, slots=True)
class _Run:
    """Equal slots of one stock, still to be laid."""

    stock: int
    w: float
    h: float
    slots: int


Row = list[tuple[_Run, int]]  # how many slots of each run lie in a row


def inside_m(canister: Canister) -> tuple[float, float, float]:
    """Inside width, height (a pipe: its diameter twice) and length [m]. `bottom` and `lid` close the two ends."""
    length = canister.length_m - canister.bottom_m - canister.lid_m
    if canister.form == "pipe":
        inner = canister.diameter_m - 2 * canister.wall_m
        return inner, inner, length
    return canister.width_m - 2 * canister.wall_m, canister.height_m - 2 * canister.wall_m, length


def along_of(stock: Stock, canister: Canister, packing: Packing) -> int:
    """How many pieces lie end to end, cover at both ends and gaps between."""
    room = inside_m(canister)[2] - 2 * packing.cover_m
    return max(0, math.floor((room + packing.gap_m + SLACK) / (stock.length_m + packing.gap_m)))


def layout(job: Job) -> tuple[Place, ...]:
    """Where the job's pieces lie; as many as there is room for."""
    return lay([piece.count for piece in job.stock], job)


def lay(counts: Sequence[int], job: Job) -> tuple[Place, ...]:
    """Where `counts[i]` pieces of job.stock[i] lie: flat or on edge, whichever lays more. All pieces if they fit."""
    best: tuple[Place, ...] = ()
    for on_edge in (False, True):
        places = _laid(counts, job, on_edge)
        if sum(p.pieces for p in places) > sum(p.pieces for p in best):
            best = places
    return best


def _laid(counts: Sequence[int], job: Job, on_edge: bool) -> tuple[Place, ...]:
    touching, gap = job.packing.touching, job.packing.gap_m
    runs = []
    for i, (piece, count) in enumerate(zip(job.stock, counts, strict=True)):
        along = along_of(piece, job.canister, job.packing)
        if along and count:
            flat = (piece.width_m, piece.thickness_m * touching)
            w, h = flat[::-1] if on_edge else flat
            runs.append(_Run(i, w, h, math.ceil(math.ceil(count / touching) / along)))
    width, height, _ = inside_m(job.canister)
    width, height = width - 2 * job.packing.cover_m, height - 2 * job.packing.cover_m
    if not runs or min(width, height) <= 0:
        return ()
    bands = _in_circle(runs, width, gap) if job.canister.form == "pipe" else _in_box(runs, width, height, gap)
    return _places(bands, counts, job)


def _fill(runs: list[_Run], width: float, gap: float) -> tuple[Row, list[_Run]]:
    """One row of a width, filled in order until the next piece does not go in; and what is left."""
    row: Row = []
    left = list(runs)
    used = 0.0
    while left:
        run = left[0]
        n = min(run.slots, max(0, math.floor((width - used + gap + SLACK) / (run.w + gap))))
        if n:
            row.append((run, n))
            used += n * (run.w + gap)
        if n < run.slots:
            left[0] = _Run(run.stock, run.w, run.h, run.slots - n)
            break
        left.pop(0)
    return row, left


def _in_box(runs: list[_Run], width: float, height: float, gap: float) -> list[tuple[float, Row]]:
    """Rows from the bottom up, thickest first; each is as high as its first piece. (y of its lower edge, row)"""
    left = sorted(runs, key=lambda r: (-r.h, -r.w))
    rows: list[Row] = []
    used = 0.0
    while left and used + left[0].h <= height + SLACK:
        high = left[0].h
        row, left = _fill(left, width, gap)
        if not row:
            break
        rows.append(row)
        used += high + gap
    highs = [row[0][0].h for row in rows]
    bottoms = accumulate([high + gap for high in highs[:-1]], initial=-(sum(highs) + gap * (len(rows) - 1)) / 2)
    return list(zip(bottoms, rows, strict=False))


def _in_circle(runs: list[_Run], diameter: float, gap: float) -> list[tuple[float, Row]]:
    """Rows of one height about the middle, each as wide as its chord; widest rows first; the number that lays most."""
    high = max(run.h for run in runs)
    order = sorted(runs, key=lambda r: -r.w)
    best: list[tuple[float, Row]] = []
    most, wanted = 0, sum(run.slots for run in runs)
    for n in range(1, min(wanted, math.floor((diameter + gap + SLACK) / (high + gap))) + 1):
        lowest = -(n * high + (n - 1) * gap) / 2
        bottoms = sorted((lowest + i * (high + gap) for i in range(n)), key=lambda y: (abs(y + high / 2), y))
        bands, left = [], order
        for y in bottoms:
            reach = max(abs(y), abs(y + high))
            chord = 2 * math.sqrt(max(0.0, (diameter / 2) ** 2 - reach**2))
            row, left = _fill(left, chord, gap)
            if row:
                bands.append((y, row))
        laid = wanted - sum(run.slots for run in left)
        if laid > most:
            best, most = bands, laid
    return best


def _places(bands: list[tuple[float, Row]], counts: Sequence[int], job: Job) -> tuple[Place, ...]:
    """Rows into places, each row about the middle; pieces are dealt out until the count is used up."""
    touching, gap = job.packing.touching, job.packing.gap_m
    left = list(counts)
    places = []
    for y, row in bands:
        x = -(sum(n * (run.w + gap) for run, n in row) - gap) / 2
        for run, n in row:
            along = along_of(job.stock[run.stock], job.canister, job.packing)
            for _ in range(n):
                pieces = min(left[run.stock], touching * along)
                left[run.stock] -= pieces
                lengths = math.ceil(pieces / touching)
                places.append(Place(x, y, run.w, run.h, run.stock, min(touching, pieces), lengths, pieces))
                x += run.w + gap
    return tuple(places)
