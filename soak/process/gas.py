"""The gas in the pack: CO made by energizer and charcoal, nitrogen coming back through vent and lute. Pure.

CO is a state, not a purge counted once: while gas is made it rises toward 1, afterwards it falls toward what sealed air
over charcoal gives.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from soak.physics import energizer
from soak.physics.gas import SEALED_AIR_CO
from soak.process.charge import Gas

Array = NDArray[np.float64]

GAS_CONSTANT = 8.314462618
PRESSURE = 101325.0
BARIUM_TIME_S = 300.0  # how fast barium carbonate answers a lack of CO (estimate, no source)


VOLATILE_K, VOLATILE_WIDTH_K = 873.0, 60.0  # when charcoal gives off what is left in it (memory: mostly 400-800 degC)


def volatile_released(pack_k: Array) -> Array:
    """Share of the charcoal's volatiles gone once the pack has been at this temperature, shape (member,)."""
    share: Array = 1.0 / (1.0 + np.exp(-(pack_k - VOLATILE_K) / VOLATILE_WIDTH_K))
    return share


def step(gas: Gas, co: Array, made: Array, before_k: Array, pack_k: Array, dt: float) -> Array:
    """Share of CO after dt. Shapes (member,).

    Args:
        gas: void and leak of this canister.
        co: share now.
        made: gas made during the step [mol].
        before_k, pack_k: mean temperature of the pack before and after the step [K]. Gas that shrinks draws air in.

    A path of conductance g = leak * D carries nitrogen in by diffusion against the outward stream Q of gas made:
    g x / (exp(x) - 1) with x = Q/g (one-dimensional advection-diffusion; computed).
    """
    stream = made * (GAS_CONSTANT / PRESSURE) * pack_k / dt
    path = gas.leak * 2.0e-5 * (pack_k / 273.0) ** 1.75
    x = np.clip(stream / path, 1e-9, 500.0)
    inward = path * x / np.expm1(x)
    inward = inward + gas.void_m3 * np.maximum(before_k - pack_k, 0.0) / (pack_k * dt)
    rate = (stream + inward) / gas.void_m3
    target = (stream + SEALED_AIR_CO.value * inward) / (stream + inward)
    after: Array = target + (co - target) * np.exp(-rate * dt)
    return after


def barium_made(gas: Gas, left: Array, co: Array, pack_k: Array, dt: float) -> Array:
    """Gas [mol] that barium carbonate gives in dt: it answers as long as its own CO pressure exceeds what is there."""
    lack = np.clip(energizer.barium_carbon_pressure(pack_k) - co, 0.0, 10.0)
    room = gas.void_m3 * PRESSURE / (GAS_CONSTANT * pack_k)
    made: Array = np.minimum(left, room * lack * dt / BARIUM_TIME_S)
    return made
