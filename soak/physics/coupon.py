"""What the balance says of a piece that was soaked: carbon from mass gain, and what hides it. Pure numbers; SI.

Slag that holds FeO gives up its oxygen in the pack, and that loss looks like carbon that never came. Scale that sticks
looks like carbon, scale that fell looks like carbon lost.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soak.sources import Sourced

Array = NDArray[np.float64]
Number = float | Array

_ATOMS = "atomic masses"
FEO_OXYGEN = Sourced(15.999 / 71.844, "1", "oxygen in FeO, by mass", _ATOMS, "computed")
CARBON_PER_OXYGEN = Sourced(12.011 / 15.999, "1", "carbon that leaves with it as CO, by mass", _ATOMS, "computed")
FEO_DENSITY = Sourced(5800.0, "kg/m3", "dense oxide skin", "oxide tables", "memory")
REDUCED = Sourced(0.5, "1", "0-1, share of the slag's FeO that is reduced in a soak", "no source found", "judgement")
REDUCED_SD = Sourced(0.3, "1", "one sigma of the share reduced", "no source found", "judgement")
SHIM_THICKNESS = Sourced(0.25e-3, "m", "0.10-0.25 mm, annealed strip of 0.08-0.10 % C", "shop practice in gas", "seen")
SHIM_MASS = Sourced(2.5e-3, "kg", "10-30 mm x 75-160 mm", "shop practice in gas", "seen")
SHIM_BALANCE = Sourced(1e-7, "kg", "read to 0.1 mg", "a maker of cars' test method for 0.10-0.15 mm shims", "seen")
SHIM_TIME = Sourced(1200.0, "s", "0.25 mm in gas; 15 and 20 min gave the same", "shop practice in gas", "seen")


def carbon_after(mass: Number, start: Number, gained: Number) -> Array:
    """Carbon of a piece after it took up `gained` of it: (m0 C0 + dm)/(m0 + dm), a true mass fraction, not one of m0.

    mass m0, gained [kg]; start [mass fraction]; broadcasts.

    >>> round(100 * float(carbon_after(1.0, 0.0005, 0.008)), 3)
    0.843
    """
    gained = np.asarray(gained)
    return np.asarray((mass * np.asarray(start) + gained) / (mass + gained))


def carbon_gained(mass: Number, start: Number, carbon: Number) -> Array:
    """Carbon taken up [kg]: inverse of `carbon_after`, m0 (C1 - C0)/(1 - C1)."""
    return np.asarray(mass * (np.asarray(carbon) - start) / (1.0 - np.asarray(carbon)))


def slag_oxygen(mass: Number, feo: Number, reduced: Number = REDUCED.value) -> Array:
    """Oxygen that leaves slag [kg]: m0 feo 0.2227 r. feo: FeO per mass of iron; reduced r: share of it, 0-1.

    >>> round(1e3 * float(slag_oxygen(1.0, 0.025 * 0.65, 1.0)), 2)
    3.62
    """
    return np.asarray(mass * np.asarray(feo) * FEO_OXYGEN.value * np.asarray(reduced))


def slag_carbon(mass: Number, feo: Number, reduced: Number = REDUCED.value) -> Array:
    """Carbon that leaves as CO with the slag's oxygen [kg], which the pack must supply besides what the iron keeps.

    >>> round(float(slag_carbon(1.0, 0.01, 1.0)), 5)  # 0.167 % C for each % of FeO
    0.00167
    """
    return CARBON_PER_OXYGEN.value * slag_oxygen(mass, feo, reduced)


def oxide_skin(area_m2: Number, thickness_m: Number) -> tuple[Array, Array]:
    """Oxygen and iron in a skin of FeO [kg, kg]. While it sticks, its oxygen is `adhering`; fallen, its iron `fallen`.

    >>> [round(1e2 * float(x), 2) for x in oxide_skin(0.0847, 10e-6)]  # of 1 kg of 3 mm strip, %
    [0.11, 0.38]
    """
    kg = FEO_DENSITY.value * np.asarray(area_m2) * thickness_m
    return FEO_OXYGEN.value * kg, (1.0 - FEO_OXYGEN.value) * kg


def mass_gain(
    mass: Number, start: Number, carbon: Number, oxygen: Number = 0.0, adhering: Number = 0.0, fallen: Number = 0.0
) -> Array:
    """What the balance will show, m1 - m0 [kg]: carbon taken - oxygen lost by slag + adhering - fallen.

    mass m0, oxygen (of `slag_oxygen`), adhering (oxide's oxygen, pack crust), fallen (iron lost) [kg]; start and carbon
    [mass fraction]; broadcasts.
    """
    return carbon_gained(mass, start, carbon) - oxygen + adhering - fallen


@dataclass(frozen=True, slots=True)
class Weighed:
    """A piece weighed clean before and after [kg], balance_sd [kg] of one reading; start [mass fraction].

    adhering, fallen [kg] and their sd as `mass_gain`. feo: FeO in the slag per mass of iron. reduced, reduced_sd: share
    of it reduced; None: not known.
    """

    before: float
    after: float
    start: float
    balance_sd: float
    adhering: float = 0.0
    adhering_sd: float = 0.0
    fallen: float = 0.0
    fallen_sd: float = 0.0
    feo: float = 0.0
    reduced: float | None = None
    reduced_sd: float = REDUCED_SD.value


@dataclass(frozen=True, slots=True)
class Assay:
    """Mean carbon and one sigma; and the carbon if none, or all, of the slag was reduced [mass fractions]."""

    carbon: float
    sd: float
    if_none: float
    if_all: float


def carbon_from(w: Weighed) -> Assay:
    """Mean carbon of a weighed piece: `carbon_after` of (m1 - m0) - adhering + fallen + oxygen of the slag.

    sd: balance twice, adhering, fallen and share reduced, in quadrature. Raises ValueError for masses not above 0, and
    for iron with slag where the share reduced is not known: there mass is no assay.

    >>> a = carbon_from(Weighed(1.0, 1.008, 0.0005, 1.4e-4))
    >>> round(100 * a.carbon, 3), round(100 * a.sd, 3)
    (0.843, 0.019)
    """
    if not (w.before > 0.0 and w.after > 0.0):
        raise ValueError(f"weighing: {w.before} kg before, {w.after} kg after; both must be above 0")
    if w.feo > 0.0 and w.reduced is None:
        raise ValueError(
            "weighing: this iron holds slag, whose oxygen leaves in the soak, so its mass alone does not give carbon; "
            "weigh a clean steel coupon of the same thickness from the same soak, or have one strip assayed to learn "
            "the share of slag reduced, or give `reduced` (0.5 with sd 0.3 where nothing is known)"
        )
    net = _net(w)
    whole = float(slag_oxygen(w.before, w.feo, 1.0))
    share, share_sd = (w.reduced or 0.0, w.reduced_sd) if w.feo > 0.0 else (0.0, 0.0)
    gained = net + share * whole
    slope = w.before * (1.0 - w.start) / (w.before + gained) ** 2  # of carbon_after by what was gained
    doubt = np.sqrt(2.0 * w.balance_sd**2 + w.adhering_sd**2 + w.fallen_sd**2 + (share_sd * whole) ** 2)
    carbon, none, every = (float(carbon_after(w.before, w.start, x)) for x in (gained, net, net + whole))
    return Assay(carbon, float(slope * doubt), none, every)


def _net(w: Weighed) -> float:
    """Mass gain without what sticks and what fell [kg]."""
    return (w.after - w.before) - w.adhering + w.fallen


def share_reduced(w: Weighed, carbon: float, carbon_sd: float) -> tuple[float, float]:
    """Share of the slag's FeO that was reduced, and one sigma, learnt from one strip weighed and assayed.

    carbon, carbon_sd [mass fraction]: the laboratory's. Far below 0 or above 1: a weighing, the slag or the assay is
    wrong. Raises ValueError where the iron holds no slag.
    """
    whole = float(slag_oxygen(w.before, w.feo, 1.0))
    if whole <= 0.0:
        raise ValueError("weighing: this iron holds no FeO (`feo` is 0), so there is no share reduced to learn")
    taken = float(carbon_gained(w.before, w.start, carbon))
    lab = w.before * (1.0 - w.start) / (1.0 - carbon) ** 2 * carbon_sd
    doubt = np.sqrt(2.0 * w.balance_sd**2 + w.adhering_sd**2 + w.fallen_sd**2 + lab**2)
    return (taken - _net(w)) / whole, float(doubt) / whole


def carbon_sd(mass: Number, balance_sd: Number) -> Array:
    """Doubt that the balance alone leaves, weighing twice: sqrt(2) u/m0 [mass fraction]. kg.

    >>> round(100 * float(carbon_sd(0.0025, 1e-7)), 4)
    0.0057
    """
    return np.asarray(2.0**0.5 * np.asarray(balance_sd) / mass)


def foil_time(thickness_m: Number, beta: Number) -> Array:
    """Time constant of a foil fed from both faces, tau = h/(2 beta) [s]; 99 % there after 4.6 tau. m; m/s.

    For gas, beta 1e-7 to 2e-7 m/s. In a pack the surface law is another and the shim stays in while it cools: there it
    is folded through the whole trace as a thin strip, and does not show the hold.

    >>> round(4.6 * float(foil_time(0.0001, 1e-7)) / 60)
    38
    """
    return np.asarray(thickness_m) / (2.0 * np.asarray(beta))


def foil_step(carbon: Number, potential: Number, tau: Number, dt: float) -> Array:
    """Carbon of a foil after dt at a steady carbon potential: C -> P + (C - P) exp(-dt/tau) [mass fraction]. s."""
    p = np.asarray(potential)
    return p + (carbon - p) * np.exp(-dt / np.asarray(tau))
