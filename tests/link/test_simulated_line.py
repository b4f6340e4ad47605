"""The stand-in as a process: frames on its pseudo-terminal, time on its pipe. The wiring of a dry run."""

from __future__ import annotations

import contextlib
import dataclasses
import json
import subprocess
import sys
from collections.abc import Iterator

import pytest
from slave import INT_TENTHS

from soak.errors import LinkError, NoReply
from soak.link.oven import ModbusOven
from soak.run.clock import PipeClock

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
CONTROLLER = dataclasses.replace(INT_TENTHS, reply_timeout_s=0.25)
SILENT = dataclasses.replace(INT_TENTHS, reply_timeout_s=0.02, worst_reply_s=0.05)


@pytest.fixture
def process() -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "hw_sim", "--piped", "--port", "pty", "--oven", "small"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        yield process
        process.kill()
        assert process.stdin is not None
        with contextlib.suppress(BrokenPipeError):  # what could not be sent to one that was killed
            process.stdin.close()


def _port(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return str(json.loads(process.stdout.readline())["port"])


def test_heat_for_an_hour_and_make_safe(process: subprocess.Popen[str]) -> None:
    oven = ModbusOven.open(_port(process), 1, CONTROLLER, 1000.0)
    clock = PipeClock.over(process)
    oven.read(clock.now_s())
    oven.ask(300.0)
    for n in range(1, 721):
        clock.sleep_until(5.0 * n)
        reading = oven.read(clock.now_s())
    assert clock.now_s() == 3600.0
    assert reading.oven_c == pytest.approx(300.0, abs=10.0)
    assert reading.oven_c == pytest.approx(clock.true["oven_c"], abs=25.0)  # the sensor may be off; the truth is near
    assert clock.true["core_c"] < clock.true["oven_c"]
    oven.make_safe()
    clock.sleep_until(3605.0)
    assert clock.true["output_pct"] == 0.0
    oven.close()


def test_the_other_side_is_killed(process: subprocess.Popen[str]) -> None:
    oven = ModbusOven.open(_port(process), 1, SILENT, 1000.0)
    clock = PipeClock.over(process)
    oven.read(clock.now_s())
    process.kill()
    process.wait()
    with pytest.raises(LinkError, match="The simulator has gone"):
        clock.sleep_until(5.0)
    with pytest.raises(LinkError) as caught:
        oven.read(5.0)
    assert not isinstance(caught.value, NoReply)  # the terminal went with it: that is no silence
    oven.close()


def test_another_address_stays_silent(process: subprocess.Popen[str]) -> None:
    oven = ModbusOven.open(_port(process), 7, SILENT, 1000.0)
    with pytest.raises(NoReply, match="The controller at address 7 does not answer"):
        oven.read(0.0)
    oven.close()
