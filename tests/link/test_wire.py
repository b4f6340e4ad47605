"""The wire: exactly these frames, every fault by its name, and no late reply taken for another answer."""

from __future__ import annotations

import contextlib
import random
import sys
from collections.abc import Iterator

import minimalmodbus
import pytest
from slave import INT_TENTHS, InProcess, Pty, Slave, crc

from soak.errors import BadReply, LinkError, NoReply, PortError, Refused, UsageError
from soak.link.modbus import Wire
from soak.link.port import open_port
from soak.link.registers import Block, plan_reads

ONE = Block("holding", 0, 1)
posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")


@pytest.fixture
def pty() -> Iterator[Pty]:
    with Pty(Slave()) as pty:
        yield pty


def _wire(pty: Pty, reply_timeout_s: float = 0.25, worst_reply_s: float = 0.05) -> Wire:
    return Wire(open_port(pty.path, INT_TENTHS.line, reply_timeout_s), 1, worst_reply_s)


def _in_process(slave: Slave) -> Wire:
    return Wire(InProcess(slave.answer), 1, worst_reply_s=0.001)


class Script:
    """Answers each frame it knows with the frame beside it, and keeps what it did not know."""

    def __init__(self, question: str, reply: str) -> None:
        self.question, self.reply = bytes.fromhex(question), bytes.fromhex(reply)
        self.others: list[bytes] = []

    def __call__(self, frame: bytes) -> bytes:
        if frame == self.question:
            return self.reply
        self.others.append(frame)
        return b""


# The example frames of the Modbus specification, as they stand in several public test suites (seen: the first pair,
# with its CRC; the others computed).
def test_specification_example_read_holding() -> None:
    line = Script("11 03 00 6B 00 03 76 87", "11 03 06 AE 41 56 52 43 40 49 AD")
    assert Wire(InProcess(line), 17, 0.001).read(Block("holding", 107, 3)) == (0xAE41, 0x5652, 0x4340)
    assert line.others == []


def test_specification_example_read_input() -> None:
    reply = bytes.fromhex("11 04 02 00 0A")
    line = Script("11 04 00 08 00 01 B2 98", (reply + crc(reply)).hex())
    assert Wire(InProcess(line), 17, 0.001).read(Block("input", 8, 1)) == (10,)


def test_specification_example_write_single() -> None:
    line = Script("11 06 00 01 00 03 9A 9B", "11 06 00 01 00 03 9A 9B")
    Wire(InProcess(line), 17, 0.001).write(1, 3, 6)
    assert line.others == []


def test_first_register_of_unit_one() -> None:
    line = Script("01 03 00 00 00 01 84 0A", "01 03 02 21 35 60 03")
    assert Wire(InProcess(line), 1, 0.001).read(ONE) == (8501,)


def test_illegal_address_frame_is_refused_and_not_repeated() -> None:
    asked: list[bytes] = []

    def line(frame: bytes) -> bytes:
        asked.append(frame)
        return bytes.fromhex("01 83 02 C0 F1")

    with pytest.raises(
        Refused, match="refuses reading 1 holding registers from 0: Slave reported illegal data address"
    ):
        Wire(InProcess(line), 1, 0.001).read(ONE)
    assert len(asked) == 1


@posix
def test_frames_on_a_real_terminal(pty: Pty) -> None:
    wire = _wire(pty)
    assert wire.read(Block("holding", 0, 7)) == (201, 0, 0, 0, 0, 0, 12000)
    wire.write(2, 8500, 16)
    assert wire.read(Block("holding", 2, 1)) == (8500,)
    bodies = ["01 03 00 00 00 07", "01 10 00 02 00 01 02 21 34", "01 03 00 02 00 01"]
    assert pty.slave.heard == [bytes.fromhex(b) + crc(bytes.fromhex(b)) for b in bodies]
    assert (wire.questions, wire.errors) == (3, 0)
    wire.close()


@posix
@pytest.mark.timeout(10)
def test_a_silent_controller_does_not_block(pty: Pty) -> None:
    pty.slave.fault = lambda request: "silent"
    wire = _wire(pty, 0.02)
    with pytest.raises(NoReply, match="The controller at address 1 does not answer") as caught:
        wire.read(ONE)
    assert "wrong parity also shows as silence" in caught.value.hint
    assert len(pty.slave.heard) == 2  # tried twice, no more
    wire.close()


@pytest.mark.parametrize(
    ("fault", "error", "code", "tries"),
    [
        ("silent", NoReply, "no-reply", 2),
        ("crc", BadReply, "bad-reply", 2),
        ("short", BadReply, "bad-reply", 2),
        ("unit", BadReply, "bad-reply", 2),
        ("echo", BadReply, "bad-reply", 2),
        ("exception 1", Refused, "illegal-request", 1),
        ("exception 2", Refused, "illegal-request", 1),
        ("exception 3", Refused, "illegal-request", 1),
        ("exception 4", BadReply, "controller-reports", 2),
        ("exception 5", BadReply, "bad-reply", 2),
        ("exception 6", BadReply, "controller-reports", 2),
        ("exception 8", BadReply, "controller-reports", 2),
        ("exception 11", BadReply, "controller-reports", 2),
    ],
)
def test_every_fault_has_its_error(fault: str, error: type[LinkError], code: str, tries: int) -> None:
    slave = Slave()
    slave.fault = lambda request: fault
    with pytest.raises(error) as caught:
        _in_process(slave).read(ONE)
    assert caught.value.code == code
    assert caught.value.exit_code == 5
    assert "reading 1 holding registers from 0" in caught.value.text
    assert len(slave.heard) == tries


