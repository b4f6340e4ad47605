"""What the carbonates do: gas they give, when, and how they quicken the charcoal.

Pure numbers; imports numpy and the gas constant. Pressures in bar, mass fractions, kelvin.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from soak.physics.gas import ATM, R
from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (873.0, 1473.0)

LIME_CENTRE = Sourced(
    1083.0, "K", "carbonate in charcoal, ordinary ramps", "gas passes 1 atm at 787 degC, then heat", "judgement"
)
LIME_WIDTH = Sourced(25.0, "K", "same", "spread of temperature in a charge", "judgement")
DOSE = Sourced(
    0.04, "1", "mass share of the pack", "no gain beyond 10 %: 1 - exp(-w/4 %) is 92 % there (Afonja)", "judgement"
)
LEAST_FACTOR = Sourced(0.5, "1", "any pack", "used charcoal reacts less; floor", "judgement")
BARIUM_HOT = Sourced(5.0, "1", "above 1000 degC", "barium is spent quickly above 1000 degC", "judgement")
BARIUM_STEP_K = (1263.15, 1283.15)  # 990 to 1010 degC
CHARCOAL_AGEING = Sourced(0.3, "1", "charcoal alone, after a soak", "its surface oxidises; as with lime", "judgement")
VOLATILE_GAS = Sourced(44.6, "mol/kg", "volatiles of charcoal on first heating", "about 1 L (STP) per gram", "memory")
WATER_GAS = Sourced(55.51, "mol/kg", "moisture as steam", "1/0.018015; twice that when it meets hot carbon", "computed")


@dataclass(frozen=True, slots=True)
class Carbonate:
    """molar_mass [kg/mol]; co: mol CO per mol with carbon; carbon: mol C spent per mol; factor on charcoal's rate at
    full dose; ageing: what is left of the factor after one soak; alkali: boils away within a soak."""

    molar_mass: float
    co: float
    carbon: float
    factor: float
    ageing: float
    alkali: bool
    source: str


CARBONATES: Final[Mapping[str, Carbonate]] = {
    "CaCO3": Carbonate(0.100087, 2.0, 1.0, 3.0, 0.3, False, "dry mixed; estimate, factor 3 (judgement)"),
    "Na2CO3": Carbonate(0.105988, 3.0, 2.0, 10.0, 0.3, True, "soaked in; estimate, factor 3 (judgement)"),
    "K2CO3": Carbonate(0.138205, 3.0, 2.0, 10.0, 0.3, True, "soaked in; estimate, factor 3 (judgement)"),
    "BaCO3": Carbonate(0.197336, 2.0, 1.0, 10.0, 0.7, False, "below 1000 degC; ageing after 950 degC (judgement)"),
}


def _pressure(T: Number, h: float, s: float, gases: float) -> Array:
    """p [bar] of a solid-gas balance dG = h - s T per mol of reaction with `gases` mol of one gas at 1 atm."""
    return ATM * np.exp((s - h / np.asarray(T)) / (gases * R))


def lime_pressure(T: Number) -> Array:
    """CO2 over CaCO3 and CaO [bar]: dG = 170052 - 145.858 T (1 atm). T [K] 873-1200. NASA polynomials (computed).

    >>> round(float(lime_pressure(893 + 273.15)), 2)
    1.02
    """
    return _pressure(T, 170052.0, 145.858, 1.0)


def lime_carbon_pressure(T: Number) -> Array:
    """CO over CaCO3, CaO and carbon [bar]: dG = 340388 - 320.869 T for 2 CO. T [K] 873-1200. NASA (computed).

    >>> round(float(lime_carbon_pressure(787.7 + 273.15)), 2)
    1.01
    """
    return _pressure(T, 340388.0, 320.869, 2.0)


def barium_pressure(T: Number) -> Array:
    """CO2 over BaCO3 and BaO [bar]: dG = 252100 - 146.6 T. T [K] 1000-1250. Basu and Searcy 1976 (figures seen)."""
    return _pressure(T, 252100.0, 146.6, 1.0)


def barium_carbon_pressure(T: Number) -> Array:
    """CO over BaCO3, BaO and carbon [bar]: dG = 421174 - 320.4 T for 2 CO. T [K] 1000-1400; sum of two rows, 25 K.

    >>> round(float(barium_carbon_pressure(1041 + 273.15)), 1)
    1.0
    """
    return _pressure(T, 421174.0, 320.4, 2.0)


def lime_converted(T: Number) -> Array:
    """Share of CaCO3 turned to lime once the pack has been at T [K]: logistic about 810 degC, width 25 K (judgement).

    The caller keeps the highest value: what has gone does not come back with cooling.

    >>> float(lime_converted(1083.0))
    0.5
    """
    return 0.5 * (1.0 + np.tanh((np.asarray(T) - LIME_CENTRE.value) / (2.0 * LIME_WIDTH.value)))


def co_per_kg(carbonate: str) -> float:
    """CO that a kilogram of a carbonate makes when all of it reacts with carbon [mol/kg].

    For Na2CO3 and K2CO3 an upper bound (they boil off as metal beside it, above 900-1000 degC).

    >>> round(co_per_kg("CaCO3"), 2)
    19.98
    """
    return CARBONATES[carbonate].co / CARBONATES[carbonate].molar_mass


def carbon_per_kg(carbonate: str) -> float:
    """Charcoal carbon that a kilogram of a carbonate burns when all of it reacts [kg/kg].

    >>> round(carbon_per_kg("CaCO3"), 3)
    0.12
    """
    return CARBONATES[carbonate].carbon * 0.012011 / CARBONATES[carbonate].molar_mass


def charcoal_needed(iron_kg: Number, rise: Number, fixed_carbon: Number) -> Array:
    """Charcoal whose carbon ends in the iron [kg]: iron_kg x rise / fixed_carbon; rise and fixed_carbon mass fractions.

    >>> round(1000 * float(charcoal_needed(1.0, 0.008, 0.75)), 1)
    10.7
    """
    return np.asarray(iron_kg) * rise / fixed_carbon


def _factor(name: str, share: float) -> float:
    return 1.0 + (CARBONATES[name].factor - 1.0) * (1.0 - math.exp(-share / DOSE.value))


def strongest(energizer: Mapping[str, float]) -> str | None:
    """The carbonate that rules the pack, or None for plain charcoal. Shares are mass fractions of the pack."""
    for name in energizer:
        if name not in CARBONATES:
            raise ValueError(f"energizer: {name!r} is not known; write one of {', '.join(CARBONATES)}")
    present = {name: _factor(name, share) for name, share in energizer.items() if share > 0.0}
    return max(present, key=lambda name: present[name]) if present else None


def catalyst(energizer: Mapping[str, float], reuse: float = 0.0, uses: int = 0) -> float:
    """How many times faster the pack's charcoal takes CO2 than clean charcoal does, at the start of a soak, f0.

    Per carbonate 1 + (full - 1)(1 - exp(-w/4 %)); the strongest rules (they do not add). Full: CaCO3 3, Na2CO3 and
    K2CO3 10, BaCO3 10. The share `reuse` (by volume) that saw `uses` soaks counts with f x 0.3^uses (0.7 for barium),
    never below 0.5. All judgement, factor 3. Later in the soak f = 1 + (f0 - 1) exp(-integral of `decay_rate`)
    `heat_factor`.

    >>> round(catalyst({"Na2CO3": 0.10}), 2)
    9.26
    """
    name = strongest(energizer)
    fresh = _factor(name, energizer[name]) if name else 1.0
    ageing = CARBONATES[name].ageing if name else CHARCOAL_AGEING.value
    aged = max(fresh * ageing**uses, LEAST_FACTOR.value)
    return (1.0 - reuse) * fresh + reuse * aged


def heat_factor(energizer: Mapping[str, float], T: Number) -> Array:
    """What heat leaves of f0 - 1 at once: for barium 1 below 990, 4/9 above 1010 degC (f 5, not 10); for others 1.

    T [K], any shape. Judgement; the fall is spread over 20 K so that no step stops a solver.
    """
    t = np.asarray(T, dtype=np.float64)
    if strongest(energizer) != "BaCO3":
        return np.ones_like(t)
    left = (BARIUM_HOT.value - 1.0) / (CARBONATES["BaCO3"].factor - 1.0)
    return np.asarray(np.interp(t, BARIUM_STEP_K, (1.0, left)))


def alkali_decay_rate(T: Number) -> Array:
    """Rate at which Na2CO3 and K2CO3 lose their power, 1/tau [1/s]: f = 1 + (f0 - 1) exp(-t/tau).

    tau 10 h at 1050 degC, 40 h at 1000 degC, its logarithm straight in T; none below 950 degC. T [K]. Judgement: no
    data found. For lime and barium there is no such loss (see `decay_rate`).

    >>> round(1 / float(alkali_decay_rate(1050 + 273.15)) / 3600, 6)
    10.0
    """
    T = np.asarray(T)
    tau_h = 10.0 * 4.0 ** ((1323.15 - T) / 50.0)
    return np.where(T >= 1223.15, 1.0 / (3600.0 * tau_h), 0.0)


def decay_rate(energizer: Mapping[str, float], T: Number) -> Array:
    """`alkali_decay_rate` where an alkali carbonate rules the pack, 0 where not [1/s]. T [K], any shape."""
    name = strongest(energizer)
    return alkali_decay_rate(T) if name and CARBONATES[name].alkali else np.zeros(np.shape(T))
