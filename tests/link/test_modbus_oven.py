"""A real controller as an oven: exchange tests (exactly these frames, nothing left over), refusals, proof, safety."""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable

import pytest
from slave import INT_TENTHS, InProcess, Pty, Slave, crc

from soak.errors import BadReply, JobError, LinkError, NoReply, PortError, Refused, UsageError
from soak.job.controller import Controller, Line, Signal
from soak.link.modbus import Wire
from soak.link.oven import ModbusOven
from soak.trace import Reading

POLL = "01 03 00 00 00 07"
BACK = "01 03 00 02 00 01"
RUN = "01 10 00 10 00 01 02 00 01"
IDLE = "01 10 00 10 00 01 02 00 00"
TO_850 = "01 10 00 02 00 01 02 21 34"
TO_0 = "01 10 00 02 00 01 02 00 00"


def frames(*bodies: str) -> list[bytes]:
    return [bytes.fromhex(b) + crc(bytes.fromhex(b)) for b in bodies]


class Bench:
    """An oven on an in-process slave. `sent` empties the record of frames."""

    def __init__(self, controller: Controller = INT_TENTHS, limit_c: float = 1000.0, writes_before: int = 0) -> None:
        self.slave = Slave()
        self.port = InProcess(self.slave.answer)
        self.oven = ModbusOven(Wire(self.port, 1, 0.001), controller, limit_c, writes_before)

    def sent(self) -> list[bytes]:
        heard, self.slave.heard = self.slave.heard, []
        assert self.port.read(999) == b""  # nothing left over on the line
        return heard

    def running_at(self, setpoint_c: float) -> Bench:
        self.slave.registers[2] = round(setpoint_c * 10)
        self.slave.registers[4] = 1
        return self


def _with(signal: str, **changes: object) -> Controller:
    changed = dataclasses.replace(INT_TENTHS.signals[signal], **changes)  # type: ignore[arg-type]
    return dataclasses.replace(INT_TENTHS, signals={**INT_TENTHS.signals, signal: changed})


# --- looks


def test_a_look_is_one_question() -> None:
    bench = Bench()
    bench.slave.registers[:7] = [8501, 0, 8500, 253, 1, 0, 12000]
    assert bench.oven.read(60.0) == Reading(60.0, oven_c=850.1, setpoint_c=850.0, output_pct=25.3)
    assert bench.sent() == frames(POLL)
    assert bench.oven.questions == 1


def test_no_reading_is_none_and_not_a_guess() -> None:
    bench = Bench()
    bench.slave.registers[0] = 0x7FFF
    reading = bench.oven.read(0.0)
    assert reading.oven_c is None
    assert not reading.sensor_open


def test_an_open_sensor_has_no_temperature_whatever_the_register_says() -> None:
    bench = Bench()
    bench.slave.registers[0], bench.slave.registers[5] = 13720, 0b0001
    assert bench.oven.read(0.0) == Reading(0.0, None, 0.0, 0.0, sensor_open=True)
    bench.slave.registers[5] = 0b1000  # high limit: another alarm
    assert bench.oven.read(1.0).oven_c == 1372.0


def test_a_map_in_two_spaces_takes_two_questions() -> None:
    bench = Bench(_with("pv", space="input"))
    assert bench.oven.read(0.0).oven_c == 20.1
    assert bench.sent() == frames("01 03 00 02 00 05", "01 04 00 00 00 01")


# --- setpoints


def test_a_setpoint_is_written_read_back_and_the_controller_started() -> None:
    bench = Bench()
    bench.oven.read(0.0)
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, TO_850, BACK, RUN, POLL)
    assert bench.slave.registers[2] == 8500
    assert bench.slave.registers[4] == 1
    assert bench.oven.read(1.0).setpoint_c == 850.0
    assert bench.oven.writes == 1


def test_function_six_where_the_map_says_so() -> None:
    bench = Bench(dataclasses.replace(INT_TENTHS, write_with=6)).running_at(20.0)
    bench.oven.read(0.0)
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, "01 06 00 02 21 34", BACK)


def test_a_setpoint_that_stands_is_not_written_again() -> None:
    bench = Bench().running_at(850.0)
    bench.oven.read(0.0)
    bench.oven.ask(850.0)
    bench.oven.ask(850.04)  # the same register word
    assert bench.sent() == frames(POLL)


