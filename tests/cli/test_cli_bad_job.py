"""Jobs that are wrong, through the real command line: exit code, word, where it is, what was read, what to write."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_parts import Bench, quick

THICK, IRON, COUNT = 'thickness = "0.8 mm"', 'iron = "mild-steel"', "count = 2"
LIMIT, OVEN = 'temperature_max = "900 degC"', 'temperature_max = "1100 degC"'
TARGET, HEAT, LENGTH = 'carbon = "0.50 %"', 'heat_on_max = "3 h"', 'length = "40 mm"'
VENT = 'vent = { kind = "hole", diameter = "3 mm" }'
CHAMBER = 'chamber = { width = "150 mm", height = "180 mm", depth = "220 mm" }'

WRONG = [
    (THICK, 'thicknes = "0.8 mm"', "unknown-key", ("stock[1]", '"thicknes"', "did you mean thickness?")),
    ("[limits]", "[limit]", "unknown-key", ('"limit"', "did you mean limits?")),
    (THICK, "thickness = 0.8", "unit-missing", ("stock[1].thickness", "bare number 0.8", '"4 mm"')),
    (THICK, 'thickness = "0.8"', "unit-missing", ("stock[1].thickness", "bare number", '"4 mm"')),
    (THICK, "thickness = 0.8 mm", "toml-syntax", ("line 12", "not TOML", 'thickness = "0.8 mm"')),
    (THICK, 'thickness = "4 kg"', "wrong-dimension", ("stock[1].thickness", '"4 kg", a mass, where a length belongs')),
    (THICK, 'thickness = "-4 mm"', "out-of-range", ("stock[1].thickness", "-4 mm", "0.2 mm to 200 mm")),
    (THICK, 'thickness = "4 m"', "out-of-range", ("stock[1].thickness", "4 m", "0.2 mm to 200 mm")),
    (COUNT, "count = -2", "out-of-range", ("stock[1].count", "read -2", "at least 1")),
    (COUNT, 'count = "two"', "wrong-type", ("stock[1].count", '"two"')),
    (TARGET, 'carbon = "50 %"', "out-of-range", ("target.carbon", "50 %", "0 % to 2 %")),
    (LIMIT, 'temperature_max = "1300 degC"', "out-of-range", ("limits.temperature_max", "1150 degC")),
    (HEAT, 'heat_on_max = "7 min"', "out-of-range", ("limits.heat_on_max", "15 min to 240 h")),
    ('where = "mean"', 'where = "middle"', "unknown-choice", ("target.where", '"middle"', "'centre'")),
    ('shape = "strip"', 'shape = "square"', "width-unused", ("stock[1]", "a square bar has no width", "its side")),
    (IRON, 'iron = "mild-stel"', "unknown-profile", ("stock[1].iron", "mild-stel", "did you mean mild-steel?")),
    ('"int-tenths"', '"int-tenth"', "unknown-profile", ("use.controller", "did you mean int-tenths?")),
    (IRON, 'iron = "./nowhere.toml"', "file-missing", ("stock[1].iron", "nowhere.toml", "no such file")),
    ("format = 1\n", "format = 2\n", "format-newer", ("read 2", "reads up to 1", "update soak")),
    ("format = 1\n", "", "format-missing", ("format is missing", "add format = 1")),
]
NOT_REACHABLE = [
    (LIMIT, 'temperature_max = "800 degC"', "too-cool", ("temperature_max allows 800 degC", "850 degC or more")),
    (OVEN, 'temperature_max = "840 degC"', "too-cool", ("the oven inline allows 840 degC", "another oven")),
    (COUNT, "count = 200", "does-not-fit", ("8 of 200 strips fit", "8 would fit")),
    (LENGTH, 'length = "90 mm"', "does-not-fit", ("too long", "56 mm inside")),
    (
        CHAMBER,
        CHAMBER.replace("150", "50").replace("180", "50").replace("220", "55"),
        "canister-too-big",
        ("chamber", "smaller canister"),
    ),
    (VENT, 'vent = { kind = "none" }', "no-vent", ("declares no vent", "3 to 6 mm")),
    (TARGET, 'carbon = "1.9 %"', "not-reachable", ("not reached in a hold of 24 h at 900 degC", "give 0.")),
    (HEAT, 'heat_on_max = "1 h 45 min"', "not-reachable", ("needs", "heat_on_max is 1.75 h", "allow")),
]


@pytest.mark.parametrize(("old", "new", "word", "told"), WRONG, ids=[f"{w[2]}: {w[1][:24]}" for w in WRONG])
def test_a_wrong_job(bench: Bench, old: str, new: str, word: str, told: tuple[str, ...]) -> None:
    path = bench.job(quick((old, new)))
    error = bench("plan", path, "--json").refused(3, word)
    assert str(path) in error["text"]
    for part in told:
        assert part in f"{error['text']} {error['hint']}"


@pytest.mark.parametrize(
    ("old", "new", "word", "told"), NOT_REACHABLE, ids=[f"{w[2]}: {w[1][:24]}" for w in NOT_REACHABLE]
)
def test_a_job_that_cannot_be(bench: Bench, old: str, new: str, word: str, told: tuple[str, ...]) -> None:
    error = bench("plan", bench.job(quick((old, new))), "--json").refused(4, word)
    for part in told:
        assert part in f"{error['text']} {error['hint']}"


def test_people_are_told_on_stderr_and_nothing_is_on_stdout(bench: Bench) -> None:
    answer = bench("plan", bench.job(quick((THICK, 'thicknes = "0.8 mm"'))))
    assert (answer.code, answer.out) == (3, "")
    assert answer.err.splitlines()[-1] == "  -> did you mean thickness?"
    assert 'unknown key "thicknes"' in " ".join(answer.err.split())


def test_a_hold_over_the_ovens_limit(bench: Bench) -> None:
    job = bench.job(quick((LIMIT, 'temperature_max = "1150 degC"'), (OVEN, 'temperature_max = "950 degC"')))
    error = bench("plan", job, "--at", "1000 degC", "--json").refused(4, "hold-out-of-range")
    assert error["text"] == "a hold at 1000 degC is outside 850 to 950 degC (the oven inline)"
    assert error["hint"] == "ask for 850 to 950 degC"
    assert bench("plan", job, "--at", "950 degC", "--json").code == 0


def test_what_the_refusal_says_would_fit_does_fit(bench: Bench) -> None:
    error = bench("plan", bench.job(quick((COUNT, "count = 200"))), "--json").refused(4, "does-not-fit")
    fits = error["nearest"]["count_that_fits"]
    fitting = bench("plan", bench.job(quick((COUNT, f"count = {fits}"))), "--json")
    assert fitting.code == 0
    assert fitting.document()["fit"] == {"fits": True, "count": fits, "count_that_fits": fits} | {
        "text": fitting.document()["fit"]["text"]
    }
    assert bench("plan", bench.job(quick((COUNT, f"count = {fits + 1}"))), "--json").code == 4


def test_files_that_cannot_be_read(bench: Bench) -> None:
    binary, empty, locked = (bench.folder / f"{name}.toml" for name in ("binary", "empty", "locked"))
    binary.write_bytes(b"\xff\xfe\x00")
    empty.write_bytes(b"")
    error = bench("plan", binary, "--json").refused(3, "file-unreadable")
    assert error["text"] == f"{binary}, line 1: is not UTF-8 text"
    assert error["hint"] == "save the file as UTF-8 text"
    assert bench("plan", empty, "--json").refused(3, "format-missing")["hint"] == "add format = 1 as the first line"
    assert "there is no such file" in bench("plan", locked, "--json").refused(3, "file-missing")["text"]
    assert "is a folder" in bench("plan", f"{bench.folder}/", "--json").refused(3, "file-unreadable")["text"]


def test_an_unknown_job_offers_the_nearest(bench: Bench) -> None:
    error = bench("plan", "hinge-pin", "--json").refused(3, "unknown-job")
    assert error["nearest"]["names"][0] == "hinge-pins"
    assert error["hint"].startswith("did you mean hinge-pins")
    assert 'there is no job called "hinge-pin"' in error["text"]


@pytest.mark.parametrize("verb", [("dry-run",), ("run", "--port", "/dev/no-such-port", "--yes")])
def test_nothing_is_begun_with_a_wrong_job(bench: Bench, verb: tuple[str, ...]) -> None:
    wrong: Path = bench.job(quick((THICK, 'thickness = "4 kg"')))
    bench(verb[0], wrong, *verb[1:], "--json").refused(3, "wrong-dimension")
    full: Path = bench.job(quick((COUNT, "count = 200")))
    bench(verb[0], full, *verb[1:], "--json").refused(4, "does-not-fit")
    assert bench.runs == []
