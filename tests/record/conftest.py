"""Samples and helpers for the run file's tests. Real files, real processes."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from soak.record.rows import Header
from soak.record.store import Store


class HandClock:
    """Wall time that moves when the test says so."""

    def __init__(self) -> None:
        self.s = 1000.0

    def __call__(self) -> float:
        return self.s


def band(mid: float, spread: float = 0.1) -> dict[str, float]:
    return {"low": mid - spread, "mid": mid, "high": mid + spread}


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def header() -> Header:
    return Header(
        kind="dry-run",
        started="2031-02-03T18:30:00+00:00",
        job="plane-irons",
        title="Plane irons, to be stacked and welded",
        job_text='format = 1\ntitle = "Plane irons"\n',
        profiles={"pack/charcoal": {"density": 230.0, "source": "weighed"}},
        plan={"segments": [], "limit_c": 1020.0},
        draws={"names": ["a", "b"], "members": 2, "values": [[0.0, 0.0], [0.1, -0.3]]},
        link={"port": "socket://localhost:5020", "address": 1, "map_sha256": "00ff"},
    )


@pytest.fixture
def prediction() -> Callable[[float], dict[str, Any]]:
    def make(carbon: float) -> dict[str, Any]:
        return {
            "pieces": [
                {
                    "piece": piece,
                    "mean_carbon_pct": band(carbon),
                    "surface_carbon_pct": band(carbon + 0.4),
                    "centre_carbon_pct": band(carbon - 0.2),
                    "case_depth_mm": None if piece == "2 wall" else band(1.0),
                }
                for piece in ("1 core", "2 wall")
            ],
            "charge_core_c": 901.5,
            "charge_wall_c": 930.25,
            "wall_left_mm": band(3.5),
            "pco": 0.9,
        }

    return make


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "one.soak"


@pytest.fixture
def store(path: Path, header: Header, clock: HandClock) -> Iterator[Store]:
    opened = Store.create(path, header, clock)
    yield opened
    opened.leave()


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that other users may enter; pytest's own is closed to them."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder


@pytest.fixture
def in_child() -> Callable[..., str]:
    """Runs a function in a child process and gives its text. bound: folder permissions bind it, even if we are root."""

    def run(work: Callable[[], str], bound: bool = False) -> str:
        if not hasattr(os, "fork"):
            pytest.skip("needs fork and user ids")
        read_end, write_end = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                if bound and os.getuid() == 0:
                    os.setgid(65534)
                    os.setuid(65534)
                answer = work()
            except BaseException as error:
                answer = f"{type(error).__name__}: {error}"
            os.write(write_end, answer.encode())
            os._exit(0)
        os.close(write_end)
        with os.fdopen(read_end) as answers:
            text = answers.read()
        os.waitpid(child, 0)
        return text

    return run


@pytest.fixture
def writer() -> list[str]:
    """The command line of the writing child process."""
    return [sys.executable, str(Path(__file__).with_name("writer_child.py"))]
