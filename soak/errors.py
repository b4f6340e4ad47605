"""Every error a person can meet, as one tree. Imports nothing.

SoakError                     1   a bug or something nobody foresaw
  UsageError                  2   the command line asks for what cannot be
  JobError                    3   a job, a profile or a trace file is wrong (file, key, what was read)
  PlanError                   4   the target cannot be reached; `nearest` says what can
  LinkError                   5   the port or the controller
    PortError                     cannot be opened, is busy, has gone
    NoReply                       the line stayed silent
    BadReply                      something came back that is not the answer
    Refused                       the controller, or our own rule, refused a write
  RecordError                 7   the run file: busy, broken, too new, not one
"""

from __future__ import annotations

from typing import Any, ClassVar


class SoakError(Exception):
    """What went wrong (`text`), what to do instead (`hint`), the nearest thing that works (`nearest`).

    `code` is a stable kebab-case word for programs; `exit_code` is the process exit code.
    """

    exit_code: ClassVar[int] = 1

    def __init__(self, code: str, text: str, hint: str = "", nearest: dict[str, Any] | None = None) -> None:
        super().__init__(text)
        self.code = code
        self.text = text
        self.hint = hint
        self.nearest = nearest

    def __str__(self) -> str:
        return f"{self.text}\n{self.hint}" if self.hint else self.text


class UsageError(SoakError):
    exit_code = 2


class JobError(SoakError):
    exit_code = 3


class PlanError(SoakError):
    exit_code = 4


class LinkError(SoakError):
    exit_code = 5


class PortError(LinkError):
    pass


class NoReply(LinkError):
    pass


class BadReply(LinkError):
    pass


class Refused(LinkError):
    pass


class RecordError(SoakError):
    exit_code = 7
