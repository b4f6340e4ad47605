"""The figures: SVG that stands alone, says what it shows, keeps extremes; labels that do not cover each other."""

from __future__ import annotations

import doctest
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak.record.rows import Record
from soak.report import colours, figures, show, style, tags, thin
from soak.report.facts import gather
from soak.trace import Event

DRAWN = {
    "temperature": figures.temperature,
    "carbon": figures.carbon,
    "profile": figures.profile,
    "wall": figures.wall,
}
SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize("system", ["si", "us"])
def test_each_figure_stands_alone_and_says_what_it_shows(record: Record, name: str, system: show.System) -> None:
    svg = DRAWN[name](record, show.Units(system))
    assert svg is not None
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    title, said = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert said is not None
    assert title.text
    assert said.text
    assert root.get("aria-label") == f"{title.text}. {said.text}"
    assert re.search(r"\d", said.text)
    assert root.get("width") == f"{72 * style.WIDTH_IN:.2f}pt"
    words = [t.text or "" for t in root.iter(f"{SVG}text")]
    axes = [w for w in words if re.search(r", (h|%|mm|in|°C|°F)$", w)]
    assert len(axes) >= 2  # both axes say their unit
    assert "<metadata" not in svg
    assert "<style" not in svg


def test_nothing_to_draw_is_none(record: Record) -> None:
    empty = Record(record.header, (), (), (), (), (), (), (), None)
    assert [draw(empty) for draw in DRAWN.values()] == [None] * 4
    blind = replace(
        record, readings=tuple(replace(r, oven_c=None, setpoint_c=None) for r in record.readings), charge=()
    )
    assert figures.temperature(blind) is None


def test_marks_of_the_temperature_figure(record: Record) -> None:
    facts = gather(record)
    tripped = replace(record, events=(*record.events, Event(30000.0, "over-limit", "trip", "too hot")))
    svg = figures.temperature(tripped)
    assert svg is not None
    for words in (
        f"at heat, {show.duration(facts.at_heat_s)}",
        f"power off, {show.duration(facts.power_off_s)}",
        "trip: over-limit, 8 h 20 min",
        "setpoint",
        "oven",
        "charge at the wall",
        "charge, core",
    ):
        assert f">{words}</text>" in svg
    assert ">measured</text>" not in svg
    measured = replace(record, readings=tuple(replace(r, charge_c=r.oven_c) for r in record.readings))
    assert ">measured</text>" in (figures.temperature(measured) or "")


def test_carbon_shows_the_target_and_the_band(record: Record) -> None:
    svg = figures.carbon(record)
    assert svg is not None
    assert svg.count(">0.60 wanted</text>") == 2  # one a panel
    assert colours.BAND in svg
    assert colours.TOLERANCE in svg
    assert "stroke-dasharray" in svg
    last = [p for p in record.predictions if p.piece == "1 core"][-1].mean_carbon_pct
    for value in (last.low, last.mid, last.high):
        assert f">{value:.2f}</text>" in svg


def test_a_hole_in_the_readings_is_not_drawn_across() -> None:
    time_s = np.array([0.0, 5.0, 10.0, 900.0, 905.0, 910.0])
    x, y = thin.opened(time_s, np.ones(6))
    assert thin.holes(time_s) == [(10.0, 900.0)]
    assert x.tolist() == [0.0, 5.0, 10.0, 455.0, 900.0, 905.0, 910.0]
    assert np.isnan(y).tolist() == [False] * 3 + [True] + [False] * 3


@given(
    st.lists(st.floats(-1e6, 1e6) | st.just(float("nan")), min_size=1, max_size=3000),
    st.integers(8, 400),
)
def test_thinning_keeps_extremes_ends_and_holes(values: list[float], most: int) -> None:
    y = np.array(values)
    few = thin.keep([y], most)
    assert len(few) <= max(most, 2 * 5) * 1.25 + 5
    assert few[0] == 0
    assert few[-1] == len(y) - 1
    assert np.isnan(y[few]).any() == np.isnan(y).any()
    if np.isfinite(y).any():
        assert np.nanmax(y[few]) == np.nanmax(y)
        assert np.nanmin(y[few]) == np.nanmin(y)


def test_where_a_trace_comes_to_rest() -> None:
    time_s = np.arange(10.0)
    assert thin.still_after(time_s, [np.array([0, 1, 2, 3, 4, 4, 4, 4, 4, 4.0])]) == 4.0
    assert thin.still_after(time_s, [np.ones(10)]) == 0.0


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0.01, 0.2)), min_size=1, max_size=8))
def test_labels_never_cover_each_other(wanted: list[tuple[float, float]]) -> None:
    wanted.sort()
    heights = [h for _, h in wanted]
    placed = style.apart([y for y, _ in wanted], heights)
    for (y0, h0), (y1, h1) in pairwise(zip(placed, heights, strict=True)):
        assert y1 - y0 >= 0.5 * (h0 + h1) - 1e-6


def test_labels_with_room_stay_where_they_belong() -> None:
    assert style.apart([0.1, 0.5, 0.9], [0.1, 0.1, 0.1]) == [0.1, 0.5, 0.9]


def test_every_colour_of_text_can_be_read() -> None:
    """4.5 to 1 is what the Web Content Accessibility Guidelines ask of text (memory)."""
    for line in colours.LINES:
        assert colours.contrast(line, colours.CARD) >= 4.5
        assert colours.contrast(line, colours.SOAKING) >= 4.5
    for text in colours.TEXTS:
        for ground in colours.GROUNDS:
            for scheme in (0, 1):
                assert colours.contrast(colours.PAGE[text][scheme], colours.PAGE[ground][scheme]) >= 4.5


def test_contrast_agrees_with_a_known_pair() -> None:
    # The grey #767676 is widely quoted as the lightest that passes on white, at 4.54 to 1 (memory).
    assert round(colours.contrast("#767676", "#ffffff"), 2) == 4.54


def test_conversions_are_exact() -> None:
    us = show.Units("us")
    assert us.degrees(-40.0) == -40.0  # where the two scales meet
    assert us.temperature_text(950.0) == "1742 °F"
    assert us.rate_text(300.0) == "540 °F/h"
    assert us.length_text(25.4) == "1.000 in"
    assert show.SI.length_text(4.0) == "4.00 mm"


@pytest.mark.parametrize("module", [colours, show, style, tags, thin])
def test_examples_in_docstrings(module: object) -> None:
    found = doctest.testmod(module, extraglobs={"np": np})  # type: ignore[arg-type]
    assert found.attempted > 0
    assert found.failed == 0
