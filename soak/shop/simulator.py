"""Starts hw_sim beside the program, for a dry run, and ends it again. Touches processes and pipes."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from soak.errors import LinkError, UsageError
from soak.plan.choose import Planned
from soak.process.charge import STEEL_DENSITY
from soak.run.clock import PipeClock


@dataclass(frozen=True, slots=True)
class Simulated:
    """The port it serves, and the clock that moves its time."""

    port: str
    address: int
    clock: PipeClock


def arguments(planned: Planned, seed: int, faults: tuple[str, ...]) -> list[str]:
    """What hw_sim is told: this canister in the oven that stands in for the job's."""
    job = planned.job
    can, pack = job.canister, job.pack
    sides = (can.diameter_m, can.length_m) if can.form == "pipe" else (can.width_m, can.height_m, can.length_m)
    steel_kg = (
        planned.fit.steel_fraction / (1.0 - planned.fit.steel_fraction) * planned.fit.pack_volume_m3 * STEEL_DENSITY
    )
    said = {
        "--oven": job.oven.simulated_as,
        "--canister-mm": "x".join(f"{1000 * s:g}" for s in sides),
        "--wall-mm": f"{1000 * can.wall_m:g}",
        "--steel-kg": f"{steel_kg:.3f}",
        "--pack-kg": f"{planned.fit.pack_volume_m3 * pack.density:.3f}",
        "--lime": f"{pack.energizer.get('CaCO3', 0.0):g}",
        "--moisture": f"{pack.moisture:g}",
        "--seed": str(seed),
    }
    words = [word for pair in said.items() for word in pair]
    return [*words, *(word for fault in faults for word in ("--fault", fault))]


@contextmanager
def simulator(planned: Planned, seed: int, faults: tuple[str, ...]) -> Iterator[Simulated]:
    """hw_sim as a child that ends with its standard input, so that a killed parent leaves no orphan.

    Raises UsageError with hw_sim's own words when it does not like what it was told (an unknown fault, say).
    """
    command = [sys.executable, "-m", "hw_sim", "--piped", *arguments(planned, seed, faults)]
    child = subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        bufsize=1,
        start_new_session=True,  # a terminal that hangs up, or Ctrl-C, is for us to answer, not for the oven to die of
    )
    assert child.stdin is not None
    assert child.stdout is not None
    assert child.stderr is not None
    try:
        first = child.stdout.readline()
        if not first:
            words = child.stderr.read().strip().removeprefix("hw_sim: ")
            if child.wait() == 2:
                raise UsageError("simulator", words, "python -m hw_sim --help lists what it takes")
            raise LinkError("simulator", f"hw_sim did not start: {words}", "run python -m hw_sim by hand")
        told = json.loads(first)
        yield Simulated(told["port"], told["address"], PipeClock.over(child))
    finally:
        child.stdin.close()
        try:
            child.wait(timeout=5.0)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
        child.stdout.close()
        child.stderr.close()
