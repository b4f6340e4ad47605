"""`soak predict`: what carbon a temperature record made."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from soak.cli import output as o
from soak.cli import plan_text
from soak.cli.common import COMMON, Common
from soak.job.read import read_job
from soak.shop.folder import shop_folder
from soak.shop.history import recall
from soak.shop.predicting import predict as fold


def predict(
    job: str,
    /,
    *,
    trace: Path,
    measured_in: Annotated[Literal["oven", "charge"], Parameter(name="--measured-in")] = "oven",
    common: Common = COMMON,
) -> None:
    """What carbon a temperature record made: from any logger, a gas forge, readings written down by hand.

    Parameters
    ----------
    job
        A job's name, or a path to its file.
    trace
        CSV with time_s (or ISO time) and temperature_c (or temperature_f).
    measured_in
        What was measured: the oven's air, or the charge (the iron's own temperature).
    """
    shop = shop_folder(common.shop)
    read = read_job(job, shop)
    history, _ = recall(shop, read)
    doc = fold(read, history, trace, measured_in).document
    if common.json:
        o.emit_json(doc)
        return
    head = plan_text.headline(doc, common.units, "made")
    hours = f"{doc['readings']} readings over {o.duration(doc['hours'])}, taken as the {measured_in}'s temperature"
    sigma = f"temperature doubt {doc['temperature_sigma_k']:.0f} K (one sigma)"
    lines = [doc["title"], "", *head, f"  {hours}; {sigma}", "", *plan_text.pieces(doc["pieces"], common.units)]
    lines += [
        "",
        *plan_text.profiles(doc["pieces"], common.units),
        "",
        *plan_text.canister(doc["canister"], common.units),
    ]
    o.say(*lines)
    o.say_err(*plan_text.warnings(doc["warnings"]))
