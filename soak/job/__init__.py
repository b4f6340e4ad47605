"""What the smith has and wants, read from TOML into frozen dataclasses."""
