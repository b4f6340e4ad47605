"""What to know before believing the verdict: few, short, most pressing first. Pure."""

from __future__ import annotations

import numpy as np

from soak.record.rows import Record
from soak.report import thin
from soak.report.facts import Facts
from soak.report.show import Units, carbon_text, duration, length_band

MOST = 16
_READ_BACK = "read back"


def cautions(record: Record, facts: Facts, units: Units) -> tuple[str, ...]:
    """All cautions of a record; those beyond MOST are only counted."""
    found = [
        *_kind(record),
        *_unfinished(record, facts),
        *record.cautions,
        *_trouble(record),
        *_surface(facts),
        *_canister(facts, units),
        *facts.warnings,
        *_holes(record),
        *_writes(record),
    ]
    if facts.job is None:
        found.append("The job kept with this run cannot be read by this version: its target is not known here.")
    unlike = list(dict.fromkeys(found))
    if len(unlike) <= MOST:
        return tuple(unlike)
    return (*unlike[: MOST - 1], f"And {len(unlike) - MOST + 1} more: soak show lists them.")


def _kind(record: Record) -> list[str]:
    if record.header.kind == "dry-run":
        return ["A dry run on a simulated oven: no iron was heated."]
    if record.header.kind == "predict":
        return ["Computed from a temperature record: soak did not run this oven."]
    return []


def _unfinished(record: Record, facts: Facts) -> list[str]:
    if facts.ended != "interrupted":
        return []
    text = (
        f"The run was interrupted: the record ends after {duration(facts.last_s)}"
        + ("" if record.closing else ", without a last word (or it was still going when this page was made)")
        + "."
    )
    unknown = [] if facts.whole else ["the carbon at the end", "carbon against depth"]
    if facts.power_off_s is None:
        unknown += ["when the power went off", "how it cooled"]
    out = [text]
    if facts.estimate_s is not None and not facts.whole:
        out.append(f"The numbers are those of the last estimate, {duration(facts.estimate_s)} after the start.")
    if unknown:
        out.append(f"Not known: {', '.join(unknown)}.")
    return out


def _trouble(record: Record) -> list[str]:
    bad = [e for e in record.events if e.severity in ("trip", "alarm")]
    bad += [e for e in record.events if e.severity == "warning"]
    first = {e.code: e for e in reversed(bad)}
    order = dict.fromkeys(e.code for e in bad)
    times = {code: sum(e.code == code for e in bad) for code in order}
    return [
        f"{first[code].severity.capitalize()} after {duration(first[code].time_s)}: {first[code].text}"
        + (f" ({times[code]} times)" if times[code] > 1 else "")
        for code in order
    ]


def _surface(facts: Facts) -> list[str]:
    target = facts.target
    if target is None or target.surface_max is None:
        return []
    most = 100.0 * target.surface_max
    over = [p for p in facts.pieces if (p.bands["surface_carbon_pct"].high or 0.0) > most]
    if not over:
        return []
    names = ", ".join(p.label for p in over)
    return [f"The surface may hold more than the {carbon_text(most)} allowed: piece {names}."]


def _canister(facts: Facts, units: Units) -> list[str]:
    out = []
    if facts.breach:
        out.append(f"The canister may have gone through: in {100.0 * facts.breach:.0f} of 100 such soaks.")
    if facts.soaks_left.low is not None and facts.soaks_left.low < 1.0:
        left = length_band(facts.wall_left, units)
        out.append(f"The canister may not bear another soak: {left} of wall left at its thinnest spot.")
    return out


def _holes(record: Record) -> list[str]:
    found = thin.holes(np.array([r.time_s for r in record.readings]))
    blind = [r.time_s for r in record.readings if r.oven_c is None]
    out = []
    if found:
        begin, end = max(found, key=lambda hole: hole[1] - hole[0])
        more = f" (and {len(found) - 1} shorter ones)" if len(found) > 1 else ""
        out.append(f"No reading for {duration(end - begin)}, from {duration(begin)} after the start{more}.")
    if blind:
        out.append(f"{len(blind)} readings without an oven temperature, the first after {duration(blind[0])}.")
    return out


def _writes(record: Record) -> list[str]:
    lost = [a for a in record.actions if a.outcome is None]
    failed = [a for a in record.actions if a.outcome not in (None, _READ_BACK)]
    out = []
    if lost:
        out.append(f"{len(lost)} writes to the controller have no result: whether they took is not known.")
    if failed:
        out.append(f"{len(failed)} writes to the controller were not confirmed; the first: {failed[0].outcome}.")
    return out
