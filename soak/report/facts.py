"""What a record says, gathered once: how it ended, which piece is slowest, what is not known. Pure.

A run that was killed has no summary. Then the numbers are those of the last predictions, and that is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from soak.errors import SoakError
from soak.job.job import Job
from soak.job.read import job_from_record
from soak.job.stock import Stock
from soak.job.target import Target
from soak.record.rows import QUANTITIES, Band, Record

CASE_CARBON = 0.004  # mass fraction; the carbon trace's case depth is measured to 0.40 % C, whatever the job says
QUANTITY = {
    "mean": "mean_carbon_pct",
    "surface": "surface_carbon_pct",
    "centre": "centre_carbon_pct",
    "depth": "case_depth_mm",
}


@dataclass(frozen=True, slots=True)
class PieceFacts:
    """One piece at the end: bands by quantity (soak.record.rows.QUANTITIES). None: not known.

    half_mm: from the surface to the centre; touching strips count as one piece.
    """

    label: str
    stock: Stock | None
    where: str
    count: float | None
    bands: Mapping[str, Band]
    chance: float | None = None
    half_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """The run in short. `whole`: the summary was there. `met` None: not known. Times in s."""

    job: Job | None
    pieces: tuple[PieceFacts, ...]
    slowest: PieceFacts | None
    quantity: str
    depth_to: float
    whole: bool
    ended: str
    met: bool | None
    last_s: float
    estimate_s: float | None
    at_heat_s: float | None
    power_off_s: float | None
    wall_left: Band
    soaks_left: Band
    breach: float | None
    core_end_c: float | None
    warnings: tuple[str, ...]

    @property
    def target(self) -> Target | None:
        return self.job.target if self.job else None


def gather(record: Record) -> Facts:
    """The facts of a record. Never raises: what cannot be read is not known."""
    summary: Mapping[str, Any] = record.closing.summary if record.closing else {}
    job = _job(record)
    target = job.target if job else None
    quantity = QUANTITY[target.where] if target else "mean_carbon_pct"
    told = _told(summary, job)
    pieces = told or _last(record, job)
    met = summary.get("target_met")
    marks = {e.code: e.time_s for e in reversed(record.events)}
    canister = _mapping(summary.get("canister"))
    last_charge = record.charge[-1] if record.charge else None
    wall = band_of(canister.get("wall_left_mm"))
    times = [rows[-1].time_s for rows in (record.readings, record.predictions, record.events) if rows]
    return Facts(
        job=job,
        pieces=pieces,
        slowest=_slowest(pieces, _mapping(summary.get("predicted")), quantity),
        quantity=quantity,
        depth_to=target.carbon if told and target and target.where == "depth" else CASE_CARBON,
        whole=bool(told),
        ended=record.closing.ended if record.closing else "interrupted",
        met=met if isinstance(met, bool) else None,
        last_s=record.closing.time_s if record.closing else max(times, default=0.0),
        estimate_s=record.predictions[-1].time_s if record.predictions else None,
        at_heat_s=marks.get("at-heat"),
        power_off_s=marks.get("power-off"),
        wall_left=wall if wall.mid is not None or last_charge is None else last_charge.wall_left_mm,
        soaks_left=band_of(canister.get("soaks_left")),
        breach=_number(canister.get("breach_chance")),
        core_end_c=last_charge.core_c if last_charge else None,
        warnings=tuple(
            str(w["text"]) for w in _list(summary.get("warnings")) if isinstance(w, Mapping) and "text" in w
        ),
    )


def band_of(value: Any) -> Band:
    """A band from a summary; what is no number is None."""
    said = _mapping(value)
    return Band(*(_number(said.get(end)) for end in ("low", "mid", "high")))


def _job(record: Record) -> Job | None:
    """The job as it was; None if the record's text is no job that this version reads."""
    try:
        return job_from_record(record.header.job_text, dict(record.header.profiles), record.header.job)
    except SoakError:
        return None


def _told(summary: Mapping[str, Any], job: Job | None) -> tuple[PieceFacts, ...]:
    out = []
    for said in _list(summary.get("pieces")):
        piece = _mapping(said)
        label = str(piece.get("piece", ""))
        out.append(
            PieceFacts(
                label,
                _stock(label, job),
                str(piece.get("where", "")),
                _number(piece.get("count")),
                {name: band_of(piece.get(name)) for name in QUANTITIES},
                _number(piece.get("chance_in_tolerance")),
                _half_mm(label, job),
            )
        )
    return tuple(out)


def _last(record: Record, job: Job | None) -> tuple[PieceFacts, ...]:
    """The pieces of the last predictions, in the order they first appear."""
    latest = {p.piece: p for p in record.predictions}
    return tuple(
        PieceFacts(
            label,
            _stock(label, job),
            label.partition(" ")[2],
            None,
            {name: getattr(row, name) for name in QUANTITIES},
            half_mm=_half_mm(label, job),
        )
        for label, row in latest.items()
    )


def _stock(label: str, job: Job | None) -> Stock | None:
    """The stock a piece is of: labels begin with the stock's place in the job, counted from 1."""
    number = label.partition(" ")[0]
    if job is None or not (number.isascii() and number.isdigit()):
        return None
    return job.stock[int(number) - 1] if 1 <= int(number) <= len(job.stock) else None


def _half_mm(label: str, job: Job | None) -> float | None:
    stock = _stock(label, job)
    if job is None or stock is None:
        return None
    touching = max(1, min(job.packing.touching, stock.count)) if stock.shape == "strip" else 1
    return 500.0 * stock.thickness_m * touching


def _slowest(pieces: tuple[PieceFacts, ...], predicted: Mapping[str, Any], quantity: str) -> PieceFacts | None:
    named = [p for p in pieces if p.label == predicted.get("piece")]
    if named:
        return named[0]
    behind = [(p.bands[quantity].mid, i) for i, p in enumerate(pieces)]
    known = [(mid, i) for mid, i in behind if mid is not None]
    return pieces[min(known)[1]] if known else None


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _list(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else []


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
