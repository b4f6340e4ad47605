"""`soak note`: each kind of evidence has its place; slips are refused before anything is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_parts import Bench, Whole

from soak.record.load import glance


@pytest.fixture
def run(whole: Whole, bench: Bench) -> Path:
    path = bench.folder / "one.soak"
    path.write_bytes(whole.run.read_bytes())
    return path


SAID = [
    (("tongs slipped, dropped it",), "text", {}),
    (("--weight-before", "1.482 kg", "--weight-after", "1490 g"), "weighing", {"before_kg": 1.482, "after_kg": 1.49}),
    (("--weight-after", "3 lb", "--of", "canister"), "weighing", {"of": "canister", "after_kg": 1.36077711}),
    (("--coupon", "0.83 %"), "coupon", {"coupon_carbon_pct": 0.83}),
    (("--broke", "fine grain, bright rim 0.4 mm"), "break", {"broke": "fine grain, bright rim 0.4 mm"}),
    (("--spark", "0.7 % to 0.9 %"), "spark", {"spark_carbon_low_pct": 0.7, "spark_carbon_high_pct": 0.9}),
    (("--witness", "961.8 degC", "--melted"), "witness", {"witness_c": 961.8, "melted": True}),
    (("--witness", "1763 degF", "--no-melted"), "witness", {"witness_c": 961.6667, "melted": False}),
]


@pytest.mark.parametrize(("words", "kind", "values"), SAID, ids=[" ".join(s[0]) for s in SAID])
def test_what_was_seen_is_kept(
    bench: Bench, run: Path, words: tuple[str, ...], kind: str, values: dict[str, object]
) -> None:
    told = bench("note", run, *words, "--json").document()
    assert told["done"] == "written"
    (note,) = glance(run).notes
    assert note.kind == told["note"]["kind"] == kind
    for key, value in values.items():
        assert note.values[key] == (pytest.approx(value, abs=1e-4) if isinstance(value, float) else value)
    assert note.text == (words[0] if kind == "text" else "")
    shown = bench("show", run).out
    assert f"note  {note.wall}  {kind}" in shown


def test_a_photo_by_its_path(bench: Bench, run: Path) -> None:
    photo = bench.folder / "break.jpg"
    photo.write_bytes(b"\xff\xd8")
    assert bench("note", run, "--photo", photo).out == "photo: written into the run file\n"
    assert glance(run).notes[0].values == {"photo": str(photo.resolve())}


WRONG = [
    ((), "note", "nothing was said"),
    (("--weight-after", "1490"), "unit-missing", "--weight-after: read"),
    (("--weight-before", "4 mm"), "wrong-dimension", "--weight-before: read"),
    (("--weight-before=-1 kg",), "out-of-range", '--weight-before: read "-1 kg", outside'),
    (("--coupon", "83 %"), "out-of-range", '--coupon: read "83 %", outside what is sensible here (0 % to 6.7 %)'),
    (("--coupon", "0.83"), "unit-missing", "--coupon: read"),
    (("--spark", "0.8 %"), "note", "--spark '0.8 %' is not an interval"),
    (("--spark", "0.9 % to 0.7 %"), "note", "runs from more to less"),
    (("--spark", "a to b"), "not-a-number", "--spark: read"),
    (("--witness", "961.8 degC"), "note", "a witness says nothing without --melted or --no-melted"),
    (("--witness", "961.8", "--melted"), "unit-missing", "--witness: read"),
    (("--witness", "9618 degC", "--melted"), "out-of-range", "--witness: read"),
    (("--melted",), "note", "--melted needs --witness"),
    (("--photo", "/no/such.jpg"), "note", "there is no file /no/such.jpg"),
]


@pytest.mark.parametrize(("words", "word", "text"), WRONG, ids=[" ".join(w[0]) or "nothing" for w in WRONG])
def test_a_slip_is_refused_and_nothing_written(
    bench: Bench, run: Path, words: tuple[str, ...], word: str, text: str
) -> None:
    before = run.read_bytes()
    error = bench("note", run, *words, "--json").refused(2, word)
    assert text in error["text"]
    assert error["hint"]
    assert run.read_bytes() == before


def test_a_sign_of_life_needs_a_run_that_goes_on(bench: Bench, run: Path) -> None:
    error = bench("note", run, "--alive", "--json").refused(7, "no-loop")
    assert error["text"] == f"No loop is running {run}: nobody would read the message."
