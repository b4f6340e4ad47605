"""A shop for each test, one dry run to the end, and one plan for the runs that need no command line."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "cli" / "parts"))  # helpers for the command line
sys.path.insert(0, str(Path(__file__).parents[1] / "link"))  # the line in this process
from cli_parts import Bench, Whole, quick, whole_in

from soak.job.read import read_job_text
from soak.plan.choose import Planned, choose


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture(scope="session")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return whole_in(tmp_path_factory.getbasetemp())


@pytest.fixture(scope="session")
def planned() -> Planned:
    return choose(read_job_text(quick(), "quick.toml", name="quick"))
