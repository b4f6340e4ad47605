"""A small honest RTU slave with fault switches, on a pseudo-terminal or in process. Stands in until hw_sim serves here.

Its CRC is pymodbus', not minimalmodbus': two independent codes meet on this wire.
"""

from __future__ import annotations

import os
import select
import struct
import threading
import time
import tty
from collections.abc import Callable
from typing import Any

from pymodbus.framer.rtu import FramerRTU

from soak.job.controller import Controller, Line, Signal

# The register layout of control.md's first example map: every temperature an i16 in tenths of a degree.
INT_TENTHS = Controller(
    name="int-tenths",
    title="generic, integer tenths",
    line=Line(baud=115200),
    signals={
        "pv": Signal(at=0, scale=0.1, no_reading=(32767, -32768)),
        "setpoint_asked": Signal(at=2, scale=0.1, write=True, memory="nonvolatile"),
        "output_pct": Signal(at=3, scale=0.1),
        "run_state": Signal(at=4, kind="u16"),
        "alarm_word": Signal(at=5, kind="u16"),
        "setpoint_max": Signal(at=6, scale=0.1),
        "run_command": Signal(at=16, kind="u16", write=True, memory="ram"),
    },
    sensor_open=0,
    run_states={0: "idle", 1: "run", 2: "held", 3: "done"},
    run_commands={"idle": 0, "run": 1, "hold": 2},
    reply_timeout_s=0.02,  # scaled down from 0.25 s and 0.6 s, so that tests are quick
    worst_reply_s=0.05,
)


def crc(frame: bytes) -> bytes:
    """The two CRC bytes as sent, low byte first."""
    return FramerRTU.compute_CRC(frame).to_bytes(2, "big")


class Slave:
    """Registers 0..17 of the map above. `fault(request) -> name` picks what goes wrong with each answer:

    "" nothing; silent; late (answers after `late_s`); crc; short; unit; exception N; echo (the question, then nothing).
    """

    def __init__(self, unit: int = 1) -> None:
        self.unit = unit
        self.registers = [201, 0, 0, 0, 0, 0, 12000] + [0] * 11
        self.stuck: set[int] = set()  # registers that answer a write and keep their value
        self.heard: list[bytes] = []
        self.fault: Callable[[bytes], str] = lambda request: ""
        self.late_s = 0.03

    def answer(self, request: bytes) -> bytes:
        """The reply to one frame, fault and all; nothing for another unit or a frame whose CRC is wrong."""
        self.heard.append(request)
        if len(request) < 4 or crc(request[:-2]) != request[-2:] or request[0] != self.unit:
            return b""
        fault = self.fault(request)
        if fault == "silent":
            return b""
        if fault == "echo":
            return request
        if fault.startswith("exception"):
            return self._framed(bytes([request[1] | 0x80, int(fault.split()[1])]))
        reply = self._framed(self._obey(request[1:-2]))
        if fault == "late":
            time.sleep(self.late_s)
        elif fault == "crc":
            reply = reply[:-1] + bytes([reply[-1] ^ 0x55])
        elif fault == "short":
            reply = reply[:-2]
        elif fault == "unit":
            reply = bytes([self.unit + 1]) + reply[1:-2]
            reply += crc(reply)
        return reply

    def _framed(self, pdu: bytes) -> bytes:
        frame = bytes([self.unit]) + pdu
        return frame + crc(frame)

    def _obey(self, pdu: bytes) -> bytes:
        function, at, n = struct.unpack(">BHH", pdu[:5])
        if function in (3, 4):
            if at + n > len(self.registers):
                return bytes([function | 0x80, 2])
            return struct.pack(f">BB{n}H", function, 2 * n, *self.registers[at : at + n])
        word = n if function == 6 else struct.unpack(">H", pdu[6:8])[0]
        if at not in (2, 16):
            return bytes([function | 0x80, 2])
        if at not in self.stuck:
            self.registers[at] = word
            if at == 16:
                self.registers[4] = word
        return pdu[:5]


class InProcess:
    """A port whose other end is a function: no operating system between. Records every frame."""

    port, baudrate, timeout, is_open = "in process", 115200, 0.02, True

    def __init__(self, answer: Callable[[bytes], bytes]) -> None:
        self._answer = answer
        self._waiting = b""

    def open(self) -> None: ...

    def close(self) -> None:
        self.is_open = False

    def write(self, frame: bytes) -> int:
        self._waiting += self._answer(bytes(frame))
        return len(frame)

    def read(self, size: int = 1) -> bytes:
        got, self._waiting = self._waiting[:size], self._waiting[size:]
        return got

    def reset_input_buffer(self) -> None:
        self._waiting = b""

    def reset_output_buffer(self) -> None: ...


class Pty:
    """The slave on a real pseudo-terminal: `path` is the port. A context manager; `unplug` closes the far end."""

    def __init__(self, slave: Slave) -> None:
        self.slave = slave
        self._far, self._near = os.openpty()
        tty.setraw(self._near)
        self.path = os.ttyname(self._near)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self) -> Pty:
        self._thread.start()
        return self

    def __exit__(self, *_: Any) -> None:
        self.unplug()

    def unplug(self) -> None:
        if not self._stop.is_set():
            self._stop.set()
            self._thread.join()
            os.close(self._far)
            os.close(self._near)

    def _serve(self) -> None:
        waiting = b""
        while not self._stop.is_set():
            ready, _, _ = select.select([self._far], [], [], 0.02)
            if not ready:
                waiting = b""  # a gap ends a frame
                continue
            waiting += os.read(self._far, 256)
            while len(waiting) >= 8:
                length = 9 + waiting[6] if waiting[1] == 16 else 8
                if len(waiting) < length:
                    break
                frame, waiting = waiting[:length], waiting[length:]
                if reply := self.slave.answer(frame):
                    os.write(self._far, reply)
