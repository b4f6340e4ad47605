"""The shop's memory, folded from its run files: so far the wear of each canister. Touches the file system."""

from __future__ import annotations

from pathlib import Path

from soak.errors import RecordError
from soak.job.history import History
from soak.job.job import Job
from soak.record.load import glance
from soak.shop.folder import run_files


def recall(shop: Path, job: Job) -> tuple[History, tuple[str, ...]]:
    """What earlier real soaks took from this job's canister, and which run files could not be read.

    Dry runs wear nothing. A run that was never closed counts with nothing: its wear is not known.
    """
    lost_mm, unread = 0.0, []
    for path in run_files(shop):
        try:
            run = glance(path)
        except RecordError as error:
            unread.append(f"{path.name}: {error.text}")
            continue
        if run.header.kind != "run" or run.closing is None:
            continue
        if run.header.plan.get("canister_name") == job.canister.name:
            lost_mm += float(run.closing.summary.get("canister", {}).get("wall_lost_mm", {}).get("mid") or 0.0)
    return History(wall_lost_m=lost_mm / 1000.0), tuple(unread)
