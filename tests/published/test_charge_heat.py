"""Outside checks of the pack's carbon supply and of the heat that reaches the core, through the process's own fold.

Numbers by models apart from this code (computed) unless said.
"""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest

from soak.job.canister import Canister, Vent
from soak.job.pack import Pack, Surface
from soak.job.packing import Fit
from soak.physics import heat as law
from soak.process import heat
from soak.process.advance import advance
from soak.process.charge import Charge, build
from soak.process.draws import draw
from soak.process.heat import RINGS, TABLE_K, HeatModel
from soak.process.outcome import mean, surface
from soak.process.state import ZERO_C, cold

sys.path.insert(0, str(Path(__file__).parents[1] / "process"))
from charges import PIPE, PURE, H, charge, fold, full_of_co, held, job, sealed, strip

# --- carbon from the pack

# stone chests: four millimetres of steel would scale through in eight days, and then no more carbon goes in
CHEST = dataclasses.replace(PIPE, material="fireclay", diameter_m=0.4, length_m=0.4)


def _plate(mm: float, catalyst: float, activity: float | None = None) -> Charge:
    """A plate of iron with 0.05 % C in a bed without end, nothing leaking; so wide that its edges do not count."""
    pack = Pack("x", "x", grain_m=0.004, surface=Surface("activity", activity) if activity else None)
    return sealed(
        charge(
            job([strip(mm, 1, PURE, 6 * mm)], pack=pack, canister=CHEST), depth_s=1.0, start=0.0005, catalyst=catalyst
        )
    )


def _after(made: Charge, celsius: float, co: float, hours: tuple[float, ...]) -> tuple[list[float], list[float]]:
    """Mean and surface carbon after so many hours at heat, %."""
    means, surfaces = [], []
    for h in hours:
        state, _ = fold(made, held(celsius, h), full_of_co(cold(made), co))
        assert float(state.co[0]) == pytest.approx(co, abs=1e-9)
        means.append(100 * float(mean(made, state)[0, 0]))
        surfaces.append(100 * float(surface(made, state)[0, 0]))
    return means, surfaces


PLATE = [  # degC, catalyst, pCO, mean after 1, 3, 6 h; surface after 0.1, 1, 6 h
    (950, 10, 1.0, (0.186, 0.303, 0.418), (1.09, 1.26, 1.32)),
    (950, 3, 1.0, (0.174, 0.287, 0.401), (0.99, 1.19, 1.29)),
    (950, 1, 1.0, (0.160, 0.268, 0.378), (0.88, 1.11, 1.25)),
    (950, 1, 0.35, (0.113, 0.188, 0.272), (0.53, 0.76, 0.98)),
    (1050, 10, 1.0, (0.301, 0.554, 0.813), (1.10, 1.39, 1.58)),
    (1050, 3, 1.0, (0.271, 0.505, 0.754), (0.98, 1.28, 1.51)),
    (1050, 1, 1.0, (0.240, 0.452, 0.684), (0.85, 1.16, 1.42)),
    (1050, 1, 0.35, (0.142, 0.260, 0.401), (0.46, 0.69, 0.96)),
]


@pytest.mark.parametrize("row", PLATE, ids=lambda r: f"{r[0]}C-f{r[1]}-pCO{r[2]}")
def test_six_millimetre_plate_in_every_pack(
    row: tuple[float, float, float, tuple[float, ...], tuple[float, ...]],
) -> None:
    """P10c is the row 1050 degC, f 10: 0.81 +- 0.04 after 6 h. The same 0.04 is asked of the whole table.

    The table was made with Chipman's activity (memory), which is 3 to 7 % below the assessed one used here; that moves
    surfaces by up to 0.06 %, hence 0.07 for those.
    """
    celsius, catalyst, co, means, surfaces = row
    got, _ = _after(_plate(6, catalyst), celsius, co, (1, 3, 6))
    assert got == pytest.approx(means, abs=0.04)
    _, got = _after(_plate(6, catalyst), celsius, co, (0.1, 1, 6))
    assert got == pytest.approx(surfaces, abs=0.07)


def test_p10c_ideal_surface() -> None:
    """0.97 +- 0.04 % with the surface at saturation from the start, as Chipman's saturation (1.71 %) makes it.

    The assessed saturation used here is 1.672 % (2.4 % lower, inside the 3 % that row 6 of the thermodynamics allows):
    with a stated activity of 1 the plate comes to 0.930 %, which is 0.0403 below 0.97. The two sources of activity
    disagree there, not the fold: given the surface carbon of the check, it meets the check.
    """
    pack = Pack("x", "x", surface=Surface("carbon", 0.0171))
    made = charge(job([strip(6, 1, PURE, 36)], pack=pack), start=0.0005)
    state, _ = fold(made, held(1050, 6))
    assert 100 * float(mean(made, state)[0, 0]) == pytest.approx(0.97, abs=0.04)
    got, _ = _after(_plate(6, 1, activity=1.0), 1050, 1.0, (6,))
    assert got == pytest.approx([0.930], abs=0.001)


def test_p12_uptake_after_twelve_and_three_hours() -> None:
    # a thick plate: surface held, uptake goes with the root of time; a poor pack starts later and catches up
    for made, co, ratio, within in (
        (_plate(40, 1, activity=1.0), 1.0, 2.00, 0.02),
        (_plate(40, 1), 0.35, 2.5, 0.15),
    ):
        three, twelve = _after(made, 950, co, (3, 12))[0]
        assert (twelve - 0.05) / (three - 0.05) == pytest.approx(ratio, abs=within)


