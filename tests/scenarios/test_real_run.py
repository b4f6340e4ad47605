"""`soak run` against hw_sim by the clock, as a person would try it: over a pseudo-terminal and over TCP.

Where nothing may heat, the registers of the simulated controller are read past soak.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
import serial
from cli_parts import Bench, Sim, Terminal, finished, recorded, simulator, wait_for
from slave import Pty, Slave

from soak.record.load import load
from soak.run.guards import Thresholds
from soak.shop import conduct

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")

SLOW, FAST = 600.0, 15000.0
ASKED = 'All true? Type "yes" to switch the heat on:'


@pytest.fixture(scope="module")
def sim() -> Iterator[Sim]:
    """A simulator for the tests that must not heat it."""
    with simulator(SLOW) as found:
        yield found


def run_words(bench: Bench, port: str, *more: str) -> tuple[str | Path, ...]:
    return ("run", bench.job(), "--port", port, *more)


def must_be_idle(sim: Sim) -> None:
    """Setpoint asked 0, output 0, state idle: the safe end state of this controller."""
    _, asked, output, state = sim.registers(1, 4)
    assert (asked, output, state) == (0, 0, 0)


# to the end


def test_a_whole_run_and_what_it_leaves_behind(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    # so fast, the simulated world moves in steps of half an hour: readings stand still for longer than ten minutes
    monkeypatch.setattr(conduct, "Thresholds", partial(Thresholds, full_s=4 * 3600.0, ramp_grace_h=10.0))
    job = bench.job()
    before = bench("plan", job, "--json").document()["canister"]
    with simulator(FAST) as sim:
        answer = bench(*run_words(bench, sim.port, "--rate", f"{FAST:g}", "--yes", "--json"))
        document = answer.document()
        must_be_idle(sim)
    assert (answer.code, document["ended"], document["target_met"]) == (0, "complete", True)
    assert document["predicted"]["mean_carbon_pct"]["mid"] >= 0.495
    assert [s["ended_on"] for s in document["segments"]] == ["temperature", "carbon", "temperature"]
    (listed,) = bench("runs", "--json").document()["runs"]
    assert (listed["kind"], listed["job"], listed["ended"]) == ("run", "quick", "complete")
    record = load(Path(document["run_file"]))
    assert record.header.link is not None
    assert record.header.link["port"] == sim.port
    assert {a.outcome for a in record.actions} == {"read back"}
    # the canister remembers
    after = bench("plan", job, "--json").document()["canister"]
    lost = document["canister"]["wall_lost_mm"]["mid"]
    assert lost > 0.0
    assert after["wall_left_mm"]["mid"] < before["wall_left_mm"]["mid"] - 0.9 * lost
    assert after["soaks_left"]["mid"] < before["soaks_left"]["mid"]


def test_over_tcp_until_told_to_stop(bench: Bench) -> None:
    with simulator(SLOW, "tcp:0") as sim:
        assert sim.port.startswith("socket://")
        process = bench.start(*run_words(bench, sim.port, "--rate", "600", "--yes", "--json"))
        recorded(bench, process, lambda record: [a for a in record.actions if a.outcome], "the first setpoint")
        process.send_signal(signal.SIGHUP)  # not minded
        process.send_signal(signal.SIGTERM)
        done = finished(process)
        must_be_idle(sim)
    assert done.code == 143
    assert done.document()["ended"] == "stopped"
    assert load(bench.runs[0]).readings[-1].oven_c is not None


# nothing heats


def test_without_a_terminal_and_without_yes_nothing_heats(bench: Bench, sim: Sim) -> None:
    error = bench(*run_words(bench, sim.port, "--rate", "600", "--json")).refused(2, "no-consent")
    assert error["text"] == "nothing is heated without a person's word: there is no terminal to ask at"
    assert error["hint"] == "run it at a terminal, or answer with --yes"
    assert sim.untouched
    assert bench.runs == []


def test_anything_but_yes_is_no(bench: Bench, sim: Sim) -> None:
    with Terminal(bench, *run_words(bench, sim.port, "--rate", "600")) as terminal:
        terminal.until(ASKED)
        assert "an independent over-temperature limiter is fitted" in terminal.seen
        assert "carbon monoxide alarm" in terminal.seen
        assert "vent is open" in terminal.seen
        terminal.type("y\n")
        assert terminal.end() == 2
    assert "not confirmed: nothing was heated" in terminal.seen
    assert sim.untouched
    assert bench.runs == []


def test_ctrl_c_at_the_question_is_130(bench: Bench, sim: Sim) -> None:
    with Terminal(bench, *run_words(bench, sim.port, "--rate", "600")) as terminal:
        terminal.until(ASKED)
        terminal.process.send_signal(signal.SIGINT)
        assert terminal.end() == 130
    assert "soak: stopped" in terminal.seen
    assert sim.untouched
    assert bench.runs == []


def test_a_rate_that_is_not_the_simulators(bench: Bench, sim: Sim) -> None:
    error = bench(*run_words(bench, sim.port, "--rate", "300", "--yes", "--json")).refused(2, "other-rate")
    assert error["text"] == "The simulator runs 600 times as fast as the wall."
    assert error["hint"] == "Write --rate 600."
    assert sim.untouched
    assert bench.runs == []


def test_a_rate_for_a_thing_that_is_not_the_simulator(bench: Bench) -> None:
    """A controller that answers everything but the marker: it is read, never written."""
    slave = Slave()
    with Pty(slave) as pty:
        error = bench(*run_words(bench, pty.path, "--rate", "600", "--yes", "--json")).refused(2, "not-simulated")
    assert error["text"] == f"--rate 600 is only for the simulator, and {pty.path} does not answer as one."
    assert error["hint"] == "Leave --rate out for a real oven."
    assert slave.heard
    assert {frame[1] for frame in slave.heard} == {3}
    assert bench.runs == []


def test_a_port_that_is_not_there(bench: Bench) -> None:
    error = bench(*run_words(bench, "/dev/no-such-port", "--yes", "--json")).refused(5, "no-such-port")
    assert error["text"] == "The port /dev/no-such-port does not exist."
    assert "ports" in error["nearest"]
    closed = socket.socket()
    closed.bind(("127.0.0.1", 0))
    url = f"socket://127.0.0.1:{closed.getsockname()[1]}"
    closed.close()
    error = bench(*run_words(bench, url, "--yes", "--json")).refused(5, "no-such-port")
    assert error["text"].startswith(f"Nothing answers at {url}")
    assert error["hint"] == "Is the gateway or the simulator running there?"
    bad = bench(*run_words(bench, "socket://nowhere", "--yes", "--json")).refused(5, "bad-port")
    assert bad["hint"] == "A port is a device path or socket://HOST:PORT, as socket://127.0.0.1:15020."
    assert bench.runs == []


def test_a_port_that_somebody_uses(bench: Bench, sim: Sim) -> None:
    with serial.Serial(sim.port, exclusive=True):
        error = bench(*run_words(bench, sim.port, "--yes", "--json")).refused(5, "port-busy")
    assert error["text"] == f"The port {sim.port} is in use by another program."
    assert error["hint"] == "Is another run using it? End that first."
    assert sim.untouched
    assert bench.runs == []


def test_a_controller_that_does_not_answer(bench: Bench, sim: Sim) -> None:
    far, near = os.openpty()
    try:
        error = bench(*run_words(bench, os.ttyname(near), "--yes", "--json")).refused(5, "no-reply")
        assert error["text"].startswith("The controller at address 1 does not answer")
        assert "address, baud and parity" in error["hint"]
    finally:
        os.close(far)
        os.close(near)
    wrong = bench(*run_words(bench, sim.port, "--address", "7", "--yes", "--json")).refused(5, "no-reply")
    assert wrong["text"].startswith("The controller at address 7 does not answer")
    none = bench(*run_words(bench, sim.port, "--address", "0", "--yes", "--json")).refused(2, "bad-address")
    assert none["text"] == "A controller cannot have the address 0."
    assert sim.untouched
    assert bench.runs == []


# a person is there, or not

ATTEND_S = 0.8  # instead of 15 minutes


def signs(run: Path) -> list[tuple[str, str]]:
    return [(e.code, e.severity) for e in load(run).events if e.severity in ("alarm", "trip", "warning")]


def test_signs_of_life_by_note_and_then_silence(bench: Bench) -> None:
    with simulator(SLOW) as sim:
        process = bench.start(*run_words(bench, sim.port, "--rate", "600", "--yes", "--json"), attend_s=ATTEND_S)
        recorded(bench, process, lambda record: record.readings, "the first readings")
        said = bench("note", "last", "the lute smokes", "--json").document()
        assert said["done"] == "waiting"
        end = time.monotonic() + 2.6 * ATTEND_S  # silence would have ended it by then
        while time.monotonic() < end:
            assert bench("note", "last", "--alive", "--json").document()["done"] == "waiting"
        assert process.poll() is None
        assert [n.text for n in load(bench.runs[0]).notes] == ["the lute smokes"]
        done = finished(process)
        must_be_idle(sim)
    assert done.code == 6
    assert done.document()["ended"] == "tripped"
    assert signs(bench.runs[0])[-2:] == [("no-sign-of-life", "alarm"), ("no-sign-of-life", "trip")]
    (trip,) = [e for e in done.document()["events"] if e["severity"] == "trip"]
    assert trip["text"] == "no sign of life for 30 min: to the safe end state"
    assert bench("show", "last", "--json").document()["ended"] == "tripped"


def test_yes_at_the_prompt_keys_and_then_silence(bench: Bench) -> None:
    with simulator(SLOW) as sim:
        with Terminal(bench, *run_words(bench, sim.port, "--rate", "600"), attend_s=ATTEND_S) as terminal:
            terminal.until(ASKED)
            terminal.type("yes\n")
            terminal.until("press Enter at least every 15 minutes")
            end = time.monotonic() + 2.6 * ATTEND_S
            while time.monotonic() < end:
                terminal.type("\n")
                assert terminal.read()
            assert terminal.end() == 6
        must_be_idle(sim)
    assert "no sign of life for 15 min: press a key" in terminal.seen
    assert signs(bench.runs[0])[-2:] == [("no-sign-of-life", "alarm"), ("no-sign-of-life", "trip")]


def test_the_first_ctrl_c_asks_and_the_second_ends(bench: Bench) -> None:
    with simulator(SLOW) as sim:
        with Terminal(bench, *run_words(bench, sim.port, "--rate", "600", "--yes")) as terminal:
            terminal.until("ramp  oven")
            terminal.process.send_signal(signal.SIGINT)
            terminal.until("Ctrl-C again within 30 s switches the heat off and ends the run")
            readings = len(load(bench.runs[0]).readings)
            wait_for(lambda: len(load(bench.runs[0]).readings) > readings, "more readings: the run goes on")
            terminal.process.send_signal(signal.SIGINT)
            assert terminal.end() == 130
        must_be_idle(sim)
    assert "stopped by a person" in terminal.seen
    assert signs(bench.runs[0]) == [("stopped", "warning")]


def test_the_line_falls_silent_in_a_run(bench: Bench) -> None:
    """The simulator dies: the port is gone, the oven cannot be made safe, and the person is told what to do."""
    with simulator(SLOW, "tcp:0") as sim:
        process = bench.start(*run_words(bench, sim.port, "--rate", "600", "--yes", "--json"))
        recorded(bench, process, lambda record: record.readings, "the first readings")
        sim.process.kill()
        done = finished(process)
    assert done.code == 6
    trips = [e for e in done.document()["events"] if e["severity"] == "trip"]
    assert [e["code"] for e in trips] == ["no-reply", "not-safe"], trips[0]["text"] + str(load(bench.runs[0]).actions)
    assert all("ut power at the isolator" in e["text"] for e in trips)
