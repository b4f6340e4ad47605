"""The ovens as data: reads ovens.toml beside it, once. Touches that one file and nothing else."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from hw_sim.errors import WrongInput


@dataclass(frozen=True, slots=True)
class Material:
    """A lining: density [kg/m3], cp = cp_20 + cp_slope (t - 20) [J/kgK], k at points (degC, W/mK)."""

    density: float
    cp_20: float
    cp_slope: float
    k: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Tuning:
    """How the controller is set: gains in % per K at 0 and 1000 degC, reset and rate times [s]."""

    gain_cold: float
    gain_hot: float
    reset_s: float
    rate_s: float


@dataclass(frozen=True, slots=True)
class Oven:
    """One oven, empty and as built. Lengths as their names say; areas [m2]; lining from inside out, (material, mm)."""

    name: str
    chamber_mm: tuple[float, float, float]
    power_w: float
    lining: tuple[tuple[Material, float], ...]
    element_kg: float
    face_kg: float
    hearth_kg: float
    door_w_per_k: float
    inner_m2: float
    outer_m2: float
    max_c: float
    pid: Tuning


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parent / "ovens.toml").read_text(encoding="utf-8"))


def material(name: str) -> Material:
    """The lining material of that name."""
    row = _tables()["material"][name]
    return Material(row["density"], row["cp_20"], row["cp_slope"], tuple((t, k) for t, k in row["k"]))


def oven(name: str) -> Oven:
    """The oven of that name. Raises WrongInput with the names there are."""
    known = _tables()["oven"]
    if name not in known:
        raise WrongInput(f"oven {name!r} is not known here: write one of {', '.join(known)}")
    row = known[name]
    return Oven(
        name=name,
        chamber_mm=(row["chamber_mm"][0], row["chamber_mm"][1], row["chamber_mm"][2]),
        power_w=row["power_w"],
        lining=tuple((material(which), mm) for which, mm in row["lining"]),
        element_kg=row["element_kg"],
        face_kg=row["face_kg"],
        hearth_kg=row["hearth_kg"],
        door_w_per_k=row["door_w_per_k"],
        inner_m2=row["inner_m2"],
        outer_m2=row["outer_m2"],
        max_c=row["max_c"],
        pid=Tuning(**row["pid"]),
    )


def oven_names() -> tuple[str, ...]:
    """All ovens there are."""
    return tuple(_tables()["oven"])
