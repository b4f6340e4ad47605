"""Each warning provoked once, from plans that are otherwise quiet."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest
from plans import QUICK, at, default

from soak.job.pack import Surface
from soak.job.packing import Packing
from soak.job.stock import Iron
from soak.job.target import Target
from soak.plan.choose import Planned
from soak.plan.warn import warnings
from soak.trace import Event

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import PACK, PIPE, strip

ALWAYS = {"carbon-monoxide", "open-cold", "not-a-safety-device"}
P = Iron("old", "old", {"C": 0.0005, "P": 0.004}, slag_feo=0.016)


def quiet(hold_c: float = 950.0) -> Planned:
    """The default plan as if nothing about it were worth a warning."""
    p = default()
    state = dataclasses.replace(
        p.outcome.state,
        carbon=np.full_like(p.outcome.state.carbon, 0.006),
        co=np.full(16, 0.9),
        breached=np.zeros(16, dtype=np.bool_),
    )
    pack = dataclasses.replace(PACK, energizer={"CaCO3": 0.05}, moisture=0.01, volatiles=0.0)
    job = dataclasses.replace(p.job, pack=pack, stock=(strip(3.0, 4),))
    outcome = dataclasses.replace(p.outcome, state=state, events=())
    return dataclasses.replace(p, job=job, outcome=outcome, chosen=dataclasses.replace(p.chosen, hold_c=hold_c))


def with_job(p: Planned, **change: object) -> Planned:
    return dataclasses.replace(p, job=dataclasses.replace(p.job, **change))  # type: ignore[arg-type]


def with_state(p: Planned, **change: object) -> Planned:
    state = dataclasses.replace(p.outcome.state, **change)  # type: ignore[arg-type]
    return dataclasses.replace(p, outcome=dataclasses.replace(p.outcome, state=state))


def texts(p: Planned) -> dict[str, str]:
    return {w.code: w.text for w in warnings(p)}


def carbon(value: float) -> np.ndarray:
    return np.full_like(default().outcome.state.carbon, value)


def test_a_quiet_plan_says_only_what_always_holds() -> None:
    assert set(texts(quiet())) == ALWAYS
    assert "CO alarm" in texts(quiet())["carbon-monoxide"]
    assert "60 degC" in texts(quiet())["open-cold"]


STEEL_HOT = quiet(1110.0)
CASES = {
    "breach": (
        with_state(quiet(), breached=np.arange(16) == 3),
        "breach in 6 of 100 such soaks: use a thicker canister",
    ),
    "breach-accepted": (
        dataclasses.replace(with_state(quiet(), breached=np.ones(16, dtype=np.bool_)), overridden="the last one"),
        "breach in 100 of 100 such soaks, accepted because: the last one",
    ),
    "canister-hot": (STEEL_HOT, "a steel canister sags and takes up carbon (hold 1110 degC)"),
    "inside-scale": (
        with_job(quiet(1060.0), canister=dataclasses.replace(PIPE, material="310")),
        "above 1050 degC the inside scale may turn to carbide and stop protecting (hold 1060 degC)",
    ),
    "above-intermittent": (
        with_job(quiet(), canister=dataclasses.replace(PIPE, material="304")),
        "304: rated 870 degC where heat comes and goes (hold 950 degC)",
    ),
    "above-continuous": (
        with_job(quiet(), canister=dataclasses.replace(PIPE, material="304")),
        "304: rated 925 degC in steady service (hold 950 degC)",
    ),
    "fuel-fired": (with_job(quiet(), oven=dataclasses.replace(QUICK, heat="gas")), "burnt gas scales a canister"),
    "surface-stated": (
        with_job(quiet(), pack=dataclasses.replace(PACK, surface=Surface("carbon", 0.01))),
        "the surface is stated, not computed: lute, gas and charcoal play no part",
    ),
    "pack-short": (
        dataclasses.replace(quiet(), charge=dataclasses.replace(quiet().charge, pack_kg=0.01)),
        "times the carbon needed; below 5 it runs short: more cover, less iron",
    ),
    "alkali-vapour": (
        with_job(quiet(1010.0), pack=dataclasses.replace(PACK, energizer={"Na2CO3": 0.06}, moisture=0.0)),
        "above 1000 degC soda and potash leave as vapour that attacks brick and elements (more than 5 % here)",
    ),
    "gas-spent": (
        with_state(quiet(), co=np.full(16, 0.40)),
        "the energizer's gas is spent in the ramp; CO falls to 40 % as air creeps in through the lute",
    ),
    "pack-caution": (with_job(quiet(), pack=dataclasses.replace(PACK, moisture=0.0, caution="poison")), "poison"),
    "damp-pack": (
        with_job(quiet(), pack=dataclasses.replace(PACK, moisture=0.05)),
        "5 % water in the pack: dry it, or keep the vent open in the drying hold",
    ),
    "surface-max": (
        with_job(quiet(), target=Target(0.005, surface_max=0.0055)),
        "surface 0.60 % C is above surface_max: use a cooler hold or a weaker pack",
    ),
    "carbide-network": (
        with_state(quiet(), carbon=carbon(0.009)),
        "surface 0.90 % C: slow cooling leaves a carbide network there; normalise before hardening",
    ),
    "phosphide-melting": (
        with_state(with_job(quiet(1010.0), stock=(strip(3.0, 4, P),)), carbon=carbon(0.0125)),
        "old: phosphide may begin to melt (0.40 % P, 1.25 % C)",
    ),
    "phosphorus": (
        with_job(quiet(), stock=(strip(3.0, 4, P),)),
        "old: phosphorus takes off a few per cent of the carbon (to a factor of two); cold-short",
    ),
    "slag": (
        with_job(quiet(), stock=(strip(3.0, 4, P),)),
        "old: its slag eats up to 0.27 % C (counted: about half) and spoils weighing",
    ),
    "touching": (
        with_job(quiet(), packing=Packing(0.01, 0.01, 2)),
        "2 pieces touch: they carburize as one 2 times as thick and take far less",
    ),
    "ferrite-core": (quiet(890.0), "below 900 degC a ferrite core takes little carbon"),
    "no-controller": (
        with_job(quiet(), oven=dataclasses.replace(QUICK, controlled=False)),
        "no controller: follow the segments by hand, log the temperature, then soak predict",
    ),
    "out-of-range-iron": (
        with_job(quiet(), stock=(strip(3.0, 4, Iron("odd", "odd", {"Cr": 0.02})),)),
        "odd: Cr 2.00 % is outside what the activity law was fitted to",
    ),
    "out-of-range": (
        dataclasses.replace(
            quiet(),
            outcome=dataclasses.replace(
                quiet().outcome, events=(Event(1.0, "out-of-range", "warning", "used above 1150 degC"),)
            ),
        ),
        "used above 1150 degC",
    ),
    "member-frozen": (
        dataclasses.replace(
            quiet(),
            outcome=dataclasses.replace(
                quiet().outcome, events=(Event(1.0, "member-frozen", "warning", "1 of 16 members went wrong"),)
            ),
        ),
        "1 of 16 members went wrong",
    ),
}


@pytest.mark.parametrize("code", CASES)
def test_each_warning_once(code: str) -> None:
    planned, text = CASES[code]
    code = code.removesuffix("-iron")
    said = texts(planned)
    assert text in said[code]
    # and nothing else, but for those that come of the same cause
    together = {
        "above-intermittent": {"above-continuous", "inside-scale"},
        "above-continuous": {"above-intermittent"},
        "inside-scale": {"above-intermittent"},
        "phosphide-melting": {"phosphorus", "slag", "carbide-network"},
        "phosphorus": {"slag"},
        "slag": {"phosphorus"},
    }.get(code, set())
    assert set(said) - ALWAYS - together == {code}


def test_near_misses() -> None:
    for planned, code in (
        (
            dataclasses.replace(
                with_state(quiet(), weight=np.where(np.arange(16) == 3, 0.0, 1 / 16), breached=np.arange(16) == 3)
            ),
            "breach",
        ),
        (quiet(1100.0), "canister-hot"),
        (with_state(quiet(), co=np.full(16, 0.60)), "gas-spent"),
        (with_job(quiet(), pack=dataclasses.replace(PACK, moisture=0.02)), "damp-pack"),
        (with_job(quiet(1000.0), pack=dataclasses.replace(PACK, energizer={"Na2CO3": 0.06})), "alkali-vapour"),
        (with_state(quiet(), carbon=carbon(0.0075)), "carbide-network"),
        (with_job(quiet(), target=Target(0.005, surface_max=0.0061)), "surface-max"),
        (with_state(with_job(quiet(990.0), stock=(strip(3.0, 4, P),)), carbon=carbon(0.0125)), "phosphide-melting"),
        (quiet(900.0), "ferrite-core"),
    ):
        assert code not in texts(planned), code


def test_a_small_share_of_alkali_is_named_as_such() -> None:
    few = with_job(quiet(1010.0), pack=dataclasses.replace(PACK, energizer={"Na2CO3": 0.03}))
    assert "(no more than 5 % here)" in texts(few)["alkali-vapour"]


def test_barium_is_not_said_to_be_spent() -> None:
    barium = with_job(quiet(), pack=dataclasses.replace(PACK, energizer={"BaCO3": 0.1}, moisture=0.0))
    assert "gas-spent" not in texts(with_state(barium, co=np.full(16, 0.4)))


def test_the_real_plan_warns_of_what_it_is() -> None:
    assert {"gas-spent", "damp-pack"} <= set(texts(at(default().chosen.hold_c)))
