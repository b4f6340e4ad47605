"""When a hot wall is too thin to carry what stands on it: the floor that sags, and when to retire. Pure numbers; SI."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from soak.physics.gas import R
from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (1173.0, 1373.0)
GRAVITY = 9.80665  # m/s2, standard
_BOLTZMANN = 1.380649e-23  # J/K, exact

_MAPS = "Frost and Ashby, Deformation-mechanism maps (1982), austenitic iron"
A = Sourced(4.3e5, "1", "power law, shear", _MAPS, "memory")
N = Sourced(4.5, "1", "power law", _MAPS, "memory")
D_0 = Sourced(1.8e-5, "m2/s", "self-diffusion of austenite", _MAPS, "memory")
Q = Sourced(270e3, "J/mol", "self-diffusion of austenite", _MAPS, "memory")
BURGERS = Sourced(2.58e-10, "m", "austenite", _MAPS, "memory")
MU_0 = Sourced(81e9, "Pa", "shear modulus at 300 K", _MAPS, "memory")
MU_SLOPE = Sourced(-0.91, "1", "(T_M/mu) dmu/dT", _MAPS, "memory")
T_M = Sourced(1810.0, "K", "melting point", _MAPS, "memory")

STRAIN_RATE = Sourced(1e-7, "1/s", "what a floor may creep", "0.14 % in a soak of 4 h", "judgement")
LEAST = Sourced(0.5e-3, "m", "thinnest wall that stays tight", "no source found", "judgement")
RESERVE = Sourced(0.25, "1", "share of the new wall kept back", "no source found", "judgement")
# degC, MPa: 21Cr-11Ni-Si-N-Ce (EN 1.4835) breaks after 10 000 h (producer's datasheet, seen). For other alloys it
# stands in (judgement): a soak is short, so it errs to the safe side.
STRENGTH_1_4835: Final = ((900.0, 13.0), (950.0, 9.6), (1000.0, 7.0), (1050.0, 5.5), (1100.0, 4.3))
# long side over short side, c of sigma = c q (b/t)^2: clamped plate, even load (plate tables, memory)
PLATE: Final = ((1.0, 0.308), (1.2, 0.3834), (1.4, 0.4356), (1.6, 0.4680), (1.8, 0.4872), (2.0, 0.4974), (4.0, 0.5))


def iron_stress(T: Number, rate: Number = STRAIN_RATE.value) -> Array:
    """Tension at which austenitic iron creeps at a given rate, sigma [Pa].

    gamma' = A D mu b/(k T) (sigma_s/mu)^n in shear; sigma = sqrt(3) sigma_s, gamma' = sqrt(3) rate.
    T [K] 900-1100 degC, rate [1/s] 1e-8 to 1e-6; broadcasts; true to a factor 1.5. Source: see A.

    >>> round(float(iron_stress(1050 + 273.15)) / 1e6, 1)
    7.8
    """
    T = np.asarray(T)
    mu = MU_0.value * (1.0 + MU_SLOPE.value * (T - 300.0) / T_M.value)
    speed = A.value * D_0.value * np.exp(-Q.value / (R * T)) * mu * BURGERS.value / (_BOLTZMANN * T)
    return np.asarray(3.0**0.5 * mu * (3.0**0.5 * np.asarray(rate) / speed) ** (1.0 / N.value))


def strength_1_4835(T: Number) -> Array:
    """Tension that EN 1.4835 stands for 10 000 h [Pa]. T [K] 900-1100 degC; its logarithm straight in T between the
    datasheet's points and beyond. Source: see STRENGTH_1_4835.

    >>> float(strength_1_4835(1000 + 273.15).round(-3)) / 1e6
    7.0
    """
    t = np.asarray(T) - 273.15
    celsius, ln = np.array(STRENGTH_1_4835).T[0], np.log(np.array(STRENGTH_1_4835).T[1])
    slope = np.diff(ln) / np.diff(celsius)
    over = np.minimum(t - celsius[0], 0.0) * slope[0] + np.maximum(t - celsius[-1], 0.0) * slope[-1]
    return np.asarray(1e6 * np.exp(np.interp(t, celsius, ln) + over))


def allowed_stress(material: str, T: Number) -> Array:
    """What a canister's floor may carry [Pa]: steel `iron_stress`, alloys `strength_1_4835`; fireclay does not creep.
    material: one of `scaling.MATERIALS`; T [K]."""
    if material == "fireclay":
        return np.full(np.shape(T), np.inf)
    return iron_stress(T) if material == "steel" else strength_1_4835(T)


def floor_load(kg: Number, floor_m2: Number) -> Array:
    """Load on a floor, q = g m/A [Pa]. kg: pack and iron together; m2 of floor.

    >>> round(float(floor_load(20.0, 0.03)), -2)
    6500.0
    """
    return np.asarray(GRAVITY * np.asarray(kg) / np.asarray(floor_m2))


def sag_thickness(load: Number, short_m: Number, stress: Number, long_m: Number | None = None) -> Array:
    """Thinnest floor, clamped at its edges and held up nowhere else, that does not sag: t = b sqrt(c q/sigma) [m].

    c = 0.308 for a square, to 0.5 for a long floor. load q [Pa]; short_m b, long_m [m] inside; stress [Pa] at the
    floor's temperature; broadcasts. On a flat shelf that carries the whole floor sag does not govern: do not ask.

    >>> round(1e3 * float(sag_thickness(2000.0, 0.1, iron_stress(1000 + 273.15))), 1)
    0.8
    """
    aspect, c = np.array(PLATE).T
    other = short_m if long_m is None else long_m
    b, long = np.minimum(short_m, other), np.maximum(short_m, other)
    coefficient = np.interp(long / b, aspect, c)
    return np.asarray(b * np.sqrt(coefficient * np.asarray(load) / np.asarray(stress)))


def retire_at(new_m: Number, sag_m: Number = 0.0, expendable: bool = False) -> Array:
    """Wall at which a canister is done [m]: the most of 0.5 mm, what sags, and a quarter of the new wall (not for one
    marked expendable). sag_m [m]: of `sag_thickness`, 0 where a shelf carries the floor. Judgement: see LEAST.

    >>> round(1e3 * float(retire_at(0.003)), 2)
    0.75
    """
    reserve = 0.0 if expendable else RESERVE.value
    return np.asarray(np.maximum(np.maximum(LEAST.value, np.asarray(sag_m)), reserve * np.asarray(new_m)))


def used_share(new_m: Number, lost_m: Number, retire_m: Number) -> Array:
    """Share of the wall's budget used: lost/(new - retire) [-], inf for a wall that was never thick enough.
    lost_m: at the worst spot. Warn from 0.5, again from 0.8."""
    budget = np.asarray(new_m) - retire_m
    return np.asarray(np.where(budget > 0.0, np.asarray(lost_m) / np.where(budget > 0.0, budget, 1.0), np.inf))
