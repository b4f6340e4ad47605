"""What all text models share: strict keys, references to profiles, sources. Touches no file."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from soak.job.quantity import Example, refused


class Text(BaseModel):
    """Unknown keys are refused, and no type is guessed ("8" is not 8)."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def _reference(raw: object) -> object:
    if isinstance(raw, str) and raw.strip():
        return raw.strip()
    if isinstance(raw, dict):
        return raw
    hint = 'write the profile\'s name, like "lock-gate-strap", a path to a TOML file, or an inline table { ... }'
    raise refused("wrong-type", f"read {raw!r}, where a profile belongs", hint)


Reference = Annotated[Any, BeforeValidator(_reference), Example('"a profile\'s name"')]
Title = Annotated[str, Field(max_length=200), Example('"in a few words"')]


class SourceText(Text):
    """Where a number comes from and how that is known; `source` is a key of profiles/sources.toml."""

    source: str
    how: Literal["seen", "memory", "computed", "judgement"]
    note: str = ""


class ProfileText(Text):
    """What every profile may say. `source` names, by key of the profile, where its numbers come from."""

    title: Title = "as written in the job"
    note: str = ""
    source: dict[str, SourceText] = Field(default_factory=dict)
