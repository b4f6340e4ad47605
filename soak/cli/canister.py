"""`soak canister`: how much of a canister's wall is used up, how many soaks are left, what a weighing would tell."""

from __future__ import annotations

import math
from typing import Any

from soak.cli import canister_text
from soak.cli import output as o
from soak.cli.common import COMMON, Common
from soak.errors import JobError
from soak.job.canister import Canister
from soak.job.job import Job
from soak.job.read import read_job
from soak.plan.choose import BREACH_REFUSE, BREACH_WARN
from soak.process.outcome import Band
from soak.shop.canister_life import Life, Next, floor_sag_m, life, like_job, like_last
from soak.shop.canister_weighing import Soak, outside_area_m2
from soak.shop.folder import shop_folder
from soak.shop.history import canister_named, job_of, oven_of, soaks_of

HALF, NEARLY = 0.5, 0.8  # used shares that earn a warning (judgement, as in creep.used_share)
Z_90 = 1.2816  # the 90 % point of a normal doubt


def canister(
    name: str,
    /,
    *,
    like: str | None = None,
    common: Common = COMMON,
) -> None:
    """The life of a canister: wall used and left, soaks left, what its weighings say and what one more would tell.

    Parameters
    ----------
    name
        A canister's profile, or a name that stands in the runs.
    like
        Look ahead to a soak like this job planned now, instead of one like the last.
    """
    shop = shop_folder(common.shop)
    soaks = soaks_of(shop)
    for line in soaks.unread:
        o.say_err(f"soak: left out of the canister's history: {line}")
    known, can, profiled = canister_named(name, shop, soaks)
    mine = soaks.by_canister.get(known, ())
    job: Job | None = None
    coming: Next | None
    if like is not None:
        job = read_job(like, shop)
        coming, oven = like_job(job, can), oven_of(job.profiles)
    else:
        coming, oven = like_last(mine), mine[-1].oven if mine else ""
        job = _job_then(mine, coming)
    sag_m = 0.0 if can.floor_supported or can.material == "fireclay" else None
    if sag_m is None and job is not None and coming is not None and coming.hold_c is not None:
        sag_m = floor_sag_m(job, can, coming.hold_c)
    found = life(can, mine, coming, oven, sag_m or 0.0)
    doc = document(known, found, sag_m)
    doc["warnings"] += _profile_changed(can, mine, profiled)
    if common.json:
        o.emit_json(doc)
    else:
        o.say(*canister_text.lines(doc, common.units))


def _job_then(mine: tuple[Soak, ...], coming: Next | None) -> Job | None:
    """The job of the run that the next soak is like; None where that can no longer be read."""
    for soak in mine:
        if coming is not None and soak.run == coming.like:
            try:
                return job_of(soak)
            except JobError:
                return None
    return None


def document(name: str, found: Life, sag_m: float | None) -> dict[str, Any]:
    """All of `soak canister --json` but its format and version. sag_m: None where it is not known."""
    can = found.canister
    return {
        "canister": {
            "name": name,
            "title": can.title,
            "material": can.material,
            "expendable": can.expendable,
            "wall_new_mm": round(1e3 * can.wall_m, 4),
            "done_at_mm": round(1e3 * found.retire_m, 4),
            "sags_below_mm": round(1e3 * sag_m, 4) if sag_m else None,
            "outside_area_cm2": round(1e4 * outside_area_m2(can), 1),
            "wall_now_mm": _mm(found.wall_now),
            "wall_lost_so_far_mm": _mm(found.mean_lost),
            "used_share": found.used.as_dict(4),
        },
        "next": _next(found),
        "soaks": [
            {
                "run": s.run,
                "started": s.header.started,
                "job": s.header.job,
                "ended": s.ended,
                "hold_c": s.hold_c,
                "at_heat_h": round(s.heat_h, 3),
                "wall_lost_mm": _mm(lost),
                "weighed": i in found.known,
                "simulated": s.simulated,
            }
            for i, (s, lost) in enumerate(zip(found.soaks, found.lost, strict=True))
        ],
        "weighings": [
            {
                "runs": [s.run for s in found.soaks[w.first : w.last + 1]],
                "grams": round(1e3 * w.kg, 3),
                "measured_mm": round(1e3 * w.measured_m, 5),
                "predicted_mm": round(1e3 * w.predicted_m, 5),
                "counts_for": {"rate": ["wall", "rate"], "wall": ["wall"], "no": []}[w.use],
                "why": w.why,
            }
            for w in found.weighed
        ],
        "rate": {
            "scale": round(found.rate.scale, 4),
            "weighings": found.rate.count,
            "sd_ln": round(found.rate.sd_ln, 4),
            "loss_times": round(math.sqrt(found.rate.scale), 4),
            "loss_within": _within(found.rate.sd_ln),
        },
        "one_more_weighing": _tell(found),
        "warnings": _warnings(found, sag_m),
    }


