"""Turns what is wrong with a text into one JobError: file, key, what was read, what to write. Touches no file."""

from __future__ import annotations

import difflib
import types
from collections.abc import Iterable
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from soak.errors import JobError
from soak.job.quantity import Example, Quantity

# Words people try that no spelling check would lead to the right key.
_MEANT = {"diameter": "thickness", "material": "iron", "temperature": "temperature_max", "time": "heat_on_max"}
_LONGEST = 60


def complaint(error: ValidationError, model: type[BaseModel], where: str, prefix: str = "") -> JobError:
    """The first thing wrong, as a JobError. An unknown key goes first: it is often why another one is missing."""
    found = sorted(error.errors(include_url=False), key=lambda e: e["type"] != "extra_forbidden")
    first = found[0]
    loc = [part for part in first["loc"] if part != "[key]"]
    code, text, hint, nearest = _said(first, model, loc)
    key = _key(loc[:-1] if first["type"] in ("missing", "extra_forbidden") else loc, prefix)
    explained = (*loc[:-1], nearest)  # the missing key that the misspelt one was meant to be
    others = [e for e in found[1:] if not (nearest and e["type"] == "missing" and e["loc"] == explained)]
    more = f" (and {len(others)} more after this one)" if others else ""
    place = f"{where}, {key}" if key else where
    return JobError(code, f"{place}: {text}{more}", hint, {"keys": [nearest]} if nearest else None)


def nearest_of(word: str, known: Iterable[str]) -> list[str]:
    """At most three of `known` that look like `word`, best first."""
    return difflib.get_close_matches(word, list(known), n=3, cutoff=0.5)


def _said(e: Any, model: type[BaseModel], loc: list[Any]) -> tuple[str, str, str, str]:
    """Code, text, hint and the nearest known key of one of pydantic's errors."""
    kind, last, raw = e["type"], str(loc[-1]) if loc else "", e.get("input")
    context = e.get("ctx", {})
    if "hint" in context:
        return kind, context["text"], context["hint"], ""
    if kind == "extra_forbidden":
        known = list(_model_at(model, loc[:-1]).model_fields)
        chemical = any(key != key.lower() for key in known)  # K2CO3 is no misspelling of Li2CO3
        close = [_MEANT[last]] if _MEANT.get(last) in known else [] if chemical else nearest_of(last, known)
        hint = f"did you mean {close[0]}?" if close else f"known here: {', '.join(known)}"
        return "unknown-key", f'unknown key "{last}"', hint, close[0] if close else ""
    example = _example(model, loc)
    hint = f"write for example {last} = {example}" if example else ""
    if kind == "missing":
        return "missing-key", f'"{last}" is missing', f"add {last} = {example}" if example else f"add {last}", ""
    if kind == "literal_error":
        choices = str(context["expected"])
        return "unknown-choice", f"read {_shown(raw)}, which is none of {choices}", f"write one of {choices}", ""
    if kind in ("list_type", "too_short"):
        return (
            "wrong-type",
            f"needs a list with one entry or more, read {_shown(raw)}",
            f"write [[{last}]], with two brackets",
            "",
        )
    if kind in ("model_type", "dict_type"):
        return (
            "wrong-type",
            f"read {_shown(raw)}, where a table belongs",
            f"write [{last}] and its keys, or {{ ... }}",
            "",
        )
    bound = next((f"{sign} {context[b]}" for b, sign in _BOUNDS if b in context), "")
    if bound:
        return "out-of-range", f"read {_shown(raw)}, which is not {bound}", hint, ""
    wanted = str(e["msg"]).removeprefix("Input should be ")
    return "wrong-type", f"read {_shown(raw)}, which is not {wanted}", hint, ""


_BOUNDS = (("ge", "at least"), ("gt", "above"), ("le", "at most"), ("lt", "below"))


def _key(loc: Iterable[Any], prefix: str) -> str:
    """stock[2].thickness: the path of a key, entries counted from 1."""
    key = prefix
    for part in loc:
        key += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if key else str(part)
    return key


def _model_at(model: type[BaseModel], loc: Iterable[Any]) -> type[BaseModel]:
    """The text model that the path leads to; the last one on the way, if it leads into a plain table."""
    for part in loc:
        if isinstance(part, str) and part in model.model_fields:
            model = _model_in(model.model_fields[part].annotation) or model
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (list, dict, Union, types.UnionType, Annotated):
        return next((m for a in get_args(annotation) if (m := _model_in(a)) is not None), None)
    return None


def _example(model: type[BaseModel], loc: list[Any]) -> str:
    """What to write for the key at this path, from its type."""
    owner = _model_at(model, loc[:-1])
    field = owner.model_fields.get(str(loc[-1])) if loc else None
    if field is None:
        return ""
    if _model_in(field.annotation):
        return "{ ... }"
    for mark in [*field.metadata, *_marks(field.annotation)]:
        if isinstance(mark, Example | Quantity):
            return mark.text
    choices = [a for a in get_args(field.annotation) if isinstance(a, str)]
    return f'"{choices[0]}"' if choices else ""


def _marks(annotation: Any) -> list[Any]:
    marks = list(getattr(annotation, "__metadata__", ()))
    for inner in get_args(annotation):
        marks += _marks(inner)
    return marks


def _shown(raw: object) -> str:
    if isinstance(raw, dict):
        return "one table"
    text = f'"{raw}"' if isinstance(raw, str) else str(raw).lower() if isinstance(raw, bool) else repr(raw)
    return text if len(text) <= _LONGEST else text[:_LONGEST] + "…"
