"""`soak run`: the real thing, attended. Asks before heat; without a terminal and without --yes nothing heats."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from soak.cli import finish
from soak.cli import output as o
from soak.cli.common import COMMON, Common
from soak.cli.planned import planned_for
from soak.cli.progress import shown
from soak.errors import UsageError
from soak.link.oven import ModbusOven
from soak.link.simulated import must_run_at
from soak.plan.choose import Planned
from soak.plan.document import document
from soak.shop.attendance import Attendance
from soak.shop.conduct import answering, controller_of, real_run
from soak.shop.folder import new_run, runs_folder, shop_folder

QUESTIONS = (
    "an independent over-temperature limiter is fitted, set and tested",
    "a carbon monoxide alarm works here, and the room is ventilated or extracted",
    "the canister's vent is open, and nothing that burns stands near the oven",
)


def run(
    job: str,
    /,
    *,
    port: str,
    address: int = 1,
    out: Path | None = None,
    yes: Annotated[bool, Parameter(negative="")] = False,
    rate: float = 1.0,
    at: str | None = None,
    override: str = "",
    common: Common = COMMON,
) -> int:
    """The real run, attended: press Enter at least every 15 minutes, or the power goes off 15 minutes after the alarm.

    Supervision, not a safety device.

    Parameters
    ----------
    job
        A job's name, or a path to its file.
    port
        A device path, or socket://host:port.
    address
        The controller's address on the line.
    out
        Put the run file here instead of in the shop.
    yes
        Answer yes to the questions asked before heat.
    rate
        Only with the simulator: how many times faster than the wall its time runs.
    at
        Hold at this temperature, as "1000 degC".
    override
        A reason to accept a breach chance above 10 %.
    """
    planned = planned_for(job, at, override, common)
    controller = controller_of(planned)
    if not 0.0 < rate <= 20000.0:
        raise UsageError("rate", f"--rate {rate:g} is not possible", "leave it out for a real oven")
    if rate != 1.0:
        must_run_at(port, address, controller, rate)
    with answering(planned, port, address) as oven:
        consent(planned, yes, common)
        return _heat(planned, oven, {"port": port, "address": address}, rate, out, common)


def _heat(
    planned: Planned, oven: ModbusOven, link: dict[str, Any], rate: float, out: Path | None, common: Common
) -> int:
    """Everything after the person's word."""
    folder = out if out is not None else runs_folder(shop_folder(common.shop))
    path = new_run(folder, planned.job.name, "run", datetime.now())
    people: list[Attendance] = []

    def attend(store, run_path):  # type: ignore[no-untyped-def]
        keys = sys.stdin is not None and sys.stdin.isatty()
        people.append(Attendance(store, run_path, o.say_err, ask_first=True, keys=keys))
        return people[0]

    o.say_err(f"run file  {path}", "press Enter at least every 15 minutes; Ctrl-C twice switches the heat off")
    with shown(planned, common.units, quiet=common.json) as see:
        done = real_run(planned, path, oven, link, rate, attend, see)
    if common.json:
        o.emit_json(done.summary)
    else:
        o.say(*finish.text(done.summary, document(planned), common.units))
    return finish.code(done.outcome.ended, people[0].stopped_by)


def consent(planned: Planned, yes: bool, common: Common) -> None:
    """Ask once. Raises UsageError (exit 2) when the answer is not yes, or when there is nobody to ask."""
    doc = document(planned)
    o.say_err(*o.wrapped("soak is supervision, not a safety device. Local codes and licensed practice come first."))
    o.say_err(f"about to heat to {o.temperature(planned.chosen.hold_c, common.units)} for {doc['heat_on_h']:.1f} h:")
    for question in QUESTIONS:
        o.say_err(f"  - {question}")
    if yes:
        o.say_err("answered with --yes")
        return
    if not sys.stdin.isatty():
        text = "nothing is heated without a person's word: there is no terminal to ask at"
        raise UsageError("no-consent", text, "run it at a terminal, or answer with --yes")
    o.say_err('All true? Type "yes" to switch the heat on: ')
    if sys.stdin.readline().strip().lower() != "yes":
        raise UsageError("no-consent", "not confirmed: nothing was heated", 'type "yes" when all of it is true')
