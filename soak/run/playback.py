"""A recorded temperature trace played back as an oven: for predict, resume and re-analysis. It cannot be asked."""

from __future__ import annotations

from collections.abc import Sequence

from soak.errors import UsageError
from soak.process.advance import advance, settle
from soak.process.charge import Charge
from soak.process.outcome import numbers
from soak.process.state import State
from soak.run.ports import Recorder
from soak.trace import Event, Reading


class PlaybackOven:
    """Answers each look with the recorded reading at that time. `times` says when there is one."""

    def __init__(self, readings: Sequence[Reading]) -> None:
        self._readings = {r.time_s: r for r in readings}
        self.times = tuple(sorted(self._readings))

    def read(self, time_s: float) -> Reading:
        try:
            return self._readings[time_s]
        except KeyError:
            raise UsageError("no-such-reading", f"nothing was recorded at {time_s} s") from None

    def ask(self, setpoint_c: float) -> None:
        raise UsageError("past", "the past takes no setpoint: this oven is a recording")

    def make_safe(self) -> None:
        """Nothing to make safe in a recording."""


def replay(
    charge: Charge, state: State, oven: PlaybackOven, recorder: Recorder | None = None
) -> tuple[State, tuple[Event, ...]]:
    """Fold a recording through the model: the same computation as in a run, without one.

    Returns the state at its end, and the model's events.
    """
    events: list[Event] = []
    for time_s in oven.times:
        reading = oven.read(time_s)
        before_s = state.time_s
        state, more = advance(charge, state, reading)
        events.extend(more)
        if recorder is not None:
            recorder.reading(reading)
            if state.time_s > before_s:
                recorder.prediction(state.time_s, numbers(charge, state))
    state, more = settle(charge, state)
    return state, (*events, *more)
