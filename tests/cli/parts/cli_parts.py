"""What the tests of the command line share: a short job, soak in this process or as a process, hw_sim as a process."""

from __future__ import annotations

import contextlib
import io
import json
import os
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import pytest
import serial

from hw_sim.crc import sealed
from soak.cli.main import code_of
from soak.errors import RecordError
from soak.record.load import load
from soak.record.rows import Record

SOAK = (sys.executable, "-c", "from soak.cli.main import main; main()")

# Thin strips in a small dry canister, the surface stated: a hold of an hour. The cooling table is that of the simulated
# small oven with just this canister in it, as its own dry run shows it.
QUICK = """format = 1
title = "Thin strips, soon done"

[target]
carbon = "0.50 %"
where = "mean"
tolerance = "0.08 %"

[[stock]]
iron = "mild-steel"
shape = "strip"
thickness = "0.8 mm"
width = "6 mm"
length = "40 mm"
count = 2

[packing]
gap = "5 mm"
cover = "5 mm"

[use]
pack = { surface = { potential = "1.2 %", beta = "1.3e-7 m/s" } }
controller = "int-tenths"

[use.canister]
form = "pipe"
material = "steel"
diameter = "40 mm"
length = "60 mm"
wall = "2 mm"
vent = { kind = "hole", diameter = "3 mm" }
lute_dry = true

[use.oven]
temperature_max = "1100 degC"
power = "1.8 kW"
chamber = { width = "150 mm", height = "180 mm", depth = "220 mm" }
ramp_usual = "2000 degC/h"
sensor_sigma = "12 degC"
simulated_as = "small"
ramp = [
  { at = "20 degC", rate = "2018 degC/h" },
  { at = "600 degC", rate = "813 degC/h" },
  { at = "900 degC", rate = "561 degC/h" },
]
cooling = [
  { at = "60 degC", rate = "15 degC/h" },
  { at = "200 degC", rate = "42 degC/h" },
  { at = "400 degC", rate = "105 degC/h" },
  { at = "600 degC", rate = "210 degC/h" },
  { at = "700 degC", rate = "354 degC/h" },
  { at = "800 degC", rate = "540 degC/h" },
  { at = "900 degC", rate = "828 degC/h" },
]

[limits]
temperature_max = "900 degC"
heat_on_max = "3 h"
"""
# what hw_sim must be told to be the oven of that job
QUICK_SIM = ("--oven", "small", "--canister-mm", "40x60", "--wall-mm", "2", "--steel-kg", "0.003", "--pack-kg", "0.013")


def quick(*changes: tuple[str, str]) -> str:
    """The short job with parts of its text replaced; each must be there, once."""
    text = QUICK
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the job"
        text = text.replace(old, new)
    return text


@dataclass(frozen=True)
class Answer:
    """What one call gave."""

    code: int
    out: str
    err: str

    def document(self) -> dict[str, Any]:
        """The one JSON document on stdout: strict, one line, with format and soak."""
        assert self.out.count("\n") == 1, f"not one line: {self.out[:200]!r}"
        assert self.out.endswith("}\n"), f"not one document: {self.out[:200]!r}"
        found = json.loads(self.out, parse_constant=_no_constant)
        assert isinstance(found, dict)
        assert found["format"] == 1
        assert isinstance(found["soak"], str)
        return found

    def refused(self, code: int, word: str) -> dict[str, Any]:
        """The error of a refusal, its exit code and its word checked."""
        error = self.document()["error"]
        assert (self.code, error["code"]) == (code, word), error
        assert set(error) <= {"code", "text", "hint", "nearest"}
        assert error["text"]
        return dict(error)


def _no_constant(name: str) -> Any:
    raise AssertionError(f"{name} is no JSON")


class Bench:
    """A shop of its own, and soak called in this process as the command line would."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.shop = folder / "shop"

    def __call__(self, *words: str | Path) -> Answer:
        out, err = io.StringIO(), io.StringIO()
        with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            patch.setenv("SOAK_SHOP", str(self.shop))
            code = code_of([str(w) for w in words])
        return Answer(code, out.getvalue(), err.getvalue())

    def job(self, text: str = QUICK, name: str = "quick") -> Path:
        """A job's file."""
        path = self.folder / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return path

    def trace(self, text: str | bytes, name: str = "trace") -> Path:
        """A trace's file."""
        path = self.folder / f"{name}.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    @property
    def runs(self) -> list[Path]:
        """Run files of the shop."""
        return sorted((self.shop / "runs").glob("*.soak"))

    def environment(self) -> dict[str, str]:
        """For a process: this shop, no colour forced, one thread."""
        kept = {k: v for k, v in os.environ.items() if k not in ("FORCE_COLOR", "NO_COLOR")}
        return kept | {"SOAK_SHOP": str(self.shop), "OPENBLAS_NUM_THREADS": "1"}

    def start(self, *words: str | Path, attend_s: float | None = None, **how: Any) -> subprocess.Popen[str]:
        """soak as a process of its own. attend_s: how often a sign of life is asked for, instead of 15 min."""
        command = [*SOAK]
        if attend_s is not None:
            command[-1] = f"import soak.run.loop as loop; loop.ATTEND_S = {attend_s!r}; {command[-1]}"
        pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "stdin": subprocess.DEVNULL} | how
        return subprocess.Popen([*command, *map(str, words)], env=self.environment(), text=True, **pipes)


