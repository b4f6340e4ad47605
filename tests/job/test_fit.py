"""soak.job.layout and fit: nothing overlaps, nothing sticks out, and more room never means fewer pieces."""

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soak.job.canister import Canister, Vent
from soak.job.fit import chamber_complaint, fit, inside_volume_m3
from soak.job.layout import inside_m, layout
from soak.job.packing import Packing
from soak.job.read import read_job
from soak.job.stock import Iron, Stock

BASE = read_job("plane-irons", None)
IRON = Iron("any", "any")
TIGHT = 2e-9  # m; the layout itself allows 1e-9


def canister(form, a_mm, b_mm, length_mm, wall_mm):
    a, b, length, wall = a_mm / 1e3, b_mm / 1e3, length_mm / 1e3, wall_mm / 1e3
    size = {"width_m": a, "height_m": b} if form == "box" else {"diameter_m": a}
    return Canister("any", "any", form, "steel", length, wall, wall, wall, Vent("none"), **size)


def job_of(stock, packing, can):
    return dataclasses.replace(BASE, stock=tuple(stock), packing=packing, canister=can)


def strip(t_mm, w_mm, l_mm, count):
    return Stock(IRON, "strip", t_mm / 1e3, w_mm / 1e3, l_mm / 1e3, count)


def bar(d_mm, l_mm, count):
    return Stock(IRON, "round", d_mm / 1e3, d_mm / 1e3, l_mm / 1e3, count)


tenths = st.integers
strips = st.builds(
    lambda t, more, length, n: strip(t / 10, (t + more) / 10, length, n),
    tenths(2, 150),
    tenths(0, 400),
    st.integers(10, 220),
    st.integers(1, 12),
)
bars = st.builds(lambda d, length, n: bar(d / 10, length, n), tenths(20, 300), st.integers(10, 220), st.integers(1, 12))
packings = st.builds(lambda g, c, n: Packing(g / 10e3, c / 10e3, n), tenths(0, 200), tenths(0, 300), st.integers(1, 3))
canisters = st.builds(
    canister,
    st.sampled_from(["box", "pipe"]),
    st.integers(40, 200),
    st.integers(40, 200),
    st.integers(60, 400),
    st.integers(1, 8),
)
jobs = st.builds(job_of, st.lists(strips | bars, min_size=1, max_size=3), packings, canisters)


@settings(max_examples=150, deadline=None)
@given(jobs)
def test_nothing_overlaps_or_leaves_the_cover(job):
    gap, cover = job.packing.gap_m, job.packing.cover_m
    width, height, length = inside_m(job.canister)
    places = layout(job)
    for p in places:
        if job.canister.form == "box":
            assert abs(p.x) <= width / 2 - cover + TIGHT
            assert p.x + p.w <= width / 2 - cover + TIGHT
            assert -p.y <= height / 2 - cover + TIGHT
            assert p.y + p.h <= height / 2 - cover + TIGHT
        else:
            corner = math.hypot(max(abs(p.x), abs(p.x + p.w)), max(abs(p.y), abs(p.y + p.h)))
            assert corner <= width / 2 - cover + TIGHT
        piece = job.stock[p.stock]
        assert p.along * piece.length_m + (p.along - 1) * gap + 2 * cover <= length + TIGHT
        assert sorted((p.w, p.h)) == pytest.approx(sorted((piece.width_m, piece.thickness_m * job.packing.touching)))
        assert 1 <= p.pieces <= p.along * job.packing.touching
    for i, p in enumerate(places):
        for q in places[:i]:
            apart_x = max(p.x - q.x - q.w, q.x - p.x - p.w)
            apart_y = max(p.y - q.y - q.h, q.y - p.y - p.h)
            assert max(apart_x, apart_y) >= gap - TIGHT


@settings(max_examples=150, deadline=None)
@given(jobs)
def test_the_layout_agrees_with_the_verdict(job):
    result = fit(job)
    laid = sum(p.pieces for p in layout(job))
    assert result.count == sum(s.count for s in job.stock)
    assert result.fits == (laid == result.count) == (result.count_that_fits >= result.count)
    assert laid <= result.count
    for i, piece in enumerate(job.stock):
        assert sum(p.pieces for p in layout(job) if p.stock == i) <= piece.count


@settings(max_examples=100, deadline=None)
@given(jobs, tenths(0, 50), tenths(0, 50))
def test_wider_gaps_and_thicker_cover_never_make_room(job, gap, cover):
    roomier = job.packing
    tighter = Packing(roomier.gap_m + gap / 10e3, roomier.cover_m + cover / 10e3, roomier.touching)
    assert fit(dataclasses.replace(job, packing=tighter)).count_that_fits <= fit(job).count_that_fits


@settings(max_examples=60, deadline=None)
@given(jobs, st.integers(1, 20))
def test_a_longer_canister_never_holds_less(job, more):
    longer = dataclasses.replace(job.canister, length_m=job.canister.length_m + more / 1e3)
    assert fit(dataclasses.replace(job, canister=longer)).count_that_fits >= fit(job).count_that_fits


