"""Where pack meets steel: closes the surface of each diffusion stage. Pure.

Carbon flows as fast as charcoal turns CO2 back into CO. The law is met exactly: the diffusion stage gives the surface
node as p + q J, and a scalar Newton per profile finds the J that the pack can deliver there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soak.physics import surface as law
from soak.physics.activity import A1_K, Alloy, acm, activity_at, activity_coefficients, carbon_at
from soak.physics.diffusion import Close, hold_surface, transfer
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
    """The pack's own law (`carbon_flux`). No carbon leaves in a shut canister; the surface is capped at cementite."""
    cap, at = acm(kelvin), activity_coefficients(kelvin, alloy)
    per_metre = CARBON_KG_PER_MOL / STEEL_DENSITY

    def solve(p: Array, q: Array) -> Array:
        low, reach = np.maximum(p, LEAST_CARBON), q * per_metre
        w, high = low, np.full_like(low, MOST_CARBON)
        for _ in range(60):
            ln_a, per_carbon = activity_at(w, at)
            flux, slope = law.carbon_flux(conductance, kelvin, co, ln_a + shift)
            slope *= per_carbon
            before, short = w, p + reach * flux - w
            # the flux has a flat part (poor iron), from which Newton alone leaps to and fro for ever: keep it between
            low, high = np.where(short > 0.0, w, low), np.where(short > 0.0, high, w)
            newton = w + short / (1.0 - reach * slope)
            trusted = ((newton > low) & (newton < high)) | (np.abs(newton - w) < SETTLED)
            w = np.where(trusted, newton, np.sqrt(low * high))
            if np.abs(w - before).max() < SETTLED:
                break
        # the flux from the law itself: what is taken up and what stands in the iron then agree to rounding
        # ... and of the last surface itself, lest how well it has settled depend on the company a member keeps
        flux = flux + slope * (w - before)
        came_in: Array = np.clip(per_metre * flux, 0.0, np.maximum(cap - p, 0.0) / q)
        return came_in

    return solve
