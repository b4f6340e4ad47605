"""A state told as the document other tools read: predicted carbon, pieces, canister. Pure; keys carry their unit."""

from __future__ import annotations

from typing import Any

import numpy as np

from soak.job.canister import Canister
from soak.job.layout import inside_m
from soak.job.target import Target
from soak.physics import coupon, creep, grain
from soak.physics.activity import A1_K, a3, single_phase_carbon
from soak.process import outcome as read
from soak.process.charge import Charge
from soak.process.outcome import Band, band
from soak.process.slag import CARBON_PER_FEO
from soak.process.state import ZERO_C, State

FERRITE_PCT = 0.01  # what ferrite beside austenite holds, about (thermo: 0.001 to 0.015 %; computed)
NOT_LIMITED = 200  # more soaks than this: oxidation does not end this canister's life


def carbon(charge: Charge, state: State, target: Target, piece: int) -> dict[str, Any]:
    """What one piece has become."""
    w = state.weight

    def show(values: Any, factor: float) -> dict[str, float]:
        return band(values[:, piece], w).scaled(factor).as_dict()

    depth_for = target.carbon if target.where == "depth" else read.CASE_CARBON
    return {
        "mean_carbon_pct": show(read.mean(charge, state), 100.0),
        "surface_carbon_pct": show(read.surface(charge, state), 100.0),
        "centre_carbon_pct": show(read.centre(charge, state), 100.0),
        "case_depth_mm": show(read.case_depth(charge, state, depth_for), 1000.0),
        "chance_in_tolerance": round(read.chance_in_tolerance(charge, state, target, piece), 3),
    }


def pieces(charge: Charge, state: State, target: Target, profile: bool = False) -> list[dict[str, Any]]:
    """Every piece of work, and if asked its carbon against depth."""
    out = []
    for i, piece in enumerate(charge.pieces[: charge.work]):
        row: dict[str, Any] = {"piece": piece.label, "where": piece.where, "count": piece.count}
        row |= carbon(charge, state, target, i)
        row["grain_um"] = grain_band(state, i).scaled(1e6).as_dict(0)
        row["ferrite_from_mm"] = ferrite_from_mm(charge, state, i)
        if profile:
            row["profile"] = profile_points(charge, state, i)
        out.append(row)
    return out


def profile_points(charge: Charge, state: State, piece: int) -> list[dict[str, Any]]:
    """Carbon against depth. Inside the front the core was ferrite: it is shown at what ferrite holds."""
    front_mm = ferrite_from_mm(charge, state, piece)
    points = []
    for x, point in zip(charge.depth[piece], profile_bands(charge, state, piece), strict=True):
        depth_mm = round(1000.0 * float(x), 4)
        shown = point.scaled(100.0)
        if front_mm is not None and depth_mm >= front_mm:
            shown = Band(*(min(v, FERRITE_PCT) for v in (shown.low, shown.mid, shown.high)))
        points.append({"depth_mm": depth_mm, "carbon_pct": shown.as_dict()})
    return points


def ferrite_from_mm(charge: Charge, state: State, piece: int) -> float | None:
    """Depth from which the core stayed ferrite at the hottest moment, by the central estimate; None: all austenite.

    Austenite needs the carbon of the A3 line (plain iron) or of the phosphoric iron's single-phase line. The solver
    takes all for austenite, which errs under 1 % of the mean above 950 degC and 2 % at 900 degC.
    """
    stock = charge.pieces[piece].stock
    hottest_k = float((state.peak @ charge.heat.at.T)[0, piece])
    if hottest_k <= A1_K.value:
        return None
    p = stock.iron.composition.get("P", 0.0)
    needed = max(float(a3(hottest_k)), float(single_phase_carbon(max(hottest_k, 1123.15), p)) if p > 0.0 else 0.0)
    poor = np.nonzero(read.profiles(charge, state)[0, piece] < needed)[0]
    return round(1000.0 * float(charge.depth[piece, poor[0]]), 3) if len(poor) else None


def grain_band(state: State, piece: int) -> Band:
    """Austenite grain [m]: the first law's central estimate, within the least and the most of all three."""
    low, mid, high = grain.band(state.grain[:, piece])
    kept = state.weight > 0.0
    return Band(float(np.quantile(low[kept], 0.1)), float(mid[0]), float(np.quantile(high[kept], 0.9)))


