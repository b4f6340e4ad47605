"""The stand-in as a process: real pseudo-terminal, real sockets, two independent clients, pipes, and how it ends."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import minimalmodbus
import pytest
import serial
from pymodbus.client import ModbusTcpClient
from pymodbus.framer import FramerType

from hw_sim.__main__ import main
from hw_sim.lines_in import LinesIn

HERE = Path(__file__).parents[2]
POSIX = pytest.mark.skipif(os.name == "nt", reason="a pseudo-terminal is POSIX only")


class Running:
    """A piped stand-in."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.first = self.line()

    def line(self) -> dict[str, Any]:
        assert self.process.stdout is not None
        return json.loads(self.process.stdout.readline())

    def say(self, command: str) -> dict[str, Any]:
        assert self.process.stdin is not None
        self.process.stdin.write(command + "\n")
        self.process.stdin.flush()
        return self.line()


@contextmanager
def started(*words: str) -> Iterator[Running]:
    command = [sys.executable, "-m", "hw_sim", "--piped", *words]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=HERE) as process:
        try:
            yield Running(process)
        finally:
            assert process.stdin is not None
            process.stdin.close()
            assert process.wait(20) == 0


@POSIX
def test_minimalmodbus_over_a_real_pty_and_a_client_that_comes_and_goes() -> None:
    with started("--seed", "3") as world:
        assert world.first["address"] == 1
        assert world.first["oven"] == "medium"
        for turn in range(3):
            with serial.Serial(world.first["port"], 19200, timeout=1.0, exclusive=True) as port:
                unit = minimalmodbus.Instrument(port, 1)
                unit.write_register(2, 100.0 * (turn + 1), 1)
                assert unit.read_register(2, 1) == 100.0 * (turn + 1)
                unit.write_register(16, 1)
                before = world.say("true")
                after = world.say("advance 600")
                assert after["time_s"] == before["time_s"] + 600.0
                assert unit.read_register(0, 1, signed=True) == pytest.approx(after["oven_c"], abs=150.0)
                assert unit.read_register(4) == 1
        assert after["oven_c"] > 150.0


def test_minimalmodbus_over_a_socket_and_a_client_that_comes_and_goes() -> None:
    with started("--port", "tcp:0", "--oven", "small", "--address", "17") as world:
        assert world.first["port"].startswith("socket://127.0.0.1:")
        assert world.first["oven"] == "small"
        for turn in range(2):
            port = serial.serial_for_url(world.first["port"], timeout=1.0)
            unit = minimalmodbus.Instrument(port, 17)
            unit.write_register(2, 200.0 + turn, 1)
            assert unit.read_registers(1, 2) == [2000 + 10 * turn] * 2
            port.close()


def test_an_independent_client_over_tcp() -> None:
    with started("--port", "tcp:0", "--canister-mm", "100x250", "--steel-kg", "3.1") as world:
        number = int(world.first["port"].rpartition(":")[2])
        client = ModbusTcpClient("127.0.0.1", port=number, framer=FramerType.RTU, timeout=2, retries=0)
        assert client.connect()
        assert not client.write_registers(2, [8501], device_id=1).isError()
        assert not client.write_register(16, 1, device_id=1).isError()
        assert world.say("advance 1200")["output_pct"] > 90.0
        held = client.read_holding_registers(0, count=7, device_id=1).registers
        same = client.read_input_registers(0, count=7, device_id=1).registers
        assert held == same
        assert held[1:3] == [8501, 8501]
        assert held[6] == 11500
        assert held[0] > 2500
        assert client.read_holding_registers(7, count=1, device_id=1).exception_code == 2
        assert client.write_register(2, 11501, device_id=1).exception_code == 3
        assert client.read_coils(0, count=1, device_id=1).exception_code == 1
        client.close()


def test_commands_on_the_pipe() -> None:
    with started("--port", "tcp:0", "--fault", "elements-dead@6h30") as world:
        assert world.say("advance 50")["time_s"] == 50.0
        assert world.say("true")["time_s"] == 50.0
        assert set(world.say("true")) >= {"time_s", "oven_c", "wall_c", "core_c", "output_pct"}
        assert "error" in world.say("sing")
        assert world.say("fault silent") == {"fault": "silent", "time_s": 50.0}
        assert world.say("advance 23400")["faults"] == ["elements-dead", "silent"]
        port = serial.serial_for_url(world.first["port"], timeout=0.2)
        with pytest.raises(minimalmodbus.NoResponseError):
            minimalmodbus.Instrument(port, 1).read_register(0)
        port.close()