def test_the_first_ask_looks_first() -> None:
    bench = Bench().running_at(850.0)
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL)


def test_the_safe_setpoint_starts_nothing() -> None:
    bench = Bench()
    bench.slave.registers[2] = 8500
    bench.oven.read(0.0)
    bench.oven.ask(0.0)
    assert bench.sent() == frames(POLL, TO_0, BACK)
    assert bench.slave.registers[4] == 0


@pytest.mark.parametrize(
    ("setpoint_c", "code", "text"),
    [
        (1000.1, "over-limit", "Setpoint 1000.1 degC is over the limit of this run, 1000 degC"),
        (1e9, "does-not-fit", "does not fit register 2"),
        (-0.1, "below-safe", "Setpoint -0.1 degC is below the safe setpoint of the controller, 0 degC"),
        (float("nan"), "not-a-number", "A setpoint must be a number, not nan"),
        (float("inf"), "not-a-number", "A setpoint must be a number, not inf"),
    ],
)
def test_refused_and_no_frame_leaves(setpoint_c: float, code: str, text: str) -> None:
    bench = Bench()
    with pytest.raises(Refused, match=text) as caught:
        bench.oven.ask(setpoint_c)
    assert caught.value.code == code
    assert bench.sent() == []


def test_the_limit_itself_may_be_asked_and_is_not_passed_by_rounding() -> None:
    bench = Bench(limit_c=1000.08)
    bench.oven.ask(1000.08)
    assert bench.slave.registers[2] == 10000  # the nearest tenth, 1000.1, is over the limit


def test_the_controllers_own_limit_is_respected() -> None:
    bench = Bench()
    bench.slave.registers[6] = 8000
    bench.oven.read(0.0)
    with pytest.raises(Refused, match="The controller takes at most 800 degC; 850 degC was asked") as caught:
        bench.oven.ask(850.0)
    assert caught.value.code == "controller-limit"
    assert bench.sent() == frames(POLL)


def test_a_controller_that_keeps_its_setpoint_is_found_out() -> None:
    bench = Bench()
    bench.slave.stuck = {2}
    bench.oven.read(0.0)
    with pytest.raises(Refused, match=r"Setpoint 850 degC was written, but 0.0 degC stands") as caught:
        bench.oven.ask(850.0)
    assert caught.value.code == "not-accepted"
    assert bench.sent() == frames(POLL, TO_850, BACK)  # and it was not started


@pytest.mark.parametrize("function", [6, 16])
def test_an_echo_is_not_a_controller(function: int) -> None:
    # an echoing adapter answers a function 06 write by itself: minimalmodbus takes it for done
    bench = Bench(dataclasses.replace(INT_TENTHS, write_with=function)).running_at(20.0)  # type: ignore[arg-type]
    bench.oven.read(0.0)
    bench.slave.fault = lambda request: "echo"
    with pytest.raises(BadReply):
        bench.oven.ask(850.0)
    assert bench.slave.registers[2] == 200


def _first(fault: str, function: int, nth: int = 1) -> Callable[[bytes], str]:
    """That fault for the nth request of that function, once."""
    count = 0

    def pick(request: bytes) -> str:
        nonlocal count
        count += request[1] == function
        return fault if request[1] == function and count == nth else ""

    return pick


def test_a_write_that_arrived_though_its_answer_did_not() -> None:
    bench = Bench().running_at(20.0)
    bench.oven.read(0.0)
    bench.slave.fault = _first("crc", 16)  # obeyed, but the answer is spoilt
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, TO_850, BACK)


def test_a_write_that_was_lost_is_sent_once_more() -> None:
    bench = Bench().running_at(20.0)
    bench.oven.read(0.0)
    bench.slave.fault = _first("silent", 16)
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, TO_850, BACK, TO_850, BACK)
    assert bench.oven.writes == 2


def test_a_write_that_is_lost_twice_is_an_error() -> None:
    bench = Bench().running_at(20.0)
    bench.oven.read(0.0)
    bench.slave.fault = lambda request: "silent" if request[1] == 16 else ""
    with pytest.raises(NoReply, match="writing 8500 to register 2"):
        bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, TO_850, BACK, TO_850, BACK)


# --- run commands


