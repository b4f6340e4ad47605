"""Where pack meets steel: closes the surface of each diffusion stage. Pure.

Carbon flows as fast as charcoal turns CO2 back into CO. The law is met exactly: the diffusion stage gives the surface
node as p + q J, and a scalar Newton per profile finds the J that the pack can deliver there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soak.physics import surface as law
from soak.physics.activity import A1_K, Alloy, acm, activity_coefficients, carbon_at
from soak.physics.diffusion import Close, hold_surface, transfer
from soak.physics.gas import ln_boudouard_k
from soak.process.charge import STEEL_DENSITY, Charge

Array = NDArray[np.float64]

CARBON_KG_PER_MOL = 0.012011
LEAST_CARBON, MOST_CARBON = 1e-7, 0.05  # mass fractions between which the surface is sought
SETTLED = 1e-11


@dataclass(frozen=True, slots=True)
class Supply:
    """What the pack is during one step: piece_k (member, piece) K; co, catalyst and breached (member,)."""

    piece_k: Array
    co: Array
    catalyst: Array
    breached: NDArray[np.bool_]


def close(charge: Charge, supply: Supply, pieces: NDArray[np.int64], lines: bool = False) -> Close:
    """The closure for one process step of some of the pieces; `lines`: for each surface line of their sections.

    Where air enters no more carbon is counted on (what air takes away again is not counted either).
    """
    end = (..., None) if lines else (...,)
    piece_k = supply.piece_k[:, pieces][end]

    def wide(values: Array) -> Array:
        """(member,) beside (member, piece) or (member, piece, line)."""
        shaped: Array = values[:, None][end]
        return shaped

    own = charge.alloy
    coefficients = (np.asarray(x)[:, pieces][end] for x in (own.a, own.b, own.g))
    alloy = Alloy(np.asarray(own.sites)[pieces][end], *coefficients)
    shift, co = wide(charge.ln_activity), wide(supply.co)
    austenite = (piece_k > A1_K.value) & ~supply.breached[:, None][end]
    stated = charge.surface
    if stated is None:
        depth = charge.depth_s[pieces][end]
        factor = wide(charge.pack_conductance)
        g = law.conductance(piece_k, co, wide(supply.catalyst), factor, charge.grain_m, depth)
        return _pack(alloy, piece_k, shift, austenite * g, co)
    if stated.kind == "potential":
        return transfer(stated.value, np.where(austenite, stated.beta_m_s or 0.0, 0.0))
    if stated.kind == "activity":
        held = hold_surface(carbon_at(np.log(stated.value) - shift, piece_k, alloy))
    else:
        held = hold_surface(stated.value)
    return lambda p, q: np.where(austenite, held(p, q), 0.0)


def _pack(alloy: Alloy, kelvin: Array, shift: Array, conductance: Array, co: Array) -> Close:
    """The pack's own law, `surface.carbon_flux` with the activity written out so that no logarithm is taken.

    No carbon leaves in a shut canister; the surface is capped at cementite. The closure remembers where the surface
    stood at the last asking within the step: a good place to begin.
    """
    cap, at = acm(kelvin), activity_coefficients(kelvin, alloy)
    most = (CARBON_KG_PER_MOL / STEEL_DENSITY) * conductance * co  # CO2 at the surface cannot exceed CO
    back = most * co * np.exp(-ln_boudouard_k(kelvin))
    lead = back * np.exp(-at.c0 - shift)
    last: dict[tuple[int, ...], Array] = {}

    def solve(p: Array, q: Array) -> Array:
        low = np.maximum(p, LEAST_CARBON)
        high = np.full_like(low, MOST_CARBON)
        w, guess = low, last.get(low.shape)
        for tries in range(60):
            rest = 1.0 - w
            metal = at.m * rest
            y = w / metal
            there = lead * ((metal - w) / w) * np.exp(-at.c1 * y)  # back / activity
            per_carbon = (1.0 / (y * (1.0 - y)) + at.c1) / (metal * rest)
            slope = np.where(there < most, -there * per_carbon, 0.0)
            flux = np.minimum(there, most) - back
            before, short = w, p + q * flux - w
            # the flux has a flat part (poor iron), from which Newton alone leaps to and fro for ever: keep it between
            low, high = np.where(short > 0.0, w, low), np.where(short > 0.0, high, w)
            newton = w + short / (1.0 - q * slope)
            if tries == 0 and guess is not None:
                newton = np.where(short > 0.0, guess, newton)
            trusted = ((newton > low) & (newton < high)) | (np.abs(newton - w) < SETTLED)
            w = np.where(trusted, newton, np.sqrt(low * high))
            if np.abs(w - before).max() < SETTLED:
                break
        last[w.shape] = w
        # the flux from the law itself: what is taken up and what stands in the iron then agree to rounding
        # ... and of the last surface itself, lest how well it has settled depend on the company a member keeps
        flux = flux + slope * (w - before)
        came_in: Array = np.clip(flux, 0.0, np.maximum(cap - p, 0.0) / q)
        return came_in

    return solve
