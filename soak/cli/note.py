"""`soak note`: what was seen, weighed, opened. Evidence cannot be gathered later."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from cyclopts import Parameter

from soak.cli import output as o
from soak.cli import plan_text
from soak.cli.common import COMMON, Common, quantity
from soak.errors import UsageError
from soak.record.inbox import put
from soak.record.load import load
from soak.record.notes import add_note
from soak.record.rows import Note
from soak.shop.evidence import with_witnesses
from soak.shop.folder import find_run, shop_folder
from soak.units import mass_kg, share, temperature_c

# outside these a number is a slip of the pen (judgement; no iron holds more carbon than cementite)
WEIGHT, CARBON, MELTS = ("0.1 g", "1000 kg"), ("0 %", "6.7 %"), ("20 degC", "1600 degC")


def note(
    run: str,
    text: str = "",
    /,
    *,
    weight_before: str | None = None,
    weight_after: str | None = None,
    of: str = "charge",
    coupon: str | None = None,
    broke: str | None = None,
    spark: str | None = None,
    witness: str | None = None,
    melted: bool | None = None,
    photo: Path | None = None,
    alive: Annotated[bool, Parameter(negative="")] = False,
    common: Common = COMMON,
) -> None:
    """Write down what was seen, weighed, opened.

    Parameters
    ----------
    run
        A path, a name, the beginning of a name, or last.
    text
        Anything, in your words.
    weight_before
        Weight before the soak, as "1.482 kg" or "1482 g".
    weight_after
        Weight after it, brushed clean.
    of
        What was weighed: charge, canister, or a piece's name.
    coupon
        A coupon's carbon from a laboratory, as "0.83 %".
    broke
        What a broken piece showed: grain, bright rim, its depth.
    spark
        Carbon by spark comparison, as an interval: "0.7 % to 0.9 %".
    witness
        A melting witness, by its melting point: "961.8 degC".
    melted
        Whether the witness melted (--melted or --no-melted).
    photo
        Path of a photograph.
    alive
        A sign of life to an attended run that still goes on.
    """
    path = find_run(shop_folder(common.shop), run)
    if alive:
        put(path, {"message": "alive"})
    values: dict[str, Any] = {}
    kind = "text"
    if weight_before is not None or weight_after is not None:
        kind, values["of"] = "weighing", of
    if weight_before is not None:
        values["before_kg"] = quantity("--weight-before", weight_before, mass_kg, *WEIGHT)
    if weight_after is not None:
        values["after_kg"] = quantity("--weight-after", weight_after, mass_kg, *WEIGHT)
    if coupon is not None:
        kind, values["coupon_carbon_pct"] = "coupon", round(100 * quantity("--coupon", coupon, share, *CARBON), 4)
    if broke is not None:
        kind, values["broke"] = "break", broke
    if spark is not None:
        low, high = interval(spark)
        kind, values["spark_carbon_low_pct"], values["spark_carbon_high_pct"] = "spark", low, high
    if witness is not None:
        if melted is None:
            raise UsageError("note", "a witness says nothing without --melted or --no-melted", "add one of them")
        kind, values["melted"] = "witness", melted
        values["witness_c"] = quantity("--witness", witness, temperature_c, *MELTS)
    elif melted is not None:
        raise UsageError("note", "--melted needs --witness", 'add --witness "961.8 degC"')
    if photo is not None:
        if not photo.is_file():
            raise UsageError("note", f"there is no file {photo}", "give the path of the photograph")
        values["photo"] = str(photo.resolve())
        kind = "photo" if kind == "text" and not text else kind
    if not values and not text and alive:
        if common.json:
            o.emit_json({"alive": True, "done": "waiting"})
        else:
            o.say("a sign of life: handed to the running loop")
        return
    if not values and not text:
        raise UsageError("note", "nothing was said", 'soak note RUN "in your words", or an option: soak note --help')
    now = datetime.now(UTC).isoformat(timespec="seconds")
    done: Literal["written", "waiting"] = add_note(path, Note(now, kind, values, text))
    told = "written into the run file" if done == "written" else "handed to the running loop"
    weighed = with_witnesses(load(path)) if kind == "witness" and done == "written" else None
    if common.json:
        doc = {"note": {"kind": kind, "values": values, "text": text, "wall": now}, "done": done}
        o.emit_json(doc if weighed is None else {**doc, "evidence": weighed})
    else:
        o.say(f"{kind}: {told}", *(plan_text.evidence(weighed) if weighed else ()))


def interval(said: str) -> tuple[float, float]:
    """ "0.7 % to 0.9 %" as per cent."""
    parts = said.split(" to ")
    if len(parts) != 2:
        raise UsageError("note", f"--spark {said!r} is not an interval", 'write "0.7 % to 0.9 %"')
    low, high = (round(100 * quantity("--spark", p, share, *CARBON), 4) for p in parts)
    if low > high:
        raise UsageError("note", f"--spark {said!r} runs from more to less", 'write "0.7 % to 0.9 %"')
    return low, high
