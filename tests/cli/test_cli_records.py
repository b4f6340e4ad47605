"""`soak runs`, `show`, `export`, `report` on every kind of file that may lie in a shop."""

from __future__ import annotations

import csv
import json
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from cli_parts import Bench, Whole

VERBS = ("show", "report", "export")


@pytest.fixture
def filled(whole: Whole, bench: Bench) -> Bench:
    """A shop with one closed run, one that died, one from the future, and one that is no run."""
    runs = bench.shop / "runs"
    runs.mkdir(parents=True)
    for name in ("2026-11-25-quick-dry-run", "2026-11-25-quick-dry-run-2", "2026-11-26-quick-dry-run"):
        shutil.copy(whole.run, runs / f"{name}.soak")
    with closing(sqlite3.connect(runs / "2026-11-25-quick-dry-run-2.soak")) as died, died:
        died.execute("DELETE FROM closing")
    with closing(sqlite3.connect(runs / "2026-11-26-quick-dry-run.soak")) as newer:
        newer.execute("PRAGMA user_version = 99")
    (runs / "2026-11-27-notes.soak").write_text("not a run")
    return bench


def _row(documents: list[dict[str, str]], end: str) -> dict[str, str]:
    return next(d for d in documents if d["run_file"].endswith(end))


def test_runs_lists_them_all_and_says_what_it_cannot_read(filled: Bench) -> None:
    documents = filled("runs", "--json").document()["runs"]
    assert [Path(d["run_file"]).stem for d in documents] == [
        "2026-11-25-quick-dry-run",
        "2026-11-25-quick-dry-run-2",
        "2026-11-26-quick-dry-run",
        "2026-11-27-notes",
    ]
    assert documents[0]["ended"] == "complete"
    assert (documents[0]["kind"], documents[0]["job"]) == ("dry-run", "quick")
    assert documents[1]["ended"] == "interrupted"
    assert "newer soak (schema 99" in documents[2]["error"]
    assert "is not a run file" in documents[3]["error"]
    text = filled("runs")
    assert (text.code, text.err) == (0, "")
    assert text.out.splitlines()[0].split() == ["run", "kind", "started", "ended", "carbon,", "slowest", "piece"]
    assert "interrupted" in text.out


def test_no_runs_yet(bench: Bench) -> None:
    answer = bench("runs")
    assert (answer.code, answer.out) == (0, f"no runs yet in {bench.shop / 'runs'}\n")
    assert bench("show", "last", "--json").refused(7, "run-missing")["hint"] == "runs there: none yet; or give a path"


def test_a_closed_run(filled: Bench, whole: Whole) -> None:
    shown = filled("show", "2026-11-25-quick-dry-run")
    assert shown.code == 0
    assert "dry-run of quick" in shown.out
    assert ", complete" in shown.out
    mid = whole.doc["predicted"]["mean_carbon_pct"]["mid"]
    assert f"reached {mid:.2f} %" in shown.out
    assert re.search(r"hold +850 degC +\d+ min +carbon", shown.out)


def test_a_run_that_died(filled: Bench) -> None:
    shown = filled("show", "2026-11-25-quick-dry-run-2")
    assert shown.code == 0
    assert ", interrupted" in shown.out
    assert "last heard of 14 h" in shown.out
    document = filled("show", "2026-11-25-quick-dry-run-2", "--json").document()
    assert (document["ended"], document["summary"]) == ("interrupted", None)
    assert filled("export", "2026-11-25-quick-dry-run-2", "--json").code == 0
    page = filled("report", "2026-11-25-quick-dry-run-2", "--json").document()["report"]
    assert "interrupted" in Path(page).read_text()


@pytest.mark.parametrize("verb", VERBS)
def test_a_run_from_a_newer_version(filled: Bench, verb: str) -> None:
    error = filled(verb, "2026-11-26", "--json").refused(7, "run-newer")
    assert "was written by a newer soak (schema 99; this one knows schema" in error["text"]
    assert error["hint"] == "Upgrade soak, then open it again."


@pytest.mark.parametrize("verb", VERBS)
def test_a_file_that_is_no_run(filled: Bench, verb: str) -> None:
    assert "is not a run file" in filled(verb, "2026-11-27", "--json").refused(7, "not-a-run")["text"]
    other = filled.folder / "other.db"
    with closing(sqlite3.connect(other)) as database, database:
        database.execute("CREATE TABLE cake (slice)")
    error = filled(verb, other, "--json").refused(7, "not-a-run")
    assert error["text"] == f"{other} is not a run file: it is a database of something else."
    assert error["hint"] == "`soak runs` lists the run files of this shop."
    assert "it is a folder" in filled(verb, filled.folder, "--json").refused(7, "not-a-run")["text"]
    assert "There is no run file" in filled(verb, "/no/such.soak", "--json").refused(7, "run-missing")["text"]


