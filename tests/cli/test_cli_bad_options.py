"""Verbs, options and arguments that are wrong: exit 2, what is wrong, what to write; and nothing has happened."""

from __future__ import annotations

import pytest
from cli_parts import Bench

USAGE = "soak --help, or soak VERB --help"

WRONG = {
    "verb": (("frobnicate",), "usage", 'Unknown command "frobnicate"', USAGE),
    "option": (("plan", "JOB", "--frobnicate"), "usage", "Unknown option: --frobnicate", USAGE),
    "option of another verb": (("plan", "JOB", "--port", "x"), "usage", "--port", USAGE),
    "no job": (("plan",), "usage", "JOB requires an argument", USAGE),
    "no value": (("plan", "JOB", "--at"), "usage", "--at requires an argument", USAGE),
    "too many": (("plan", "JOB", "other"), "usage", "Unused Tokens: ['other']", USAGE),
    "no trace": (("predict", "JOB"), "usage", "--trace requires an argument", USAGE),
    "no port": (("run", "JOB"), "usage", "--port requires an argument", USAGE),
    "no run": (("show",), "usage", "RUN requires an argument", USAGE),
    "units": (("plan", "JOB", "--units", "metric"), "usage", 'Choose from: "si", "us"', USAGE),
    "export to": (("export", "last", "--to", "xml"), "usage", 'Choose from: "csv", "json"', USAGE),
    "segments": (("plan", "JOB", "--segments", "two"), "usage", 'unable to convert "two" into int', USAGE),
    "seed": (("dry-run", "JOB", "--seed", "x"), "usage", 'unable to convert "x" into int', USAGE),
    "address": (("run", "JOB", "--port", "x", "--address", "one"), "usage", 'unable to convert "one"', USAGE),
    "start": (("plan", "JOB", "--start", "25:00"), "start", "'25:00' is not a time of day", "write it as 19:00"),
    "start in words": (("plan", "JOB", "--start", "noon"), "start", "'noon' is not a time of day", "write it as"),
    "at without unit": (("plan", "JOB", "--at", "950"), "unit-missing", "--at: read", 'write for example "950 degC"'),
    "at in kg": (("plan", "JOB", "--at", "950 kg"), "wrong-dimension", "--at: read", 'write for example "950 degC"'),
    "at of a dry run": (("dry-run", "JOB", "--at", "hot"), "not-a-number", '--at: read "hot"', "write for example"),
    "rate zero": (("run", "JOB", "--port", "x", "--rate", "0"), "rate", "--rate 0 is not possible", "leave it out"),
    "rate below": (("run", "JOB", "--port", "x", "--rate=-5"), "rate", "--rate -5 is not", "leave it out"),
    "rate is no number": (("run", "JOB", "--port", "x", "--rate", "nan"), "rate", "--rate nan", "leave it out"),
    "rate in words": (("run", "JOB", "--port", "x", "--rate", "fast"), "usage", 'unable to convert "fast"', USAGE),
    "fault unknown": (
        ("dry-run", "JOB", "--fault", "frob@1h"),
        "simulator",
        "fault 'frob' is not known here: write one of sensor-open,",
        "python -m hw_sim --help lists what it takes",
    ),
    "fault without time": (
        ("dry-run", "JOB", "--fault", "sensor-open"),
        "simulator",
        "fault 'sensor-open' has no start: write NAME@TIME, as sensor-open@6h30",
        "python -m hw_sim --help",
    ),
    "fault at no time": (
        ("dry-run", "JOB", "--fault", "sensor-open@noon"),
        "simulator",
        "time 'noon' is not read here: write 6h30, 90min, 3600s or 3600 (seconds)",
        "python -m hw_sim --help",
    ),
}


@pytest.mark.parametrize(("words", "word", "text", "hint"), WRONG.values(), ids=WRONG)
def test_a_wrong_call(bench: Bench, words: tuple[str, ...], word: str, text: str, hint: str) -> None:
    job = str(bench.job())
    said = [job if w == "JOB" else w for w in words]
    error = bench(*said, "--json").refused(2, word)
    assert text in error["text"]
    assert hint in error["hint"]
    assert bench.runs == []


def test_people_read_it_on_stderr(bench: Bench) -> None:
    answer = bench("plan", bench.job(), "--frobnicate")
    assert (answer.code, answer.out) == (2, "")
    assert answer.err == "soak: Unknown option: --frobnicate.\n  -> soak --help, or soak VERB --help\n"


def test_too_few_segments_at_the_panel(bench: Bench) -> None:
    error = bench("plan", bench.job(), "--type-in", "--segments", "2", "--json").refused(2, "too-few-segments")
    assert error["text"] == "this plan needs 3 segments, the panel has 2"


def test_a_controller_that_is_none_can_neither_be_run_nor_tried(bench: Bench) -> None:
    job = bench.job(bench.job().read_text().replace('controller = "int-tenths"', 'controller = "none"'))
    for words in (("dry-run", job), ("run", job, "--port", "/dev/no-such-port", "--yes")):
        error = bench(*words, "--json").refused(2, "no-controller")
        assert 'says controller = "none": there is nothing to talk to' in error["text"]
        assert "--type-in" in error["hint"]
        assert "soak predict" in error["hint"]
    assert bench("plan", job, "--json").code == 0
    assert bench.runs == []


def test_a_place_that_cannot_be_written(bench: Bench) -> None:
    taken = bench.folder / "taken"
    taken.write_text("a file")
    error = bench("dry-run", bench.job(), "--out", taken, "--json").refused(7, "folder")
    assert error["text"].startswith(f"cannot make the folder {taken}")
    assert error["hint"] == "give another with --out"
