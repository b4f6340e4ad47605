"""From the words of a command line to a plan: what plan, dry-run and run share. Touches files through `shop`."""

from __future__ import annotations

from soak.cli.common import Common, quantity
from soak.cli.output import say_err
from soak.job.read import read_job
from soak.plan.choose import Planned, choose
from soak.shop.folder import shop_folder
from soak.shop.history import recall


def planned_for(job: str, at: str | None, override: str, common: Common) -> Planned:
    """Read the job, recall the canister's past, plan."""
    shop = shop_folder(common.shop)
    read = read_job(job, shop)
    history, unread = recall(shop, read)
    for line in unread:
        say_err(f"soak: left out of the canister's history: {line}")
    at_c = None
    if at is not None:
        from soak.units import temperature_c

        at_c = quantity("--at", at, temperature_c)
    return choose(read, history, at_c, override)