def test_a_lost_run_command_is_not_repeated_before_the_state_was_read() -> None:
    bench = Bench()
    bench.oven.read(0.0)
    bench.slave.fault = _first("silent", 16, nth=2)
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, TO_850, BACK, RUN, POLL, POLL, POLL, RUN, POLL)


def test_a_run_command_whose_answer_was_lost_is_not_repeated() -> None:
    bench = Bench()
    bench.oven.read(0.0)
    bench.slave.fault = _first("crc", 16, nth=2)
    bench.oven.ask(850.0)
    assert bench.sent() == frames(POLL, TO_850, BACK, RUN, POLL)


def test_a_controller_that_will_not_start() -> None:
    bench = Bench()
    bench.slave.stuck = {16}
    with pytest.raises(Refused, match="The controller was told run and reports idle") as caught:
        bench.oven.ask(850.0)
    assert caught.value.code == "not-obeyed"


def test_a_hold_at_the_panel_is_not_overruled() -> None:
    bench = Bench()
    bench.slave.registers[4] = 2
    with pytest.raises(Refused, match="held at its front panel") as caught:
        bench.oven.ask(850.0)
    assert caught.value.code == "held"
    assert RUN not in [f.hex(" ") for f in bench.sent()]


def test_without_a_state_the_command_register_must_stand() -> None:
    signals = {n: s for n, s in INT_TENTHS.signals.items() if n != "run_state"}
    bench = Bench(dataclasses.replace(INT_TENTHS, signals=signals, run_states={}))
    bench.slave.registers[16] = 1
    bench.oven.make_safe()
    assert bench.sent() == frames(TO_0, BACK, IDLE, "01 03 00 10 00 02")


# --- the write budget


def test_the_budget_counts_by_the_runs_time() -> None:
    bench = Bench().running_at(20.0)
    bench.oven.read(0.0)
    bench.oven.ask(100.0)
    bench.oven.read(59.0)
    bench.sent()
    with pytest.raises(Refused, match="Setpoint 110 degC not written: the last one left 59 s ago") as caught:
        bench.oven.ask(110.0)
    assert caught.value.code == "write-budget"
    assert bench.sent() == []
    bench.oven.read(60.0)
    bench.oven.ask(110.0)
    assert bench.slave.registers[2] == 1100


def test_a_setpoint_that_was_lost_may_be_asked_again_at_once() -> None:
    bench = Bench().running_at(20.0)
    bench.oven.read(0.0)
    bench.slave.fault = lambda request: "silent"
    with pytest.raises(NoReply):
        bench.oven.ask(100.0)
    bench.slave.fault = lambda request: ""
    bench.oven.read(5.0)
    bench.oven.ask(100.0)
    assert bench.slave.registers[2] == 1000
    assert bench.oven.writes == 2  # the lost one may have worn the memory too


def test_a_setpoint_in_ram_is_free() -> None:
    bench = Bench(_with("setpoint_asked", memory="ram")).running_at(20.0)
    bench.oven.read(0.0)
    for step in range(300):
        bench.oven.ask(100.0 + step / 10)
    assert bench.oven.writes == 300


def test_writes_before_a_resume_count() -> None:
    bench = Bench(writes_before=200).running_at(20.0)
    with pytest.raises(Refused, match="200 setpoints were written in this run"):
        bench.oven.ask(100.0)


def test_the_safe_end_is_exempt_from_the_budget_and_heat_may_return_after_it() -> None:
    bench = Bench().running_at(20.0)
    bench.oven.read(0.0)
    bench.oven.ask(100.0)
    bench.oven.make_safe()  # no second has passed
    assert bench.slave.registers[2] == 0
    bench.oven.read(60.0)
    bench.oven.ask(100.0)  # the same as before the safe end: what stands counts, not what was written
    assert bench.slave.registers[2] == 1000


# --- the safe end state


def test_made_safe_and_proven() -> None:
    bench = Bench().running_at(850.0)
    bench.oven.make_safe()
    assert bench.sent() == frames(TO_0, BACK, IDLE, POLL)
    assert (bench.slave.registers[2], bench.slave.registers[4]) == (0, 0)


def test_made_safe_at_the_second_try() -> None:
    bench = Bench().running_at(850.0)
    silent = iter([True] * 3)  # the write, and both tries of its read-back
    bench.slave.fault = lambda request: "silent" if next(silent, False) else ""
    bench.oven.make_safe()
    assert bench.sent() == frames(TO_0, BACK, BACK, TO_0, BACK, IDLE, POLL)


