"""Time, and the only place in `run` that knows the wall: WallClock, JumpClock, PipeClock (see ports.Clock).

Touches the system's clock, and for PipeClock the two ends of a pipe.
"""

from __future__ import annotations

import json
import math
import subprocess
import time
from collections.abc import Callable

from soak.errors import LinkError
from soak.sources import Sourced

NAP = Sourced(1.0, "s", "one sleep", "after the computer slept, the run must notice within a poll", "judgement")
TIME_SLIP = Sourced(1e-6, "s", "one step", "the simulator may round its time to a microsecond", "judgement")
# Time that also runs while the computer is suspended: the oven does not stop for a closed lid (Linux only).
_BOOT_TIME = getattr(time, "CLOCK_BOOTTIME", None)


def _wall_s() -> float:
    return time.monotonic() if _BOOT_TIME is None else time.clock_gettime(_BOOT_TIME)


class WallClock:
    """Real time. start_s [s]: the run's time now, above zero when a run is resumed.

    rate: seconds of the run in one of the wall; anything but 1 is for the simulator alone.
    """

    def __init__(self, start_s: float = 0.0, rate: float = 1.0) -> None:
        self._start_s, self._rate, self._zero_s = start_s, rate, _wall_s()

    def now_s(self) -> float:
        return self._start_s + (_wall_s() - self._zero_s) * self._rate

    def sleep_until(self, time_s: float) -> None:
        while (left_s := time_s - self.now_s()) > 0.0:
            time.sleep(min(left_s / self._rate, NAP.value))


class JumpClock:
    """Time that is there as soon as it is asked for: for planning and for folding old traces."""

    def __init__(self, start_s: float = 0.0) -> None:
        self._now_s = start_s

    def now_s(self) -> float:
        return self._now_s

    def sleep_until(self, time_s: float) -> None:
        self._now_s = max(self._now_s, time_s)


class PipeClock:
    """The simulator's time: `advance SECONDS` goes down the pipe, one JSON line with its time and truth comes back.

    `true` is the last line: true temperatures [degC] by name (oven_c, wall_c, core_c) beside time_s [s], never seen by
    the controller. Raises LinkError when the other side has gone or talks nonsense.
    """

    def __init__(self, write: Callable[[str], object], readline: Callable[[], str]) -> None:
        self._write = write
        self._readline = readline
        self._now_s = 0.0
        self.true: dict[str, float] = {}

    @classmethod
    def over(cls, process: subprocess.Popen[str]) -> PipeClock:
        """The clock of a process opened with stdin=PIPE, stdout=PIPE, text=True."""
        sent, answered = process.stdin, process.stdout
        if sent is None or answered is None:
            raise ValueError("the process needs stdin=PIPE and stdout=PIPE")

        def write(text: str) -> None:
            sent.write(text)
            sent.flush()

        return cls(write, answered.readline)

    def now_s(self) -> float:
        return self._now_s

    def sleep_until(self, time_s: float) -> None:
        seconds = time_s - self._now_s
        if seconds <= 0.0:
            return
        try:
            self._write(f"advance {seconds!r}\n")
            line = self._readline()
        except (OSError, ValueError) as error:  # ValueError: the pipe was closed on this side
            raise _gone(self._now_s) from error
        if not line:
            raise _gone(self._now_s)
        self.true = _truth(line)
        now_s = self.true["time_s"]
        if now_s < time_s - TIME_SLIP.value:
            raise LinkError(
                "simulator-answer",
                f"The simulator stands at {now_s:g} s; it was to advance to {time_s:g} s.",
                "A fault of the simulator.",
            )
        self._now_s = max(now_s, time_s)


def _truth(line: str) -> dict[str, float]:
    try:
        answer = json.loads(line)
        truth = {str(k): float(v) for k, v in answer.items() if isinstance(v, int | float)}
        if math.isfinite(truth["time_s"]):
            return truth
    except (ValueError, AttributeError, KeyError):
        pass
    raise LinkError(
        "simulator-answer",
        f"The simulator answered {line.strip()[:80]!r}.",
        'One JSON line was expected, as {"time_s": 5.0, "oven_c": 20.0, "wall_c": 20.0, "core_c": 20.0}.',
    )


def _gone(now_s: float) -> LinkError:
    return LinkError(
        "simulator-gone", f"The simulator has gone at {now_s:g} s of the run.", "Its own message, if any, is above."
    )
