"""Older schemas: read in memory, upgraded on the disk only by a writer; steps run in order or not at all."""

from __future__ import annotations

import sqlite3

import pytest

from soak.errors import RecordError
from soak.record import upgrade as module
from soak.record.load import glance, load
from soak.record.opening import open_to_write
from soak.record.upgrade import upgrade, version_of


def rename_title(database: sqlite3.Connection) -> None:
    """A schema 0 that never was: `title` was called `name`."""
    database.execute("ALTER TABLE run RENAME COLUMN name TO title")


@pytest.fixture
def old(store, path):
    store.close(1.0, "complete", {})
    with sqlite3.connect(path) as database:
        database.execute("ALTER TABLE run RENAME COLUMN title TO name")
        database.execute("PRAGMA user_version = 0")
    database.close()
    return path


def test_the_schema_and_the_code_say_the_same_version_and_mark(store, path):
    database = store._database
    assert version_of(database) == module.VERSION == 1
    mark = database.execute("PRAGMA application_id").fetchone()[0]
    assert mark == module.APPLICATION_ID == int.from_bytes(b"soak", "big")


def test_reading_an_old_file_leaves_it_as_it_is(old, header):
    before = old.read_bytes()
    assert load(old, {0: rename_title}).header == header
    assert glance(old, {0: rename_title}).header == header
    assert old.read_bytes() == before


def test_a_writer_upgrades_the_file(old, header):
    open_to_write(old, {0: rename_title}).close()
    assert load(old).header == header


def test_a_file_too_old(old):
    for how in (load, glance, open_to_write):
        with pytest.raises(RecordError) as caught:
            how(old)
        assert caught.value.code == "run-too-old"
        assert f"{old} is of schema 0; this soak reads schemas back to 1" in caught.value.text
        assert "export it there" in caught.value.hint


def test_steps_run_in_order_or_not_at_all(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "VERSION", 3)
    database = sqlite3.connect(tmp_path / "x", isolation_level=None)
    done = []

    def step(number):
        def run(open_database):
            open_database.execute(f"CREATE TABLE t{number} (x)")
            done.append(number)

        return run

    with pytest.raises(RecordError, match=r"is of schema 2; this soak reads schemas back to 0"):
        upgrade(database, tmp_path / "x", {0: step(0), 1: step(1)})
    assert version_of(database) == 0
    assert database.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    done.clear()
    upgrade(database, tmp_path / "x", {2: step(2), 0: step(0), 1: step(1)})
    assert done == [0, 1, 2]
    assert version_of(database) == 3
    upgrade(database, tmp_path / "x", {})  # nothing to do
    database.close()
