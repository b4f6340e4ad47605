"""What causes the band, and what would narrow it."""

from __future__ import annotations

import dataclasses
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from plans import small

from soak.plan import why as account
from soak.plan.choose import Planned, choose
from soak.plan.why import MEASUREMENTS, WORDS, why
from soak.process.charge import build
from soak.process.draws import NAMES, UNKNOWNS, draw

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import fold, line

UP = line([(0, 20), (2.3, 970), (4.5, 970)])


@cache
def _planned() -> Planned:
    return choose(small(), at_c=970.0, members=1)


def _only(*names: str, members: int = 32) -> Planned:
    """The same plan with these unknowns unknown, the others known exactly."""
    p = _planned()
    spreads = {u.name: 0.0 for u in UNKNOWNS if u.name not in names}
    draws = draw(members, spreads)
    charge = build(p.job, p.fit, draws)
    state, _ = fold(charge, UP)
    return dataclasses.replace(p, draws=draws, charge=charge, outcome=dataclasses.replace(p.outcome, state=state))


def test_shares_sum_to_about_one() -> None:
    """The plane explains most of it; what it leaves is curvature. Scores are all but uncorrelated, so shares add up."""
    told = why(_only(*NAMES, members=64))
    shares = [c.share for c in told.causes]
    assert 0.85 < sum(shares) + told.rest < 1.15
    assert told.rest < 0.2
    assert shares == sorted(shares, reverse=True)
    assert all(c.words == WORDS[c.name] for c in told.causes)
    assert {"scaling_rate", "local_factor", "wall_thickness"}.isdisjoint(c.name for c in told.causes)


@pytest.mark.parametrize("name", ["diffusivity", "temperature_offset_k", "pack_conductance"])
def test_a_charge_with_one_unknown_gives_that_one_all(name: str) -> None:
    told = why(_only(name))
    assert told.causes[0].name == name
    # the others' scores are still drawn: the curvature of the one leans on them a little
    assert told.causes[0].share > 0.9
    assert sum(c.share for c in told.causes[1:]) < 0.1
    slope = {"diffusivity": 1, "temperature_offset_k": 1, "pack_conductance": 1}[name]
    assert slope * told.causes[0].moves > 0.0


def test_what_is_measured_narrows_by_its_share() -> None:
    """Only the temperature in doubt, 12 to 5 K: the band falls to about 5/12 of itself."""
    told = why(_only("temperature_offset_k"))
    left = {r.what: r.left for r in told.remedies}
    witness = left["a melting witness wire in the pack"]
    assert witness == pytest.approx(5 / 12, abs=0.08)
    assert told.remedies[0].left == min(left.values())
    assert all(0.0 <= r.left < 0.995 for r in told.remedies)


def test_a_band_of_nothing_has_no_cause() -> None:
    assert why(_only()) == account.Why((), 0.0, ())


def test_the_frozen_are_left_out() -> None:
    p = _only("diffusivity")
    state = p.outcome.state
    carbon, weight = state.carbon.copy(), state.weight.copy()
    carbon[5], weight[5] = np.nan, 0.0
    sick = dataclasses.replace(state, carbon=carbon, weight=weight)
    told = why(dataclasses.replace(p, outcome=dataclasses.replace(p.outcome, state=sick)))
    assert told.causes[0].name == "diffusivity"
    assert np.isfinite(told.causes[0].share)


def test_every_unknown_has_words_and_every_remedy_helps_something_known() -> None:
    assert set(WORDS) == set(NAMES)
    for helps in MEASUREMENTS.values():
        assert set(helps) <= set(NAMES)
        assert all(0.0 < left < 1.0 for left in helps.values())
