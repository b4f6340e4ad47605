"""The three clocks. No timed assertion: only that time has come, and in which order."""

from __future__ import annotations

import contextlib
import io
import subprocess
import sys
import threading

import pytest

from soak.errors import LinkError
from soak.run.clock import JumpClock, PipeClock, WallClock
from soak.run.ports import Clock

# An honest other side in a process of its own: answers `advance SECONDS`, ends at end-of-file, dies at 100 s.
OTHER_SIDE = """
import json, sys
time_s = 0.0
for line in sys.stdin:
    word, seconds = line.split()
    assert word == "advance"
    time_s += float(seconds)
    if time_s > 100.0:
        sys.exit()
    print(json.dumps({"time_s": time_s, "oven_c": 20.0 + time_s, "wall_c": 19.0, "core_c": 18.0}), flush=True)
"""


def test_wall_time_has_come_when_it_returns() -> None:
    clock: Clock = WallClock()
    start_s = clock.now_s()
    clock.sleep_until(start_s + 0.02)
    assert clock.now_s() >= start_s + 0.02
    clock.sleep_until(start_s - 1000.0)  # past: at once


def test_wall_time_goes_on_where_a_resumed_run_stood() -> None:
    assert 5000.0 <= WallClock(start_s=5000.0).now_s() < 5060.0


def test_a_jump_is_there_at_once_and_never_back() -> None:
    clock: Clock = JumpClock(10.0)
    clock.sleep_until(1e6)
    assert clock.now_s() == 1e6
    clock.sleep_until(5.0)
    assert clock.now_s() == 1e6


def test_the_pipe_moves_the_other_sides_time() -> None:
    with subprocess.Popen(
        [sys.executable, "-c", OTHER_SIDE], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        clock = PipeClock.over(process)
        assert (clock.now_s(), clock.true) == (0.0, {})
        clock.sleep_until(5.0)
        assert clock.now_s() == 5.0
        assert clock.true == {"time_s": 5.0, "oven_c": 25.0, "wall_c": 19.0, "core_c": 18.0}
        clock.sleep_until(5.0)  # no time to pass: nothing is sent, nothing awaited
        clock.sleep_until(12.5)
        assert clock.true["time_s"] == 12.5
        with pytest.raises(LinkError, match=r"The simulator has gone at 12\.5 s of the run") as caught:
            clock.sleep_until(101.0)
        assert (caught.value.code, caught.value.exit_code) == ("simulator-gone", 5)
        with pytest.raises(LinkError, match="has gone"):  # and writing into the broken pipe says the same
            clock.sleep_until(102.0)
        assert process.wait() == 0
        assert process.stdin is not None
        with contextlib.suppress(BrokenPipeError):  # its buffer still holds what could not be sent
            process.stdin.close()


def test_exactly_these_words_go_down_the_pipe() -> None:
    sent: list[str] = []
    answers = iter(['{"time_s": 5.0, "oven_c": 21}\n', '{"time_s": 10.1, "oven_c": 22}\n', '{"time_s": 15.0}\n'])
    clock = PipeClock(sent.append, lambda: next(answers))
    for time_s in (5.0, 10.0, 15.0):
        clock.sleep_until(time_s)
    assert sent[:2] == ["advance 5.0\n", "advance 5.0\n"]
    assert float(sent[2].split()[1]) == pytest.approx(4.9, rel=1e-12)  # what it overshot is not asked again
    assert clock.now_s() == 15.0


def test_a_pipe_closed_on_this_side() -> None:
    closed = io.StringIO()
    closed.close()
    with pytest.raises(LinkError, match="The simulator has gone"):
        PipeClock(closed.write, lambda: "").sleep_until(1.0)


@pytest.mark.parametrize("line", ["Traceback\n", "[1, 2]\n", '{"oven_c": 20.0}\n', '{"time_s": NaN}\n', "\n", "7\n"])
def test_nonsense_is_shown_and_refused(line: str) -> None:
    with pytest.raises(LinkError, match="The simulator answered") as caught:
        PipeClock(lambda text: None, lambda: line).sleep_until(1.0)
    assert caught.value.code == "simulator-answer"
    assert '"time_s": 5.0' in caught.value.hint


def test_an_other_side_that_does_not_move() -> None:
    clock = PipeClock(lambda text: None, lambda: '{"time_s": 1.0}\n')
    with pytest.raises(LinkError, match=r"stands at 1 s; it was to advance to 5 s"):
        clock.sleep_until(5.0)


def test_a_process_without_pipes_is_no_clock() -> None:
    with (
        subprocess.Popen([sys.executable, "-c", ""], text=True) as process,
        pytest.raises(ValueError, match="needs stdin=PIPE"),
    ):
        PipeClock.over(process)


def test_clocks_start_no_threads() -> None:
    before = threading.active_count()
    WallClock().sleep_until(0.001)
    JumpClock().sleep_until(1.0)
    assert threading.active_count() == before
