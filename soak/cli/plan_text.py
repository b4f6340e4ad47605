"""A plan, or the result of a run, as lines for a person. The number that matters first, then why, then what to do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from soak.cli import output as o
from soak.cli.output import Units

DocumentT = Mapping[str, Any]


def plan(doc: DocumentT, units: Units) -> list[str]:
    lines = [doc["title"], "", *headline(doc, units, "expect"), ""]
    rows: list[tuple[str, ...]] = [("", "segment", "to", "rate", "takes", "ends on")]
    for i, s in enumerate(doc["segments"], 1):
        to = f"below {o.temperature(s['to_c'], units)}" if s["kind"] == "cool" else o.temperature(s["to_c"], units)
        kind = "cool, power off" if s["kind"] == "cool" else s["kind"]
        ends = s["ends_on"]
        if s["kind"] == "hold" and ends == "carbon":
            ends = f"carbon, at most {o.duration(s['greatest_h'])}"
        rows.append((str(i), kind, to, o.rate(s["rate_c_per_h"], units), o.duration(s["hours"]), ends))
    lines += o.table(rows)
    lines += [
        "",
        f"  power on for {o.duration(doc['heat_on_h'])}, cold enough to open after {o.duration(doc['hours_total'])}",
    ]
    lines += ["", *pieces(doc["pieces"], units), "", *canister(doc["canister"], units)]
    pack = doc["pack"]
    energizer = ", ".join(f"{o.mass(kg, units)} {name}" for name, kg in pack["energizer_kg"].items()) or "no energizer"
    enough = f"{pack['carbon_ratio']:.0f} times the carbon needed"
    lines.append(f"pack      {o.mass(pack['pack_kg'], units)} in all with {energizer}; {enough}")
    gas = f"makes {pack['gas_made_l']:.0f} L of gas; cooling draws in {pack['air_drawn_in_l']:.1f} L of air"
    lines.append(f"          {gas}; air burns {pack['air_burns_g']:.1f} g")
    lines.append(f"charge    {doc['fit']['text']}")
    lines += [*after_soak(doc, units), *coupons(doc["coupons"], units)]
    lines += ["", "other hold temperatures (* chosen)"]
    rows = [("", "hold", "for", "power on", "wall lost", "surface", "why")]
    for a in doc["alternatives"]:
        rows.append(
            (
                "*" if a["chosen"] else "",
                o.temperature(a["hold_c"], units),
                o.duration(a["hold_h"]),
                o.duration(a["heat_on_h"]),
                o.length(a["wall_lost_mm"], units),
                f"{a['surface_carbon_pct']:.2f} %",
                a["why"],
            )
        )
    return [*lines, *o.table(rows), "", *warnings(doc["warnings"])]


def headline(doc: DocumentT, units: Units, verb: str) -> list[str]:
    """The carbon, the chance, and for a depth target the depth."""
    p, t = doc["predicted"], doc["target"]
    if t["where"] == "depth":
        wanted = f"{t['carbon_pct']:.2f} % C at {o.length(t['depth_mm'], units)} wanted"
        got = f"{verb} it at {o.lengths(p['case_depth_mm'], units)}"
    else:
        wanted = f"{t['carbon_pct']:.2f} % C {t['where']} wanted"
        got = f"{verb} {o.percent(p[t['where'] + '_carbon_pct'])}"
    within = o.length(t["depth_tolerance_mm"], units) if "depth_tolerance_mm" in t else f"{t['tolerance_pct']:.2f} % C"
    chance = f"{100 * p['chance_in_tolerance']:.0f} in 100 land within {within} of it"
    return [f"{wanted}: {got}", f"  {chance} (slowest piece: {p['piece']}; ranges are 10 % to 90 %)"]


def pieces(rows: list[DocumentT], units: Units) -> list[str]:
    """Carbon by piece."""
    out = [("piece", "pieces", "mean C", "surface C", "centre C", "case to 0.40 %")]
    for r in rows:
        out.append(
            (
                r["piece"],
                f"{r['count']:g}",
                o.percent(r["mean_carbon_pct"]),
                o.percent(r["surface_carbon_pct"]),
                o.percent(r["centre_carbon_pct"]),
                case(r, units),
            )
        )
    return o.table(out)


def case(row: DocumentT, units: Units) -> str:
    band = row["case_depth_mm"]
    return "through" if row["centre_carbon_pct"]["low"] >= 0.40 else o.lengths(band, units)


def canister(c: DocumentT, units: Units) -> list[str]:
    soaks = c["soaks_left"]
    if soaks["low"] >= 200:
        left = "not limited by oxidation"
    else:
        left = f"soaks like it left after this one: {soaks['mid']:.0f} ({soaks['low']:.0f} to {soaks['high']:.0f})"
    return [
        f"canister  loses {o.lengths(c['wall_lost_mm'], units)} of wall; left at its thinnest "
        f"{o.lengths(c['wall_left_mm'], units)}",
        f"          {left}; breach in {100 * c['breach_chance']:.0f} of 100 such soaks",
    ]


def warnings(rows: list[DocumentT]) -> list[str]:
    if not rows:
        return []
    lines = ["mind"]
    for w in rows:
        lines += o.wrapped(w["text"], "  - ")
    return lines


def profiles(rows: list[DocumentT], units: Units) -> list[str]:
    """Carbon against depth, every third node."""
    lines = []
    for r in rows:
        points = r["profile"][::3]
        out = [("depth", *(o.length(p["depth_mm"], units) for p in points))]
        out.append(("carbon", *(f"{p['carbon_pct']['mid']:.2f} %" for p in points)))
        lines += [f"  {r['piece']}, from the surface in", *o.table(out, "    ")]
    return lines


def after_soak(doc: DocumentT, units: Units) -> list[str]:
    """Grain, and what it will need."""
    grains = [p["grain_um"] for p in doc["pieces"]]
    worst = max(grains, key=lambda g: g["mid"])
    heats = ", ".join(o.temperature(c, units) for c in doc["normalise"]["heats_c"])
    line = f"grain     {worst['mid']:.0f} um ({worst['low']:.0f} to {worst['high']:.0f}); normalise at {heats}"
    fronts = [p for p in doc["pieces"] if p["ferrite_from_mm"] is not None]
    told = [f"          {p['piece']}: ferrite from {o.length(p['ferrite_from_mm'], units)} inward" for p in fronts]
    return [line, *told]


def coupons(rows: list[DocumentT], units: Units) -> list[str]:
    """What each coupon will weigh and show."""
    if not rows:
        return []
    out: list[tuple[str, ...]] = [("coupon", "iron", "weighs", "gains", "mean C", "surface C")]
    for c in rows:
        gain = c["gains_g"]
        out.append(
            (
                f"{c['coupon']} ({o.length(c['thickness_mm'], units)})",
                c["iron"],
                f"{c['weighs_g']:.3f} g",
                f"{gain['mid']:.3f} g ({gain['low']:.3f} to {gain['high']:.3f})",
                o.percent(c["mean_carbon_pct"]),
                o.percent(c["surface_carbon_pct"]),
            )
        )
    return ["", *o.table(out)]


def why(doc: DocumentT) -> list[str]:
    """What causes the band, and which measurement would narrow it most."""
    lines = ["what the band comes from (share of its variance; what one sigma moves)"]
    for c in doc["causes"]:
        lines.append(f"  {c['share_pct']:4.0f} %  {c['what']}: {c['moves_pct']:+.3f} % C")
    lines.append(f"  {doc['rest_pct']:4.0f} %  curvature and interplay")
    lines += ["", "what would narrow it most"]
    for r in doc["remedies"]:
        lines.append(f"  to {r['width_left_pct']:.0f} % of its width: {r['what']}")
    return lines


def evidence(doc: DocumentT) -> list[str]:
    """What melting witnesses make of a run."""
    if not doc["agrees"]:
        return ["the witnesses contradict the model: look at the couple, and at where they lay"]
    sigma = (
        f"temperature doubt {doc['temperature_sigma_before_k']:.0f} -> {doc['temperature_sigma_k']:.0f} K (one sigma)"
    )
    return [f"with its witnesses: {o.percent(doc['carbon_pct'])} C, was {o.percent(doc['carbon_before_pct'])}; {sigma}"]
