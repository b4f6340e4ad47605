"""An independent server on the other end: pymodbus over TCP with RTU frames. What it holds is what we wrote."""

from __future__ import annotations

import asyncio
import dataclasses
import logging
import threading
from collections.abc import Iterator

import pytest
from pymodbus import FramerType
from pymodbus.server import ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice
from slave import INT_TENTHS

from soak.errors import LinkError, PortError, Refused
from soak.link.modbus import Wire
from soak.link.oven import ModbusOven
from soak.link.port import open_port
from soak.link.registers import Block

CONTROLLER = dataclasses.replace(INT_TENTHS, reply_timeout_s=0.25)


class Server:
    """The server in a thread of its own, on a free port; `frames` is what it received."""

    def __init__(self) -> None:
        self.frames: list[bytes] = []
        self._loop = asyncio.new_event_loop()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=lambda: self._loop.run_until_complete(self._serve()))
        self._thread.start()
        assert self._ready.wait(10)

    async def _serve(self) -> None:
        words = [201, 0, 0, 0, 1, 0, 12000] + [0] * 11  # state 1: running
        device = SimDevice(1, SimData(0, values=words, datatype=DataType.REGISTERS))
        self._server = ModbusTcpServer(
            device, framer=FramerType.RTU, address=("127.0.0.1", 0), trace_packet=self._trace
        )
        await self._server.listen()
        self.port = self._server.transport.sockets[0].getsockname()[1]
        self._done = asyncio.Event()
        self._ready.set()
        await self._done.wait()
        await self._server.shutdown()

    def _trace(self, sending: bool, frame: bytes) -> bytes:
        if not sending and frame:
            self.frames.append(frame)
        return frame

    def stop(self) -> None:
        if self._thread.is_alive():
            self._loop.call_soon_threadsafe(self._done.set)
            self._thread.join(10)
            self._loop.close()


@pytest.fixture
def server() -> Iterator[Server]:
    logging.getLogger("pymodbus.logging").setLevel(logging.CRITICAL)
    server = Server()
    yield server
    server.stop()


def test_another_code_understands_every_frame(server: Server) -> None:
    oven = ModbusOven.open(f"socket://127.0.0.1:{server.port}", 1, CONTROLLER, 1000.0)
    assert oven.read(0.0).oven_c == 20.1
    oven.ask(850.0)
    assert oven.read(1.0).setpoint_c == 850.0
    with pytest.raises(LinkError, match="told idle and reports run"):  # its registers are not tied to each other
        oven.make_safe()
    assert oven.read(2.0).setpoint_c == 0.0
    assert len(server.frames) == oven.questions
    oven.close()


def test_an_address_it_does_not_have(server: Server) -> None:
    wire = Wire(open_port(f"socket://127.0.0.1:{server.port}", CONTROLLER.line, 0.25), 1, 0.05)
    with pytest.raises(Refused, match="illegal data address"):
        wire.read(Block("holding", 500, 3))
    assert wire.read(Block("holding", 0, 1)) == (201,)
    wire.close()


def test_a_server_that_goes_is_a_port_that_goes(server: Server) -> None:
    wire = Wire(open_port(f"socket://127.0.0.1:{server.port}", CONTROLLER.line, 0.25), 1, 0.05)
    assert wire.read(Block("holding", 0, 1)) == (201,)
    server.stop()
    with pytest.raises(PortError, match="The port is gone"):
        wire.read(Block("holding", 0, 1))
    wire.close()