def test_plane_irons_by_hand():
    """Two columns of 32 and a gap of 8 are 72 = 96 - 2 x 12; four rows of 4 and three gaps are 40 = 64 - 2 x 12."""
    places = layout(BASE)
    assert sorted({round(p.x * 1e3, 6) for p in places}) == [-36.0, 4.0]
    assert sorted({round(p.y * 1e3, 6) for p in places}) == [-20.0, -8.0, 4.0, 16.0]
    assert all((p.across, p.along, p.pieces) == (1, 1, 1) for p in places)


@pytest.mark.parametrize(
    ("packing", "fits", "text"),
    [
        (Packing(0.008, 0.012, 1), True, "8 of 8 strips fit, no more would"),
        (Packing(0.0081, 0.012, 1), False, "6 of 8 strips fit"),  # a tenth of a millimetre: now six on edge are best
        (Packing(0.008, 0.0121, 1), False, "6 of 8 strips fit"),  # and so it goes with the cover
        (Packing(0.004, 0.012, 1), True, "8 of 8 strips fit, 10 would"),
        (Packing(0.008, 0.012, 2), True, "8 of 8 strips fit, 12 would"),
        (
            Packing(0.008, 0.020, 1),
            False,
            "too long: 180 mm and twice 20 mm cover need 220 mm, the canister has 208 mm",
        ),
    ],
)
def test_the_text_for_people(packing, fits, text):
    result = fit(dataclasses.replace(BASE, packing=packing))
    assert (result.fits, result.text[: len(text)]) == (fits, text)


def test_one_bar_and_mixed_stock_have_their_words():
    can = canister("pipe", 100, 0, 200, 4)
    assert fit(job_of([bar(30, 150, 1)], Packing(0.008, 0.012), can)).text == "1 of 1 bar fits, no more would"
    mixed = fit(job_of([bar(10, 150, 2), strip(4, 20, 150, 2)], Packing(0.008, 0.012), can))
    assert mixed.text.startswith("4 of 4 pieces fit")
    crowd = fit(job_of([bar(2, 20, 1)], Packing(0.0, 0.0), canister("box", 200, 200, 400, 1)))
    assert crowd.text == "1 of 1 bar fits, 500 or more would"


def test_a_single_bar_fits_a_pipe_up_to_the_inscribed_square():
    """A bar is laid out as its square: the largest in a circle of 68 mm has a side of 68 / sqrt(2) = 48.08 mm."""
    can = canister("pipe", 100, 0, 200, 4)
    assert fit(job_of([bar(48.0, 150, 1)], Packing(0.008, 0.012), can)).fits
    assert not fit(job_of([bar(48.1, 150, 1)], Packing(0.008, 0.012), can)).fits


def test_end_to_end():
    """Inside 208 mm: two pieces of 88 with a gap of 8 and 12 at both ends are 208."""
    job = job_of([strip(4, 32, 88, 16)], BASE.packing, BASE.canister)
    assert {(p.along, p.pieces) for p in layout(job)} == {(2, 2)}
    assert fit(job).count_that_fits == 16
    assert fit(job_of([strip(4, 32, 88.1, 16)], BASE.packing, BASE.canister)).count_that_fits == 8


def test_touching_leaves_an_odd_piece_alone():
    places = layout(job_of([strip(4, 32, 180, 3)], Packing(0.008, 0.012, 2), BASE.canister))
    assert sorted((p.across, p.pieces) for p in places) == [(1, 1), (2, 2)]
    assert {round(p.h * 1e3, 6) for p in places} == {8.0}


def test_volumes_by_hand():
    """Box inside 96 x 64 x 208 mm; eight strips of 4 x 32 x 180 mm. A pipe of 92 mm inside: pi/4 * 92^2 * 192 mm3."""
    result = fit(BASE)
    inside, steel = 0.096 * 0.064 * 0.208, 8 * 0.004 * 0.032 * 0.180
    assert result.steel_fraction == pytest.approx(steel / inside, rel=1e-12)
    assert result.pack_volume_m3 == pytest.approx(inside - steel, rel=1e-12)
    pipe = job_of([bar(10, 100, 4)], BASE.packing, canister("pipe", 100, 0, 200, 4))
    assert inside_volume_m3(pipe) == pytest.approx(math.pi / 4 * 0.092**2 * 0.192, rel=1e-12)
    assert fit(pipe).steel_fraction == pytest.approx(4 * 0.010**2 * 0.100 / (0.092**2 * 0.192), rel=1e-12)


def test_a_canister_that_does_not_go_into_the_oven():
    assert chamber_complaint(BASE) == ""
    long = dataclasses.replace(BASE, canister=dataclasses.replace(BASE.canister, length_m=0.321))
    text = "the canister (72 x 104 x 321 mm) does not go into the chamber of bench-20l (250 x 250 x 320 mm)"
    assert chamber_complaint(long) == text
