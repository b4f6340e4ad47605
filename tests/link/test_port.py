"""Opening the port: what is set, what is refused, and in which words."""

from __future__ import annotations

import errno
import os
import socket
import sys
from pathlib import Path

import pytest
import serial
from slave import Pty, Slave

from soak.errors import PortError
from soak.job.controller import Line
from soak.link.port import _why, open_port

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")


def test_every_setting_reaches_the_port() -> None:
    with Pty(Slave()) as pty:
        port = open_port(pty.path, Line(baud=19200, bits=8, parity="even", stop=2), 0.25)
        assert (port.baudrate, port.bytesize, port.parity, port.stopbits) == (19200, 8, "E", 2)
        assert (port.timeout, port.write_timeout) == (0.25, 1.0)
        port.close()


def test_a_port_in_use_is_busy_also_through_another_name(tmp_path: Path) -> None:
    with Pty(Slave()) as pty:
        (tmp_path / "alias").symlink_to(pty.path)
        first = open_port(pty.path, Line(), 0.25)
        for name in (pty.path, str(tmp_path / "alias")):
            with pytest.raises(PortError, match="is in use by another program") as caught:
                open_port(name, Line(), 0.25)
            assert caught.value.code == "port-busy"
        first.close()
        open_port(pty.path, Line(), 0.25).close()  # and free again


def test_a_port_that_does_not_exist_names_those_that_do() -> None:
    with pytest.raises(PortError, match="The port /dev/ttyNOWHERE does not exist") as caught:
        open_port("/dev/ttyNOWHERE", Line(), 0.25)
    error = caught.value
    assert (error.code, error.exit_code) == ("no-such-port", 5)
    assert "Ports that exist:" in error.hint or "No serial port exists here" in error.hint
    assert error.nearest is not None
    assert all(p in error.hint for p in error.nearest["ports"])


def test_a_file_is_not_a_port(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("x")
    with pytest.raises(PortError, match=r"notes\.txt is not a serial port"):
        open_port(str(tmp_path / "notes.txt"), Line(), 0.25)
    with pytest.raises(PortError, match="is not a serial port"):
        open_port(str(tmp_path), Line(), 0.25)


def test_no_permission_says_dialout(tmp_path: Path) -> None:
    if os.geteuid() == 0:  # root may open anything: give the words the error that others get
        error = _why("/dev/ttyS0", serial.SerialException(errno.EACCES, "could not open port: Permission denied"))
    else:
        (tmp_path / "port").touch(mode=0o000)
        with pytest.raises(PortError) as caught:
            open_port(str(tmp_path / "port"), Line(), 0.25)
        error = caught.value
    assert error.code == "port-permission"
    assert "may not be opened by this user" in error.text
    assert "group dialout" in error.hint


def test_an_unforeseen_failure_still_names_port_and_reason() -> None:
    error = _why("/dev/ttyS0", serial.SerialException(errno.EIO, "Input/output error"))
    assert error.code == "port-fails"
    assert "/dev/ttyS0 cannot be opened" in error.text
    assert "Input/output error" in error.text


@pytest.mark.parametrize(
    ("line", "text"),
    [
        (Line(baud=9601), "baud = 9601 is not a rate of serial lines"),
        (Line(bits=9), "bits = 9 is not possible"),
        (Line(stop=3), "stop = 3 is not possible"),
        (Line(parity="mark"), "parity = 'mark' is not possible"),  # type: ignore[arg-type]
    ],
)
def test_a_line_that_cannot_be_is_refused(line: Line, text: str) -> None:
    with pytest.raises(PortError, match=text) as caught:
        open_port("/dev/null", line, 0.25)
    assert caught.value.code == "bad-line"
    assert "Use one of" in caught.value.hint


@pytest.mark.parametrize("timeout_s", [0.0, -1.0, 1.5, float("nan")])
def test_a_timeout_that_could_block_is_refused(timeout_s: float) -> None:
    with pytest.raises(PortError, match="it must be over 0 and at most 1 s") as caught:
        open_port("/dev/null", Line(), timeout_s)
    assert caught.value.code == "bad-timeout"


@pytest.mark.parametrize(
    "url",
    [
        "socket://",
        "socket://localhost",
        "socket://localhost:modbus",
        "socket://h:99999",
        "http://h:1",
        "socket://h:1?x=1",
    ],
)
def test_a_url_that_is_no_port_is_refused(url: str) -> None:
    with pytest.raises(PortError, match="is not a port") as caught:
        open_port(url, Line(), 0.25)
    assert caught.value.code == "bad-port"
    assert "socket://HOST:PORT" in caught.value.hint


def test_nobody_behind_the_socket() -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        url = f"socket://127.0.0.1:{free.getsockname()[1]}"
    with pytest.raises(PortError, match=r"Nothing answers at socket://127\.0\.0\.1") as caught:
        open_port(url, Line(), 0.25)
    assert caught.value.code == "no-such-port"


def test_a_socket_gets_both_timeouts() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = open_port(f"socket://127.0.0.1:{server.getsockname()[1]}", Line(), 0.25)
        assert (port.timeout, port.write_timeout) == (0.25, 1.0)
        port.close()
