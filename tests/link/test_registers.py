"""Words to values and back, and the plan of reads. Frames and values: Modbus facts of the application protocol."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st
from slave import INT_TENTHS

from soak.errors import JobError, Refused
from soak.job.controller import Signal
from soak.link.registers import Block, decode, encode, plan_reads, values

TENTHS = Signal(at=2, scale=0.1, no_reading=(32767, -32768))


def test_tenths_of_the_published_reply_frame() -> None:
    # 01 03 02 21 35 60 03 is the reply 8501 = 850.1 in tenths (CRC computed; checked against 0x4B37 for "123456789")
    assert decode(TENTHS, 0x2135) == 850.1
    assert encode(TENTHS, 850.1) == 0x2135


def test_below_zero_is_twos_complement() -> None:
    assert decode(TENTHS, 0xFFCE) == -5.0
    assert encode(TENTHS, -5.0) == 0xFFCE


@pytest.mark.parametrize("word", [0x7FFF, 0x8000])
def test_codes_of_no_reading_are_none(word: int) -> None:
    assert decode(TENTHS, word) is None


def test_unsigned_words_stay_positive() -> None:
    assert decode(Signal(at=4, kind="u16"), 0xFFFF) == 65535


@given(st.integers(-32767, 32766))
def test_every_step_survives_the_round_trip(steps: int) -> None:
    word = steps & 0xFFFF
    value = decode(TENTHS, word)
    assert value is not None
    assert encode(TENTHS, value) == word


@given(st.floats(0, 1300), st.floats(0, 1300))
def test_rounding_never_passes_the_ceiling_nor_moves_a_whole_step(value: float, ceiling: float) -> None:
    asked = min(value, ceiling)
    sent = decode(TENTHS, encode(TENTHS, asked, ceiling))
    assert sent is not None
    assert sent <= ceiling + 1e-9
    assert abs(sent - asked) < 0.1 + 1e-9


def test_a_value_that_does_not_fit_is_refused() -> None:
    # i16 hundredths reach 327.67 only: 850 degC does not fit (computed)
    with pytest.raises(Refused, match=r"850 does not fit register 2: i16 in steps of 0.01 reaches -327.68 to 327.67"):
        encode(Signal(at=2, scale=0.01), 850.0)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_refused(value: float) -> None:
    with pytest.raises(Refused, match="A setpoint must be a number") as caught:
        encode(TENTHS, value)
    assert caught.value.code == "not-a-number"


def test_int_tenths_is_polled_in_one_read_of_seven() -> None:
    reads = plan_reads(INT_TENTHS)
    assert reads.poll == (Block("holding", 0, 7),)
    assert reads.setpoint == Block("holding", 2, 1)
    assert reads.command is not None
    assert reads.command.count == 2
    assert reads.command.holds(INT_TENTHS.signals["run_command"])


@given(
    st.dictionaries(
        st.sampled_from(["run_state", "alarm_word", "setpoint_max", "run_command"]),
        st.tuples(st.integers(0, 0xFFFF), st.sampled_from(["holding", "input"])),
    ),
    st.lists(st.integers(0, 0xFFFF), min_size=3, max_size=3),
)
def test_reply_lengths_are_unique_and_every_signal_is_read(
    others: dict[str, tuple[int, str]], required: list[int]
) -> None:
    signals = {n: Signal(at=at) for n, at in zip(["pv", "setpoint_asked", "output_pct"], required, strict=True)}
    for name, (at, space) in others.items():
        signals[name] = Signal(at=at, space="holding" if name == "run_command" or space == "holding" else "input")
    reads = plan_reads(dataclasses.replace(INT_TENTHS, signals=signals))
    lengths = [(b.space, b.count) for b in reads.all()]
    assert len(set(lengths)) == len(lengths)
    assert all(b.at >= 0 and b.at + b.count <= 0x10000 for b in reads.all())
    assert all(any(b.holds(s) for b in reads.poll) for n, s in signals.items() if n != "run_command")
    assert reads.setpoint.holds(signals["setpoint_asked"])


def test_padding_prefers_registers_that_the_map_knows() -> None:
    # a lone pv elsewhere takes length 1, so the setpoint's read-back needs 2: over 2..3, not over the unknown 1..2
    signals = {
        "pv": Signal(at=500),
        "setpoint_asked": Signal(at=2),
        "output_pct": Signal(at=3),
        "run_state": Signal(at=4),
    }
    reads = plan_reads(dataclasses.replace(INT_TENTHS, signals=signals))
    assert reads.poll == (Block("holding", 2, 3), Block("holding", 500, 1))
    assert reads.setpoint == Block("holding", 2, 2)


def test_registers_far_apart_are_read_apart() -> None:
    signals = {"pv": Signal(at=0), "setpoint_asked": Signal(at=40), "output_pct": Signal(at=0, space="input")}
    assert len(plan_reads(dataclasses.replace(INT_TENTHS, signals=signals)).poll) == 3


def test_values_of_a_block_by_name() -> None:
    got = values(INT_TENTHS.signals, Block("holding", 0, 7), (0x7FFF, 0, 8500, 1000, 1, 9, 12000))
    assert got == {
        "pv": None,
        "setpoint_asked": 850.0,
        "output_pct": 100.0,
        "run_state": 1,
        "alarm_word": 9,
        "setpoint_max": 1200.0,
    }


def test_a_map_without_pv_is_refused() -> None:
    signals = {n: s for n, s in INT_TENTHS.signals.items() if n != "pv"}
    with pytest.raises(JobError, match="Controller int-tenths: no signal pv"):
        plan_reads(dataclasses.replace(INT_TENTHS, signals=signals))


def test_a_table_number_instead_of_an_address_is_refused() -> None:
    with pytest.raises(JobError, match="signal pv is at 400001, outside 0 to 65535") as caught:
        plan_reads(dataclasses.replace(INT_TENTHS, signals={**INT_TENTHS.signals, "pv": Signal(at=400001)}))
    assert "40001 is at = 0" in caught.value.hint


def test_a_setpoint_in_an_input_register_is_refused() -> None:
    signals = {**INT_TENTHS.signals, "setpoint_asked": Signal(at=2, space="input")}
    with pytest.raises(JobError, match="setpoint_asked is an input register, which nobody can write"):
        plan_reads(dataclasses.replace(INT_TENTHS, signals=signals))
