"""Published experiments as data: reads cases.toml into rows. Touches that one file and nothing else."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CASES = Path(__file__).with_name("cases.toml")


@dataclass(frozen=True, slots=True)
class Point:
    """One look at one fold: the setup's name, the temperature held [degC], hours at heat."""

    setup: str
    celsius: float
    hours: float


@dataclass(frozen=True, slots=True)
class Setup:
    """What stays the same in one experiment: iron, pack, canister, section [m], climb and cooling [h]."""

    name: str
    words: str
    iron: dict[str, float]
    energizer: dict[str, float]
    density: float
    canister: dict[str, Any]
    thickness_m: float
    width_m: float
    length_m: float
    count: int
    gap_m: float
    cover_m: float
    ramp_h: float
    cool_h: float
    longest_s: float


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table. published: from, to (equal if it is one number); within: give or take this much.

    bound: "", "at least" or "at most". criteria: every way the depth may have been read. unknown: why it cannot be
    judged, if so. note: said beside the verdict.
    """

    case: str
    conditions: str
    measure: str
    at: tuple[Point, ...]
    published: tuple[float, float]
    within: float
    bound: str
    unit: str
    criteria: tuple[str, ...]
    depth_m: float
    source: str
    how: str
    unknown: str
    note: str


@dataclass(frozen=True, slots=True)
class Source:
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Cases:
    rows: tuple[Row, ...]
    setups: dict[str, Setup]
    sources: dict[str, Source]


def load(path: Path = CASES) -> Cases:
    """All of cases.toml, in its order."""
    text = tomllib.loads(path.read_text(encoding="utf-8"))
    setups = {name: _setup(name, entry, text) for name, entry in text["setup"].items()}
    # groups and rows are two arrays in TOML: `order` makes one list of them again
    rows = [row for group in text["group"] for row in _group(group)] + [_row(entry) for entry in text["row"]]
    order = {case: i for i, case in enumerate(text["order"])}
    rows.sort(key=lambda row: order[row.case])  # stable: rows of one case keep the order of the file
    return Cases(tuple(rows), setups, {key: Source(**entry) for key, entry in text["source"].items()})


def _setup(name: str, entry: dict[str, Any], text: dict[str, Any]) -> Setup:
    pack = text["pack"][entry["pack"]]
    return Setup(
        name=name,
        words=entry["words"],
        iron={element: percent / 100.0 for element, percent in text["iron"][entry["iron"]].items()},
        energizer=pack["energizer"],
        density=pack["density"],
        canister=text["canister"][entry["canister"]],
        thickness_m=1e-3 * entry["thickness"],
        width_m=1e-3 * entry.get("width", 80.0),
        length_m=1e-3 * entry.get("length", 150.0),
        count=entry.get("count", 1),
        gap_m=1e-3 * entry.get("gap", 25.0),
        cover_m=1e-3 * entry.get("cover", 25.0),
        ramp_h=entry["ramp_h"],
        cool_h=entry.get("cool_h", 0.0),
        longest_s=entry.get("longest_s", 300.0),
    )


def _group(group: dict[str, Any]) -> list[Row]:
    rows: list[Row] = []
    for celsius, hours, *published in group["points"]:
        words = group["conditions"].format(c=celsius, h=hours, d=hours / 24.0)
        at = (Point(group["setup"], float(celsius), float(hours)),)
        rows.append(_make(group if not rows else group | {"note": ""}, words, at, published))
    return rows


def _row(entry: dict[str, Any]) -> Row:
    at = tuple(Point(name, float(celsius), float(hours)) for name, celsius, hours in entry["at"])
    return _make(entry, entry["conditions"], at, entry["published"])


def _make(entry: dict[str, Any], words: str, at: tuple[Point, ...], published: list[float]) -> Row:
    return Row(
        case=entry["case"],
        conditions=words,
        measure=entry["measure"],
        at=at,
        published=(float(published[0]), float(published[-1])),
        within=entry.get("within", 0.0),
        bound=entry.get("bound", ""),
        unit=entry["unit"],
        criteria=tuple(entry["criteria"]),
        depth_m=1e-3 * entry.get("depth_mm", 0.0),
        source=entry["source"],
        how=entry["how"],
        unknown=entry.get("unknown", ""),
        note=entry.get("note", ""),
    )
