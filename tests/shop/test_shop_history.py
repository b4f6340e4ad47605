"""What the shop remembers of a canister, folded from run files."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from soak.job.job import Job
from soak.job.read import read_job
from soak.record.rows import Header
from soak.record.store import Store
from soak.shop.history import recall


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job("plane-irons", None)


def soaked(shop: Path, job: Job, name: str, lost_mm: float, **changes: Any) -> None:
    """A run file of a closed real soak that took this much of the wall."""
    runs = shop / "runs"
    runs.mkdir(parents=True, exist_ok=True)
    header = Header(
        "run", "2031-02-03T18:30:00+00:00", job.name, job.title, job.text, job.profiles,
        {"canister_name": job.canister.name}, {},
    )  # fmt: skip
    store = Store.create(runs / f"{name}.soak", replace(header, **changes), time.monotonic)
    band = {"low": 0.8 * lost_mm, "mid": lost_mm, "high": 1.2 * lost_mm}
    store.close(3600.0, "complete", {"canister": {"wall_lost_mm": band}})


def test_nothing_is_known_at_first(tmp_path: Path, job: Job) -> None:
    history, unread = recall(tmp_path, job)
    assert (history.wall_lost_m, unread) == (0.0, ())


def test_soaks_in_the_same_canister_add_up(tmp_path: Path, job: Job) -> None:
    soaked(tmp_path, job, "one", 0.25)
    soaked(tmp_path, job, "two", 0.5, started="2031-02-05T18:30:00+00:00")  # a copy of a run would not count twice
    assert recall(tmp_path, job)[0].wall_lost_m == pytest.approx(0.75e-3)


def test_dry_runs_and_other_canisters_wear_nothing(tmp_path: Path, job: Job) -> None:
    soaked(tmp_path, job, "dry", 0.25, kind="dry-run")
    soaked(tmp_path, job, "other", 0.25, plan={"canister_name": "another"})
    assert recall(tmp_path, job)[0].wall_lost_m == 0.0


def test_a_file_that_cannot_be_read_is_named_and_left_out(tmp_path: Path, job: Job) -> None:
    soaked(tmp_path, job, "one", 0.25)
    (tmp_path / "runs" / "broken.soak").write_text("not a run")
    history, unread = recall(tmp_path, job)
    assert history.wall_lost_m == pytest.approx(0.25e-3)
    assert len(unread) == 1
    assert unread[0].startswith("broken.soak: ")
