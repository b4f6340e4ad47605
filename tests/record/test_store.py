"""The run file being written: what is on the disk when, what comes back, what is refused."""

from __future__ import annotations

import dataclasses
import math
import sqlite3
from pathlib import Path

import numpy as np
import pytest

from soak.errors import RecordError
from soak.record.load import load
from soak.record.rows import Action, Band, Note, ProfilePoint
from soak.record.statements import intent_row, reading_row
from soak.record.store import Store
from soak.record.writing import write
from soak.run.ports import Recorder
from soak.trace import Event, Reading


def on_disk(path: Path, table: str) -> int:
    return len(getattr(load(path), table))


def test_round_trip(store, path, header, prediction):
    recorder: Recorder = store
    readings = (
        Reading(0.0, 20.1, 0.0, 100.0, None, False),
        Reading(5.0, None, 950.0, None, 881.2, True),
        Reading(10.0, 0.1 + 0.2),
    )
    for reading in readings:
        recorder.reading(reading)
    recorder.prediction(60.0, prediction(0.8))
    event = Event(61.0, "at-heat", "info", "The oven is at heat; the charge is not.")
    recorder.event(event)
    first = recorder.intent(62.0, "ask", 950.0)
    recorder.result(first, 62.5, "stands")
    second = recorder.intent(63.0, "make-safe", None)
    note = Note(wall="2031-02-03T19:00:00+00:00", kind="weighing", values={"before_g": 812.5}, text="dry", time_s=64.0)
    store.note(note)
    store.note(note)
    summary = {
        "target_met": True,
        "pieces": [
            {"piece": "1 core", "profile": [{"depth_mm": 0.0, "carbon_pct": {"low": 1.0, "mid": 1.1, "high": 1.2}}]},
            {"where": "wall", "profile": [{"depth_mm": 0.5, "carbon_pct": 0.9}]},
            {"piece": "3 wall"},
        ],
    }
    recorder.close(70.0, "complete", summary)

    record = load(path)
    assert record.header == header
    assert record.readings == readings
    assert [p.piece for p in record.predictions] == ["1 core", "2 wall"]
    one, two = record.predictions
    assert (one.time_s, one.mean_carbon_pct) == (60.0, Band(0.8 - 0.1, 0.8, 0.8 + 0.1))
    assert one.surface_carbon_pct.mid == 0.8 + 0.4
    assert one.centre_carbon_pct.mid == 0.8 - 0.2
    assert one.case_depth_mm == Band(0.9, 1.0, 1.1)
    assert two.case_depth_mm == Band(None, None, None)
    (charge,) = record.charge
    assert (charge.time_s, charge.core_c, charge.wall_c, charge.pco_mid) == (60.0, 901.5, 930.25, 0.9)
    assert charge.wall_left_mm == Band(3.4, 3.5, 3.6)
    assert record.events == (event,)
    assert record.actions == (
        Action(first, 62.0, "ask", 950.0, 62.5, "stands"),
        Action(second, 63.0, "make-safe", None, None, None),
    )
    assert record.notes == (note,)
    assert record.profiles == (
        ProfilePoint("1 core", 0.0, Band(1.0, 1.1, 1.2)),
        ProfilePoint("2 wall", 0.5, Band(None, 0.9, None)),
    )
    assert record.closing is not None
    assert (record.closing.time_s, record.closing.ended, record.closing.summary) == (70.0, "complete", summary)
    assert record.cautions == ()


def test_close_leaves_one_plain_file(store, path):
    store.event(Event(1.0, "x", "info", ""))
    assert path.with_name("one.soak-wal").exists()
    store.close(2.0, "stopped", {})
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]
    with sqlite3.connect(path) as database:
        assert database.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    database.close()


def test_the_disk_is_asked_to_hold_every_commit(store):
    pragma = store._database.execute
    assert pragma("PRAGMA synchronous").fetchone() == (2,)  # 2 is FULL, https://sqlite.org/pragma.html (memory)
    assert pragma("PRAGMA journal_mode").fetchone() == ("wal",)