@pytest.mark.parametrize(("celsius", "co"), [(1000, 1.0), (1050, 0.35)])
def test_p13_blister_bars(celsius: float, co: float) -> None:
    """16 mm bar, plain charcoal, 8 days: 1.0 to 1.6 %.

    Analyses of blister bars: 1.01 to 1.48 % (Ledebur and Thallner in Giolitti 1915, seen; the furnaces' days and
    temperatures are memory). Another model of the same law, with 2.4 % more at saturation, gave 1.25 and 1.36 %; here
    it is 1.21 and 1.31 %.
    """
    made = dataclasses.replace(_plate(16, 1), longest_s=1200.0)  # eight days without a change: long steps do
    state, _ = fold(made, held(celsius, 192, every_s=300), full_of_co(cold(made), co))
    assert 1.0 < 100 * float(mean(made, state)[0, 0]) < 1.6


# --- heat


def test_h3_decay_of_a_cylinder() -> None:
    """R 50 mm, k 0.5, rho c 4e5, Bi 200: the deviation falls with zeta^2 k/(rho c R^2), zeta^2 = 5.726 (analytic)."""
    radius, k, rho_c, biot = 0.05, 0.5, 4e5, 200.0
    oven_k = 1300.0
    h = float(law.wall_exchange(oven_k, oven_k, 0.8))
    edges = radius * (1.0 - np.arange(RINGS + 1) / RINGS)
    middles = 0.5 * (edges[:-1] + edges[1:])
    model = HeatModel(
        radius_m=radius,
        wall_gain=biot * k / radius / h,  # a wall that lets through what Bi 200 asks
        capacity=np.full_like(TABLE_K, rho_c),
        sink=np.zeros_like(TABLE_K),
        wall_capacity=np.full_like(TABLE_K, 1e-6),
        conductivity=np.full_like(TABLE_K, k),
        multiplier=np.ones(1),
        emissivity=0.8,
        at=np.zeros((1, RINGS + 1)),
        ring_volume=middles * radius / RINGS,
        ring_face=edges[:-1] / np.where(np.arange(RINGS) == 0, 0.5 * radius / RINGS, radius / RINGS),
    )
    nodes = np.full((1, RINGS + 1), oven_k - 1.0)
    dt, centres = 1.0, []
    for _ in range(3000):
        nodes = heat.step(model, nodes, nodes, np.array([oven_k]), dt)
        centres.append(oven_k - float(nodes[0, -1]))
    rate = np.log(centres[999] / centres[2999]) / 2000.0
    assert rate == pytest.approx(2.863e-3, rel=0.01)


PIPE_100 = Canister(
    *("pipe", "100 mm inside, long", "pipe", "steel", 3.0, 0.003, 0.003, 0.003, Vent("hole", 0.003)), diameter_m=0.106
)
BOX_150 = Canister(
    *("box", "150 mm square inside, long", "box", "steel", 3.0, 0.003, 0.003, 0.003, Vent("hole", 0.003)),
    width_m=0.156,
    height_m=0.156,
)


def _packed(can: Canister) -> Charge:
    """The lag tables' charge: 20 vol% steel, 230 kg/m3 of 4 mm charcoal, 10 % CaCO3, 5 % water."""
    pack = Pack("x", "x", energizer={"CaCO3": 0.10}, moisture=0.05, grain_m=0.004, density=230.0)
    of = job([strip(4, 1)], canister=can, pack=pack)
    return build(of, Fit(True, 1, 1, steel_fraction=0.20, pack_volume_m3=1e-3, text=""), draw(1))


def _hours_to_1040(made: Charge, dt: float) -> float:
    """Put cold into an oven at 1050 degC: hours until the core is at 1040 degC, by the heat model in steps of dt."""
    nodes = cold(made).nodes
    peak = nodes
    for n in range(1, round(6 * H / dt)):
        nodes = heat.step(made.heat, nodes, peak, np.array([1050.0 + ZERO_C]), dt)
        peak = np.maximum(peak, nodes)
        if nodes[0, -1] >= 1040.0 + ZERO_C:
            return n * dt / H
    raise AssertionError("the core never came to 1040 degC")


def _folded_hours_to_1040(made: Charge) -> float:
    """The same through the fold. Its last step may be 300 s long: read off a straight line within it."""
    state = cold(made)
    for reading in held(1050, 6):
        before, (state, _) = state, advance(made, state, reading)
        core_k = float(state.nodes[0, -1])
        if core_k >= 1040.0 + ZERO_C:
            was_k = float(before.nodes[0, -1])
            share = (1040.0 + ZERO_C - was_k) / (core_k - was_k)
            return (before.time_s + share * (state.time_s - before.time_s)) / H
    raise AssertionError("the core never came to 1040 degC")


@pytest.mark.parametrize(("can", "hours", "within"), [(PIPE_100, 1.22, 0.05), (BOX_150, 3.08, 0.07)], ids=["H4", "H5"])
def test_cold_canister_in_a_hot_oven(can: Canister, hours: float, within: float) -> None:
    assert _hours_to_1040(_packed(can), 10.0) == pytest.approx(hours, rel=within)


@pytest.mark.parametrize(("can", "hours", "within"), [(PIPE_100, 1.22, 0.05), (BOX_150, 3.08, 0.07)], ids=["H4", "H5"])
def test_cold_canister_in_a_hot_oven_through_the_fold(can: Canister, hours: float, within: float) -> None:
    """The fold keeps its steps short until the charge has followed: 1.25 h for 1.22 h and 3.08 h for 3.08 h.

    Where the fold happens to stand is another thing: its first state above 1040 degC is that of 1.283 h (5.2 % late)
    and of 3.10 h, because the last 20 K are stepped 300 s at a time.
    """
    assert _folded_hours_to_1040(_packed(can)) == pytest.approx(hours, rel=within)
