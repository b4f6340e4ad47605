"""The life of a canister as lines for a person: the wall first, then the soaks, the weighings, what to mind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from soak.cli import output as o
from soak.cli import plan_text
from soak.cli.output import Units

DocumentT = Mapping[str, Any]
NOT_LIMITED = 200
SEEN = 0.97  # a band that narrows by less is not worth a line


def lines(doc: DocumentT, units: Units) -> list[str]:
    can = doc["canister"]
    out = [f"{can['name']}: {can['title']}", "", *_wall(can, units), *_next(doc, units), ""]
    if doc["soaks"]:
        out += _soaks(doc["soaks"], units)
    else:
        out += o.wrapped("no soaks yet: no run in this shop used it")
    mind = plan_text.warnings(doc["warnings"])
    return [*out, "", *_weighings(doc, units), *_tell(doc, units), *([""] if mind else []), *mind]


def _wall(can: DocumentT, units: Units) -> list[str]:
    new, done = o.length(can["wall_new_mm"], units), o.length(can["done_at_mm"], units)
    if can["sags_below_mm"] and can["sags_below_mm"] >= can["done_at_mm"]:
        why = "thinner, its floor would sag"
    elif can["done_at_mm"] > 0.5:
        why = "a quarter of the new wall is kept back"
    else:
        why = "thinner walls leak" + (", expendable" if can["expendable"] else "")
    used = {k: f"{100 * v:.0f}" for k, v in can["used_share"].items()}
    return [
        f"wall      {o.lengths(can['wall_now_mm'], units)} at its thinnest; {new} when new",
        f"          done at {done}: {why}",
        f"used      {used['mid']} % ({used['low']} to {used['high']}) of what it may lose",
    ]


def _next(doc: DocumentT, units: Units) -> list[str]:
    soak = doc["next"]
    if soak is None:
        return ["next      soak canister NAME --like JOB says what a soak would take"]
    at = "" if soak["hold_c"] is None else f" ({o.temperature(soak['hold_c'], units)})"
    left = soak["soaks_left"]
    many = "not limited by oxidation" if left["low"] >= NOT_LIMITED else f"soaks like it left: {_count(left)}"
    return [
        f"next      a soak like {soak['like']}{at} loses {_lost(soak['wall_lost_mm'], units)} of wall",
        f"          {many}; the next one breaches in {100 * soak['breach_chance']:.0f} of 100",
    ]


def _lost(band: Mapping[str, float], units: Units) -> str:
    """Heat-resisting alloys lose micrometres."""
    if band["high"] >= 0.05:
        return o.lengths(band, units)
    factor, digits, name = (1000.0, 1, "um") if units == "si" else (1000.0 / 25.4, 3, "thou")
    low, mid, high = (f"{factor * band[k]:.{digits}f}" for k in ("low", "mid", "high"))
    return f"{mid} {name} ({low} to {high})" if high != low else f"{mid} {name}"


def _count(band: Mapping[str, float]) -> str:
    top = f"{band['high']:.0f}" if band["high"] < NOT_LIMITED else f"more than {NOT_LIMITED}"
    mid = f"{band['mid']:.0f}" if band["mid"] < NOT_LIMITED else f"more than {NOT_LIMITED}"
    return f"{mid} ({band['low']:.0f} to {top})"


def _soaks(soaks: list[DocumentT], units: Units) -> list[str]:
    rows: list[tuple[str, ...]] = [("date", "soak", "hold", "at heat", "wall lost", "")]
    for s in soaks:
        hold = "" if s["hold_c"] is None else o.temperature(s["hold_c"], units)
        marks = [s["ended"]] if s["ended"] != "complete" else []
        marks += ["weighed"] if s["weighed"] else []
        heat = o.duration(s["at_heat_h"]) if s["at_heat_h"] > 0.0 else "never"
        rows.append((s["started"][:10], s["run"], hold, heat, _lost(s["wall_lost_mm"], units), ", ".join(marks)))
    return o.table(rows, "")


def _weighings(doc: DocumentT, units: Units) -> list[str]:
    if not doc["weighings"]:
        return []
    rows: list[tuple[str, ...]] = [("weighed after", "soaks", "lighter by", "is wall", "the law said", "counts for")]
    for w in doc["weighings"]:
        sizes = (o.length(w[k], units, 3) for k in ("measured_mm", "predicted_mm"))
        counts = " and ".join(w["counts_for"]) or "nothing"
        runs = w["runs"]
        rows.append((runs[-1] if runs else "", str(len(runs)), o.mass(w["grams"] / 1e3, units), *sizes, counts))
    rate = doc["rate"]
    moved = f"wall is lost {rate['loss_times']:.2f} times as fast as the law says, times or divided by"
    return [*o.table(rows, ""), f"so {moved} {rate['loss_within']:.2f}", ""]


def _tell(doc: DocumentT, units: Units) -> list[str]:
    """What one more weighing would tell."""
    if doc["canister"]["material"] == "fireclay":
        return ["fireclay does not scale: it ends by cracks and by alkali, not on the balance"]
    t = doc["one_more_weighing"]
    mm = 0.1 if units == "si" else 0.254
    grams = t["grams_per_tenth_mm"] * mm / 0.1
    told = [f"weigh it descaled, with its lid: {o.length(mm, units, 1)} of wall is {o.mass(grams / 1e3, units)}"]
    if t["grams"] is not None:
        low, mid, high = (o.mass(t["grams"][k] / 1e3, units) for k in ("low", "mid", "high"))
        when = {
            "now": "now: since it was last weighed it should have lost",
            "after": "after the next soak: that should take",
            "first": "now and after the next soak: that should take",
        }[t["when"]]
        told.append(f"{when} {mid} ({low} to {high})")
        told += _narrowed(doc, units)
    how = 'soak note RUN --of canister --weight-before "WEIGHT" --weight-after "WEIGHT"'
    return [("weigh     " if i == 0 else "          ") + line for i, line in enumerate([*told, how])]


def _narrowed(doc: DocumentT, units: Units) -> list[str]:
    """Bands as they would be then, where a person would see the difference."""
    t, rate, can = doc["one_more_weighing"], doc["rate"], doc["canister"]
    out = [f"the rate of loss, now known to times or divided by {rate['loss_within']:.2f}, to {t['loss_within']:.2f}"]
    if _width(t["wall_now_mm"]) < SEEN * _width(can["wall_now_mm"]):
        out.append(f"the wall at its thinnest to {o.lengths(t['wall_now_mm'], units)}")
    if t["soaks_left"] is not None and _width(t["soaks_left"]) < _width(doc["next"]["soaks_left"]):
        out.append(f"the soaks left to {_count(t['soaks_left'])}")
    return [
        *(("it would narrow " if i == 0 else "and ") + line for i, line in enumerate(out)),
        "(how thin its thinnest spot is beside the mean, no balance tells: look at edges and welds)",
    ]


def _width(band: Mapping[str, float]) -> float:
    return band["high"] - band["low"]
