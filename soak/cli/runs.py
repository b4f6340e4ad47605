"""`soak runs`, `show`, `report`, `export`: the record, read only."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from soak.cli import finish, plan_text
from soak.cli import output as o
from soak.cli.common import COMMON, Common
from soak.errors import RecordError
from soak.record.load import glance, load
from soak.record.rows import Glance
from soak.shop.evidence import with_witnesses, witnesses
from soak.shop.exports import export_csv, export_json, write
from soak.shop.folder import find_run, run_files, runs_folder, shop_folder


def runs(*, common: Common = COMMON) -> None:
    """The shop's run files, oldest first."""
    shop = shop_folder(common.shop)
    rows, documents = [("run", "kind", "started", "ended", "carbon, slowest piece")], []
    for path in run_files(shop):
        try:
            g = glance(path)
        except RecordError as error:
            rows.append((path.stem, "?", "", error.text, ""))
            documents.append({"run_file": str(path), "error": error.text})
            continue
        p = g.closing.summary.get("predicted", {}) if g.closing else {}
        carbon = o.percent(p["mean_carbon_pct"]) if p else ""
        rows.append((path.stem, g.header.kind, g.header.started, ended(g), carbon))
        documents.append(
            {
                "run_file": str(path),
                "kind": g.header.kind,
                "job": g.header.job,
                "started": g.header.started,
                "ended": ended(g),
            }
        )
    if common.json:
        o.emit_json({"runs": documents})
    elif not documents:
        o.say(f"no runs yet in {runs_folder(shop)}")
    else:
        o.say(*o.table(rows, ""))


def ended(g: Glance) -> str:
    """How it ended, as far as the file knows."""
    return g.closing.ended if g.closing else "running" if g.running else "interrupted"


def show(run: str, /, *, common: Common = COMMON) -> None:
    """One run in short.

    Parameters
    ----------
    run
        A path, a name, the beginning of a name, or last.
    """
    path = find_run(shop_folder(common.shop), run)
    g = glance(path)
    if common.json:
        o.emit_json({"run_file": str(path), "ended": ended(g), "header": header(g), "summary": summary(g)})
        return
    o.say(f"{path.stem}: {g.header.kind} of {g.header.job}, started {g.header.started}, {ended(g)}", "")
    if g.closing:
        o.say(*finish.text({**g.closing.summary, "run_file": str(path)}, g.header.plan, common.units))
    else:
        hours = o.duration((g.last_time_s or 0.0) / 3600.0)
        o.say(f"last heard of {hours} after its start; soak report {path} shows how far it got")
    weighed = with_witnesses(load(path)) if witnesses(g.notes) else None
    o.say(*(plan_text.evidence(weighed) if weighed else ()))
    for n in g.notes:
        values = ", ".join(f"{k} {v}" for k, v in n.values.items())
        o.say(f"note  {n.wall}  {n.kind}  {values}  {n.text}".rstrip())


def header(g: Glance) -> dict[str, Any]:
    h = g.header
    return {"kind": h.kind, "job": h.job, "title": h.title, "started": h.started, "soak": h.soak, "link": h.link}


def summary(g: Glance) -> dict[str, Any] | None:
    return dict(g.closing.summary) if g.closing else None


def report(run: str, /, *, out: Path | None = None, common: Common = COMMON) -> None:
    """One run as a self-contained HTML page to file with the batch.

    Parameters
    ----------
    run
        A path, a name, the beginning of a name, or last.
    out
        Where to write it (else beside the run file).
    """
    from soak.report.page import html

    path = find_run(shop_folder(common.shop), run)
    page = write(out or path.with_suffix(".html"), html(load(path), common.units))
    if common.json:
        o.emit_json({"report": str(page)})
    else:
        o.say(str(page))


def export(
    run: str, /, *, to: Literal["csv", "json"] = "csv", out: Path | None = None, common: Common = COMMON
) -> None:
    """One run as CSV files (temperature, carbon, events, notes) or as one JSON file.

    Parameters
    ----------
    run
        A path, a name, the beginning of a name, or last.
    to
        csv or json.
    out
        The folder to write into (else beside the run file).
    """
    path = find_run(shop_folder(common.shop), run)
    record = load(path)
    folder = out or path.parent
    written = export_csv(record, folder, path.stem) if to == "csv" else export_json(record, folder, path.stem)
    if common.json:
        o.emit_json({"exports": [str(p) for p in written]})
    else:
        o.say(*(str(p) for p in written))
