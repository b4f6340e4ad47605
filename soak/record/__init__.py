"""One SQLite file per run."""
