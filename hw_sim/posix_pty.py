"""A pseudo-terminal as a port. The one place here for what only POSIX systems have; imported only when asked for."""

from __future__ import annotations

import os
import pty
import tty


class PtyPort:
    """We hold the master; a client opens the slave by its path. We keep the slave open too, so clients come and go."""

    def __init__(self) -> None:
        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.name = os.ttyname(self._slave)

    def waits_on(self) -> list[int]:
        """What `select` should watch."""
        return [self._master]

    def receive(self, ready: int) -> bytes:
        """What came in on a ready descriptor; empty when nothing did."""
        try:
            return os.read(self._master, 4096)
        except BlockingIOError:
            return b""

    def send(self, data: bytes) -> None:
        """Answer. What a client does not fetch is lost once the terminal's buffer is full, as on a real wire."""
        try:
            os.write(self._master, data)
        except BlockingIOError:
            return

    def close(self) -> None:
        """Give both ends back."""
        os.close(self._master)
        os.close(self._slave)
