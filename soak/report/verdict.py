"""The top of the report: what came of it, in big numbers, and what to know before believing it. Pure."""

from __future__ import annotations

from soak.record.rows import Record
from soak.report.aims import wanted_text
from soak.report.cautions import cautions
from soak.report.facts import Facts, PieceFacts
from soak.report.show import NOT_KNOWN, Units, carbon_band, carbon_text, duration, length_band
from soak.report.tags import Html, Part, join, listed, table, tag

_ENDED = {
    "complete": ("complete", "good"),
    "stopped": ("stopped by a person", "warn"),
    "tripped": ("tripped: a guard ended it", "bad"),
    "interrupted": ("interrupted", "bad"),
}
_KIND = {"run": "Run", "dry-run": "Dry run on a simulated oven", "predict": "Prediction from a temperature record"}
_WORDS = {
    "mean_carbon_pct": "carbon in the mean",
    "surface_carbon_pct": "carbon at the surface",
    "centre_carbon_pct": "carbon at the centre",
}


def title(record: Record) -> Html:
    """The page's head: what was soaked, when, how."""
    header = record.header
    kind = _KIND.get(header.kind, header.kind)
    under = f"{kind} of the job {header.job}, begun {_moment(header.started)}"
    return tag("header", tag("p", under, cls="over"), tag("h1", header.title or header.job))


def verdict(record: Record, facts: Facts, units: Units) -> Html:
    """The slowest piece against the target, how it ended, the hours; then the pieces, then the cautions."""
    ended, mood = _ENDED.get(facts.ended, (facts.ended, "warn"))
    met, met_mood = _met(facts)
    cards = [
        tag("div", *_reached(facts, units), cls="card first"),
        _card("Target", *_target(facts, units)),
        _card("Ended", tag("strong", ended, cls=mood), _soaked(facts)),
        _card("Target met", tag("strong", met, cls=met_mood), _chance(facts)),
        _card("Time", tag("strong", duration(facts.last_s)), _heat_on(facts)),
    ]
    found = cautions(record, facts, units)
    parts: list[Part] = [tag("h2", "Verdict"), tag("div", join(cards), cls="cards")]
    if found:
        parts += [tag("div", tag("h3", "Cautions"), listed(found), cls="cautions")]
    parts += [_pieces(facts, units)]
    return tag("section", *parts, id="verdict")


def piece_text(piece: PieceFacts, units: Units) -> str:
    """What a piece is: shape, size, iron, how many it stands for."""
    if piece.stock is None:
        return ""
    s = piece.stock
    sizes = [s.thickness_m, s.length_m] if s.shape == "round" else [s.thickness_m, s.width_m, s.length_m]
    size = " x ".join(f"{units.size_number(1000.0 * x)}" for x in sizes)
    many = f", {piece.count:g} of them" if piece.count and piece.count > 1 else ""
    place = {"core": " in the core", "wall": " next to the wall"}.get(piece.where, "")
    return f"{s.shape} {size} {units.length}, {s.iron.name}{place}{many}"


def _reached(facts: Facts, units: Units) -> list[Part]:
    piece = facts.slowest
    if piece is None:
        return [tag("h3", "Carbon reached"), tag("p", NOT_KNOWN, cls="big"), tag("p", "The record holds no estimate.")]
    band = piece.bands[facts.quantity]
    if facts.quantity == "case_depth_mm":
        big, span = _depth(piece, units)
        what = f"deep to {100.0 * facts.depth_to:.2f} % C"
    else:
        big, span, what = carbon_text(band.mid), carbon_band(band), _WORDS[facts.quantity]
    when = "" if facts.whole else " at the last estimate"
    return [
        tag("h3", f"Reached{when}: the slowest piece, {piece.label}"),
        tag("p", big, cls="big"),
        tag("p", what),
        *((tag("p", span, cls="band"), tag("p", "band: 10 % to 90 %", cls="soft")) if span != NOT_KNOWN else ()),
        tag("p", piece_text(piece, units), cls="soft"),
    ]


