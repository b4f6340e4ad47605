"""The pack's accounts: carbon needed and there, gas made, what the vent must pass, what air burns. Pure."""

from __future__ import annotations

from typing import Any

import numpy as np

from soak.physics import coupon, energizer
from soak.physics.gas import R
from soak.plan.choose import Planned
from soak.process.gas import PRESSURE
from soak.process.outcome import mean
from soak.process.state import ZERO_C

MOL_L = 22.414  # litres of gas a mole at 0 degC and 1 atm
AIR_OXYGEN = 0.2095
CARBON_KG, CO_KG = 0.012011, 0.028
VENT_HOURS = 1.0  # most of the gas comes within about an hour of the ramp (judgement)
DISCHARGE = 0.6  # of a sharp hole (memory)


def carbon_needed_kg(planned: Planned) -> float:
    """Carbon that the iron keeps and that its slag burns."""
    charge = planned.charge
    rise = mean(charge, planned.outcome.state)[0] - charge.start
    return sum(
        p.count * p.mass_kg * (max(float(r), 0.0) + float(coupon.slag_carbon(1.0, float(s), 1.0)))
        for p, r, s in zip(charge.pieces, rise, charge.slag[0], strict=True)
    )


def burnt_kg(planned: Planned) -> float:
    """Carbon that air creeping in burns while the pack is hot: two atoms for each O2 that diffuses through the leak."""
    hot_s = sum(d.end_s - d.begin_s for d in planned.outcome.done if d.segment.kind != "cool")
    kelvin = planned.chosen.hold_c + ZERO_C
    oxygen = AIR_OXYGEN * float(planned.charge.gas.leak[0]) * 2.0e-5 * (kelvin / 273.0) ** 1.75
    return float(2.0 * CARBON_KG * oxygen * PRESSURE / (R * kelvin) * hot_s)


def accounts(planned: Planned) -> dict[str, Any]:
    """Everything a person weighs or worries about, in kg, g, litres (of gas: 0 degC, 1 atm) and pascal."""
    pack, gas, kg = planned.job.pack, planned.charge.gas, planned.charge.pack_kg
    charcoal = kg * (1.0 - sum(pack.energizer.values()) - pack.moisture)
    by_energizer = kg * sum(w * energizer.carbon_per_kg(n) for n, w in pack.energizer.items())
    there = max(charcoal * pack.fixed_carbon - by_energizer - burnt_kg(planned), 0.0)
    needed = carbon_needed_kg(planned)
    made_mol = gas.lime_mol + gas.barium_mol + gas.volatile_mol + kg * pack.moisture * energizer.WATER_GAS.value
    return {
        "pack_kg": round(kg, 3),
        "energizer_kg": {name: round(kg * share, 4) for name, share in pack.energizer.items()},
        "litres": round(1000.0 * planned.fit.pack_volume_m3, 2),
        "carbon_needed_g": round(1000.0 * needed, 1),
        "carbon_there_g": round(1000.0 * there, 1),
        "carbon_ratio": round(there / max(needed, 1e-9), 1),
        "air_burns_g": round(1000.0 * burnt_kg(planned), 1),
        "gas_made_l": round(made_mol * MOL_L, 1),
        "vent_pressure_pa": round(vent_pressure(planned, made_mol), 0),
        "air_drawn_in_l": round(1000.0 * gas.void_m3 * (1.0 - 293.15 / (planned.chosen.hold_c + ZERO_C)), 2),
    }


def vent_pressure(planned: Planned, made_mol: float) -> float:
    """Pressure that drives the gas through the vent, if most of it comes in an hour [Pa]: 0.5 rho (Q / Cd A)^2.

    Source: orifice equation. 200 L in an hour through 3 mm at 950 degC: 480 Pa (computed).
    """
    vent = planned.job.canister.vent
    if vent.kind == "none" or made_mol <= 0.0:
        return 0.0
    kelvin = 950.0 + ZERO_C
    flow = made_mol * R * kelvin / PRESSURE / (3600.0 * VENT_HOURS)
    density = PRESSURE * CO_KG / (R * kelvin)
    return float(0.5 * density * (flow / (DISCHARGE * 0.25 * np.pi * vent.diameter_m**2)) ** 2)
