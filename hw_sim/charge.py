"""The charge cut into rings: what each holds of heat and how it hands it on. Pure."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from hw_sim.canister import Canister
from hw_sim.properties import (
    CHAR_CP,
    LIME_CENTRE_C,
    LIME_HEAT,
    LIME_WIDTH_K,
    STEEL_CP,
    STEEL_DENSITY,
    WATER_CENTRE_C,
    WATER_HEAT,
    WATER_WIDTH_K,
    bell,
    between,
    pack_k,
    table,
)

RINGS = 10  # equal steps of radius [judgement: 20 rings change the lag by under 1 %]


@dataclass(frozen=True, slots=True)
class Rings:
    """The round body in equal steps of radius, from the outside in. Tables by temperature, see properties.table.

    wall_heat J/K of the canister's wall; volume_m3 of each ring; wet and spent: J/m3K before and after lime and water
    have gone (they go once and do not come back); k W/mK of pack with steel in it; shape m: conductance = shape x k,
    entry 0 from the wall to the outer ring, entry i from ring i - 1 to ring i.
    """

    wall_heat: list[float]
    volume_m3: list[float]
    wet: list[float]
    spent: list[float]
    k: list[float]
    shape: list[float]


def rings(canister: Canister, k_factor: float, count: int = RINGS) -> Rings:
    """The canister's inside as a round bar of the same volume whose radius is the equivalent one.

    Steel is smeared: k = k_bed (1 + phi)/(1 - phi), rho c = (1 - phi) pack + phi steel, phi the steel's share.
    """
    radius = canister.round_m
    length = canister.inside_m3 / (math.pi * radius**2)
    step = radius / count
    phi = canister.steel_share
    pack = (1.0 - phi) * canister.pack_density
    steel = phi * STEEL_DENSITY

    def spent(t_c: float) -> float:
        return pack * between(CHAR_CP, t_c) + steel * between(STEEL_CP, t_c)

    def wet(t_c: float) -> float:
        lime = canister.lime * LIME_HEAT * bell(t_c, LIME_CENTRE_C, LIME_WIDTH_K)
        water = canister.moisture * WATER_HEAT * bell(t_c, WATER_CENTRE_C, WATER_WIDTH_K)
        return spent(t_c) + pack * (lime + water)

    edges = [radius - i * step for i in range(count + 1)]
    return Rings(
        wall_heat=table(lambda t: canister.wall_kg * between(STEEL_CP, t)),
        volume_m3=[math.pi * (out**2 - inn**2) * length for out, inn in itertools.pairwise(edges)],
        wet=table(wet),
        spent=table(spent),
        k=table(lambda t: k_factor * pack_k(t) * (1.0 + phi) / (1.0 - phi)),
        shape=[2 * math.pi * edge * length / (step / 2 if i == 0 else step) for i, edge in enumerate(edges[:-1])],
    )
