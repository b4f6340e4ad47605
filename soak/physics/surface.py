"""How carbon crosses from charcoal to iron: the charcoal's own rate, the bed behind it, the gap before it.

Pure numbers; imports numpy and the gas law. Pressures in bar; conductance G in mol/(m2 s bar).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from soak.physics.gas import R, ln_boudouard_k
from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (1123.0, 1373.0)

_CHAR = "dry wood char in CO2, birch, Barrio and Hustad 2001; unverified, true to a factor 3"
K1F = Sourced(1.3e5, "1/(s bar)", "750-950 degC, carried to 1100", _CHAR, "memory")
E1F = Sourced(165000.0, "J/mol", "same", _CHAR, "memory")
K1B = Sourced(0.36, "1/(s bar)", "same", _CHAR, "memory")
E1B = Sourced(20810.0, "J/mol", "same", _CHAR, "memory")
K3 = Sourced(3.23e7, "1/s", "same", _CHAR, "memory")
E3 = Sourced(236000.0, "J/mol", "same", _CHAR, "memory")
CHAR_DENSITY = Sourced(200.0, "kg/m3", "carbon in a bed of 3-6 mm hardwood charcoal", "bulk densities 180-300", "seen")
D_GAS = Sourced(1.6e-5, "m2/s", "CO2 in CO at 273 K; goes as T^1.75", "gas tables", "memory")
BED_SHARE = Sourced(0.35, "1", "free gas path through a packed bed", "void 0.45, winding path", "judgement")
FILM_SHARE = Sourced(
    0.25, "1", "grain 1-10 mm", "gap from steel to the first charcoal, in grain diameters", "judgement"
)
FACTOR_SIGMA = Sourced(1.0986, "1", "prior of ln factor, median 0", "ln 3: doubt of the charcoal's rate", "judgement")


def char_rate(T: Number, pco: Number, density: Number = CHAR_DENSITY.value) -> Array:
    """Rate of C + CO2 = 2 CO in a bed of clean charcoal per bar of CO2 above balance, k_v [mol/(m3 s bar)].

    k_v = k1f/(1 + (k1b/k3) pCO) density/M_C: carbon monoxide holds the reaction back. T [K], pco [bar],
    density [kg carbon/m3]; broadcasts. Range 850-1100 degC, factor 3. Source: see K1F.
    """
    x = 1.0 / (R * np.asarray(T))
    forward = K1F.value * np.exp(-E1F.value * x)
    hold = (K1B.value / K3.value) * np.exp((E3.value - E1B.value) * x)
    return forward / (1.0 + hold * pco) * (np.asarray(density) / 0.012011)


def conductance(
    T: Number,
    pco: Number,
    f: Number,
    factor: Number,
    grain_m: Number,
    depth_m: Number,
    density: Number = CHAR_DENSITY.value,
) -> Array:
    """Conductance from charcoal to iron, bed and gap in series, G [mol/(m2 s bar)].

    G_bed = sqrt(D_e c k) tanh(depth/sqrt(D_e c/k)), k = factor f k_v; 1/G = 1/G_bed + (grain/4)/(D_g c);
    c = 1 bar/(R T); D_e = 0.35 D_g.
    T [K]; pco [bar]; f catalyst [-]; factor learnable [-]; grain_m [m]; depth_m: cover, or half the gap to the next
    piece [m]; broadcasts. Range 850-1100 degC, grain 1-10 mm. Source: reaction and diffusion in a bed (computed).

    >>> round(1.01325 * float(conductance(950 + 273.15, 1.0, 1.0, 1.0, 0.004, 1.0)), 4)  # per atm
    0.0875
    """
    T = np.asarray(T)
    free = D_GAS.value * (T / 273.15) ** 1.75 * (1e5 / (R * T))  # D_g c, mol/(m s bar)
    bed = BED_SHARE.value * free
    k = char_rate(T, pco, density) * (f * np.asarray(factor))
    g_bed = np.sqrt(bed * k) * np.tanh(depth_m * np.sqrt(k / bed))
    return g_bed / (1.0 + g_bed * (FILM_SHARE.value * grain_m / free))


def carbon_flux(G: Number, T: Number, pco: Number, ln_a_surface: Number) -> tuple[Array, Array]:
    """Carbon into the iron J [mol/(m2 s)], and dJ/d ln a of the surface [mol/(m2 s)].

    J = G (min(pCO^2/(K a), pCO) - pCO^2/K). The CO2 at the surface cannot exceed pCO, else carbon-free iron would ask
    for several bar; while that holds J does not depend on a. G [mol/(m2 s bar)], T [K], pco [bar], ln_a_surface [-];
    broadcasts. J is negative where a > 1: whether carbon may leave is for the caller to say.
    """
    pco = np.asarray(pco)
    ln_k = ln_boudouard_k(T)
    ratio = np.log(np.maximum(pco, 1e-12)) - ln_k - ln_a_surface
    gp = G * pco
    share = gp * np.exp(np.minimum(ratio, 0.0))
    return share - gp * pco * np.exp(-ln_k), np.where(ratio < 0.0, -share, 0.0)
