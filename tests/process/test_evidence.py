"""Melting witnesses weigh the members; they change nothing else."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from charges import charge, fold, held
from hypothesis import given, settings
from hypothesis import strategies as st

from soak.process.evidence import WIRES_C, Witness, agreed, posterior, temperature_doubt_k, weigh
from soak.process.outcome import band
from soak.process.state import ARRAYS, ZERO_C, State

CHARGE = charge(members=32)
SOAKED: State = fold(CHARGE, held(962, 1))[0]


def test_the_fixed_points() -> None:
    """ITS-90: silver 961.78, gold 1064.18, copper 1084.62 degC (memory)."""
    assert WIRES_C == {"silver": 961.78, "gold": 1064.18, "copper": 1084.62}


@pytest.mark.parametrize("melted", [True, False])
def test_a_silver_wire_speaks_for_the_hotter_or_the_cooler(melted: bool) -> None:
    weighed = weigh(CHARGE, SOAKED, (Witness(WIRES_C["silver"], melted),))
    hottest = SOAKED.peak[:, -1] - ZERO_C
    before, after = (float((s.weight * hottest).sum()) for s in (SOAKED, weighed))
    assert (after > before + 3.0) if melted else (after < before - 3.0)
    assert weighed.weight.sum() == pytest.approx(1.0)
    assert agreed(SOAKED, weighed)
    assert temperature_doubt_k(CHARGE, weighed) < 0.8 * temperature_doubt_k(CHARGE, SOAKED)
    assert all(getattr(weighed, n) is getattr(SOAKED, n) for n in ARRAYS if n != "weight")


def test_two_wires_that_close_it_in() -> None:
    """One that melted and one that did not, 10 degC apart: the doubt falls below 5 degC (decision 5)."""
    weighed = weigh(CHARGE, SOAKED, (Witness(957.0, True), Witness(967.0, False)))
    assert temperature_doubt_k(CHARGE, SOAKED) == pytest.approx(12.0, abs=1.0)
    assert temperature_doubt_k(CHARGE, weighed) < 6.0


def test_evidence_against_everybody_changes_nothing() -> None:
    weighed = weigh(CHARGE, SOAKED, (Witness(WIRES_C["copper"], True),))
    assert weighed is SOAKED
    assert not agreed(SOAKED, weighed)


def test_a_wire_that_says_what_was_known_hardly_matters() -> None:
    weighed = weigh(CHARGE, SOAKED, (Witness(WIRES_C["copper"], False),))
    assert weighed.weight == pytest.approx(SOAKED.weight, rel=1e-6)


def test_a_frozen_member_stays_out() -> None:
    weight = SOAKED.weight.copy()
    weight[3] = 0.0
    weighed = weigh(CHARGE, dataclasses.replace(SOAKED, weight=weight), (Witness(961.78, True),))
    assert weighed.weight[3] == 0.0


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(-10, 10), min_size=3, max_size=20, unique=True))
def test_even_weights_give_the_band_s_own_edges(values: list[float]) -> None:
    v, w = np.array(values), np.full(len(values), 1 / len(values))
    b, p = band(v, w), posterior(v, w)
    assert p.low <= p.mid <= p.high
    assert p.mid == pytest.approx(float(np.median(v)), abs=1e-9)
    assert (min(b.low, b.mid), max(b.high, b.mid)) == (
        pytest.approx(min(p.low, b.mid), abs=1e-9),
        pytest.approx(max(p.high, b.mid), abs=1e-9),
    )