class Whole:
    """A dry run of the short job that went to its end, with its exports: look, do not touch."""

    def __init__(self, folder: Path) -> None:
        self.bench = Bench(folder)
        self.out = folder / "out"
        self.job = self.bench.job()

    @cached_property
    def plan(self) -> dict[str, Any]:
        return self.bench("plan", self.job, "--json").document()

    @cached_property
    def answer(self) -> Answer:
        return self.bench("dry-run", self.job, "--out", self.out, "--json")

    @cached_property
    def doc(self) -> dict[str, Any]:
        return self.answer.document()

    @property
    def run(self) -> Path:
        return Path(self.doc["run_file"])

    def file(self, end: str) -> Path:
        """One of the exports, by the end of its name."""
        return self.run.with_name(self.run.stem + end)


@cache
def whole_in(base: Path) -> Whole:
    """One for the whole session, whichever folder of tests looks at it."""
    folder = base / "whole"
    folder.mkdir()
    return Whole(folder)


def wait_for(condition: Callable[[], Any], what: str, seconds: float = 30.0) -> Any:
    """Poll until it holds; its value."""
    end = time.monotonic() + seconds
    while not (value := condition()):
        assert time.monotonic() < end, f"waited {seconds:g} s in vain: {what}"
        time.sleep(0.02)
    return value


def recorded(bench: Bench, process: subprocess.Popen[str], what: Callable[[Record], Any], name: str) -> Record:
    """The run file of a process that goes on, once `what` holds for it."""

    def look() -> Record | None:
        if process.poll() is not None:
            pytest.fail(f"ended with {process.returncode} before {name}: {process.communicate()}")
        try:
            record = load(bench.runs[0]) if bench.runs else None
        except RecordError:  # just being made
            return None
        return record if record is not None and what(record) else None

    found = wait_for(look, name)
    assert isinstance(found, Record)
    return found


def finished(process: subprocess.Popen[str], seconds: float = 60.0) -> Answer:
    """Wait for a process; what it gave."""
    try:
        out, err = process.communicate(timeout=seconds)
    finally:
        if process.poll() is None:
            process.kill()
            process.communicate()
    return Answer(process.returncode, out or "", err or "")


@dataclass(frozen=True)
class Sim:
    """hw_sim as a process, with its port."""

    process: subprocess.Popen[str]
    port: str

    def registers(self, at: int, count: int) -> list[int]:
        """Words of the controller, read past soak."""
        ask = sealed(bytes((1, 3)) + at.to_bytes(2, "big") + count.to_bytes(2, "big"))
        length = 5 + 2 * count
        reply = self._over_tcp(ask, length) if "://" in self.port else self._over_pty(ask, length)
        assert len(reply) == length, f"{reply!r}"
        assert reply[:3] == bytes((1, 3, 2 * count))
        return [int.from_bytes(reply[3 + 2 * i : 5 + 2 * i], "big") for i in range(count)]

    def _over_pty(self, ask: bytes, length: int) -> bytes:
        with serial.Serial(self.port, timeout=5.0) as line:
            line.write(ask)
            return bytes(line.read(length))

    def _over_tcp(self, ask: bytes, length: int) -> bytes:
        host, _, number = self.port.removeprefix("socket://").partition(":")
        with socket.create_connection((host, int(number)), timeout=5.0) as line:
            line.sendall(ask)
            reply = b""
            while len(reply) < length and (more := line.recv(length - len(reply))):
                reply += more
            return reply

    @property
    def untouched(self) -> bool:
        """Nothing was ever written: no setpoint asked or in use, no output, idle."""
        return self.registers(1, 4) == [0, 0, 0, 0]


@contextmanager
def simulator(rate: float = 600.0, port: str = "pty", *words: str) -> Iterator[Sim]:
    """hw_sim by the clock, as a person would start it."""
    command = [sys.executable, "-m", "hw_sim", *QUICK_SIM, "--rate", f"{rate:g}", "--port", port, *words]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        told = process.stdout.readline()
        yield Sim(process, told.partition(" listens on ")[2].partition(",")[0])
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=10.0)
        process.stdout.close()


class Terminal:
    """A real pseudo-terminal with a soak process on it, which a test types at and reads from."""

    def __init__(self, bench: Bench, *words: str | Path, attend_s: float | None = None) -> None:
        self._far, near = os.openpty()
        self.seen = ""
        try:
            self.process = bench.start(
                *words, attend_s=attend_s, stdin=near, stdout=near, stderr=near, start_new_session=True
            )
        finally:
            os.close(near)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        self.hang_up()

    def read(self) -> bool:
        """Take what is there; False once the other side is gone."""
        ready, _, _ = select.select([self._far], [], [], 0.05)
        if not ready:
            return self.process.poll() is None
        try:
            data = os.read(self._far, 65536)
        except OSError:
            return False
        self.seen += data.decode(errors="replace")
        return bool(data)

    def until(self, text: str, seconds: float = 30.0) -> None:
        """Read until `text` was seen."""
        end = time.monotonic() + seconds
        while text not in self.seen:
            assert self.read(), f"ended before {text!r}: {self.seen[-2000:]}"
            assert time.monotonic() < end, f"waited in vain for {text!r}: {self.seen[-2000:]}"

    def type(self, text: str) -> None:
        os.write(self._far, text.encode())

    def hang_up(self) -> None:
        if self._far >= 0:
            os.close(self._far)
            self._far = -1

    def end(self, seconds: float = 60.0) -> int:
        """Read to the end; the exit code."""
        end = time.monotonic() + seconds
        while self.read():
            assert time.monotonic() < end, f"did not end: {self.seen[-2000:]}"
        return self.process.wait(timeout=10.0)


def bands(found: Any, where: str = "") -> Iterator[tuple[str, Mapping[str, float]]]:
    """Every band in a document, with its place."""
    if isinstance(found, dict):
        if set(found) == {"low", "mid", "high"}:
            yield where, found
        for key, value in found.items():
            yield from bands(value, f"{where}.{key}")
    elif isinstance(found, list):
        for i, value in enumerate(found):
            yield from bands(value, f"{where}[{i}]")
