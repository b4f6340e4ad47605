"""What went in: the job as written, the profiles used, what was drawn, the versions. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from soak import __version__
from soak.process.draws import UNKNOWNS
from soak.record.rows import Record
from soak.report.show import Units, plain_words
from soak.report.tags import Html, Part, join, table, tag

_SAYS = {u.name: u.source for u in UNKNOWNS}
_LEFT_OUT = {"format", "title", "source"}
LOW, HIGH = 0.10, 0.90


def inputs(record: Record, units: Units) -> Html:
    """Job, profiles, draws, link, versions."""
    header = record.header
    parts: list[Part] = [
        tag("h2", "Inputs"),
        tag("h3", "Job, as written"),
        tag("pre", header.job_text),
        tag("h3", "Profiles used"),
        tag("div", join(_profile(name, said) for name, said in header.profiles.items()), cls="profiles")
        if header.profiles
        else tag("p", "None is kept with this run."),
        *_draws(header.draws, units),
        tag("h3", "Versions"),
        tag("p", f"Run by soak {header.soak}; this page by soak {__version__}. {_link(header.link)}"),
    ]
    return tag("section", *parts, id="inputs")


def _profile(name: str, said: Any) -> Html:
    """One profile: its title, and every value on a line of its own."""
    values = said if isinstance(said, Mapping) else {"value": said}
    title = str(values.get("title", ""))
    kept = {key: value for key, value in values.items() if key not in _LEFT_OUT}
    lines = "\n".join(_lines(kept, ""))
    return tag("div", tag("h4", name), *((tag("p", title),) if title else ()), tag("pre", lines), cls="profile")


def _lines(values: Mapping[str, Any], lead: str) -> Iterator[str]:
    for key, value in values.items():
        if isinstance(value, Mapping):
            yield from _lines(value, f"{lead}{key}.")
        elif isinstance(value, list) and any(isinstance(row, Mapping) for row in value):
            yield f"{lead}{key} = {'; '.join(_row(row) for row in value)}"
        else:
            yield f"{lead}{key} = {_plain(value)}"


def _row(row: Any) -> str:
    return ", ".join(f"{key} {_plain(v)}" for key, v in row.items()) if isinstance(row, Mapping) else _plain(row)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ", ".join(_plain(v) for v in value)
    return "none" if value is None else str(value)


def _draws(draws: Mapping[str, Any], units: Units) -> list[Part]:
    """What is not known, and how far it was varied."""
    names, values = draws.get("names"), draws.get("values")
    members = draws.get("members")
    if not isinstance(names, list) or not isinstance(values, list) or not values:
        return [tag("h3", "What is not known"), tag("p", "The record holds no draws.")]
    rows = []
    for j, name in enumerate(names):
        column = [row[j] for row in values if isinstance(row, list) and j < len(row) and row[j] is not None]
        if not column:
            continue
        low, high = _point(column, LOW), _point(column, HIGH)
        cells = (_shown(name, x, units) for x in (low, column[0], high))
        rows.append((_said(str(name), units), *cells, _SAYS.get(str(name), "")))
    heads = ("what", "10 % point", "central", "90 % point", "why")
    text = f"{members} runs of the same soak, each with other values of these:"
    return [tag("h3", "What is not known"), tag("p", text), table(heads, rows, cls="draws")]


def _said(name: str, units: Units) -> str:
    if name.endswith("_k"):
        return f"{plain_words(name[:-2])}, {units.temperature}"
    return plain_words(name)


def _shown(name: str, value: float, units: Units) -> str:
    return f"{units.steps(float(value)):.1f}" if str(name).endswith("_k") else f"{value:.3g}"


def _point(values: list[float], share: float) -> float:
    """The value below which `share` of the values lie, between the two nearest."""
    rising = sorted(float(v) for v in values)
    at = share * (len(rising) - 1)
    below = int(at)
    above = min(below + 1, len(rising) - 1)
    return rising[below] + (at - below) * (rising[above] - rising[below])


def _link(link: Mapping[str, Any] | None) -> str:
    if not link:
        return "No controller was on the line."
    return "Controller: " + ", ".join(f"{plain_words(str(key))} {_plain(value)}" for key, value in link.items()) + "."
