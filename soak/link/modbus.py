"""The one owner of the port: Modbus questions and answers, and a quiet line after every error.

Touches the port through minimalmodbus, and real time, for the quarantine only.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any, TypeVar

import minimalmodbus

from soak.errors import BadReply, LinkError, NoReply, PortError, Refused, UsageError
from soak.link.gone import GONE
from soak.link.registers import Block
from soak.sources import Sourced

T = TypeVar("T")

ADDRESS_LAST = Sourced(247, "1", "1 to 247", "Modbus over Serial Line v1.02: addresses of devices", "memory")
READ_TRIES = Sourced(2, "1", "one read", "reading twice is harmless; more would hide a bad line", "judgement")
BABBLE_MAX = Sourced(10, "1", "times worst_reply_s", "a line never quiet that long is broken", "judgement")
READ_WITH = {"holding": 3, "input": 4}  # function by register space (memory)


def check_address(address: int) -> None:
    """Raises UsageError unless a device can have this address."""
    if isinstance(address, bool) or not isinstance(address, int) or not 1 <= address <= ADDRESS_LAST.value:
        raise UsageError(
            "bad-address",
            f"A controller cannot have the address {address}.",
            f"Use 1 to {ADDRESS_LAST.value:.0f}, as set at the controller.",
        )


class Wire:
    """One controller on one port. Every transaction, with its retry and its quarantine, is one critical section.

    port is an open pyserial port (or anything that reads and writes like one) with a timeout of at most 1 s.
    worst_reply_s [s] is the latest a reply was ever seen: after any error the line is read until quiet for so long.
    """

    def __init__(self, port: Any, address: int, worst_reply_s: float) -> None:
        check_address(address)
        if port.timeout is None or not 0 < port.timeout <= 1:
            raise ValueError(f"the port's timeout is {port.timeout}: a silent controller would block for ever")
        self._instrument: minimalmodbus.Instrument | None = minimalmodbus.Instrument(port, address)
        self._port = port
        self._address = address
        self._worst_reply_s = worst_reply_s
        self._lock = threading.RLock()
        self.questions = 0
        self.errors = 0

    def read(self, block: Block) -> tuple[int, ...]:
        """The words of the block. Tries twice; raises NoReply, BadReply, Refused (the map is wrong) or PortError."""
        what = f"reading {block.count} {block.space} registers from {block.at}"
        function = READ_WITH[block.space]
        with self._lock:
            for left in reversed(range(int(READ_TRIES.value))):
                try:
                    return tuple(self._ask(what, lambda i: i.read_registers(block.at, block.count, function)))
                except (NoReply, BadReply):
                    if not left:
                        raise
        raise AssertionError("unreachable")

    def write(self, at: int, word: int, function: int) -> None:
        """One word to one holding register, once. That it was taken is for the caller to prove by reading back.

        An adapter that echoes answers a function 06 write by itself: no error here means nothing.
        """
        what = f"writing {word} to register {at}"
        with self._lock:
            self._ask(what, lambda i: i.write_register(at, word, functioncode=function))

    def close(self) -> None:
        """Lets go of the port. minimalmodbus would open it again by itself, so it is dropped too."""
        with self._lock:
            self._instrument = None
            socket = getattr(self._port, "_socket", None)
            self._port.close()
            if socket is not None:
                socket.close()  # pyserial forgets this one when the peer went first

    def _ask(self, what: str, question: Callable[[minimalmodbus.Instrument], T]) -> T:
        if self._instrument is None:
            raise PortError("port-closed", f"The port is closed ({what}).", "Open it again.")
        self.questions += 1
        try:
            return question(self._instrument)
        except GONE as error:
            self.errors += 1
            meaning = self._meaning(what, error)
            if not isinstance(meaning, PortError):
                self._wait_until_quiet(what)
            raise meaning from error

    def _meaning(self, what: str, error: Exception) -> LinkError:
        """Which of our errors this is. minimalmodbus' own are OSErrors too, so they come first."""
        who = f"The controller at address {self._address}"
        match error:
            case minimalmodbus.NoResponseError():
                return NoReply(
                    "no-reply",
                    f"{who} does not answer ({what}).",
                    "Check power, wires A and B, address, baud and parity: a wrong parity also shows as silence.",
                )
            case minimalmodbus.IllegalRequestError():
                return Refused(
                    "illegal-request",
                    f"{who} refuses {what}: {error}.",
                    "The controller's profile does not fit this controller: compare its register table.",
                )
            case minimalmodbus.SlaveReportedException():
                return BadReply(
                    "controller-reports", f"{who} reports an error ({what}): {error}.", "Look at its display."
                )
            case minimalmodbus.ModbusException():
                return BadReply(
                    "bad-reply",
                    f"What came back is not the answer ({what}): {error}",
                    "Noise, an echoing adapter, or two devices with one address. Check shield, termination, addresses.",
                )
            case _:
                return PortError(
                    "port-gone",
                    f"The port is gone ({what}): {error}",
                    "Plug the adapter in again. The oven may still heat.",
                )

    def _wait_until_quiet(self, what: str) -> None:
        """Read and discard until nothing has come for worst_reply_s: a late reply must not answer the next question."""
        started = heard = time.monotonic()
        try:
            while True:
                byte = self._port.read(1)
                now = time.monotonic()
                if byte:
                    heard = now
                elif now - heard >= self._worst_reply_s:  # an empty read proves it, not the clock alone:
                    return  # this process may have been put aside while bytes came in
                if now - started > BABBLE_MAX.value * self._worst_reply_s:
                    raise BadReply(
                        "line-babbles",
                        f"The line does not fall silent ({what}).",
                        "Another program or another master talks on it: there may be only one.",
                    )
        except GONE as error:
            raise self._meaning(what, error) from error
