"""Where the shop keeps its things, and how a run is found by what a person says."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from soak.errors import RecordError
from soak.shop.folder import find_run, new_run, run_files, shop_folder

NOON = datetime(2031, 2, 3, 12, 0)


def test_said_goes_before_the_environment_and_that_before_the_usual_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOAK_SHOP", str(tmp_path / "named"))
    assert shop_folder(tmp_path / "said") == tmp_path / "said"
    assert shop_folder(None) == tmp_path / "named"
    monkeypatch.delenv("SOAK_SHOP")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "usual"))
    assert shop_folder(None).name == "soak"


def test_a_new_run_has_a_name_that_nobody_has(tmp_path: Path) -> None:
    names = []
    for _ in range(3):
        path = new_run(tmp_path / "runs", "plane-irons", "dry-run", NOON)
        path.touch()
        names.append(path.name)
    assert names == [f"2031-02-03-plane-irons-dry-run{n}.soak" for n in ("", "-2", "-3")]
    assert [p.name for p in run_files(tmp_path)] == names


@pytest.mark.parametrize(
    ("job", "stem"),
    [("Über Öfen/../x", "ber-fen-x"), ("...", "job"), ("a" * 99, "a" * 40), ("two words", "two-words")],
)
def test_a_jobs_name_becomes_a_name_that_every_disk_takes(tmp_path: Path, job: str, stem: str) -> None:
    path = new_run(tmp_path, job, "run", NOON)
    assert path.name == f"2031-02-03-{stem}-run.soak"
    assert path.parent == tmp_path


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(RecordError, match="cannot make the folder") as caught:
        new_run(tmp_path / "file" / "runs", "x", "run", NOON)
    assert (caught.value.code, caught.value.hint) == ("folder", "give another with --out")


def test_a_folder_that_is_full_of_such_names(tmp_path: Path) -> None:
    for n in range(1, 1000):
        (tmp_path / f"2031-02-03-x-run{'' if n == 1 else f'-{n}'}.soak").touch()
    with pytest.raises(RecordError, match="already holds 999 runs called 2031-02-03-x-run"):
        new_run(tmp_path, "x", "run", NOON)


def test_a_path_is_taken_as_said_also_when_there_is_nothing(tmp_path: Path) -> None:
    there = tmp_path / "one.soak"
    there.touch()
    assert find_run(tmp_path, str(there)) == there
    assert find_run(tmp_path, "/no/such.soak") == Path("/no/such.soak")


def test_the_beginning_of_a_name_is_enough_if_it_is_one(tmp_path: Path) -> None:
    for job in ("chisels", "hinge-pins"):
        new_run(tmp_path / "runs", job, "run", NOON).touch()
    assert find_run(tmp_path, "2031-02-03-h").stem == "2031-02-03-hinge-pins-run"
    with pytest.raises(RecordError, match="could be 2031-02-03-chisels-run, 2031-02-03-hinge-pins-run"):
        find_run(tmp_path, "2031")
    with pytest.raises(RecordError, match="no run called chisels"):
        find_run(tmp_path, "chisels")
