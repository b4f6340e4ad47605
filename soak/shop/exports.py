"""Writes what a run file holds as files that others read: CSV, JSON, the report page. Touches files."""

from __future__ import annotations

import json
from pathlib import Path

from soak.errors import RecordError
from soak.record.export import csv_tables, json_document
from soak.record.rows import Record


def write(path: Path, text: str) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise RecordError(
            "cannot-write", f"cannot write {path}: {error.strerror}", "give another place with --out"
        ) from None
    return path


def export_csv(record: Record, folder: Path, stem: str) -> list[Path]:
    return [write(folder / f"{stem}-{name}.csv", text) for name, text in csv_tables(record).items()]


def export_json(record: Record, folder: Path, stem: str) -> list[Path]:
    document = json.dumps(json_document(record), ensure_ascii=False, allow_nan=False)
    return [write(folder / f"{stem}.json", document + "\n")]