def normalising(charge: Charge, state: State, piece: int) -> dict[str, Any]:
    """What the grain after the soak will need before hardening."""
    mean = float(read.mean(charge, state)[0, piece])
    advice = grain.normalise(grain_band(state, piece).mid, mean, charge.pieces[piece].stock.iron.composition)
    return {"heats_c": [round(k - ZERO_C) for k in advice.passes_k], "why": advice.why}


def coupons(charge: Charge, state: State) -> list[dict[str, Any]]:
    """What each coupon will show and weigh: carbon, and the gain on the balance (slag's oxygen already taken off)."""
    out = []
    w = state.weight
    for i, piece in enumerate(charge.pieces):
        if piece.role != "coupon":
            continue
        mean = read.mean(charge, state)[:, i]
        reduced = state.eaten[:, i] / (CARBON_PER_FEO.value * charge.volume_m[i])
        gain = coupon.mass_gain(
            piece.mass_kg, piece.stock.iron.carbon, mean, coupon.slag_oxygen(piece.mass_kg, reduced, 1.0)
        )
        out.append(
            {
                "coupon": piece.label,
                "iron": piece.stock.iron.name,
                "thickness_mm": round(1000.0 * piece.stock.thickness_m, 3),
                "weighs_g": round(1000.0 * piece.mass_kg, 3),
                "gains_g": band(1000.0 * gain, w).as_dict(4),
                "mean_carbon_pct": band(100.0 * mean, w).as_dict(),
                "surface_carbon_pct": band(100.0 * read.surface(charge, state)[:, i], w).as_dict(),
                "case_depth_mm": band(1000.0 * read.case_depth(charge, state)[:, i], w).as_dict(),
            }
        )
    return out


def profile_bands(charge: Charge, state: State, piece: int) -> list[Band]:
    """One band a node of charge.depth."""
    rows = read.profiles(charge, state)[:, piece]
    return [band(rows[:, n], state.weight) for n in range(rows.shape[-1])]


def predicted(charge: Charge, state: State, target: Target) -> dict[str, Any]:
    """The slowest piece, by name."""
    i = read.slowest(charge, state, target)
    return {"piece": charge.pieces[i].label} | carbon(charge, state, target, i)


def canister(charge: Charge, state: State, can: Canister) -> dict[str, Any]:
    """The wall: lost in this soak, left at the thinnest spot, soaks left after this one, chance of a breach by its end.

    It is done at 0.5 mm, at a quarter of the new wall (an expendable one gives that up), or where its floor would sag.
    """
    w = state.weight
    lost = read.wall_lost(charge, state)
    left = read.wall_left(charge, state)
    sag_m = sag(charge, state, can)
    done = float(creep.retire_at(can.wall_m, sag_m, can.expendable))
    with np.errstate(divide="ignore", invalid="ignore"):
        soaks = np.clip(np.floor((left - done) / (charge.local * lost)), 0, NOT_LIMITED)
    out = {
        "wall_lost_mm": band(1000.0 * lost, w).as_dict(),
        "wall_left_mm": band(1000.0 * left, w).as_dict(),
        "soaks_left": band(np.nan_to_num(soaks, nan=NOT_LIMITED), w).as_dict(0),
        "breach_chance": round(read.breach_chance(charge, state), 3),
        "done_at_mm": round(1000.0 * done, 2),
    }
    if sag_m > 0.0:
        out["sags_below_mm"] = round(1000.0 * sag_m, 2)
    return out


def sag(charge: Charge, state: State, can: Canister) -> float:
    """Thickness below which an unsupported floor sags at the hottest moment [m]; 0 on a flat shelf or for brick."""
    if can.floor_supported or can.material == "fireclay":
        return 0.0
    width, _, length = inside_m(can)
    kg = sum(p.count * p.mass_kg for p in charge.pieces) + charge.pack_kg
    stress = float(creep.allowed_stress(can.material, float(state.peak[0, 0])))
    return float(creep.sag_thickness(float(creep.floor_load(kg, width * length)), width, stress, length))