def _mm(band: Band) -> dict[str, float]:
    return band.scaled(1e3).as_dict(5)


def _within(sd_ln: float) -> float:
    """Loss known to times or divided by this, 10 % to 90 %: loss goes with the root of the rate."""
    return round(math.exp(0.5 * Z_90 * sd_ln), 3)


def _next(found: Life) -> dict[str, Any] | None:
    a = found.ahead
    if a is None:
        return None
    return {
        "like": a.next.like,
        "hold_c": a.next.hold_c,
        "wall_lost_mm": _mm(a.lost),
        "soaks_left": a.soaks_left.as_dict(0),
        "breach_chance": round(a.breach_chance, 3),
    }


def _tell(found: Life) -> dict[str, Any]:
    t = found.tell
    return {
        "when": t.when,
        "grams_per_tenth_mm": round(0.1 * t.kg_per_m, 3),
        "grams": None if t.kg is None else t.kg.scaled(1e3).as_dict(2),
        "wall_now_mm": None if t.wall_now is None else _mm(t.wall_now),
        "soaks_left": None if t.soaks_left is None else t.soaks_left.as_dict(0),
        "loss_within": _within(t.sd_ln),
    }


def _warnings(found: Life, sag_m: float | None) -> list[dict[str, str]]:
    out: list[tuple[str, str]] = []
    used, retire = found.used.mid, f"{1e3 * found.retire_m:.2f} mm"
    if used >= 1.0:
        text = f"its wall is used up (done at {retire} at its thinnest): retire it. A new one of the same make gets"
        out.append(("used-up", f"{text} a name of its own: copy the profile; its soaks then count from none"))
    elif used >= NEARLY:
        out.append(("nearly-used", "more than four fifths of what its wall may lose is gone: have the next one ready"))
    elif used >= HALF:
        out.append(("half-used", "more than half of what its wall may lose is gone: look at edges and welds each time"))
    if found.ahead is not None and found.ahead.breach_chance > BREACH_WARN:
        text = f"the next soak breaches in {100 * found.ahead.breach_chance:.0f} of 100"
        more = "; a plan is refused above 10" if found.ahead.breach_chance > BREACH_REFUSE else ""
        out.append(("breach-chance", text + more))
    if sag_m is None:
        text = "its floor stands free, but when it would sag is not known: no soak says what stands in it (--like JOB)"
        out.append(("sag-unknown", text))
    out += [("weighing", f"weighed after {found.soaks[w.last].run}: {w.why}") for w in found.weighed if w.why]
    unclosed = [s.run for s in found.soaks if s.ended in ("interrupted", "running")]
    if unclosed:
        out.append(("not-closed", f"counted up to when last heard of: {', '.join(unclosed)}"))
    practice = [s.run for s in found.soaks if s.simulated]
    if practice:
        text = f"run against the simulator, they wore no canister: {', '.join(practice)}"
        out.append(("simulated", f"{text}; move their files out of the shop's runs"))
    return [{"code": code, "text": text} for code, text in out]


def _profile_changed(can: Canister, mine: tuple[Soak, ...], profiled: bool) -> list[dict[str, str]]:
    """Wear is counted against the profile as it is now."""
    if not (mine and profiled):
        return []
    try:
        then = job_of(mine[-1]).canister
    except JobError:
        return []
    changed = [
        said for said, a, b in (("wall", then.wall_m, can.wall_m), ("material", then.material, can.material)) if a != b
    ]
    if not changed:
        return []
    text = f"its profile says another {' and '.join(changed)} than when it was last used; the profile counts here"
    return [{"code": "profile-changed", "text": f"{text}. If it is another canister, give it another name"}]
