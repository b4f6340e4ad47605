"""The person at the oven: key presses, signals, and what others put into the inbox. Touches stdin, signals, a file.

SIGINT asks first and means it the second time; SIGTERM means it at once; SIGHUP is ignored.
"""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType

from soak.record.inbox import Inbox, note_of
from soak.record.store import Store

WORDS = {"make-safe": "safe"}  # as an inbox message says it, and as the loop hears it


class Attendance:
    """Implements run.ports.Person. `stopped_by` tells which signal ended the run, if one did."""

    def __init__(self, store: Store, run: Path, tell: Callable[[str], None], ask_first: bool, keys: bool) -> None:
        self._store = store
        self._inbox = Inbox(run)
        self._tell = tell
        self._ask_first = ask_first
        self._words: list[str] = []
        self._last_s = time.monotonic()
        self._asked_s: float | None = None
        self.stopped_by: int | None = None
        if keys:
            threading.Thread(target=self._listen, daemon=True).start()

    def heard(self) -> tuple[str, ...]:
        for message in self._inbox.take():
            note = note_of(message)
            if note is not None:
                self._store.note(note)
                self._last_s = time.monotonic()
            else:
                said = str(message.get("message", ""))
                word = WORDS.get(said, said)
                self._words.append(word)
                if word == "alive":
                    self._last_s = time.monotonic()
        words, self._words = tuple(self._words), []
        return words

    def silent_s(self) -> float:
        return time.monotonic() - self._last_s

    def _listen(self) -> None:
        """Every line from the keyboard is a sign of life. The thread touches nothing but the time of it."""
        with suppress(OSError, ValueError):  # the terminal has gone: nobody is there any more
            for _ in sys.stdin:
                self._last_s = time.monotonic()

    def signalled(self, number: int, frame: FrameType | None) -> None:
        if number == signal.SIGINT and self._ask_first:
            now_s = time.monotonic()
            if self._asked_s is None or now_s - self._asked_s > 30.0:
                self._asked_s = now_s
                self._tell("Ctrl-C again within 30 s switches the heat off and ends the run")
                return
        self.stopped_by = number
        self._words.append("safe")

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Take the signals while the run lasts, and give them back."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        taken: dict[int, object] = {}
        for name in ("SIGINT", "SIGTERM"):
            number = getattr(signal, name)
            taken[number] = signal.signal(number, self.signalled)
        if hasattr(signal, "SIGHUP"):
            taken[signal.SIGHUP] = signal.signal(signal.SIGHUP, signal.SIG_IGN)
        try:
            yield
        finally:
            for number, handler in taken.items():
                signal.signal(number, handler)  # type: ignore[arg-type]