def test_a_setpoint_that_stays_does_not_keep_the_idle_command_back() -> None:
    bench = Bench().running_at(850.0)
    bench.slave.stuck = {2}
    with pytest.raises(
        LinkError, match=r"could not be made safe\. Setpoint 0 degC was written, but 850.0 degC"
    ) as caught:
        bench.oven.make_safe()
    assert caught.value.code == "not-safe"
    assert bench.slave.registers[4] == 0
    assert bench.sent() == frames(TO_0, BACK, IDLE, POLL) * 3


def test_a_controller_that_will_not_idle_is_not_safe() -> None:
    bench = Bench().running_at(850.0)
    bench.slave.stuck = {16}
    with pytest.raises(LinkError, match="told idle and reports run"):
        bench.oven.make_safe()
    assert bench.slave.registers[2] == 0


def test_what_cannot_be_made_safe_says_cut_power() -> None:
    bench = Bench().running_at(850.0)
    bench.slave.fault = lambda request: "silent"
    with pytest.raises(LinkError, match="Cut power at the isolator now") as caught:
        bench.oven.make_safe()
    assert caught.value.code == "not-safe"
    assert "does not answer" in caught.value.text
    assert bench.sent() == frames(*[TO_0, BACK, BACK] * 3)


# --- opening


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
class TestOnARealTerminal:
    controller = dataclasses.replace(INT_TENTHS, reply_timeout_s=0.25)

    def test_a_whole_conversation(self) -> None:
        with Pty(Slave()) as pty:
            oven = ModbusOven.open(pty.path, 1, self.controller, 1000.0)
            assert oven.read(0.0).oven_c == 20.1
            oven.ask(850.0)
            oven.make_safe()
            oven.close()
            assert pty.slave.heard == frames(POLL, TO_850, BACK, RUN, POLL, TO_0, BACK, IDLE, POLL)

    def test_unplugged_in_the_night(self) -> None:
        with Pty(Slave()) as pty:
            oven = ModbusOven.open(pty.path, 1, self.controller, 1000.0)
            oven.read(0.0)
            pty.unplug()
            with pytest.raises(PortError, match="The port is gone"):
                oven.read(1.0)
            with pytest.raises(LinkError, match="Cut power at the isolator now"):
                oven.make_safe()

    def test_a_second_run_on_the_same_port_is_refused(self) -> None:
        with Pty(Slave()) as pty:
            first = ModbusOven.open(pty.path, 1, self.controller, 1000.0)
            with pytest.raises(PortError, match="in use by another program"):
                ModbusOven.open(pty.path, 1, self.controller, 1000.0)
            assert first.read(0.0).oven_c == 20.1  # and the first one is not disturbed
            first.close()

    def test_the_port_is_free_again_when_the_limit_was_refused(self) -> None:
        with Pty(Slave()) as pty:
            with pytest.raises(Refused, match="Setpoint 0 degC is over the limit of this run, -1 degC"):
                ModbusOven.open(pty.path, 1, self.controller, -1.0)
            ModbusOven.open(pty.path, 1, self.controller, 1000.0).close()


def test_an_address_that_cannot_be_is_refused_before_the_port_is_touched() -> None:
    with pytest.raises(UsageError, match="cannot have the address 300"):
        ModbusOven.open("/dev/ttyNOWHERE", 300, INT_TENTHS, 1000.0)


def test_a_bad_baud_is_refused() -> None:
    with pytest.raises(PortError, match="baud = 12345"):
        ModbusOven.open("/dev/null", 1, dataclasses.replace(INT_TENTHS, line=Line(baud=12345)), 1000.0)


def test_a_register_that_cannot_hold_the_limit_is_found_before_heat() -> None:
    with pytest.raises(Refused, match=r"1000 does not fit register 2: i16 in steps of 0\.01"):
        Bench(_with("setpoint_asked", scale=0.01))


def test_a_map_without_output_is_refused() -> None:
    signals = {"pv": Signal(at=0), "setpoint_asked": Signal(at=2)}
    with pytest.raises(JobError, match="no signal output_pct"):
        Bench(dataclasses.replace(INT_TENTHS, signals=signals))
