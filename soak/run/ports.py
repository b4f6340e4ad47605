"""What the loop needs from the world, as Protocols. `link` and `record` implement them; `shop` plugs them in.

Nothing else may pass between the loop and the world.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from soak.trace import Event, Reading


class Clock(Protocol):
    """Time as an argument. Seconds since the run began, monotonic."""

    def now_s(self) -> float: ...

    def sleep_until(self, time_s: float) -> None:
        """Let time pass until `time_s`; at once if that is past."""
        ...


class Oven(Protocol):
    """An oven that can be read and asked."""

    def read(self, time_s: float) -> Reading:
        """One look. Raises LinkError when nothing (valid) comes back: the loop decides what that means."""
        ...

    def ask(self, setpoint_c: float) -> None:
        """Ask for a setpoint and prove by a separate read-back that it stands. Raises LinkError (Refused) if not."""
        ...

    def make_safe(self) -> None:
        """The safe end state: lowest setpoint, idle, read back. Never refused by a write budget. Raises LinkError."""
        ...


class Recorder(Protocol):
    """What is remembered. `commit` may be called often; `urgent` rows are on the disk when the call returns.

    Readings and predictions may wait up to 5 s of wall time for the disk.
    """

    def reading(self, reading: Reading) -> None: ...

    def event(self, event: Event) -> None:
        """Urgent: on the disk when the call returns."""
        ...

    def intent(self, time_s: float, action: str, value: float | None) -> int:
        """Urgent: about to act. Returns the row's id for `result`."""
        ...

    def result(self, intent_id: int, time_s: float, outcome: str) -> None:
        """Urgent: what the read-back said."""
        ...

    def prediction(self, time_s: float, values: Mapping[str, Any]) -> None:
        """Every 60 s of the run: bands by quantity and piece (see record/schema.sql)."""
        ...

    def close(self, time_s: float, ended: str, summary: Mapping[str, Any]) -> None:
        """The last word: complete | tripped | stopped | interrupted, and the summary shown to people."""
        ...


class Person(Protocol):
    """Somebody near the oven: what was said since the last tick, and for how long nothing was heard (wall time)."""

    def heard(self) -> tuple[str, ...]:
        """Words said: "alive" (a sign of life), "safe" (make it safe), "ack"; free notes pass as they are recorded."""
        ...

    def silent_s(self) -> float: ...
