"""Where the shop keeps its things: profiles of its own, and run files. Touches the file system."""

from __future__ import annotations

import os
import re
from datetime import datetime
from pathlib import Path

from soak.errors import RecordError
from soak.record.load import glance

SUFFIX = ".soak"


def shop_folder(said: Path | None) -> Path:
    """--shop, else SOAK_SHOP, else the place this system has for such things."""
    if said is not None:
        return said
    named = os.environ.get("SOAK_SHOP")
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("soak", appauthor=False)


def runs_folder(shop: Path) -> Path:
    return shop / "runs"


def new_run(folder: Path, job: str, kind: str, now: datetime) -> Path:
    """A name nobody has yet: date, job, kind, and a number if need be. Makes the folder."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RecordError(
            "folder", f"cannot make the folder {folder}: {error.strerror}", "give another with --out"
        ) from None
    word = re.sub(r"[^a-z0-9-]+", "-", job.lower()).strip("-")[:40] or "job"
    stem = f"{now:%Y-%m-%d}-{word}-{kind}"
    for n in range(1, 1000):
        path = folder / f"{stem}{'' if n == 1 else f'-{n}'}{SUFFIX}"
        if not path.exists():
            return path
    raise RecordError("folder", f"{folder} already holds 999 runs called {stem}", "give another folder with --out")


def run_files(shop: Path) -> tuple[Path, ...]:
    """All run files of the shop, by name; the tenth of a day comes after the second."""
    return tuple(sorted(runs_folder(shop).glob(f"*{SUFFIX}"), key=_natural))


def _natural(path: Path) -> list[tuple[int, str]]:
    return [(int(part) if part.isdecimal() else -1, part) for part in re.split(r"(\d+)", path.stem)]


def _started(path: Path) -> str:
    """Not the file's own time: a note written into an old run would make it the last one."""
    try:
        return glance(path).header.started
    except RecordError:
        return ""


def find_run(shop: Path, said: str) -> Path:
    """A run by path, by name, by the beginning of its name, or "last"."""
    path = Path(said)
    if path.exists() or (path.suffix == SUFFIX and path.parent != Path(".")):
        return path
    files = run_files(shop)
    if said == "last" and files:
        return max(reversed(files), key=_started)
    named = [p for p in files if p.name == said or p.stem == said] or [p for p in files if p.name.startswith(said)]
    if len(named) == 1:
        return named[0]
    if named:
        raise RecordError(
            "which-run", f"{said} could be {', '.join(p.stem for p in named[:5])}", "write more of the name"
        )
    known = ", ".join(p.stem for p in files[-5:]) or "none yet"
    raise RecordError(
        "run-missing", f"no run called {said} in {runs_folder(shop)}", f"runs there: {known}; or give a path"
    )
