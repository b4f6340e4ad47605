"""hw_sim as a child: what it is told, and that it never outlives its parent."""

from __future__ import annotations

import pytest

from soak.errors import LinkError, UsageError
from soak.job.read import read_job
from soak.plan.choose import Planned, choose
from soak.shop import simulator as sim


@pytest.fixture(scope="module")
def planned() -> Planned:
    return choose(read_job("plane-irons", None), members=1)


def test_it_is_told_this_canister_in_the_oven_that_stands_in(planned: Planned) -> None:
    words = sim.arguments(planned, 7, ("silent@1h",))
    said = dict(zip(words[::2], words[1::2], strict=True))
    assert said["--oven"] == "medium"
    can = planned.job.canister
    assert said["--canister-mm"] == f"{1e3 * can.width_m:g}x{1e3 * can.height_m:g}x{1e3 * can.length_m:g}"
    assert float(said["--wall-mm"]) == pytest.approx(1e3 * can.wall_m)
    # 8 strips of 4 x 32 x 180 mm at 7800 kg/m3: 1.44 kg
    assert float(said["--steel-kg"]) == pytest.approx(8 * 0.004 * 0.032 * 0.180 * 7800, rel=0.02)
    assert said["--lime"] == "0.05"
    assert (said["--seed"], said["--fault"]) == ("7", "silent@1h")


def test_time_moves_when_asked_and_the_child_ends_with_the_block(planned: Planned) -> None:
    with sim.simulator(planned, 0, ()) as one:
        one.clock.sleep_until(50.0)
        assert one.clock.true["time_s"] == 50.0
        assert one.address == 1
    with pytest.raises(LinkError, match="The simulator has gone at 50 s of the run"):
        one.clock.sleep_until(60.0)


def test_what_it_does_not_like_is_told_in_its_own_words(planned: Planned) -> None:
    with pytest.raises(UsageError, match="fault 'x' is not known here: write one of") as caught:
        sim.simulator(planned, 0, ("x@1h",)).__enter__()
    assert caught.value.hint == "python -m hw_sim --help lists what it takes"


def test_a_simulator_that_does_not_start(planned: Planned, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sim.sys, "executable", "/bin/false")
    with pytest.raises(LinkError, match="hw_sim did not start"):
        sim.simulator(planned, 0, ()).__enter__()
