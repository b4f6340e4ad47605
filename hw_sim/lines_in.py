"""Lines from standard input that `select` can wait for. Touches descriptor 0, and a thread where `select` needs one."""

from __future__ import annotations

import os
import socket
import threading


class LinesIn:
    """Whole lines from a descriptor as they come.

    Where `select` takes sockets only (Windows), a thread copies the descriptor into a socket; it does nothing else.
    """

    def __init__(self, source: int = 0, through_socket: bool = os.name == "nt") -> None:
        self._source = source
        self._rest = b""
        self.ended = False
        self._near: socket.socket | None = None
        if through_socket:
            self._near, far = socket.socketpair()
            threading.Thread(target=_copy, args=(source, far), daemon=True).start()

    def waits_on(self) -> int:
        """What `select` should watch."""
        return self._source if self._near is None else self._near.fileno()

    def fetch(self) -> list[str]:
        """The lines that are complete now; `ended` becomes true at end-of-file (an unfinished line still counts)."""
        data = os.read(self._source, 65536) if self._near is None else self._near.recv(65536)
        if not data:
            self.ended = True
            data = b"\n" if self._rest.strip() else b""
        *whole, self._rest = (self._rest + data).split(b"\n")
        return [line.decode("utf-8", "replace").strip() for line in whole]

    def close(self) -> None:
        """Give the socket back, if there is one."""
        if self._near is not None:
            self._near.close()


def _copy(source: int, far: socket.socket) -> None:
    with far:
        try:
            while data := os.read(source, 65536):
                far.sendall(data)
        except OSError:
            return
