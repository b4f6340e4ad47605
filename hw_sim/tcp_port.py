"""A TCP socket on this machine as a port: RTU frames, nothing else. One client at a time; it may come back."""

from __future__ import annotations

import socket

from hw_sim.errors import WrongInput

HOST = "127.0.0.1"  # never the open network: Modbus knows no password


class TcpPort:
    """Listens on one port; the next client is let in when the one before has gone."""

    def __init__(self, port: int) -> None:
        self._listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        self._listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            self._listener.bind((HOST, port))
        except OSError as why:
            self._listener.close()
            raise WrongInput(f"tcp:{port} cannot be had ({why.strerror}): write tcp:0 for any free port") from None
        self._listener.listen(4)
        self._client: socket.socket | None = None
        self.name = f"socket://{HOST}:{self._listener.getsockname()[1]}"

    def waits_on(self) -> list[int]:
        """What `select` should watch: the client, or the door while there is none."""
        return [(self._client or self._listener).fileno()]

    def receive(self, ready: int) -> bytes:
        """What came in on a ready descriptor; empty when a client came or went."""
        if self._client is None:
            self._client, _ = self._listener.accept()
            self._client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            return b""
        try:
            data = self._client.recv(4096)
        except OSError:
            data = b""
        if not data:
            self._hang_up()
        return data

    def send(self, data: bytes) -> None:
        """Answer the client there is."""
        if self._client is None:
            return
        try:
            self._client.sendall(data)
        except OSError:
            self._hang_up()

    def close(self) -> None:
        """Shut the door."""
        self._hang_up()
        self._listener.close()

    def _hang_up(self) -> None:
        if self._client is not None:
            self._client.close()
            self._client = None
