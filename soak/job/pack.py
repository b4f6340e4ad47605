"""The pack: charcoal and energizer, or a stated surface. Mass fractions; lengths in m; kg/m3."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True)
class Surface:
    """A surface stated instead of computed: for gas carburizing and for checks.

    carbon     the surface holds this carbon (mass fraction) at once
    activity   the surface holds this carbon activity (graphite = 1) at once
    potential  carbon flows as density * beta * (potential - surface carbon); beta in m/s
    """

    kind: Literal["carbon", "activity", "potential"]
    value: float
    beta_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class Pack:
    """Charcoal with its carbonates.

    energizer   mass share of the pack by formula: CaCO3, Na2CO3, K2CO3, BaCO3
    reuse       share of the pack (by volume) that has been through soaks before; `uses`: how many soaks that share saw
    volatiles   mass share of the charcoal that leaves as gas on first heating; moisture: mass share of water
    """

    name: str
    title: str
    energizer: dict[str, float] = field(default_factory=dict)
    grain_m: float = 0.004
    density: float = 230.0
    fixed_carbon: float = 0.80
    volatiles: float = 0.03
    moisture: float = 0.05
    reuse: float = 0.0
    uses: int = 0
    surface: Surface | None = None
    caution: str = ""
    note: str = ""
