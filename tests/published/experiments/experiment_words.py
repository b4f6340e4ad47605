"""What a comparison says, in plain words: one published number against ours with its band. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from experiment_cases import Row

from soak.process.outcome import Band

Kind = Literal["agrees", "too low", "too high", "cannot be judged"]
CRITERIA = {
    "0.77": "to 0.77 % C",
    "0.40": "to 0.40 % C",
    "+0.05": "to core + 0.05 % C",
    "": "",
}


@dataclass(frozen=True, slots=True)
class Ours:
    """Our number by one criterion ("" where there is but one way to read it)."""

    criterion: str
    band: Band


@dataclass(frozen=True, slots=True)
class Verdict:
    kind: Kind
    text: str


def judge(row: Row, ours: tuple[Ours, ...]) -> Verdict:
    """Holds ours, by every criterion that the published number may have meant, against it."""
    found = _against(row, ours)
    if not row.unknown:
        return found
    return Verdict("cannot be judged", f"cannot be judged: {row.unknown}. As assumed here: {found.text}")


def _against(row: Row, ours: tuple[Ours, ...]) -> Verdict:
    if row.bound:
        return _bound(row, ours[0].band)
    sides = [_side(row, o.band) for o in ours]
    if len(ours) == 1:
        return _one(row, ours[0].band, sides[0])
    if all(side < 0 for side in sides):
        nearest = max(ours, key=lambda o: o.band.mid)
        return Verdict("too low", f"too low by {_by(row, nearest.band)}, even if read {CRITERIA[nearest.criterion]}")
    if all(side > 0 for side in sides):
        nearest = min(ours, key=lambda o: o.band.mid)
        return Verdict("too high", f"too high by {_by(row, nearest.band)}, even if read {CRITERIA[nearest.criterion]}")
    inside = [CRITERIA[o.criterion] for o, side in zip(ours, sides, strict=True) if side == 0]
    if len(inside) == len(ours):
        return Verdict("agrees", "agrees within its band, whichever way it was read")
    where = f"agrees if read {' or '.join(inside)}" if inside else "it lies between ours"
    return Verdict("cannot be judged", f"cannot be judged: criterion unknown; {where}")


def _side(row: Row, band: Band) -> int:
    """-1: our whole band is below what was published; 1: above; 0: they touch."""
    low, high = row.published
    return -1 if band.high < low - row.within else 1 if band.low > high + row.within else 0


def _one(row: Row, band: Band, side: int) -> Verdict:
    if side < 0:
        return Verdict("too low", f"too low by {_by(row, band)}")
    if side > 0:
        return Verdict("too high", f"too high by {_by(row, band)}")
    low, high = row.published
    if low == high or low <= band.mid <= high:
        return Verdict("agrees", "agrees within its band" if low == high else "agrees: inside what was published")
    side_word = "above" if band.mid > high else "below"
    return Verdict("agrees", f"agrees within its band; our mid is {side_word} what was published")


def _bound(row: Row, band: Band) -> Verdict:
    limit = row.published[0]
    least = row.bound == "at least"
    if (band.mid >= limit) != least and band.mid != limit:
        return Verdict("too low" if least else "too high", f"{'too low' if least else 'too high'} by {_by(row, band)}")
    edge = band.low >= limit if least else band.high <= limit
    return Verdict("agrees", "agrees: on the right side of the bound" + ("" if edge else ", but not all of our band"))


def _by(row: Row, band: Band) -> str:
    """How far our mid is from the nearest end of what was published, in its unit and in per cent of that end."""
    low, high = row.published
    end = low if band.mid < low else high
    gap = abs(band.mid - end)
    share = f"{100.0 * gap / end:.0f} %" if band.mid < 2.0 * end else f"{band.mid / end:.1f} times as much"
    unit = row.unit if row.unit in ("mm", "% C") else ""
    return f"{number(gap)} {unit} ({share})" if unit else share


def number(value: float) -> str:
    """Two decimals; the last of them is far above what differs from machine to machine."""
    return f"{value:.2f}" if abs(value) < 99.5 else f"{value:.0f}"


def published(row: Row) -> str:
    """What was published, with its unit and what is known of how it was read."""
    low, high = row.published
    words = number(low) if low == high else f"{number(low)} to {number(high)}"
    words = f"{row.bound} {words}" if row.bound else words
    words = f"{words} +- {number(row.within)}" if row.within >= 0.01 else words
    words = f"{words} {row.unit}".strip()
    return f"{words}, depth by a criterion not told" if row.measure == "depth" else words


def told(ours: tuple[Ours, ...]) -> str:
    """Ours: mid and in brackets the 10 % and 90 % points, by each criterion."""
    return "; ".join(
        f"{number(o.band.mid)} ({number(o.band.low)} to {number(o.band.high)}) {CRITERIA[o.criterion]}".strip()
        for o in ours
    )


def ratio(row: Row, ours: tuple[Ours, ...]) -> str:
    """Our mid over the published number (over the middle, where that is a range), by each criterion."""
    middle = 0.5 * sum(row.published)
    return " / ".join(number(o.band.mid / middle) for o in ours)
