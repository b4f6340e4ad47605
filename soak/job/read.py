"""From a job's name or file to a Job, profiles looked up and everything checked. Reads files through `find` only.

A job kept with a run is rebuilt from its own text and the profiles it used then: job_from_record touches no file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from soak.errors import JobError
from soak.job import build
from soak.job.complain import complaint
from soak.job.find import list_profiles, locate, name_of, parse_toml, read_toml
from soak.job.job import Job
from soak.job.text import JobText
from soak.job.text_charge import CanisterText, IronText, PackText
from soak.job.text_plant import ControllerText, OvenText

__all__ = ["FORMAT", "job_from_record", "list_profiles", "read_job", "read_job_text"]

FORMAT = 1  # of jobs and of profiles

M = TypeVar("M", bound=BaseModel)
Fetch = Callable[[str, str, str], tuple[dict[str, Any], str]]  # kind, reference, place in the job -> raw profile, where


def read_job(name_or_path: str, shop: Path | None) -> Job:
    """The job of a name (the shop's own, then the shipped ones) or of a path. Raises JobError."""
    path = locate("job", name_or_path, shop)
    found = read_toml(path)
    return read_job_text(found.text, found.where, shop=shop, folder=path.parent, name=path.stem)


def read_job_text(
    text: str, origin: str, *, shop: Path | None = None, folder: Path | None = None, name: str = "job"
) -> Job:
    """The job that a TOML text says. `origin` names it in errors; profile paths are relative to `folder`."""

    def fetch(kind: str, reference: str, place: str) -> tuple[dict[str, Any], str]:
        try:
            found = read_toml(locate(kind, reference, shop, folder))
        except JobError as error:
            raise JobError(error.code, f"{place}: {error.text}", error.hint, error.nearest) from None
        return found.raw, found.where

    return _assemble(text, origin, name, fetch)


def job_from_record(text: str, profiles: Mapping[str, dict[str, Any]], name: str = "job") -> Job:
    """The job kept with a run, from its text and its profiles as they were. Equal to what read_job gave then."""

    def fetch(kind: str, reference: str, place: str) -> tuple[dict[str, Any], str]:
        key = f"{kind}/{reference}"
        if key not in profiles:
            raise JobError(
                "unknown-profile", f'{place}: the run kept no {kind} "{reference}"', "the run file is damaged"
            )
        return profiles[key], f"{key} kept with the run"

    return _assemble(text, "the job kept with the run", name, fetch)


def _assemble(text: str, origin: str, name: str, fetch: Fetch) -> Job:
    raw = parse_toml(text, origin)
    written = _checked(JobText, _without_format(raw, origin), origin)
    used: dict[str, dict[str, Any]] = {}

    def profile(kind: str, model: type[M], reference: Any, key: str) -> tuple[str, M]:
        """A profile by name or path, or the inline table that stands in the job itself."""
        if isinstance(reference, dict):
            inline = {k: v for k, v in reference.items() if k != "format"}
            return "inline", _checked(model, inline, origin, key)
        raw_profile, where = fetch(kind, reference, f"{origin}, {key}")
        used[f"{kind}/{reference}"] = raw_profile
        return name_of(reference), _checked(model, _without_format(raw_profile, where), where)

    stock = tuple(
        build.stock(piece, build.iron(*profile("iron", IronText, piece.iron, f"stock[{i}].iron")))
        for i, piece in enumerate(written.stock, start=1)
    )
    coupons = tuple(
        build.stock(piece, build.iron(*profile("iron", IronText, piece.iron, f"coupon[{i}].iron")))
        for i, piece in enumerate(written.coupon, start=1)
    )
    use = written.use
    oven = build.oven(*profile("oven", OvenText, use.oven, "use.oven"))
    hand = use.controller == "none"
    if not hand and not oven.controlled:
        hint = 'write controller = "none"; its temperature is logged and folded with soak predict'
        raise JobError("no-controller", f"{origin}, use.controller: {oven.name} has no controller", hint)
    return Job(
        name=name,
        title=written.title,
        target=build.target(written.target),
        stock=stock,
        coupons=coupons,
        packing=build.packing(written.packing),
        canister=build.canister(*profile("canister", CanisterText, use.canister, "use.canister")),
        pack=build.pack(*profile("pack", PackText, use.pack, "use.pack")),
        oven=oven,
        controller=None
        if hand
        else build.controller(*profile("controller", ControllerText, use.controller, "use.controller")),
        limits=build.limits(written.limits),
        text=text,
        profiles=used,
    )


def _checked(model: type[M], raw: Mapping[str, Any], where: str, prefix: str = "") -> M:
    try:
        return model.model_validate(dict(raw))
    except ValidationError as error:
        raise complaint(error, model, where, prefix) from None


def _without_format(raw: Mapping[str, Any], where: str) -> dict[str, Any]:
    """What the file says beside its format, once that is one we read."""
    said = raw.get("format")
    if said is None:
        raise JobError("format-missing", f"{where}: format is missing", f"add format = {FORMAT} as the first line")
    if isinstance(said, bool) or not isinstance(said, int) or said < 1:
        raise JobError("wrong-type", f"{where}, format: read {said!r}, which is no format", f"write format = {FORMAT}")
    if said > FORMAT:
        hint = "update soak, or write the file in the older format"
        raise JobError("format-newer", f"{where}, format: read {said}; this soak reads up to {FORMAT}", hint)
    return {key: value for key, value in raw.items() if key != "format"}
