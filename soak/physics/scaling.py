"""How fast a canister's wall turns to scale, and how hot each material may go. Pure numbers.

h^2 = K t with h the metal lost on one side [m] and K in m2/s; kelvin. Materials are named as in a canister profile.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from soak.physics.gas import R
from soak.sources import How, Sourced

Array = NDArray[np.float64]
Number = float | Array

VALID_K = (973.0, 1523.0)
STEEL_DENSITY = 7870.0  # kg/m3
_UM2_H = 1e-12 / 3600.0  # um2/h in m2/s

_CHEN = "Chen and Yuen, Oxid. Met. 59 (2003) 433, fit to Paidassi 1958, iron in air"
KP_0 = Sourced(6.1e2, "kg2/(m4 s)", "700-1250 degC, oxygen taken up; 6.1 g2/(cm4 s)", _CHEN, "memory")
KP_Q = Sourced(169452.0, "J/mol", "700-1250 degC", _CHEN, "memory")
RECESSION = Sourced(
    4.16e-4, "m3/kg", "iron scale above 700 degC", "95:4:1 FeO:Fe3O4:Fe2O3, steel 7870 kg/m3", "computed"
)
SCALE_OXYGEN = Sourced(1328.0, "kg/m3", "dense iron scale, oxygen in it", "95:4:1 FeO:Fe3O4:Fe2O3", "computed")
Q_BELOW = Sourced(250e3, "J/mol", "chromia formers below the first test", "usual for chromia", "judgement")
Q_ABOVE = Sourced(350e3, "J/mol", "above the last test, 50 K at most", "scale begins to fail", "judgement")
LOCAL = Sourced(2.0, "1", "worst spot to mean loss, 1.5-3", "edge 1.41 x hot spot 1.17 x scatter 1.2", "judgement")

# degC and um2/h: loss^2/1008 h of producer tests in flowing air, read as if no scale fell off (seen); 309 and the
# first and second 304 anchors are judgement from composition and short cycles.
ANCHORS: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "304": ((815.0, 0.0022), (980.0, 37.0), (1100.0, 714.0)),
    "309": ((980.0, 0.10), (1090.0, 5.7)),
    "310": ((982.0, 0.080), (1093.0, 0.571), (1149.0, 5.6)),
    "330": ((982.0, 0.064), (1093.0, 0.397)),
    "600": ((982.0, 0.064), (1093.0, 0.72), (1149.0, 5.0), (1204.0, 16.8)),
    "601": ((982.0, 0.099), (1093.0, 1.08), (1149.0, 5.0), (1204.0, 12.4)),
    "800H": ((982.0, 0.57), (1093.0, 37.0), (1149.0, 77.0)),
}
MATERIALS: Final = ("steel", *ANCHORS, "fireclay")


def oxygen_rate(T: Number) -> Array:
    """Parabolic rate of oxygen uptake of iron and mild steel in air, kp [kg2/(m4 s)]: w^2 = kp t.

    kp = 610 exp(-169452/(R T)). T [K] 700-1250 degC; true to a factor 2. Source: see KP_0.

    >>> round(float(oxygen_rate(1000 + 273.15)) * 1e5, 2)  # 6.81e-7 g2/(cm4 s)
    6.81
    """
    return KP_0.value * np.exp(-KP_Q.value / (R * np.asarray(T)))


def steel_rate(T: Number) -> Array:
    """Metal lost by mild steel in air: K of h^2 = K t [m2/s] = (4.16e-4)^2 kp. T [K] 700-1250 degC.

    >>> round(float((steel_rate(1000 + 273.15) * 4 * 3600) ** 0.5) * 1e3, 3)
    0.412
    """
    return RECESSION.value**2 * oxygen_rate(T)


def wet_factor(T: Number) -> Array:
    """How many times faster kp is in a fuel-fired (wet) oven: 1 at 750, 1.2 at 850, 1.6 at 950 degC; held outside.

    T [K]. Source: Rahmel and Tobolski 1965 (seen, abstract).

    >>> round(float(wet_factor(950 + 273.15)), 2)
    1.6
    """
    return np.asarray(np.interp(T, (1023.15, 1123.15, 1223.15), (1.0, 1.2, 1.6)))


def alloy_rate(material: str, T: Number) -> Array:
    """Metal lost by a heat-resisting alloy in air: K of h^2 = K t [m2/s], starting from bare metal.

    ln K straight in 1/T between tests; 250 kJ/mol below the first, 350 kJ/mol above the last (to 50 K above it).
    material: a key of ANCHORS; T [K]. Right or up to 1.9 x too high against cyclic tests. Source: see ANCHORS.

    >>> round(float((alloy_rate("310", 1093 + 273.15) * 1008 * 3600) ** 0.5) * 1e6)
    24
    """
    anchors = _anchors(material)
    inv = np.array([1.0 / (c + 273.15) for c, _ in reversed(anchors)])
    ln_k = np.log([k * _UM2_H for _, k in reversed(anchors)])
    x = 1.0 / np.asarray(T, dtype=np.float64)
    inside = np.interp(x, inv, ln_k)
    below, above = np.maximum(x - inv[-1], 0.0), np.maximum(inv[0] - x, 0.0)
    return np.asarray(np.exp(inside - (Q_BELOW.value / R) * below + (Q_ABOVE.value / R) * above))


def _anchors(material: str) -> tuple[tuple[float, float], ...]:
    if material not in ANCHORS:
        raise ValueError(f"canister material {material!r} has no scaling law; write one of {', '.join(MATERIALS)}")
    return ANCHORS[material]


def rate(material: str, T: Number) -> Array:
    """K of h^2 = K t [m2/s] for any material of MATERIALS; fireclay does not scale. T [K], any shape."""
    if material == "steel":
        return steel_rate(T)
    if material == "fireclay":
        return np.zeros(np.shape(T))
    return alloy_rate(material, T)


def rate_bounds(material: str, T: Number) -> tuple[Array, Array]:
    """Low and high side of `rate` [m2/s]. In K: steel x0.5 and x2; alloys x0.16 and x4; 304 x0.25 and x4.7, and from
    870 degC 4.7 x at least the breakaway line 37 um2/h at 980 degC, 209 kJ/mol (seen: Q of 304L in CO2). T [K]."""
    k = rate(material, T)
    if material == "steel":
        return 0.5 * k, 2.0 * k
    if material == "304":
        T = np.asarray(T)
        line = 37.0 * _UM2_H * np.exp(-(209e3 / R) * (1.0 / T - 1.0 / 1253.15))
        return 0.25 * k, 4.7 * np.where(T >= 1143.15, np.maximum(k, line), k)
    return 0.16 * k, 4.0 * k


@dataclass(frozen=True, slots=True)
class Limit:
    """Above `above_K` this material earns a warning or is refused."""

    above_K: float
    severity: Literal["warning", "refuse"]
    code: str
    text: str
    source: str
    how: How


def _limit(c: float, severity: Literal["warning", "refuse"], code: str, text: str, source: str, how: How) -> Limit:
    return Limit(c + 273.15, severity, code, text, source, how)


_SERVICE: Final[dict[str, tuple[float | None, float | None]]] = {  # degC: intermittent (memory), continuous
    "304": (870.0, 925.0),
    "309": (980.0, 1093.0),
    "310": (1035.0, 1150.0),
    "330": (1035.0, 1150.0),
    "600": (None, 1150.0),
    "601": (None, 1200.0),
    "800H": (None, 1100.0),
}


def limits(material: str) -> tuple[Limit, ...]:
    """What a canister of this material may not be asked, coolest first.

    >>> [round(x.above_K - 273.15) for x in limits("steel")]
    [1100, 1130]
    """
    if material == "steel":
        return (
            _limit(
                1100, "warning", "canister-hot", "a steel canister sags and takes up carbon", "judgement", "judgement"
            ),
            _limit(
                1130,
                "refuse",
                "canister-melts",
                "carburized steel begins to melt at 1147 degC",
                "Fe-C diagram",
                "memory",
            ),
        )
    if material == "fireclay":
        return (_limit(1250, "refuse", "canister-too-hot", "outside what was looked at", "judgement", "judgement"),)
    top = _anchors(material)[-1][0] + 50.0
    intermittent, continuous = _SERVICE[material]
    chromia = "above 1050 degC the inside scale may turn to carbide and stop protecting"
    out = [
        _limit(1050, "warning", "inside-scale", chromia, "Grabke, carbonaceous gases", "seen"),
        _limit(
            min(top, 1250.0),
            "refuse",
            "canister-too-hot",
            "no test of its scaling this hot",
            "see ANCHORS",
            "judgement",
        ),
    ]
    if intermittent is not None:
        text = f"{material}: rated {intermittent:.0f} degC where heat comes and goes"
        out.append(_limit(intermittent, "warning", "above-intermittent", text, "metals handbook", "memory"))
    if continuous is not None:
        text = f"{material}: rated {continuous:.0f} degC in steady service"
        how: How = "seen" if material in ("304", "309", "310") else "memory"
        out.append(_limit(continuous, "warning", "above-continuous", text, "stainless trade tables, EN 10095", how))
    return tuple(sorted(out, key=lambda limit: limit.above_K))