def test_one_bad_reply_is_read_again() -> None:
    slave = Slave()
    faults = iter(["crc", ""])
    slave.fault = lambda request: next(faults)
    wire = _in_process(slave)
    assert wire.read(ONE) == (201,)
    assert (wire.questions, wire.errors) == (2, 1)


def test_a_write_is_sent_once_only() -> None:
    slave = Slave()
    slave.fault = lambda request: "silent"
    with pytest.raises(NoReply, match="writing 8500 to register 2"):
        _in_process(slave).write(2, 8500, 16)
    assert len(slave.heard) == 1


@posix
def test_an_unplugged_port_is_gone(pty: Pty) -> None:
    wire = _wire(pty)
    pty.unplug()
    for _ in range(2):
        with pytest.raises(PortError, match="The port is gone") as caught:
            wire.read(ONE)
        assert caught.value.code == "port-gone"
    wire.close()


@posix
def test_unplugged_while_waiting_for_the_late_reply(pty: Pty) -> None:
    port = open_port(pty.path, INT_TENTHS.line, INT_TENTHS.reply_timeout_s)

    class UnpluggedInQuarantine:
        """The real port, whose cable is pulled at the first single-byte read: that is the quarantine's."""

        def __getattr__(self, name: str) -> object:
            return getattr(port, name)

        def read(self, size: int = 1) -> bytes:
            if size == 1:
                pty.unplug()
            return port.read(size)  # type: ignore[no-any-return]

    pty.slave.fault = lambda request: "silent"
    with pytest.raises(PortError, match="The port is gone"):
        Wire(UnpluggedInQuarantine(), 1, 0.05).read(ONE)
    port.close()


def test_a_closed_wire_stays_closed() -> None:
    # minimalmodbus alone would open the port again by itself
    port = InProcess(Slave().answer)
    wire = Wire(port, 1, 0.001)
    wire.close()
    with pytest.raises(PortError, match="The port is closed") as caught:
        wire.read(ONE)
    assert caught.value.code == "port-closed"
    assert not port.is_open


def test_a_line_that_babbles_is_told_apart_from_noise() -> None:
    class Babble(InProcess):
        def read(self, size: int = 1) -> bytes:
            return b"\x55" * size

    with pytest.raises(BadReply, match="The line does not fall silent") as caught:
        Wire(Babble(Slave().answer), 1, 0.002).read(ONE)
    assert caught.value.code == "line-babbles"


@pytest.mark.parametrize("address", [0, 248, 255, -1, 1.5, True])
def test_an_address_that_cannot_be(address: int) -> None:
    with pytest.raises(UsageError, match="cannot have the address") as caught:
        Wire(InProcess(Slave().answer), address, 0.001)
    assert "Use 1 to 247" in caught.value.hint


def test_a_port_without_timeout_is_not_taken() -> None:
    port = InProcess(Slave().answer)
    port.timeout = None  # type: ignore[assignment]
    with pytest.raises(ValueError, match="would block for ever"):
        Wire(port, 1, 0.001)


def _late(seed: int, share: float = 0.08) -> Slave:
    slave = Slave()
    slave.registers = [1000 + i for i in range(18)]
    chance = random.Random(seed)
    slave.fault = lambda request: "late" if chance.random() < share else ""
    return slave


@posix
def test_late_replies_fool_the_bare_library() -> None:
    # What the two tests below must prevent: a late reply has a good CRC and answers the next question.
    with Pty(_late(1)) as pty:
        port = open_port(pty.path, INT_TENTHS.line, INT_TENTHS.reply_timeout_s)
        bare = minimalmodbus.Instrument(port, 1)
        wrong = 0
        for n in range(300):
            with contextlib.suppress(minimalmodbus.ModbusException):
                wrong += bare.read_register(n % 3) != 1000 + n % 3
        assert wrong > 0
        port.close()


@posix
def test_late_replies_are_never_taken_three_kinds_in_turn() -> None:
    reads = plan_reads(INT_TENTHS)
    assert reads.command is not None
    kinds = [reads.poll[0], reads.setpoint, reads.command]
    with Pty(_late(2)) as pty:
        wire = _wire(pty, 0.02, 0.05)
        wrong = right = 0
        for n in range(300):
            block = kinds[n % 3]
            try:
                got = wire.read(block)
            except LinkError:
                continue
            is_right = got == tuple(1000 + block.at + i for i in range(block.count))
            right += is_right
            wrong += not is_right
        assert wrong == 0
        assert wire.errors > 10  # late replies did come
        assert right > 150
        wire.close()


@posix
def test_late_replies_are_never_taken_even_at_equal_length() -> None:
    with Pty(_late(3)) as pty:
        wire = _wire(pty, 0.02, 0.2)
        wrong = 0
        for n in range(150):
            with contextlib.suppress(LinkError):
                wrong += wire.read(Block("holding", n % 3, 1)) != (1000 + n % 3,)
        assert wrong == 0
        assert wire.errors > 3
        wire.close()
