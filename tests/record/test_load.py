"""Opening run files: what is none, what is newer, what is damaged, what lies in a read-only folder."""

from __future__ import annotations

import shutil
import sqlite3

import pytest

from soak.errors import RecordError
from soak.record.load import glance, load
from soak.record.notes import add_note
from soak.record.rows import Note
from soak.record.store import Store
from soak.trace import Event, Reading


def refusal(path, how=load):
    with pytest.raises(RecordError) as caught:
        how(path)
    assert caught.value.exit_code == 7
    assert str(path) in caught.value.text
    return caught.value


@pytest.mark.parametrize("how", [load, glance])
def test_what_is_no_run_file(tmp_path, how):
    nothing = tmp_path / "nothing.soak"
    error = refusal(nothing, how)
    assert error.code == "run-missing"
    assert "There is no run file" in error.text
    assert "soak runs" in error.hint
    assert not nothing.exists()

    error = refusal(tmp_path, how)
    assert (error.code, "it is a folder" in error.text) == ("not-a-run", True)

    text = tmp_path / "text.soak"
    text.write_text("temperature trace\n" * 100)
    error = refusal(text, how)
    assert (error.code, "it is not a database file" in error.text) == ("not-a-run", True)

    empty = tmp_path / "empty.soak"
    empty.touch()
    error = refusal(empty, how)
    assert (error.code, "it is empty" in error.text) == ("not-a-run", True)

    other = tmp_path / "other.soak"
    with sqlite3.connect(other) as database:
        database.execute("CREATE TABLE run (x)")
    database.close()
    error = refusal(other, how)
    assert (error.code, "a database of something else" in error.text) == ("not-a-run", True)


def edited(store, path, *statements):
    store.close(1.0, "complete", {})
    database = sqlite3.connect(path)
    for statement in statements:
        database.execute(statement)
    database.commit()
    database.close()
    return path


def test_a_newer_file(store, path):
    edited(store, path, "PRAGMA user_version = 2")
    for how in (load, glance, lambda p: Store.reopen(p, lambda: 0.0), lambda p: add_note(p, Note("", "text"))):
        error = refusal(path, how)
        assert error.code == "run-newer"
        assert "written by a newer soak (schema 2; this one knows schema 1)" in error.text
        assert "Upgrade soak" in error.hint
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        ("DELETE FROM run", "the header row is missing"),
        ("UPDATE run SET plan = '{'", "Expecting"),
        ("UPDATE closing SET summary = 'x'", "Expecting value"),
        ("DROP TABLE note", "no such table: note"),
    ],
)
def test_damage_is_named(store, path, damage, words):
    edited(store, path, damage)
    for how in (load, glance):
        error = refusal(path, how)
        assert error.code == "run-broken"
        assert "damaged" in error.text
        assert words in error.text
        assert "Keep the file" in error.hint


def test_a_torn_file(store, path):
    for number in range(2000):
        store.reading(Reading(float(number), 900.123 + number))
    store.close(1.0, "complete", {})
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] + b"\xff" * 4096)
    error = refusal(path)
    assert error.code == "run-broken"
    assert "malformed" in error.text


def test_a_glance(store, path):
    store.reading(Reading(1.0, 900.0))
    store.reading(Reading(6.0, 901.0))
    store.note(Note("2031-02-03T19:00:00+00:00", "spark", {"carbon_pct": [0.6, 0.8]}, uid="a"))
    seen = glance(path)
    assert (seen.header.job, seen.closing, seen.last_time_s, seen.running) == ("plane-irons", None, 6.0, True)
    assert [n.kind for n in seen.notes] == ["spark"]
    store.close(7.0, "complete", {"x": 1})
    seen = glance(path)
    assert seen.closing is not None
    assert (seen.closing.summary, seen.running) == ({"x": 1}, False)


def test_a_run_without_readings(store, path):
    assert glance(path).last_time_s is None
    assert load(path).readings == ()


def test_a_live_run_is_read_while_it_is_written_and_its_reader_does_not_unlock_it(store, path, clock):
    for number in range(500):
        store.event(Event(float(number), "tick", "info", "x" * 200))
        if number % 100 == 0:
            assert len(load(path).events) == number + 1
            with pytest.raises(RecordError, match="being written by another soak"):
                Store.reopen(path, clock)
    assert load(path).cautions == ()


def files_in(folder, path, endings):
    folder.joinpath("read-only").mkdir()
    for ending in endings:
        shutil.copy(f"{path}{ending}", folder / "read-only" / f"one.soak{ending}")
        (folder / "read-only" / f"one.soak{ending}").chmod(0o444)
    (folder / "read-only").chmod(0o555)
    return folder / "read-only" / "one.soak"


def test_a_closed_run_in_a_read_only_folder(store, path, open_folder, in_child):
    store.reading(Reading(1.0, 900.0))
    store.close(2.0, "complete", {})
    there = files_in(open_folder, path, [""])
    assert in_child(lambda: f"{len(load(there).readings)} {glance(there).running}", bound=True) == "1 False"
    said = in_child(lambda: add_note(there, Note("", "text")), bound=True)
    assert said.startswith("RecordError")
    assert "cannot be opened or written" in said


def test_an_open_run_in_a_read_only_folder(store, path, open_folder, in_child):
    store.event(Event(1.0, "x", "info", ""))
    there = files_in(open_folder, path, ["", "-wal", "-shm"])
    assert in_child(lambda: str(len(load(there).events)), bound=True) == "1"


def test_an_open_run_in_a_read_only_folder_without_its_shm(store, path, open_folder, in_child):
    store.event(Event(1.0, "x", "info", ""))
    there = files_in(open_folder, path, ["", "-wal"])
    said = in_child(lambda: str(len(load(there).events)), bound=True)
    assert "has rows in one.soak-wal, and the folder is read-only" in said
    assert "Copy one.soak and one.soak-wal together" in said


def test_a_run_copied_alone_into_a_read_only_folder(store, path, open_folder, in_child):
    store.leave()
    database = sqlite3.connect(path)
    database.execute("PRAGMA journal_mode=WAL")  # as a process leaves it that ended without a word
    database.close()
    there = files_in(open_folder, path, [""])
    assert in_child(lambda: load(there).header.job, bound=True) == "plane-irons"
