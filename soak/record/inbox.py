"""What people say to a running loop: a file of JSON lines, RUN.inbox, beside the run file. Touches that file.

A message is a mapping with the key "message" (ack, make-safe, alive, note, ...). Each goes out as one write to a file
opened for appending, between two line ends, so that a torn line spoils only itself.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from soak.errors import RecordError
from soak.record import trouble
from soak.record.jsontext import plain, to_text
from soak.record.lock import held
from soak.record.rows import Note


def inbox_of(run: Path) -> Path:
    return run.with_name(run.name + ".inbox")


def put(run: Path, message: Mapping[str, Any]) -> None:
    """Leave `message` for the loop that runs `run`. Raises RecordError if no loop runs it, or the disk is full."""
    if not run.exists():
        raise trouble.missing(run)
    if not held(run):
        raise _nobody(run)
    line = f"\n{to_text(message, 'message')}\n".encode()
    try:
        descriptor = os.open(inbox_of(run), os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o666)
        try:
            whole = os.write(descriptor, line) == len(line)
        finally:
            os.close(descriptor)
    except OSError as error:
        raise trouble.explain(error, inbox_of(run)) from error
    if not whole:
        raise trouble.explain(OSError(errno.ENOSPC, "the message was cut short"), inbox_of(run))
    if not held(run):  # the loop ended meanwhile: whether it still saw the message nobody knows
        raise _nobody(run)


class Inbox:
    """The loop's side: each message once, in order."""

    def __init__(self, run: Path) -> None:
        self._file = inbox_of(run)
        self._offset = 0

    def take(self) -> list[dict[str, Any]]:
        """The messages that came since the last call. A line that cannot be read comes as {"message": "unreadable"}."""
        try:
            with self._file.open("rb") as file:
                file.seek(self._offset)
                fresh = file.read()
        except FileNotFoundError:
            return []
        except OSError as error:
            raise trouble.explain(error, self._file) from error
        whole = fresh[: fresh.rfind(b"\n") + 1]  # a last line without its end is still being written, or torn
        self._offset += len(whole)
        return [_message(line) for line in whole.split(b"\n") if line.strip()]

    def clear(self) -> None:
        """Remove the file: the loop has ended, or a new one begins and what was said to the dead one is void."""
        try:
            self._file.unlink(missing_ok=True)
        except OSError as error:
            raise trouble.explain(error, self._file) from error


def note_message(note: Note) -> dict[str, Any]:
    """A note as a message."""
    fields = ("wall", "kind", "values", "text", "time_s", "uid")
    return {"message": "note", "note": {name: plain(getattr(note, name)) for name in fields}}


def note_of(message: Mapping[str, Any]) -> Note | None:
    """The note in a message; None if it is another kind of message. Broken notes are kept as text."""
    if message.get("message") != "note":
        return None
    try:
        n = message["note"]
        return Note(
            wall=str(n["wall"]),
            kind=str(n["kind"]),
            values=dict(n["values"]),
            text=str(n["text"]),
            time_s=None if n["time_s"] is None else float(n["time_s"]),
            uid=str(n["uid"]),
        )
    except (KeyError, TypeError, ValueError):
        return Note(wall="", kind="unreadable", text=to_text(message))


def _message(line: bytes) -> dict[str, Any]:
    try:
        message = json.loads(line)
    except ValueError:
        message = None
    if isinstance(message, dict) and "message" in message:
        return message
    return {"message": "unreadable", "text": line.decode("utf-8", "backslashreplace")}


def _nobody(run: Path) -> RecordError:
    return RecordError(
        "no-loop",
        f"No loop is running {run}: nobody would read the message.",
        "`soak runs` shows which run is going; `soak resume` takes up one that was interrupted.",
    )
