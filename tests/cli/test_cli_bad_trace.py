"""Temperature records that are wrong, through the real command line; and those that are merely untidy."""

from __future__ import annotations

import pytest
from cli_parts import Bench, quick

HEAD = "time_s,temperature_c\n"
GOOD = HEAD + "0,20\n3600,600\n7200,900\n10800,900\n18000,60\n"
COLUMNS = "name the columns time_s (seconds) or time (ISO 8601), and temperature_c or temperature_f"

WRONG = {
    "not a number": (HEAD + "0,20\n60,nan\n", "trace-value", "line 3: nan in temperature_c is no reading"),
    "infinite": (HEAD + "0,20\n60,inf\n", "trace-value", "line 3: inf in temperature_c is no reading"),
    "a word": (HEAD + "0,20\n60,hot\n", "trace-value", "line 3: 'hot' in temperature_c is not a number"),
    "no value": (HEAD + "0,20\n60,\n", "trace-value", "line 3: '' in temperature_c is not a number"),
    "absurd": (HEAD + "0,20\n60,9000\n", "trace-value", "line 3: 9000 in temperature_c is no oven's temperature"),
    "time is no number": (HEAD + "0,20\nnan,30\n", "trace-value", "line 3: nan in time_s is no reading"),
    "backwards": (HEAD + "0,20\n60,30\n50,40\n", "trace-time", "line 4: time runs backwards (50)"),
    "twice": (HEAD + "0,20\n60,30\n60,40\n", "trace-time", "line 4: time stands still (60)"),
    "no ISO time": ("time,temperature_c\nnoon,20\n", "trace-time", "line 2: 'noon' is not an ISO time"),
    "zones mixed": (
        "time,temperature_c\n2026-11-25T19:00:00,20\n2026-11-25T20:00:00+01:00,30\n",
        "trace-time",
        "line 3: some times have a zone and some have none",
    ),
    "wrong columns": ("t,temp\n0,20\n", "trace-columns", "has the columns t, temp; one of time_s, time is missing"),
    "no temperature": ("time_s,temp\n0,20\n", "trace-columns", "one of temperature_c, temperature_f, oven_c"),
    "semicolons": ("time_s;temperature_c\n0;20\n", "trace-columns", "has the columns time_s;temperature_c"),
    "decimal comma": (HEAD + "0,20,5\n60,30,5\n", "trace-row", "line 2: more cells than columns"),
    "short row": (HEAD + "0,20\n60\n", "trace-row", "line 3: fewer cells than columns"),
    "empty": ("", "trace-columns", "has the columns none"),
    "heading alone": (HEAD, "trace-short", "0 readings; at least 2 are needed"),
    "one reading": (HEAD + "0,20\n", "trace-short", "1 readings; at least 2 are needed"),
    "binary": (b"\x7fELF\xff\xfe\x00\x01", "trace-unreadable", "is not a text file"),
    "no lines": ("x" * 200_000, "trace-unreadable", "line 1: is no CSV"),
    "milliseconds": (HEAD + "0,20\n43200000,900\n", "trace-long", "over 12000 h; 500 h is the most"),
}


@pytest.mark.parametrize(("text", "word", "told"), WRONG.values(), ids=WRONG)
def test_a_wrong_trace(bench: Bench, text: str | bytes, word: str, told: str) -> None:
    path = bench.trace(text)
    error = bench("predict", bench.job(), "--trace", path, "--json").refused(3, word)
    assert error["text"].startswith(str(path))
    assert told in error["text"]
    assert error["hint"]


def test_what_to_write_instead(bench: Bench) -> None:
    def hint(text: str) -> str:
        error = bench("predict", bench.job(), "--trace", bench.trace(text), "--json").document()["error"]
        return str(error["hint"])

    assert hint("t,temp\n0,20\n") == COLUMNS
    assert hint(HEAD + "0,20\n60,nan\n") == "leave the row out"
    assert hint(HEAD + "0,20,5\n") == "columns: time_s, temperature_c; a decimal comma? write a point"
    assert hint("time,temperature_c\nnoon,20\n") == "write 2026-11-25T19:00:00"
    assert hint(HEAD + "0,20\n43200000,900\n") == "time_s is in seconds; keep to one soak a file"


