"""Strict JSON, and a plan through it."""

from __future__ import annotations

import math

import pytest

from soak.errors import RecordError
from soak.record.jsontext import plan_as_json, plan_from_json, to_text
from soak.segments import Plan, Segment


def test_a_plan_comes_back_as_it_was():
    plan = Plan(
        (
            Segment("ramp", 950.0, "temperature", 3.1, rate_c_per_h=300.0),
            Segment("hold", 950.0, "carbon", 7.5, least_h=6.0, greatest_h=9.0),
            Segment("hold", 950.0, "carbon", 7.5),
            Segment("cool", 60.0, "temperature", 14.0),
        ),
        limit_c=1020.0,
    )
    document = plan_as_json(plan)
    assert "Infinity" not in to_text(document)
    assert plan_from_json({**document, "warnings": []}) == plan
    assert plan.segments[2].greatest_h == math.inf


@pytest.mark.parametrize("document", [{}, {"limit_c": 1.0, "segments": [{"kind": "ramp"}]}, {"segments": 3}])
def test_a_plan_with_missing_keys(document):
    with pytest.raises(RecordError, match="The plan kept with this run cannot be read") as caught:
        plan_from_json(document)
    assert caught.value.code == "run-broken"
    assert "Plan the job again" in caught.value.hint


def test_what_json_has_no_word_for():
    assert to_text({"a": (1, True, None, math.nan), 2: -math.inf}) == '{"a":[1,true,null,null],"2":null}'
    with pytest.raises(RecordError, match=r"value\.a\[1\] is a complex; a run file keeps text") as caught:
        to_text({"a": [1, 2j]})
    assert caught.value.code == "not-json"
    assert "before it is recorded" in caught.value.hint
