"""A recorded temperature trace played back as an oven: for predict, resume and re-analysis. It cannot be asked."""

from __future__ import annotations

from collections.abc import Sequence

from soak.errors import UsageError
from soak.trace import Reading


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