@pytest.mark.parametrize("poll_s", [0.1, 1.0, 2.0, 5.0])
def test_no_reading_waits_longer_than_5_s(store, path, clock, poll_s):
    for number in range(1, 31):
        clock.s += poll_s
        store.reading(Reading(float(number), 900.0))
        waiting = number - on_disk(path, "readings")
        assert waiting * poll_s <= 5.0 + 1e-9
        # The batch is used as far as it goes: no commit at each reading when several fit into 5 s.
        if number * poll_s <= 2.0 and poll_s < 2.0:
            assert waiting == number


def test_predictions_wait_like_readings(store, path, clock, prediction):
    store.prediction(60.0, prediction(0.5))
    assert on_disk(path, "predictions") == 0
    clock.s += 5.0
    store.reading(Reading(65.0, 900.0))
    assert (on_disk(path, "predictions"), on_disk(path, "charge"), on_disk(path, "readings")) == (2, 1, 1)


@pytest.mark.parametrize("urgent", ["event", "intent", "result", "note", "commit"])
def test_urgent_rows_take_everything_with_them(store, path, urgent):
    row = store.intent(0.0, "ask", 1.0)
    store.reading(Reading(1.0, 900.0))
    assert on_disk(path, "readings") == 0
    {
        "event": lambda: store.event(Event(1.0, "x", "info", "")),
        "intent": lambda: store.intent(1.0, "ask", 2.0),
        "result": lambda: store.result(row, 1.0, "stands"),
        "note": lambda: store.note(Note("2031-02-03T19:00:00+00:00", "text")),
        "commit": store.commit,
    }[urgent]()
    assert on_disk(path, "readings") == 1


def test_an_existing_file_is_never_overwritten(path, header, clock):
    path.write_text("my only copy")
    with pytest.raises(RecordError) as caught:
        Store.create(path, header, clock)
    assert caught.value.code == "run-exists"
    assert str(path) in caught.value.text
    assert "another name" in caught.value.hint
    assert path.read_text() == "my only copy"
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]


def test_a_folder_that_does_not_exist(tmp_path, header, clock):
    with pytest.raises(RecordError) as caught:
        Store.create(tmp_path / "no" / "one.soak", header, clock)
    assert caught.value.code == "run-unwritable"
    assert f"the folder {tmp_path / 'no'} does not exist" in caught.value.text


def test_a_folder_one_may_not_write_to(open_folder, in_child, header, clock):
    open_folder.chmod(0o555)
    said = in_child(lambda: str(Store.create(open_folder / "one.soak", header, clock)), bound=True)
    assert said.startswith("RecordError: ")
    assert "cannot be opened or written" in said
    assert "you may write in it" in said


def test_a_header_that_json_cannot_hold_leaves_no_file(path, header, clock):
    with pytest.raises(RecordError, match=r"plan\.where is a PosixPath") as caught:
        Store.create(path, dataclasses.replace(header, plan={"where": path}), clock)
    assert caught.value.code == "not-json"
    assert list(path.parent.iterdir()) == []


def test_numbers_from_arrays_and_numbers_that_are_none(path, header, clock):
    draws = {"names": ("a",), "values": np.array([[0.5], [np.nan]]), "members": np.int64(2)}
    store = Store.create(path, dataclasses.replace(header, draws=draws, link=None), clock)
    store.reading(Reading(np.float64(1.0), np.float32(900.5), math.inf, math.nan))
    store.close(1.0, "complete", {"carbon": np.float64(0.8), "bad": math.nan})
    record = load(path)
    assert record.header.draws == {"names": ["a"], "values": [[0.5], [None]], "members": 2}
    assert record.header.link is None
    assert record.readings == (Reading(1.0, 900.5),)
    assert record.closing is not None
    assert record.closing.summary == {"carbon": 0.8, "bad": None}