def test_a_name_that_could_be_several(filled: Bench) -> None:
    error = filled("show", "2026-11", "--json").refused(7, "which-run")
    assert error["text"].startswith("2026-11 could be 2026-11-25-quick-dry-run, 2026-11-25-quick-dry-run-2, ")
    assert error["hint"] == "write more of the name"
    # the whole name is one run, though another begins with it
    assert filled("show", "2026-11-25-quick-dry-run", "--json").document()["ended"] == "complete"
    assert filled("show", "2026-11-25-quick-dry-run.soak", "--json").document()["ended"] == "complete"
    missing = filled("show", "2031", "--json").refused(7, "run-missing")
    assert missing["text"] == f"no run called 2031 in {filled.shop / 'runs'}"
    assert "2026-11-25-quick-dry-run" in missing["hint"]


def test_last_is_the_run_that_began_last_whatever_was_noted_since(whole: Whole, bench: Bench) -> None:
    runs = bench.shop / "runs"
    runs.mkdir(parents=True)
    for name, started in (("a-late", "2031-02-03T19:00:00+00:00"), ("b-early", "2031-02-03T07:00:00+00:00")):
        shutil.copy(whole.run, runs / f"{name}.soak")
        with closing(sqlite3.connect(runs / f"{name}.soak")) as database, database:
            database.execute("UPDATE run SET started = ?", (started,))
    assert bench("note", "b-early", "weighed later").code == 0
    assert bench("show", "last", "--json").document()["run_file"].endswith("a-late.soak")


def test_runs_of_one_day_are_listed_in_the_order_they_were_made(whole: Whole, bench: Bench) -> None:
    runs = bench.shop / "runs"
    runs.mkdir(parents=True)
    names = ["2031-02-03-quick-run", "2031-02-03-quick-run-2", "2031-02-03-quick-run-10", "2031-02-04-quick-run"]
    for name in reversed(names):
        shutil.copy(whole.run, runs / f"{name}.soak")
    documents = bench("runs", "--json").document()["runs"]
    assert [Path(d["run_file"]).stem for d in documents] == names


def test_csv_and_json_exports_say_the_same(whole: Whole) -> None:
    document = json.loads(whole.file(".json").read_text())
    with whole.file("-temperature.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    wanted = ["time_s", "setpoint_c", "oven_c", "output_pct", "charge_core_c", "charge_wall_c"]
    assert list(rows[0]) == wanted
    assert [(float(r["time_s"]), float(r["oven_c"])) for r in rows] == [
        (r["time_s"], r["oven_c"]) for r in document["readings"]
    ]
    with whole.file("-carbon.csv").open(newline="") as file:
        carbon = list(csv.DictReader(file))
    assert {r["piece"] for r in carbon} == {"1 core", "1 wall"}
    last = [r for r in carbon if r["piece"] == whole.doc["predicted"]["piece"]][-1]
    assert float(last["mean_carbon_pct_mid"]) == pytest.approx(
        whole.doc["predicted"]["mean_carbon_pct"]["mid"], abs=1e-4
    )
    assert "wall_left_mm_low" in last
    with whole.file("-events.csv").open(newline="") as file:
        assert [r["code"] for r in csv.DictReader(file)] == [e["code"] for e in whole.doc["events"]]
    assert document["ended"] == "complete"
    assert document["summary"]["predicted"] == whole.doc["predicted"]


def test_the_report_is_one_page_that_needs_nothing_else(whole: Whole) -> None:
    page = whole.file(".html").read_text()
    assert page.count("<svg") >= 3
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "https://" not in page
    assert "<script src" not in page
    assert "Thin strips, soon done" in page


def test_exports_where_nothing_can_be_written(whole: Whole, bench: Bench) -> None:
    taken = bench.folder / "taken"
    taken.write_text("a file")
    for verb, where in (("export", taken), ("report", taken / "page.html")):
        error = bench(verb, whole.run, "--out", where, "--json").refused(7, "cannot-write")
        assert error["text"].startswith(f"cannot write {taken}")
        assert error["hint"] == "give another place with --out"


def test_reading_changes_nothing(whole: Whole, bench: Bench) -> None:
    before = whole.run.read_bytes()
    for words in (("show", whole.run), ("export", whole.run, "--out", bench.folder), ("runs",)):
        assert bench(*words).code == 0
    assert whole.run.read_bytes() == before
    beside = {p.name for p in whole.out.iterdir() if p.name.startswith(whole.run.name)}
    assert beside == {whole.run.name}  # no lock, no -wal, no inbox is left
