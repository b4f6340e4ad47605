"""The report of a run: one HTML page that needs nothing else, to be filed with the batch and printed. Pure text.

No script, no request to anywhere; every text that comes from a file is escaped where it enters (soak.report.tags).
"""

from __future__ import annotations

from typing import Literal

from soak.record.rows import Record
from soak.report import course, css, figures, inputs, known, verdict
from soak.report.facts import Facts, gather
from soak.report.panels import MOST_PIECES
from soak.report.show import Units
from soak.report.tags import Html, Part, escaped, join, listed, tag

_HEAD = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
"""
_MARKS = (
    "Shaded: the soak, with the charge at heat. Grey: no reading. Triangles: warnings and alarms. "
    "Charge temperatures are estimates; only what is called measured was measured."
)
_AXIS = "The time axis ends where nothing changes any more, or with the last estimate."
_BAND = "The shade is the band (10 % to 90 %), the line the central estimate."


def html(record: Record, units: Literal["si", "us"] = "si") -> str:
    """The whole page. units us: degF and inches in text and axes; what was recorded in words stays as written."""
    shown = Units(units)
    facts = gather(record)
    sections = [
        verdict.verdict(record, facts, shown),
        _temperature(record, facts, shown),
        _carbon(record, facts, shown),
        _profile(record, facts, shown),
        _wall(record, facts, shown),
        course.events(record),
        inputs.inputs(record, shown),
        course.notes(record),
        _worth(facts, shown),
    ]
    title = f"{record.header.title or record.header.job} - soak report"
    body = join([verdict.title(record), tag("main", join(s for s in sections if s.text))])
    head = f"{_HEAD}<title>{escaped(title)}</title>\n<style>\n{css.sheet()}</style>\n</head>\n"
    return f"{head}<body>\n{body.text}\n</body>\n</html>\n"


def _temperature(record: Record, facts: Facts, units: Units) -> Html:
    return _section(
        "temperature",
        "Temperature",
        figures.temperature(record, units, facts),
        _MARKS,
        "no temperature is in the record",
        course.segments(record, units),
    )


def _carbon(record: Record, facts: Facts, units: Units) -> Html:
    """The quantity the target asks for, and the mean carbon where that is another one."""
    missing = "no estimate is in the record"
    lead = f"{_BAND} {_AXIS}"
    if facts.target is not None:
        lead += " Green: the target and its tolerance."
    if len(facts.pieces) > 1:
        lead += " The slowest piece in bold."
    if len(facts.pieces) > MOST_PIECES:
        lead += f" The {MOST_PIECES} slowest of {len(facts.pieces)} pieces; the table has them all."
    if facts.quantity == "case_depth_mm":
        lead += " Case depth is measured to 0.40 % C."
    first = figures.carbon(record, units, facts, facts.quantity)
    more: list[Part] = []
    if facts.quantity != "mean_carbon_pct" and (mean := figures.carbon(record, units, facts)):
        more = [_figure(mean, f"The mean carbon of the same pieces. {_BAND}")]
    return _section("carbon", "Carbon", first, lead, missing, *more)


def _profile(record: Record, facts: Facts, units: Units) -> Html:
    missing = "the run was interrupted before its last word" if not facts.whole else "no profile is in the record"
    caption = f"{_BAND} From the surface on the left to the centre on the right."
    return _section(
        "profile", "Carbon against depth, at the end", figures.profile(record, units, facts), caption, missing
    )


def _wall(record: Record, facts: Facts, units: Units) -> Html:
    caption = f"{_BAND} Wall left at the thinnest spot; thinning that no soak record tells of is not in it."
    return _section(
        "wall", "Canister wall", figures.wall(record, units, facts), caption, "no estimate is in the record"
    )


def _worth(facts: Facts, units: Units) -> Html:
    return join(
        [
            tag(
                "section",
                tag("h2", "What the predictions are worth"),
                *(tag("p", text) for text in known.WORTH),
                tag("h3", "Sources"),
                listed(known.sources()),
                id="worth",
            ),
            tag(
                "section",
                tag("h2", "Next steps"),
                tag("ol", join(tag("li", step) for step in known.next_steps(facts, units))),
                id="next",
            ),
        ]
    )


def _section(name: str, head: str, svg: str | None, caption: str, missing: str, *more: Part) -> Html:
    shown = _figure(svg, caption) if svg else tag("p", f"Not known: {missing}.", cls="missing")
    return tag("section", tag("h2", head), shown, *more, id=name)


def _figure(svg: str, caption: str) -> Html:
    return tag("figure", tag("div", Html(svg), cls="sheet"), tag("figcaption", caption))