def conversation() -> list[str]:
    """What a process says on pipe and wire in a short run."""
    said = []
    with started("--port", "tcp:0", "--seed", "11", "--fault", "slip-100@5min") as world:
        port = serial.serial_for_url(world.first["port"], timeout=1.0)
        unit = minimalmodbus.Instrument(port, 1)
        unit.write_register(2, 600.0, 1)
        unit.write_register(16, 1)
        for _ in range(60):
            said.append(json.dumps(world.say("advance 10")))
            said.append(str(unit.read_registers(0, 7)))
        port.close()
    return said


def test_two_processes_with_the_same_seed_say_the_same() -> None:
    assert conversation() == conversation()


def test_end_of_file_ends_it_and_a_last_line_without_end_still_counts() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "hw_sim", "--piped", "--port", "tcp:0"],
        input="advance 5\nadvance 5", capture_output=True, text=True, timeout=30, cwd=HERE, check=True,
    )  # fmt: skip
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert [line.get("time_s") for line in lines] == [None, 5.0, 10.0]
    assert done.stderr == ""


@POSIX
def test_ctrl_c_is_left_to_the_parent() -> None:
    with started("--port", "tcp:0") as world:
        assert world.say("advance 5")["time_s"] == 5.0
        world.process.send_signal(signal.SIGINT)
        assert world.say("advance 5")["time_s"] == 10.0


@POSIX
def test_a_person_gets_a_sentence_and_frames_are_served_by_the_clock() -> None:
    command = [sys.executable, "-m", "hw_sim", "--port", "tcp:0", "--rate", "20000", "--fault", "relay-welded@0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=HERE) as process:
        assert process.stdout is not None
        sentence = process.stdout.readline()
        assert sentence.startswith("A simulated medium oven listens on socket://127.0.0.1:")
        assert "address 1" in sentence
        assert process.stdout.readline() == "Stop it with Ctrl-C.\n"
        port = serial.serial_for_url(sentence.split()[6].rstrip(","), timeout=2.0)
        unit = minimalmodbus.Instrument(port, 1)
        while unit.read_register(0, 1, signed=True) < 100.0:  # the test's own time limit ends this if time stands still
            pass
        port.close()
        process.send_signal(signal.SIGINT)
        assert process.wait(20) == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--port", "serial"], "port 'serial' is not read here: write pty, or tcp:PORT with PORT 0 to 65535, as tcp:0"),
        (["--port", "tcp:99999"], "port 'tcp:99999' is not read here"),
        (["--rate", "0"], "rate 0: write above 0 and at most 20000"),
        (["--oven", "huge"], "oven 'huge' is not known here: write one of small, medium, large"),
        (["--canister-mm", "big"], "canister size 'big' is not a size"),
        (["--fault", "silent"], "fault 'silent' has no start: write NAME@TIME, as silent@6h30"),
    ],
)
def test_wrong_arguments_end_with_code_2(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert says in capsys.readouterr().err


def test_a_taken_tcp_port_is_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    with started("--port", "tcp:0") as world:
        taken = world.first["port"].rpartition(":")[2]
        assert main(["--port", f"tcp:{taken}"]) == 2
    assert f"tcp:{taken} cannot be had" in capsys.readouterr().err


def test_lines_through_a_socket_as_where_select_knows_no_pipes() -> None:
    source, sink = os.pipe()
    lines = LinesIn(source, through_socket=True)
    writer = threading.Thread(target=lambda: (os.write(sink, b"advance 5\ntr"), os.write(sink, b"ue"), os.close(sink)))
    writer.start()
    got: list[str] = []
    while not lines.ended:
        got += lines.fetch()
    writer.join()
    lines.close()
    os.close(source)
    assert got == ["advance 5", "true"]


def test_nothing_of_soak_is_loaded() -> None:
    code = "import sys, hw_sim.__main__; print([m for m in sys.modules if m.split('.')[0] in ('soak', 'numpy')])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=HERE, check=True, timeout=30
    )
    assert done.stdout.strip() == "[]"
