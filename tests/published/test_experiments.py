"""The table of published experiments says what the model says today, and its words say what its numbers say.

python tests/published/experiments/make.py    writes the table anew
"""

from __future__ import annotations

import difflib
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

HERE = Path(__file__).parent / "experiments"
sys.path.insert(0, str(HERE))

from experiment_cases import Point, Row, load  # noqa: E402
from experiment_fold import Folds  # noqa: E402
from experiment_words import Ours, judge, published, ratio, told  # noqa: E402
from make import COMMAND, TABLE, table  # noqa: E402

from soak.process.draws import draw  # noqa: E402
from soak.process.outcome import Band  # noqa: E402

ASKED = ("E1", "E2", "E3", "E4", "E5", "E8", "E9", "E10", "E11", *(f"P-{i}" for i in range(1, 9)), "P13")


@pytest.fixture(scope="module")
def text() -> str:
    return table()


def test_the_table_is_what_the_model_says_today(text: str) -> None:
    kept = TABLE.read_text(encoding="utf-8")
    changed = "\n".join(difflib.unified_diff(kept.splitlines(), text.splitlines(), "kept", "today", lineterm="", n=0))
    assert not changed, f"the model has changed. Look at what follows, then run\n    {COMMAND}\n{changed}"


def test_every_experiment_stands_in_it(text: str) -> None:
    cases = {line.split("|")[1].strip() for line in text.splitlines() if line.startswith("|")}
    for name in ASKED:
        assert any(name in case.replace("(", " ").replace(")", " ").replace("/", " ").split() for case in cases), name
    known = ("seen", "memory", "computed", "judgement")
    rows = [line for line in text.splitlines() if line.startswith("| ")][1:]
    assert len(rows) == len(load().rows)
    for row in rows:
        assert len(row.split(" | ")) == 7, row
        assert row.removesuffix(" |").rsplit(", ", 1)[1].split(";")[0] in known


def test_the_command_that_the_table_names_is_there() -> None:
    script = COMMAND.split()[1]
    root = Path(__file__).parents[2]
    assert (root / script).samefile(HERE / "make.py")
    code = "import runpy, sys; runpy.run_path(sys.argv[1], run_name='asked')"  # all of it but the writing
    subprocess.run([sys.executable, "-c", code, script], cwd=root, check=True)


def test_long_steps_do_not_change_days_of_heat() -> None:
    """The chests step 3600 s at a time, the rest at most 300 s: within a quarter of the last printed figure."""
    cases = load()
    point = Point("chest", 1000.0, 48.0)
    quick = Folds(replace(cases, rows=()), draw(1))
    fine = replace(cases, setups=cases.setups | {"chest": replace(cases.setups["chest"], longest_s=300.0)})
    slow = Folds(replace(fine, rows=()), draw(1))
    assert quick.mean_pct(point)[0] == pytest.approx(slow.mean_pct(point)[0], abs=0.0025)


# --- the words: every verdict there is, from numbers made up for it


def row(low: float, high: float | None = None, **more: object) -> Row:
    base = next(r for r in load().rows if r.measure == "mean")
    return replace(base, published=(low, high if high is not None else low), note="", **more)  # type: ignore[arg-type]


def ours(low: float, mid: float, high: float, criterion: str = "") -> Ours:
    return Ours(criterion, Band(low, mid, high))


ONE = ours(0.9, 1.0, 1.2)
TWO = (ours(0.4, 0.5, 0.6, "0.40"), ours(0.9, 1.0, 1.2, "+0.05"))


@pytest.mark.parametrize(
    ("case", "given", "kind", "words"),
    [
        (row(1.2), (ONE,), "agrees", "agrees within its band"),
        (row(1.25), (ONE,), "too low", "too low by 0.25 % C (20 %)"),
        (row(1.25, within=0.05), (ONE,), "agrees", "agrees within its band"),
        (row(0.8), (ONE,), "too high", "too high by 0.20 % C (25 %)"),
        (row(0.4), (ONE,), "too high", "too high by 0.60 % C (2.5 times as much)"),
        (row(0.8, unit=""), (ONE,), "too high", "too high by 25 %"),
        (row(0.95, 1.05), (ONE,), "agrees", "agrees: inside what was published"),
        (row(1.1, 1.5), (ONE,), "agrees", "agrees within its band; our mid is below what was published"),
        (row(0.5, 0.95), (ONE,), "agrees", "agrees within its band; our mid is above what was published"),
        (row(1.3, 1.5), (ONE,), "too low", "too low by 0.30 % C (23 %)"),
        (row(0.8, bound="at least"), (ONE,), "agrees", "agrees: on the right side of the bound"),
        (
            row(0.95, bound="at least"),
            (ONE,),
            "agrees",
            "agrees: on the right side of the bound, but not all of our band",
        ),
        (row(1.25, bound="at least"), (ONE,), "too low", "too low by 0.25 % C (20 %)"),
        (row(0.8, bound="at most"), (ONE,), "too high", "too high by 0.20 % C (25 %)"),
        (row(1.3, bound="at most"), (ONE,), "agrees", "agrees: on the right side of the bound"),
        (row(0.7), TWO, "cannot be judged", "cannot be judged: criterion unknown; it lies between ours"),
        (row(0.5), TWO, "cannot be judged", "cannot be judged: criterion unknown; agrees if read to 0.40 % C"),
        (row(0.55, 0.95), TWO, "agrees", "agrees within its band, whichever way it was read"),
        (row(2.0), TWO, "too low", "too low by 1.00 % C (50 %), even if read to core + 0.05 % C"),
        (row(0.2), TWO, "too high", "too high by 0.30 % C (2.5 times as much), even if read to 0.40 % C"),
        (
            row(2.0, unknown="temperature not stated"),
            (ONE,),
            "cannot be judged",
            "cannot be judged: temperature not stated. As assumed here: too low by 1.00 % C (50 %)",
        ),
    ],
)
def test_a_verdict(case: Row, given: tuple[Ours, ...], kind: str, words: str) -> None:
    verdict = judge(case, given)
    assert (verdict.kind, verdict.text) == (kind, words)


def test_numbers_as_they_are_written() -> None:
    assert published(row(1.01, 1.51)) == "1.01 to 1.51 % C"
    assert published(row(0.9, within=0.02)) == "0.90 +- 0.02 % C"
    assert published(row(0.45, bound="at least")) == "at least 0.45 % C"
    assert published(row(0.2, measure="depth", unit="mm")) == "0.20 mm, depth by a criterion not told"
    assert told(TWO) == "0.50 (0.40 to 0.60) to 0.40 % C; 1.00 (0.90 to 1.20) to core + 0.05 % C"
    assert ratio(row(0.75, 1.25), (ONE,)) == "1.00"
