"""A shop for each test, and one dry run to the end that many tests look at."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent / "parts"))  # tests/scenarios uses them too
from cli_parts import Bench, Whole, whole_in


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture(scope="session")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return whole_in(tmp_path_factory.getbasetemp())
