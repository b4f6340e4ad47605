"""What people read: on stdout the answer, on stderr progress; no escape codes where nobody sees them."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from cli_parts import Bench, Terminal, Whole, finished

ESCAPE = "\x1b"
COLOUR = re.compile(r"\x1b\[(?:\d+;)*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;\d+)*m")
INSTALLED = Path(sys.executable).with_name("soak")


def test_a_plan_is_told_on_stdout_alone(whole: Whole) -> None:
    answer = whole.bench("plan", whole.job)
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0] == "Thin strips, soon done"
    assert lines[2].startswith("0.50 % C mean wanted: expect 0.50 % (")
    for part in (
        "degC/h",
        "power on for 2 h 2",
        "canister  loses",
        "pack  ",
        "2 of 2 strips fit",
        "other hold",
        "mind",
    ):
        assert part in answer.out
    assert ESCAPE not in answer.out
    assert max(map(len, lines)) <= 120


def test_us_units_are_for_text_alone(whole: Whole) -> None:
    text = whole.bench("plan", whole.job, "--units", "us").out
    assert "1562 degF" in text  # 850 degC
    assert "degC" not in text.partition("mind")[0]
    assert " mm" not in text.partition("mind")[0]
    assert whole.bench("plan", whole.job, "--units", "us", "--json").document() == whole.plan


def test_a_dry_run_tells_progress_on_stderr_and_the_result_on_stdout(bench: Bench) -> None:
    answer = bench("dry-run", bench.job(), "--fault", "sensor-open@20min")
    assert answer.code == 6
    assert "0 min  ramp  oven 2" in answer.err
    assert "TRIP" in answer.err
    assert re.search(r"^simulated: 0\.3 h in \d+ s, \d+ questions over the line$", answer.err, re.M)
    assert "A GUARD TRIPPED: the soak ended before its time" in answer.out
    assert f"run file  {bench.runs[0]}" in answer.out
    assert "ramp  oven" not in answer.out
    assert ESCAPE not in answer.out + answer.err


def test_the_installed_command_answers_as_the_function_does(whole: Whole) -> None:
    done = finished(
        subprocess.Popen(
            [INSTALLED, "plan", whole.job, "--json"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=whole.bench.environment(),
            text=True,
        )
    )
    assert (done.code, done.err) == (0, "")
    assert done.document() == whole.plan


def test_help_names_every_verb_and_comes_without_codes(bench: Bench) -> None:
    done = finished(bench.start("--help"))
    assert (done.code, done.err) == (0, "")
    for verb in ("plan", "predict", "dry-run", "run", "runs", "show", "report", "export", "note", "profiles"):
        assert re.search(rf"\b{verb}\b", done.out)
    assert "not a safety device" in done.out
    assert ESCAPE not in done.out
    assert re.fullmatch(r"\d+\.\d+\.\d+\S*\n", bench("--version").out)


def test_no_colour_on_a_terminal_that_asks_for_none(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    environment = {**bench.environment(), "TERM": "xterm-256color"}
    monkeypatch.setattr(Bench, "environment", lambda self: environment)
    words = ("dry-run", bench.job(), "--fault", "sensor-open@5min")
    with Terminal(bench, *words) as colourful:
        assert colourful.end() == 6
    assert COLOUR.search(colourful.seen)  # the bar is drawn, and drawn in colour
    environment["NO_COLOR"] = "1"
    with Terminal(bench, *words) as plain:
        assert plain.end() == 6
    assert "GUARD TRIPPED" in plain.seen
    assert not COLOUR.search(plain.seen)


def test_a_reader_that_leaves_early_is_no_error(whole: Whole) -> None:
    process = whole.bench.start("plan", whole.job)
    assert process.stdout is not None
    process.stdout.close()
    assert process.wait(timeout=60) == 0
    assert process.stderr is not None
    with process.stderr:
        assert process.stderr.read() == ""
