"""`soak dry-run`: the same loop as a real run, on the simulated oven and controller."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from soak.cli import finish
from soak.cli import output as o
from soak.cli.common import COMMON, Common
from soak.cli.planned import planned_for
from soak.cli.progress import shown
from soak.plan.document import document
from soak.record.load import load
from soak.shop.attendance import Attendance
from soak.shop.conduct import dry_run as conduct_dry
from soak.shop.exports import export_csv, export_json, write
from soak.shop.folder import new_run, runs_folder, shop_folder


def dry_run(
    job: str,
    /,
    *,
    out: Path | None = None,
    seed: int = 0,
    fault: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    at: str | None = None,
    override: str = "",
    common: Common = COMMON,
) -> int:
    """The same loop as a real run, over real Modbus frames, on the simulated oven and controller.

    Parameters
    ----------
    job
        A job's name, or a path to its file.
    out
        Put the run file, its CSV and JSON exports and its report here, instead of the run file in the shop alone.
    seed
        Which simulated oven: the same seed is the same oven.
    fault
        What fails and when, as sensor-open@6h30; may be given several times.
    at
        Hold at this temperature, as "1000 degC".
    override
        A reason to accept a breach chance above 10 %.
    """
    planned = planned_for(job, at, override, common)
    folder = out if out is not None else runs_folder(shop_folder(common.shop))
    path = new_run(folder, planned.job.name, "dry-run", datetime.now())
    people: list[Attendance] = []

    def attend(store, run_path):  # type: ignore[no-untyped-def]
        people.append(Attendance(store, run_path, o.say_err, ask_first=False, keys=False))
        return people[0]

    with shown(planned, common.units, quiet=common.json) as see:
        done = conduct_dry(planned, path, seed, fault, attend, see)
    written: list[Path] = []
    if out is not None:
        from soak.report.page import html

        record = load(path)
        written = [*export_csv(record, out, path.stem), *export_json(record, out, path.stem)]
        written.append(write(out / f"{path.stem}.html", html(record, common.units)))
    if common.json:
        o.emit_json({**done.summary, "exports": [str(p) for p in written]})
    else:
        o.say(*finish.text(done.summary, document(planned), common.units))
        o.say(*(f"          {p}" for p in written))
        speed = f"{done.outcome.time_s / 3600:.1f} h in {done.wall_s:.0f} s, {done.frames} questions over the line"
        o.say_err(f"simulated: {speed}")
    return finish.code(done.outcome.ended, people[0].stopped_by)
