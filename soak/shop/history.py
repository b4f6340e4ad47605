"""The shop's memory, folded from its run files: so far the soaks and wear of each canister. Touches the file system."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from soak.errors import JobError, RecordError
from soak.job import build
from soak.job.canister import Canister
from soak.job.complain import nearest_of
from soak.job.find import is_path, list_profiles, locate, name_of, read_toml
from soak.job.history import History
from soak.job.job import Job
from soak.job.read import _checked, _without_format, job_from_record
from soak.job.text_charge import CanisterText
from soak.record.load import glance, load
from soak.record.rows import Glance, Header, Note
from soak.shop.canister_weighing import Mark, Soak, central_loss, measured, rate_of, weighings
from soak.shop.folder import run_files

INLINE = "inline"


@dataclass(frozen=True, slots=True)
class Soaks:
    """Soaks by canister, oldest first, and the run files that could not be read, with why."""

    by_canister: Mapping[str, tuple[Soak, ...]]
    unread: tuple[str, ...]


def recall(shop: Path, job: Job) -> tuple[History, tuple[str, ...]]:
    """What earlier real soaks took from this job's canister, what its weighings say of the rate, and which run files
    could not be read.

    Dry runs wear nothing. A run that was never closed counts with what it had lost when it was last heard of.
    """
    name = known_as(job.canister.name, job.name)
    found = soaks_of(shop, name)
    soaks = found.by_canister.get(name, ())
    rows = weighings(soaks, job.canister, oven_of(job.profiles)).rows
    rate = rate_of(rows, job.canister.material)
    lost_m = central_loss(soaks, measured(soaks, rows), rate)
    return History(lost_m, rate.scale, rate.sd_ln if rate.count else None), found.unread


def known_as(canister: str, job: str) -> str:
    """A canister's name in the shop. One written into a job is that job's own: all of those are called inline."""
    return f"{INLINE}:{job}" if canister == INLINE else canister


def oven_of(profiles: Mapping[str, Any]) -> str:
    """The oven of a run, by the profiles kept with it."""
    return next((name_of(key.removeprefix("oven/")) for key in profiles if key.startswith("oven/")), INLINE)


def soaks_of(shop: Path, only: str | None = None) -> Soaks:
    """The soaks of every canister, or of `only` one. Two copies of one run file are one soak."""
    found: dict[str, dict[tuple[str, str], Soak]] = {}
    unread: list[str] = []
    for path in run_files(shop):
        try:
            run = glance(path)
            name = known_as(str(run.header.plan.get("canister_name", "")), run.header.job)
            if run.header.kind != "run" or only not in (None, name):
                continue
            soak = _soak(path, run)
        except RecordError as error:
            unread.append(f"{path.name}: {error.text}")
            continue
        found.setdefault(name, {}).setdefault((run.header.started, run.header.job), soak)
    ordered = {n: tuple(sorted(s.values(), key=lambda soak: soak.header.started)) for n, s in found.items()}
    return Soaks(ordered, tuple(unread))


def _soak(path: Path, run: Glance) -> Soak:
    header, notes = run.header, run.notes
    holds = [s["to_c"] for s in header.plan.get("segments", ()) if s.get("kind") == "hold"]
    said = run.closing.summary if run.closing else {}
    wall = (said.get("canister") or {}).get("wall_lost_mm") or {}
    soak = Soak(
        path.stem,
        str(path),
        oven_of(header.profiles),
        run.closing.ended if run.closing else "running" if run.running else "interrupted",
        max(holds, default=None),
        0.0,
        0.0,
        header,
        _mark(notes, "before_kg"),
        _mark(notes, "after_kg"),
        (header.link or {}).get("rate", 1.0) != 1.0,
    )
    # the factor the plan had put on the law: what a run lost must not be fitted a second time
    drawn = (_central(header, "scaling_rate", 1.0) * float(header.draws.get("scaling_scale", 1.0))) ** 0.5
    if run.closing is None or wall.get("mid") is None:
        return _cut_short(soak, path, drawn)
    times = {e["code"]: e["time_s"] for e in said.get("events", ())}
    off_s = times.get("power-off", 3600.0 * (said.get("heat_on_h") or run.closing.time_s / 3600.0))
    hours = max(off_s - times["at-heat"], 0.0) / 3600.0 if "at-heat" in times else 0.0
    return replace(soak, heat_h=hours, law_m=wall["mid"] / 1000.0 / drawn)


def _cut_short(soak: Soak, path: Path, drawn: float) -> Soak:
    """A run without a last word: what its traces say. Its wall left is told at the thinnest spot."""
    record = load(path)
    left = [c.wall_left_mm.mid for c in record.charge if c.wall_left_mm.mid is not None]
    thin_mm = left[0] - left[-1] if left else 0.0
    times = {e.code: e.time_s for e in record.events}
    last_s = times.get("power-off", record.readings[-1].time_s if record.readings else 0.0)
    hours = max(last_s - times["at-heat"], 0.0) / 3600.0 if "at-heat" in times else 0.0
    return replace(soak, heat_h=hours, law_m=thin_mm / 1000.0 / _central(record.header, "local_factor", 2.0) / drawn)


def _central(header: Header, name: str, otherwise: float) -> float:
    """What member 0 of a run was computed with."""
    try:
        return float(header.draws["values"][0][list(header.draws["names"]).index(name)])
    except (KeyError, ValueError, TypeError, IndexError):
        return otherwise


def _mark(notes: tuple[Note, ...], key: str) -> Mark | None:
    """The last weight of the canister itself that was written down."""
    said = [
        (n.wall, float(n.values[key]))
        for n in notes
        if n.kind == "weighing" and n.values.get("of") == "canister" and n.values.get(key) is not None
    ]
    return max(said, key=lambda mark: mark[0]) if said else None


def canister_named(name: str, shop: Path, soaks: Soaks) -> tuple[str, Canister, bool]:
    """A canister by its profile's name or path, else as it was in its last run: its name in the shop, the canister,
    and whether a profile says it. Raises JobError with the nearest names."""
    profiles = {n for n, _, _ in list_profiles("canister", shop)}
    if name in profiles or is_path(name):
        found = read_toml(locate("canister", name, shop))
        text = _checked(CanisterText, _without_format(found.raw, found.where), found.where)
        return name_of(name), build.canister(name_of(name), text), True
    if name in soaks.by_canister:
        return name, job_of(soaks.by_canister[name][-1]).canister, False
    known = sorted(profiles | set(soaks.by_canister))
    near = nearest_of(name, known)
    hint = f"did you mean {' or '.join(near)}?" if near else f"known here: {', '.join(known)}"
    text_ = f'there is no canister called "{name}", neither among the profiles nor in the run files of {shop}'
    raise JobError("unknown-canister", text_, hint, {"names": near})


def job_of(soak: Soak) -> Job:
    """The job of a run, as it was then. Raises JobError where the run file's text can no longer be read."""
    profiles = {key: dict(value) for key, value in soak.header.profiles.items()}
    return job_from_record(soak.header.job_text, profiles, soak.header.job)
