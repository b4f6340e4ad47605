"""Each guard: a case that trips it, a near miss that does not, and the numbers in what it says."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from soak.run import guards
from soak.run.guards import START, Finding, Look, Thresholds, watch
from soak.trace import Reading

T = Thresholds(range_c=(-30.0, 1372.0), over_c=1030.0)


def said(looks: Iterable[Look], t: Thresholds = T) -> list[tuple[float, Finding]]:
    memories, out = START, []
    for look in looks:
        memories, found = watch(t, memories, look)
        out += [(look.time_s, f) for f in found]
    return out


def polls(values: Iterable[float | None], every_s: float = 1.0, **more: object) -> list[Look]:
    """One look per value, heating, with a setpoint and an output."""
    setpoint, output = more.get("setpoint_c", 950.0), more.get("output_pct", 40.0)
    return [
        Look(i * every_s, Reading(i * every_s, v, setpoint, output, sensor_open=v is None), heating=True)  # type: ignore[arg-type]
        for i, v in enumerate(values)
    ]


# --- sensor


def test_sensor_open_twice() -> None:
    found = said(polls([900.0, None, None]))
    assert [(s, f.code, f.action, f.text) for s, f in found] == [
        (2.0, "sensor", "trip", "the controller reports an open sensor")
    ]
    assert found[0][1].hint == "look at the thermocouple and its terminals"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1372.5, "the oven reads 1372 degC, outside -30 to 1372 degC"),
        (-31.0, "the oven reads -31 degC, outside -30 to 1372 degC"),
    ],
)
def test_sensor_outside_what_the_probe_can_give(value: float, text: str) -> None:
    (_, found), *rest = said(polls([900.0, value, value]), Thresholds(over_c=2000.0))
    assert (found.code, found.action, found.text, rest) == ("sensor", "trip", text, [])
    assert "broken, shorted or reversed" in found.hint


def test_sensor_once_is_a_near_miss() -> None:
    assert said(polls([900.0, None, 900.0, None, 900.0, -31.0, 900.0])) == []
    assert said(polls([-30.0, -30.0, -29.0])) == []  # at the edge, inside


def test_sensor_waits_through_a_silence() -> None:
    """A poll without an answer neither clears nor counts: two bad looks in a row are still two."""
    looks = [polls([None])[0], Look(1.0, None, True), Look(2.0, Reading(2.0, None, sensor_open=True), True)]
    assert [f.code for _, f in said(looks)] == ["sensor"]


def test_sensor_open_flag_counts_though_a_number_comes_along() -> None:
    looks = [Look(float(i), Reading(float(i), 900.0, sensor_open=True), True) for i in range(2)]
    assert [f.code for _, f in said(looks)] == ["sensor"]


# --- over-limit


def test_over_limit_five_polls() -> None:
    found = said(polls([1031.0] * 5))
    assert [(s, f.code, f.action) for s, f in found] == [(4.0, "over-limit", "trip")]
    assert found[0][1].text == "the oven reads 1031 degC, above the trip at 1030 degC"
    assert "cut power at the isolator" in found[0][1].hint


def test_over_limit_near_misses() -> None:
    assert said(polls([1031.0] * 4 + [1030.0] + [1031.0] * 4)) == []
    assert said(polls([1030.0] * 50)) == []


def test_over_limit_is_watched_with_the_power_off_too() -> None:
    looks = [Look(l.time_s, l.reading, heating=False) for l in polls([1040.0] * 5)]  # noqa: E741
    assert [f.code for _, f in said(looks)] == ["over-limit"]


# --- no-rise


def test_no_rise_at_full_output() -> None:
    """Ten minutes of full output below the setpoint, and 4 degC of rise."""
    values = [800.0 + 4.0 * i / 600 for i in range(601)]
    found = said(polls(values, output_pct=98.0))
    assert [(s, f.code, f.action) for s, f in found] == [(600.0, "no-rise", "trip")]
    assert found[0][1].text == "output 98 % for 10 min and the oven rose 4.0 degC"
    assert found[0][1].hint == "look at elements, relay, fuse and door"


@pytest.mark.parametrize(
    "looks",
    [
        polls([800.0 + 5.1 * i / 600 for i in range(1201)], output_pct=98.0),  # it does rise
        polls([800.0] * 1200, output_pct=94.9),  # not full output
        polls([800.0] * 600, output_pct=100.0),  # a second short of ten minutes
        polls([946.0] * 1200, output_pct=100.0),  # nearly there: within 5 degC of the setpoint
        polls([800.0] * 1200, output_pct=100.0, setpoint_c=None),  # nobody knows what is asked
        polls([800.0] * 1200, output_pct=None),  # nobody knows the output
        [Look(l.time_s, l.reading, heating=False) for l in polls([800.0] * 1200, output_pct=100.0)],  # noqa: E741
    ],
    ids=["rises", "partial", "short", "near", "no-setpoint", "no-output", "cooling"],
)
def test_no_rise_near_misses(looks: list[Look]) -> None:
    assert said(looks) == []


def test_no_rise_begins_anew_when_the_output_falls_back() -> None:
    full = polls([800.0] * 500, output_pct=100.0)
    pause = [Look(500.0, Reading(500.0, 800.0, 950.0, 50.0), True)]
    again = [Look(l.time_s + 501.0, l.reading, True) for l in full]  # noqa: E741
    assert said([*full, *pause, *again]) == []


# --- no-reply


def silence(seconds: float, every_s: float = 1.0) -> list[Look]:
    n = int(seconds / every_s)
    return [Look(i * every_s, None, True, "The controller at address 1 does not answer") for i in range(n + 1)]


def test_no_reply_warns_once_then_trips() -> None:
    found = said(silence(60.0))
    assert [(s, f.code, f.action) for s, f in found] == [(10.0, "no-reply", "warn"), (60.0, "no-reply", "trip")]
    assert found[0][1].text == (
        "no valid answer from the controller for 10 s (The controller at address 1 does not answer)"
    )
    assert found[1][1].text == ("no valid answer from the controller for 60 s: the oven cannot be made safe from here")
    assert found[1][1].hint.startswith("cut power at the isolator")


def test_no_reply_near_misses() -> None:
    assert said(silence(9.0)) == []
    assert [f.action for _, f in said(silence(59.0))] == ["warn"]
    # two polls in a minute are not three: a slow poller is not a silent line
    assert said(silence(60.0, every_s=60.0)) == []


def test_no_reply_forgets_when_an_answer_comes() -> None:
    answer = [Look(10.5, Reading(10.5, 900.0), True)]
    again = [Look(l.time_s + 11.0, None, True) for l in silence(9.0)]  # noqa: E741
    assert [f.action for _, f in said([*silence(10.0), *answer, *again])] == ["warn"]


# --- together


def test_a_good_run_says_nothing() -> None:
    assert said(polls([20.0 + 0.1 * i for i in range(9000)], output_pct=70.0)) == []


def test_guards_do_not_hear_one_another() -> None:
    """Silence in the middle of an over-temperature: both come."""
    looks = [
        *polls([1040.0] * 3),
        Look(3.0, None, True),
        *[Look(4.0 + i, Reading(4.0 + i, 1040.0), True) for i in (0, 1)],
    ]
    assert [f.code for _, f in said(looks)] == ["over-limit"]


def test_every_guard_is_tested_here() -> None:
    tests = [name for name in globals() if name.startswith("test_")]
    for guard, _ in guards.GUARDS:
        about = [name for name in tests if name.startswith("test_" + guard.replace("-", "_"))]
        assert len(about) >= 2, guard  # one that trips, one that nearly does