def test_a_time_that_is_no_number_does_not_spoil_the_batch(store, path):
    store.reading(Reading(1.0, 900.0))
    with pytest.raises(RecordError, match="A reading came with the time nan") as caught:
        store.reading(Reading(math.nan, 900.0))
    assert caught.value.code == "bad-time"
    store.commit()
    assert on_disk(path, "readings") == 1


def test_a_prediction_of_the_wrong_form_is_named(store, path, prediction):
    values = prediction(0.5)
    del values["pieces"][1]["centre_carbon_pct"]
    with pytest.raises(RecordError, match=r"prediction at 60.0 s .*'centre_carbon_pct'") as caught:
        store.prediction(60.0, values)
    assert caught.value.code == "bad-prediction"
    store.commit()
    assert on_disk(path, "predictions") == 0


def test_words_with_bytes_that_are_not_text_are_kept(store, path):
    store.event(Event(1.0, "x", "info", "caf\udce9"))
    assert load(path).events[0].text == "caf\\udce9"


def test_after_the_end_nothing_is_recorded(store, path):
    store.close(1.0, "complete", {})
    with pytest.raises(RecordError, match="This store has been closed") as caught:
        store.reading(Reading(2.0, 900.0))
    assert caught.value.code == "run-closed"
    store.leave()  # harmless
    with pytest.raises(RecordError, match=r"one.soak ended \(complete\); nothing more can be recorded") as caught:
        Store.reopen(path, lambda: 0.0)
    assert caught.value.code == "run-closed"
    assert "Start a new run" in caught.value.hint
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]


@pytest.mark.parametrize("how", ["leave", "interrupted"])
def test_a_run_is_taken_up_again(store, path, clock, how):
    first = store.intent(1.0, "ask", 900.0)
    if how == "leave":
        store.reading(Reading(1.5, 899.0))
        store.leave()
    else:
        store.reading(Reading(1.5, 899.0))
        store.close(2.0, "interrupted", {"pieces": [{"piece": "1", "profile": [{"depth_mm": 0, "carbon_pct": 1}]}]})
        assert len(load(path).profiles) == 1
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]

    again = Store.reopen(path, clock)
    assert (load(path).closing, load(path).profiles) == (None, ())
    assert again.intent(100.0, "ask", 900.0) == first + 1
    again.close(101.0, "complete", {})
    record = load(path)
    assert [r.time_s for r in record.readings] == [1.5]
    assert [a.time_s for a in record.actions] == [1.0, 100.0]
    assert record.closing is not None
    assert record.closing.ended == "complete"


def test_reopening_what_is_not_there(path, clock):
    with pytest.raises(RecordError) as caught:
        Store.reopen(path, clock)
    assert caught.value.code == "run-missing"
    assert list(path.parent.iterdir()) == []


def test_a_stale_inbox_of_a_lost_run_does_not_speak_to_a_new_one(path, header, clock):
    inbox = path.with_name("one.soak.inbox")
    inbox.write_text('\n{"message":"make-safe"}\n')
    store = Store.create(path, header, clock)
    assert not inbox.exists()
    store.leave()


def test_a_ctrl_c_amid_a_commit_leaves_no_half_transaction(store, path):
    store.reading(Reading(1.0, 900.0))

    def rows():
        yield reading_row(Reading(2.0, 900.0))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write(store._database, rows(), path)
    store.commit()
    assert [r.time_s for r in load(path).readings] == [1.0]


def test_an_intent_written_twice_keeps_its_result(store, path):
    row = store.intent(1.0, "ask", 900.0)
    store.result(row, 1.5, "stands")
    write(store._database, [intent_row(row, 1.0, "ask", 900.0)], path)
    (action,) = load(path).actions
    assert action.outcome == "stands"


def test_a_summary_with_a_broken_profile_is_named(store, path):
    with pytest.raises(RecordError, match=r"The summary's profiles .*'depth_mm'") as caught:
        store.close(1.0, "complete", {"pieces": [{"piece": "1", "profile": [{"carbon_pct": 0.5}]}]})
    assert caught.value.code == "bad-summary"
    store.close(1.0, "complete", {})
    assert load(path).closing is not None
