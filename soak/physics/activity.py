"""How much a piece of austenite wants carbon: activity, its inverse, and the lines where other phases begin.

Pure numbers; imports numpy and the gas constant. Mass fraction (0.008, not 0.8), kelvin. Reference state: graphite.
Contains information from mc_fe 2.059 (E. Povoden-Karadeniz, TU Wien), available under the ODbL: the Mn, Cr and Ni rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from soak.physics.gas import R
from soak.sources import How, Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (1123.0, 1423.0)
VALID_W = (0.0, 0.022)
M_C = 0.012011  # kg/mol
_FLOOR, _CEIL = 1e-12, 0.1  # mass fractions between which the logarithm is taken; wider than any state of the solver

_GUSTAFSON = "P. Gustafson, Scand. J. Metall. 14 (1985) 259; constants read in three open database files"
H_C = Sourced(42536.0, "J/mol", "austenite, 750-1200 degC", _GUSTAFSON, "seen")
S_C = Sourced(15.877, "J/mol/K", "austenite, 750-1200 degC", _GUSTAFSON, "seen")
W_C = Sourced(69342.0, "J/mol", "austenite, 750-1200 degC", _GUSTAFSON, "seen")
A1_K = Sourced(1000.15, "K", "plain Fe-C", "727 degC, any textbook diagram; assessed 726.5 degC", "seen")
PURE_A3_K = Sourced(1185.15, "K", "pure iron", "912 degC, any textbook diagram; assessed 911.7 degC", "seen")


@dataclass(frozen=True, slots=True)
class Element:
    """Molar mass [kg/mol]; how one atom of it per substitutional site moves RT ln a: A + B T + G y [J/mol]."""

    molar_mass: float
    A: float
    B: float
    G: float
    source: str
    how: How


_BERNHARD = (
    "fit to an open (MIT) steel database after Bernhard et al., Calphad 70 (2020) 101795; size sure to a factor 2"
)
_MEAN = "fit: mean of an MIT-licensed open steel database and mc_fe 2.059 (ODbL)"
ELEMENTS: Final[Mapping[str, Element]] = {
    "P": Element(0.030974, 100740.0, -15.138, 413988.0, _BERNHARD, "computed"),
    "Si": Element(0.028085, 90397.0, 1.082, -69342.0, "fit to an open (MIT) steel database", "computed"),
    "Mn": Element(0.054938, -53665.0, 12.441, 15424.0, _MEAN, "computed"),
    "Cr": Element(0.051996, -124387.0, 21.595, -62752.0, _MEAN, "computed"),
    "Ni": Element(0.058693, 30219.0, 4.285, -59404.0, _MEAN, "computed"),
    "Cu": Element(
        0.063546, 34922.0, 0.0, 0.0, "R x 4200, Kirkaldy and Baganis, Metall. Trans. A 9 (1978) 495", "memory"
    ),
    "S": Element(0.03206, 0.0, 0.0, 0.0, "not assessed in austenite; set to nothing", "judgement"),
}
_M_FE = 0.055845


@dataclass(frozen=True, slots=True)
class Alloy:
    """The metal without its carbon. Carbon that enters changes nothing here: substitutional atoms stay.

    sites [mol of substitutional atoms per kg of carbon-free metal]; a [J/mol], b [J/mol/K], g [J/mol]: sums over the
    elements X of u_X A_X, u_X B_X, u_X G_X, u_X atoms per substitutional atom. Floats, or arrays that broadcast.
    """

    sites: Number
    a: Number = 0.0
    b: Number = 0.0
    g: Number = 0.0


def alloy(composition: Mapping[str, float]) -> Alloy:
    """The alloy of a composition [mass fractions by element symbol; iron is the rest; carbon is taken out].

    Raises ValueError for an element without coefficients, for a negative share and when nothing is left for iron.

    >>> round(float(alloy({}).sites), 4)
    17.9067
    """
    known = ", ".join(("C", *ELEMENTS))
    for name, share in composition.items():
        if name != "C" and name not in ELEMENTS:
            raise ValueError(
                f"composition: no activity coefficients for {name!r}; known are {known} (iron is the rest)"
            )
        if not 0.0 <= share < 1.0:
            raise ValueError(f"composition: {name} = {share} is not a mass fraction; write 0.003 for 0.3 %")
    metal = 1.0 - composition.get("C", 0.0)
    moles = {name: share / metal / ELEMENTS[name].molar_mass for name, share in composition.items() if name != "C"}
    iron = metal - sum(share for name, share in composition.items() if name != "C")
    if iron <= 0.5 * metal:
        raise ValueError("composition: less than half is left for iron; shares are mass fractions, 0.003 for 0.3 %")
    sites = iron / metal / _M_FE + sum(moles.values())
    return Alloy(
        sites=sites,
        a=sum(n / sites * ELEMENTS[x].A for x, n in moles.items()),
        b=sum(n / sites * ELEMENTS[x].B for x, n in moles.items()),
        g=sum(n / sites * ELEMENTS[x].G for x, n in moles.items()),
    )


IRON = alloy({})


def site_ratio(w: Number, alloy: Alloy) -> Array:
    """Carbon atoms per substitutional atom: y = w/((1 - w) M_C sites). w [mass fraction]; broadcasts."""
    w = np.asarray(w)
    return w / ((1.0 - w) * (M_C * alloy.sites))


def mass_fraction(y: Number, alloy: Alloy) -> Array:
    """Inverse of `site_ratio`. y [atoms per substitutional atom]; broadcasts."""
    r = y * (M_C * alloy.sites)
    return np.asarray(r / (1.0 + r))


def _constants(T: Number, alloy: Alloy) -> tuple[Number, Number]:
    """Of ln a = ln(y/(1-y)) + c0 + c1 y."""
    rt = R * np.asarray(T)
    return (H_C.value + alloy.a) / rt + (alloy.b - S_C.value) / R, (W_C.value + alloy.g) / rt


def ln_activity(w: Number, T: Number, alloy: Alloy) -> Array:
    """Natural logarithm of the carbon activity of austenite, graphite = 1.

    R T ln a = R T ln(y/(1-y)) + 42536 - 15.877 T + 69342 y + sum u_X (A_X + B_X T + G_X y).
    w [mass fraction], T [K]; broadcasts. Range 850-1150 degC, u_X to 0.012; true to 6 % in a for plain iron, 10 % with
    0.5 % P. Below w = 1e-12 it answers for 1e-12. Source: Gustafson 1985 and fits to open databases, see ELEMENTS.

    >>> round(float(np.exp(ln_activity(0.008, 1050 + 273.15, IRON))), 4)
    0.3492
    """
    c0, c1 = _constants(T, alloy)
    w = np.clip(w, _FLOOR, _CEIL)
    m = M_C * alloy.sites
    free = m - (m + 1.0) * w  # (1 - y) in the measure of w
    return np.asarray(np.log(w / free) + c0 + c1 * (w / (free + w)))


def ln_activity_slope(w: Number, T: Number, alloy: Alloy) -> Array:
    """d ln a / d w at fixed T: (1/(y(1-y)) + c1) dy/dw [per mass fraction]. Arguments as `ln_activity`."""
    _, c1 = _constants(T, alloy)
    w = np.clip(w, _FLOOR, _CEIL)
    m = M_C * alloy.sites
    per_w = 1.0 / (m * (1.0 - w) ** 2)
    y = w / ((1.0 - w) * m)
    return np.asarray((1.0 / (y * (1.0 - y)) + c1) * per_w)


@dataclass(frozen=True, slots=True)
class AtTemperature:
    """What of `ln_activity` depends on temperature and alloy alone, for solvers that ask many times at one T."""

    c0: Number
    c1: Number
    m: Number


def activity_coefficients(T: Number, alloy: Alloy) -> AtTemperature:
    """See `AtTemperature`. T [K], any shape that broadcasts with the alloy."""
    c0, c1 = _constants(T, alloy)
    return AtTemperature(c0, c1, M_C * alloy.sites)


def activity_at(w: Array, at: AtTemperature) -> tuple[Array, Array]:
    """`ln_activity` and `ln_activity_slope` together; w [mass fraction] must lie between 1e-12 and 0.1.

    >>> at = activity_coefficients(1323.15, IRON)
    >>> [round(float(x), 4) for x in activity_at(np.array(0.008), at)]
    [-1.0521, 160.6976]
    """
    rest = 1.0 - w
    metal = at.m * rest
    y = w / metal
    return np.log(w / (metal - w)) + (at.c0 + at.c1 * y), (1.0 / (y * (1.0 - y)) + at.c1) / (metal * rest)


def carbon_at(ln_a: Number, T: Number, alloy: Alloy) -> Array:
    """Carbon of austenite at a given activity: the inverse of `ln_activity` [mass fraction].

    Six Newton steps from the ideal solution; the curve rises and is hollow below, so they climb to the one root.
    ln_a [-], T [K]; broadcasts. Never above half the sites (about 10 % C).

    >>> round(100 * float(carbon_at(0.0, 1050 + 273.15, IRON)), 3)
    1.672
    """
    c0, c1 = _constants(T, alloy)
    c = np.maximum(ln_a - c0, -60.0)  # below, y is nothing anyway and would run out of digits
    y = np.minimum(1.0 / (1.0 + np.exp(-c)), 0.5)
    for _ in range(6):
        y = np.minimum(y - (np.log(y / (1.0 - y)) + c1 * y - c) / (1.0 / (y * (1.0 - y)) + c1), 0.5)
    return mass_fraction(y, alloy)


def _celsius_hundreds(T: Number, centre: float) -> Array:
    return np.asarray((T - (273.15 + centre)) / 100.0)


def acm(T: Number) -> Array:
    """Carbon of plain austenite in balance with cementite [mass fraction]. T [K]; fitted 740-1150 degC, 0.0005 % C.

    >>> round(100 * float(acm(1050 + 273.15)), 3)
    1.701
    """
    s = _celsius_hundreds(T, 950.0)
    return 0.01 * (1.37659 + s * (0.30767 + s * (0.01588 + s * 0.00067)))


def ln_activity_cementite(T: Number) -> Array:
    """ln of the carbon activity at which plain iron forms cementite (a little above 0: activity 1.03 to 1.10)."""
    return ln_activity(acm(T), T, IRON)


def a3(T: Number) -> Array:
    """Carbon of plain austenite in balance with ferrite [mass fraction]; 0 above 912 degC.

    T [K]; fitted 730-910 degC, 0.0005 % C. Below 727 degC it goes on to 700 degC and stays there.

    >>> round(100 * float(a3(800 + 273.15)), 3)
    0.341
    """
    t = np.clip(_celsius_hundreds(T, 820.0), -1.2, 0.92)
    return 0.01 * np.maximum(0.25937 + t * (-0.38152 + t * (0.12812 + t * (-0.03225 + t * 0.01093))), 0.0)


def ferrite_limit(T: Number) -> Array:
    """Most carbon that ferrite beside austenite holds [mass fraction]; 0 above 912 degC. T [K]; fitted 730-910 degC.

    >>> round(100 * float(ferrite_limit(800 + 273.15)), 3)
    0.012
    """
    t = np.clip(_celsius_hundreds(T, 820.0), -1.2, 0.92)
    return 0.01 * np.maximum(0.009993 + t * (-0.009850 + t * (-0.000706 - t * 0.000539)), 0.0)


def single_phase_carbon(T: Number, p: Number, equilibrium: Literal["para", "full"] = "para") -> Array:
    """Carbon from which phosphoric iron is all austenite [mass fraction].

    max(0, k P + c). T [K] 850-1150 degC, p [mass fraction of phosphorus] 0.0005-0.006; broadcasts. `para`: phosphorus
    stays where it is; `full`: it parts between the phases over a grain; the truth lies between. Source: fit to the open
    database named at ELEMENTS["P"], error 0.002 % C (computed).

    >>> round(100 * float(single_phase_carbon(900 + 273.15, 0.003)), 3)
    0.159
    """
    t = _celsius_hundreds(T, 1000.0)
    if equilibrium == "para":
        k = 0.43755 + t * (-0.01968 + t * (-0.00969 + t * 0.00382))
        c = -0.12159 + t * (-0.08769 + t * (0.05121 - t * 0.00899))
    else:
        k = 0.73499 + t * (-0.08986 + t * (-0.00126 + t * 0.00301))
        c = -0.12270 + t * (-0.08959 + t * (0.05139 - t * 0.00874))
    return 0.01 * np.maximum(k * (100.0 * np.asarray(p)) + c, 0.0)
