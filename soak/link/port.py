"""Opens the serial port, or a socket in its place, so that nothing can block for ever. Touches the port only."""

from __future__ import annotations

import errno
import os
from typing import Any
from urllib.parse import urlsplit

import serial
from serial.tools import list_ports

from soak.errors import PortError
from soak.job.controller import Line
from soak.link.gone import GONE
from soak.sources import Sourced

BAUDS = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200)  # the usual rates of serial lines (memory)
BITS = (7, 8)
STOPS = (1, 2)
PARITIES = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}
READ_TIMEOUT_MAX = Sourced(1.0, "s", "one read", "a silent device must not hold up the guards", "judgement")
WRITE_TIMEOUT = Sourced(1.0, "s", "one write", "a 256-byte frame takes 0.3 s at 9600 baud", "computed")


def open_port(url: str, line: Line, reply_timeout_s: float) -> Any:
    """An open pyserial port: a device path, locked for us alone, or `socket://host:port` (frames over TCP).

    reply_timeout_s [s] is how long one read may wait, more than 0 and at most 1. Raises PortError.
    """
    _check(line, reply_timeout_s)
    if "://" in url:
        return _open_socket(url, reply_timeout_s)
    if os.name == "posix" and not os.path.exists(url):
        raise _no_such_port(url)
    try:
        return serial.Serial(
            url,
            line.baud,
            bytesize=line.bits,
            parity=PARITIES[line.parity],
            stopbits=line.stop,
            timeout=reply_timeout_s,
            write_timeout=WRITE_TIMEOUT.value,
            exclusive=True if os.name == "posix" else None,
        )
    except GONE as error:
        raise _why(url, error) from error


def ports_there() -> tuple[str, ...]:
    """Names of the serial ports that exist now."""
    return tuple(sorted(p.device for p in list_ports.comports()))


def _check(line: Line, reply_timeout_s: float) -> None:
    if line.baud not in BAUDS:
        raise PortError("bad-line", f"baud = {line.baud} is not a rate of serial lines.", f"Use one of {_list(BAUDS)}.")
    if line.bits not in BITS:
        raise PortError("bad-line", f"bits = {line.bits} is not possible.", f"Use one of {_list(BITS)}.")
    if line.stop not in STOPS:
        raise PortError("bad-line", f"stop = {line.stop} is not possible.", f"Use one of {_list(STOPS)}.")
    if line.parity not in PARITIES:
        raise PortError("bad-line", f"parity = {line.parity!r} is not possible.", f"Use one of {_list(PARITIES)}.")
    if not 0 < reply_timeout_s <= READ_TIMEOUT_MAX.value:
        raise PortError(
            "bad-timeout",
            f"reply_timeout_s = {reply_timeout_s:g} s; it must be over 0 and at most {READ_TIMEOUT_MAX.value:g} s.",
            "0.25 s suits most controllers.",
        )


def _open_socket(url: str, reply_timeout_s: float) -> Any:
    try:
        parts = urlsplit(url)
        good = parts.scheme == "socket" and bool(parts.hostname) and bool(parts.port) and not parts.query
    except ValueError:  # a port number that is none
        good = False
    if not good:
        raise PortError(
            "bad-port",
            f"{url} is not a port.",
            "A port is a device path or socket://HOST:PORT, as socket://127.0.0.1:15020.",
        )
    try:
        return serial.serial_for_url(url, timeout=reply_timeout_s, write_timeout=WRITE_TIMEOUT.value)
    except GONE as error:
        raise PortError(
            "no-such-port", f"Nothing answers at {url}: {error}", "Is the gateway or the simulator running there?"
        ) from error


def _no_such_port(url: str) -> PortError:
    there = ports_there()
    hint = (
        f"Ports that exist: {', '.join(there)}." if there else "No serial port exists here. Is the adapter plugged in?"
    )
    return PortError("no-such-port", f"The port {url} does not exist.", hint, {"ports": list(there)})


def _why(url: str, error: Exception) -> PortError:
    """The OS error of a failed open, in words a person can act on."""
    code = _code(error)
    if code in (errno.EAGAIN, errno.EBUSY):
        return PortError(
            "port-busy", f"The port {url} is in use by another program.", "Is another run using it? End that first."
        )
    if code in (errno.EACCES, errno.EPERM):
        return PortError(
            "port-permission",
            f"The port {url} may not be opened by this user.",
            "On Linux add yourself to the group dialout (sudo usermod -aG dialout $USER) and log in again; "
            "on Windows another program may be using it.",
        )
    if code == errno.ENOENT or "FileNotFoundError" in str(error):
        return _no_such_port(url)
    if code in (errno.ENOTTY, errno.EINVAL, errno.EISDIR, errno.ENODEV, errno.ENXIO):
        return PortError("bad-port", f"{url} is not a serial port.", "A port is a device path or socket://HOST:PORT.")
    return PortError(
        "port-fails", f"The port {url} cannot be opened: {error}", "Unplug the adapter, plug it in, try again."
    )


def _code(error: BaseException | None) -> int | None:
    """The number the operating system gave. pyserial hides it behind an error of its own; termios keeps it in args."""
    while error is not None:
        code = getattr(error, "errno", None) or (error.args[0] if error.args else None)
        if isinstance(code, int):
            return code
        error = error.__context__
    return None


def _list(choices: Any) -> str:
    return ", ".join(str(c) for c in choices)
