"""Where jobs and profiles lie, and their text. Reads files; writes none, computes nothing.

The shop's own profiles/ overlays the shipped ones. Shipped profiles lie inside an installed package (soak/_profiles),
or beside it in a source tree (../profiles): an editable install has only the second.
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from soak.errors import JobError
from soak.job.complain import nearest_of

KINDS = ("iron", "pack", "canister", "oven", "controller", "job")
_PACKAGE = Path(__file__).resolve().parents[1]
_LARGEST = 1_000_000  # bytes; a job has about one thousand


@dataclass(frozen=True, slots=True)
class Found:
    """A TOML file: where it lies, its text, what it says."""

    where: str
    text: str
    raw: dict[str, Any]


def shipped_folder() -> Path:
    """The folder of the profiles that come with soak."""
    inside = _PACKAGE / "_profiles"
    return inside if inside.is_dir() else _PACKAGE.parent / "profiles"


def folders(kind: str, shop: Path | None) -> list[Path]:
    """Where profiles of a kind lie; the first that has a name wins."""
    roots = [shop / "profiles"] if shop is not None else []
    return [root / f"{kind}s" for root in [*roots, shipped_folder()]]


def is_path(name_or_path: str) -> bool:
    """A path has a folder in it or ends in .toml; anything else is a name."""
    return "/" in name_or_path or "\\" in name_or_path or name_or_path.endswith(".toml")


def name_of(name_or_path: str) -> str:
    """The name people see: a path's last part without .toml."""
    return Path(name_or_path.replace("\\", "/")).stem if is_path(name_or_path) else name_or_path


def locate(kind: str, name_or_path: str, shop: Path | None, beside: Path | None = None) -> Path:
    """The file of a profile or job; paths are relative to `beside`, the job's folder. JobError: unknown name."""
    if is_path(name_or_path):
        path = Path(os.path.expanduser(name_or_path))  # Path.expanduser raises for a user nobody knows
        return path if beside is None else beside / path
    files = _files(kind, shop)
    if name_or_path in files:
        return files[name_or_path]
    near = nearest_of(name_or_path, files)
    hint = f"did you mean {' or '.join(near)}?" if near else f"known here: {', '.join(sorted(files))}"
    places = ", ".join(str(folder) for folder in folders(kind, shop))
    code = "unknown-job" if kind == "job" else "unknown-profile"
    raise JobError(code, f'there is no {kind} called "{name_or_path}" in {places}', hint, {"names": near})


def read_toml(path: Path) -> Found:
    """The file at `path`. Raises JobError that names the file when it is missing, not a text file, or not TOML."""
    try:
        if path.is_dir():
            raise JobError("file-unreadable", f"{path}: is a folder, not a file", "name the TOML file in it")
        if path.exists() and (not path.is_file() or path.stat().st_size > _LARGEST):
            raise JobError("file-unreadable", f"{path}: is no job or profile (1 MB at most)", "name a TOML text file")
        data = path.read_bytes()
    except FileNotFoundError:
        raise JobError("file-missing", f"{path}: there is no such file", "check the path and spelling") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise JobError(
            "file-unreadable", f"{path}: cannot be read ({reason})", "check the file's permissions"
        ) from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        hint = "save the file as UTF-8 text"
        raise JobError("file-unreadable", f"{path}, line {line}: is not UTF-8 text", hint) from None
    return Found(str(path), text, parse_toml(text, str(path)))


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """What a TOML text says. Raises JobError with file and line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(str(error), text, where) from None


def list_profiles(kind: str, shop: Path | None) -> list[tuple[str, str, Path]]:
    """(name, title, file) of every profile of a kind, by name; the shop's own hide shipped ones of the same name."""
    if kind not in KINDS:
        raise JobError("unknown-kind", f'"{kind}" is no kind of profile', f"write one of {', '.join(KINDS)}")
    return [(name, _title(path), path) for name, path in sorted(_files(kind, shop).items())]


def _files(kind: str, shop: Path | None) -> dict[str, Path]:
    """Every profile of a kind by name."""
    files: dict[str, Path] = {}
    for folder in folders(kind, shop):
        for path in sorted(folder.glob("*.toml")):
            files.setdefault(path.stem, path)
    return files


def _title(path: Path) -> str:
    try:
        return str(read_toml(path).raw.get("title", ""))
    except JobError as error:
        return f"cannot be read: {error.text}"


def _syntax(message: str, text: str, where: str) -> JobError:
    """Most often a quantity without quotes: thickness = 4 mm."""
    reason, _, at = message.partition(" (at ")
    lines = text.splitlines() or [""]
    digits = "".join(c for c in at.partition(",")[0] if c.isdigit())
    number = min(int(digits), len(lines)) if digits else len(lines)  # no number: "at end of document"
    line = lines[number - 1].strip()
    key, equals, value = line.partition("=")
    hint = "compare with a shipped job; text and quantities stand in quotes"
    if equals and value.strip()[:1] not in ("", '"', "'", "[", "{"):
        hint = f'text and quantities stand in quotes: {key.strip()} = "{value.partition("#")[0].strip()}"'
    said = f"{where}, line {number}: not TOML: {reason[:1].lower()}{reason[1:]}"
    return JobError("toml-syntax", f"{said}; read: {line[:80]}", hint)
