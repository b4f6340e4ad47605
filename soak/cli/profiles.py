"""`soak profiles`: what irons, packs, canisters, ovens, controllers and jobs are known here."""

from __future__ import annotations

from soak.cli import output as o
from soak.cli.common import COMMON, Common
from soak.job.read import list_profiles
from soak.shop.folder import shop_folder

KINDS = ("job", "iron", "pack", "canister", "oven", "controller")


def profiles(*, common: Common = COMMON) -> None:
    """Irons, packs, canisters, ovens, controllers and jobs known here, shipped and the shop's own."""
    shop = shop_folder(common.shop)
    found = {kind: list_profiles(kind, shop) for kind in KINDS}
    if common.json:
        told = {k: [{"name": n, "title": t, "path": str(p)} for n, t, p in v] for k, v in found.items()}
        o.emit_json({"profiles": told})
        return
    for kind, rows in found.items():
        o.say(kind, *o.table([("name", "title"), *((n, t) for n, t, _ in rows)]), "")
    o.say(f"the shop's own go into {shop / 'profiles'}")
