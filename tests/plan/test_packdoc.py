"""The pack's accounts against numbers worked out by hand."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest
from plans import default, small
from test_warn import quiet, with_job, with_state

from soak.job.canister import Vent
from soak.plan.choose import Planned
from soak.plan.packdoc import MOL_L, accounts, burnt_kg, carbon_needed_kg, vent_pressure

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import MILD, PACK, PIPE, bar, strip


def _vented(mm: float) -> Planned:
    return with_job(quiet(), canister=dataclasses.replace(PIPE, vent=Vent("hole", mm * 1e-3)))


@pytest.mark.parametrize(("mm", "pascal", "printed"), [(3.0, 480.0, 5.0), (5.0, 62.0, 0.5), (8.0, 9.0, 0.5)])
def test_two_hundred_litres_in_an_hour(mm: float, pascal: float, printed: float) -> None:
    """200 L (0 degC) in an hour at 950 degC: 480, 62 and 9 Pa through 3, 5 and 8 mm, Cd 0.6 (computed)."""
    assert vent_pressure(_vented(mm), 200.0 / MOL_L) == pytest.approx(pascal, abs=printed)


def test_no_vent_or_no_gas_no_pressure() -> None:
    shut = with_job(quiet(), canister=dataclasses.replace(PIPE, vent=Vent("none")))
    assert vent_pressure(shut, 10.0) == 0.0
    assert vent_pressure(_vented(3.0), 0.0) == 0.0
    assert vent_pressure(_vented(3.0), 4.0) == pytest.approx(4 * vent_pressure(_vented(3.0), 2.0))  # Q squared


def test_a_narrow_vent_is_warned_of() -> None:
    from soak.plan.warn import warnings

    p = quiet()
    gas = dataclasses.replace(p.charge.gas, lime_mol=0.0, volatile_mol=220.0 / MOL_L)
    told = {w.code: w.text for w in warnings(dataclasses.replace(p, charge=dataclasses.replace(p.charge, gas=gas)))}
    assert told["vent-narrow"].endswith("Pa: a wider one")
    assert "L of gas through this vent needs" in told["vent-narrow"]
    less = dataclasses.replace(gas, volatile_mol=180.0 / MOL_L)
    assert "vent-narrow" not in {
        w.code for w in warnings(dataclasses.replace(p, charge=dataclasses.replace(p.charge, gas=less)))
    }


def test_carbon_for_a_kilogram() -> None:
    """P7: +0.8 % on a kilogram is 8 g of carbon, 10.7 g of charcoal with 75 % fixed carbon (stoichiometry)."""
    p = quiet()
    start = float(p.charge.start[0])
    p = with_state(p, carbon=np.full_like(p.outcome.state.carbon, start + 0.008))
    kg = sum(x.count * x.mass_kg for x in p.charge.pieces)
    assert carbon_needed_kg(p) / kg == pytest.approx(0.008, rel=1e-6)
    assert carbon_needed_kg(p) / kg / 0.75 * 1e3 == pytest.approx(10.7, rel=0.01)


def test_what_slag_burns_is_needed_too() -> None:
    p = quiet()
    rich = dataclasses.replace(p, charge=dataclasses.replace(p.charge, slag=np.full_like(p.charge.slag, 0.007)))
    kg = sum(x.count * x.mass_kg for x in p.charge.pieces)
    assert carbon_needed_kg(rich) - carbon_needed_kg(p) == pytest.approx(0.1672 * 0.007 * kg, rel=1e-3)


def test_iron_that_lost_carbon_needs_none() -> None:
    p = with_state(quiet(), carbon=np.zeros_like(quiet().outcome.state.carbon))
    assert carbon_needed_kg(p) == 0.0


def test_gas_from_a_litre_of_pack() -> None:
    """P8: 1 L at 230 g/L with 10 % CaCO3 makes 0.46 mol of CO, 10.3 L (stoichiometry)."""
    from charges import charge, job

    made = charge(
        job([strip(3, 4)], pack=dataclasses.replace(PACK, energizer={"CaCO3": 0.10}, volatiles=0.0, moisture=0.0))
    )
    per_litre = made.gas.lime_mol / (made.pack_kg / 0.230)
    assert per_litre == pytest.approx(0.46, rel=0.02)
    assert made.gas.volatile_mol == 0.0
    p = with_job(dataclasses.replace(quiet(), charge=made), pack=dataclasses.replace(PACK, moisture=0.0))
    assert accounts(p)["gas_made_l"] == pytest.approx(made.gas.lime_mol * 22.414, abs=0.05)


def test_the_carbon_ratio() -> None:
    """Carbon in the pack over what iron and slag take: charcoal's fixed carbon, less what carbonates and air burn
    (0.12 kg per kg CaCO3; computed)."""
    p = quiet()
    kg = p.charge.pack_kg
    assert kg == pytest.approx(p.fit.pack_volume_m3 * 230.0)
    there = kg * ((1 - 0.05 - 0.01) * p.job.pack.fixed_carbon - 0.05 * 0.120) - burnt_kg(p)
    needed = 4 * 0.003 * 0.03 * 0.15 * 7870.0 * (0.006 - MILD.carbon)
    books = accounts(p)
    assert books["carbon_there_g"] == pytest.approx(1e3 * there, rel=1e-2)
    assert books["carbon_needed_g"] == pytest.approx(1e3 * needed, abs=0.05)
    assert books["carbon_ratio"] == pytest.approx(there / needed, rel=1e-2)
    assert books["pack_kg"] == pytest.approx(kg, abs=1e-3)


def test_what_air_burns() -> None:
    """A crack of 0.2 mm, 400 mm long, 20 mm deep: 0.21 g an hour; a hole of 3 mm in 3 mm plate: 0.13 g (computed).

    No temperature is given with them. At 1050 degC the crack is met, and the hole, by the same law, is 0.124: the two
    do not quite go together. Both are without the hole's end correction of 0.8 diameters, which the charge has.
    """
    p = quiet(1050.0)
    hot_h = sum(d.hours for d in p.outcome.done if d.segment.kind != "cool")
    for leak, grams, within in ((0.0002 * 0.4 / 0.02, 0.21, 0.005), (0.25 * np.pi * 0.003**2 / 0.003, 0.13, 0.01)):
        gas = dataclasses.replace(p.charge.gas, leak=np.full(16, leak))
        of = dataclasses.replace(p, charge=dataclasses.replace(p.charge, gas=gas))
        assert 1e3 * burnt_kg(of) / hot_h == pytest.approx(grams, abs=within)


def test_air_drawn_in_on_cooling() -> None:
    """Gas that shrinks from 950 to 20 degC leaves three quarters of the void to air."""
    books = accounts(quiet())
    void_l = 1e3 * quiet().charge.gas.void_m3
    assert books["air_drawn_in_l"] == pytest.approx(void_l * (1 - 293.15 / 1223.15), abs=0.01)


def test_every_number_has_its_unit_in_its_name() -> None:
    books = accounts(default())
    assert {k.rsplit("_", 1)[-1] for k in books} <= {"kg", "g", "l", "pa", "ratio", "litres"}
    assert all(v >= 0.0 for v in books.values() if isinstance(v, float))
    assert small().pack.energizer.keys() == books["energizer_kg"].keys()
    assert bar().shape == "round"