def test_a_trace_that_is_not_there(bench: Bench) -> None:
    missing = bench("predict", bench.job(), "--trace", "/no/such.csv", "--json").refused(3, "trace-unreadable")
    assert missing["text"] == "cannot read /no/such.csv: No such file or directory"
    folder = bench("predict", bench.job(), "--trace", bench.folder, "--json").refused(3, "trace-unreadable")
    assert folder["text"] == f"cannot read {bench.folder}: Is a directory"


def test_the_line_named_is_the_line_in_the_file(bench: Bench) -> None:
    text = "# logged by hand\n\n" + HEAD + "0,20\n\n# door opened\n60,hot\n\n# end\n\n"
    error = bench("predict", bench.job(), "--trace", bench.trace(text), "--json").refused(3, "trace-value")
    assert "line 7: 'hot'" in error["text"]


def test_a_gap_is_told_and_widens_the_band(bench: Bench) -> None:
    dense = HEAD + "".join(f"{t},{min(20 + t / 8, 900):.1f}\n" for t in range(0, 18001, 300))
    rows = dense.splitlines(keepends=True)
    gap = "".join(rows[:30] + rows[50:])  # no reading for 105 min, in the hot
    whole, holed = (bench("predict", bench.job(), "--trace", bench.trace(t), "--json").document() for t in (dense, gap))
    assert [w["code"] for w in whole["warnings"]] == ["ends-hot"]
    assert [w["code"] for w in holed["warnings"]] == ["gap", "ends-hot"]
    assert holed["warnings"][0]["text"].startswith("no reading for 1.8 h from 8400 s on: a straight line was assumed")

    def width(doc: dict[str, dict[str, dict[str, float]]]) -> float:
        band = doc["predicted"]["mean_carbon_pct"]
        return band["high"] - band["low"]

    assert width(holed) > width(whole)
    assert holed["temperature_sigma_k"] > whole["temperature_sigma_k"]


def test_a_gap_of_days_is_still_answered(bench: Bench) -> None:
    text = HEAD + "0,20\n7200,900\n300000,900\n310000,60\n"
    answer = bench("predict", bench.job(), "--trace", bench.trace(text), "--json")
    assert answer.code == 0
    document = answer.document()
    assert [w["code"] for w in document["warnings"]] == ["gap"] * 3
    assert not [e for e in document["events"] if e["code"] == "member-frozen"]


def test_a_trace_that_never_was_hot_says_so(bench: Bench) -> None:
    cold = bench.trace(HEAD + "0,20\n3600,600\n7200,60\n")
    answer = bench("predict", bench.job(), "--trace", cold)
    assert answer.code == 0
    assert "never passes 727 degC (hottest 600 degC): no carbon went in" in answer.err.replace("\n    ", " ")
    document = bench("predict", bench.job(), "--trace", cold, "--json").document()
    assert [w["code"] for w in document["warnings"]] == ["never-hot"]
    assert document["predicted"]["mean_carbon_pct"] == {"low": 0.08, "mid": 0.08, "high": 0.08}


UNTIDY = {
    "byte order mark": "\ufeff" + GOOD,
    "other line ends": GOOD.replace("\n", "\r\n"),
    "a comma at the end of each row": GOOD.replace("\n", ",\n").replace("temperature_c,\n", "temperature_c\n"),
    "more columns": GOOD.replace("\n", ",7\n").replace("temperature_c,7", "temperature_c,door"),
    "blanks": GOOD.replace(",", " , "),
    "comments": "# a logger\n" + GOOD,
}


@pytest.mark.parametrize("text", UNTIDY.values(), ids=UNTIDY)
def test_untidy_traces_are_read_as_meant(bench: Bench, text: str) -> None:
    wanted = bench("predict", bench.job(), "--trace", bench.trace(GOOD), "--json").document()
    assert bench("predict", bench.job(), "--trace", bench.trace(text, "other"), "--json").document() == wanted


def test_a_charge_that_was_never_in_that_canister(bench: Bench) -> None:
    job = bench.job(quick(("count = 2", "count = 200")))
    error = bench("predict", job, "--trace", bench.trace(GOOD), "--json").refused(4, "does-not-fit")
    assert error["hint"] == "correct count, gap or cover in the job to what was in the canister"


def test_measured_in_must_be_one_of_two(bench: Bench) -> None:
    words = ("predict", bench.job(), "--trace", bench.trace(GOOD), "--measured-in", "air", "--json")
    assert 'Choose from: "oven", "charge"' in bench(*words).refused(2, "usage")["text"]