def _target(facts: Facts, units: Units) -> tuple[Part, ...]:
    if facts.target is None:
        return (tag("strong", NOT_KNOWN),)
    first, _, rest = wanted_text(facts.target, units).partition(" C ")
    return tag("strong", f"{first} C"), rest


def _met(facts: Facts) -> tuple[str, str]:
    if facts.met is None:
        return NOT_KNOWN, "bad"
    return ("yes", "good") if facts.met else ("no", "bad")


def _chance(facts: Facts) -> str:
    """What the central estimate's yes or no leaves out."""
    if facts.slowest is None or facts.slowest.chance is None:
        return "" if facts.met is None else "by the central estimate"
    lead = "by the central estimate; " if facts.met is not None else ""
    return f"{lead}inside the tolerance in {100.0 * facts.slowest.chance:.0f} of 100 such soaks"


def _soaked(facts: Facts) -> str:
    if facts.at_heat_s is None:
        return "the charge never came to heat in this record"
    if facts.power_off_s is None:
        return f"at heat from {duration(facts.at_heat_s)} on"
    return f"at heat for {duration(facts.power_off_s - facts.at_heat_s)}"


def _heat_on(facts: Facts) -> str:
    if facts.power_off_s is None:
        return "power off: not known"
    return f"power on for {duration(facts.power_off_s)}, then cooling"


def _card(head: str, *inner: Part) -> Html:
    return tag("div", tag("h3", head), *(tag("p", part) for part in inner if part), cls="card")


def _pieces(facts: Facts, units: Units) -> Html:
    """Every piece at the end."""
    if not facts.pieces:
        return Html("")
    rows = []
    for p in facts.pieces:
        label = tag("strong" if p is facts.slowest else "span", p.label)
        cells: list[Part] = [tag("span", label, Html("<br>"), tag("span", piece_text(p, units), cls="soft"))]
        for quantity in ("mean_carbon_pct", "surface_carbon_pct", "centre_carbon_pct"):
            cells.append(_cell(carbon_text(p.bands[quantity].mid), carbon_band(p.bands[quantity])))
        cells.append(_cell(*_depth(p, units)))
        cells.append(NOT_KNOWN if p.chance is None else f"{100.0 * p.chance:.0f} in 100")
        rows.append(cells)
    heads = (
        "piece",
        "mean",
        "surface",
        "centre",
        f"depth to {100.0 * facts.depth_to:.2f} %",
        "in tolerance",
    )
    when = "at the end" if facts.whole else "at the last estimate"
    return table(
        heads, rows, caption=f"Carbon and case depth {when}; the slowest piece in bold, bands below", cls="pieces"
    )


def _depth(piece: PieceFacts, units: Units) -> tuple[str, str]:
    """The case depth and its band; what reaches the centre has no depth."""
    band = piece.bands["case_depth_mm"]

    def through(mm: float | None) -> bool:
        return mm is not None and piece.half_mm is not None and mm >= 0.995 * piece.half_mm

    if through(band.low):
        return "all through", NOT_KNOWN
    if through(band.high) and band.low is not None:
        mid = "all through" if through(band.mid) else units.length_text(band.mid)
        return mid, f"{units.length_text(band.low)} to all through"
    return units.length_text(band.mid), length_band(band, units)


def _cell(mid: str, span: str) -> Html:
    if span == NOT_KNOWN:
        return tag("span", mid)
    return tag("span", mid, Html("<br>"), tag("span", span, cls="soft"))


def _moment(started: str) -> str:
    """ "2031-02-03T18:30:00+00:00" as people write it; anything else as it stands."""
    date, mark, rest = started.partition("T")
    if not mark or not rest.endswith("+00:00"):
        return started
    return f"{date} {rest[:5]} UTC"
