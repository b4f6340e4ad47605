"""The whole stand-in as one object: time, oven, canister, sensor, controller, faults. Touches no clock, file or port.

    world = World(oven="medium")
    world.advance(50.0)                                      # seconds pass
    reply = world.answer(bytes.fromhex("010300000001840A"))  # a Modbus RTU frame is answered; b"" is silence
    world.true()                                             # what really is, which no real oven would tell

The same seed, calls and frames give the same replies, byte for byte. The controller samples once a step of the world
(5 s at most), so the length of the advances is part of what makes two worlds the same.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from typing import Any

from hw_sim.canister import Canister
from hw_sim.controller import Controller
from hw_sim.deviations import Deviations, draw
from hw_sim.errors import WrongInput
from hw_sim.faults import Faults, Started, read_fault
from hw_sim.ovens import oven as oven_named
from hw_sim.plant import LONGEST_STEP_S, Plant
from hw_sim.properties import ZERO_C
from hw_sim.rtu import RtuServer
from hw_sim.thermocouple import follow

LONGEST_ADVANCE_S = 1e6
RESOLUTION_C = 0.1
LIMITER_MARGIN_C = 30.0  # the limiter opens this far above what the oven may do [judgement]
DEFAULT_CANISTER = Canister()


class World:
    """One oven with its canister (None: empty), controller and line.

    deviations: how this world differs from the book; None draws them from the seed. limiter_c: true oven temperature
    at which the independent limiter opens for good; None: 30 degC above the oven's own limit.
    """

    def __init__(
        self,
        oven: str = "medium",
        seed: int = 0,
        canister: Canister | None = DEFAULT_CANISTER,
        faults: Iterable[Started | str] = (),
        *,
        address: int = 1,
        start_c: float = 20.0,
        limiter_c: float | None = None,
        deviations: Deviations | None = None,
    ) -> None:
        if not 1 <= address <= 247:
            raise WrongInput(f"address {address}: a unit's address is 1 to 247")
        if not -20.0 <= start_c <= 1200.0:
            raise WrongInput(f"start at {start_c:g} degC: write -20 to 1200 degC")
        kind = oven_named(oven)
        self._deviations = draw(seed) if deviations is None else deviations
        self._plant = Plant(kind, canister, self._deviations, start_c)
        self._controller = Controller(kind.pid, kind.max_c)
        self._line = RtuServer(address, self._controller)
        self._faults = Faults(tuple(read_fault(f) if isinstance(f, str) else f for f in faults))
        self._limiter_c = kind.max_c + LIMITER_MARGIN_C if limiter_c is None else limiter_c
        self._limiter_open = False
        self._noise = random.Random(seed * 2 + 1)
        self._phase = self._noise.uniform(0.0, 2.0 * math.pi)
        self._time_s = 0.0
        self._tip_k = self._plant.seen_k()
        self._sample(0.0)

    def runs_at(self, rate: float) -> None:
        """Say at the marker register how many seconds of the world pass in one of wall time."""
        self._controller.rate = round(rate)

    @property
    def time_s(self) -> float:
        """The world's time since its start [s]."""
        return self._time_s

    def advance(self, seconds: float) -> None:
        """Let time pass [s], in steps of 5 s or less that do not run across the start of a fault."""
        if not 0.0 <= seconds <= LONGEST_ADVANCE_S:
            raise WrongInput(f"advance by {seconds:g} s: write 0 to {LONGEST_ADVANCE_S:g} s")
        end_s = self._time_s + seconds
        while end_s - self._time_s > 1e-6:
            stop_s = min(end_s, self._time_s + LONGEST_STEP_S)
            fault_s = self._faults.next_start_s(self._time_s)
            if fault_s is not None and self._time_s + 1e-6 < fault_s < stop_s:
                stop_s = fault_s
            self._step(stop_s)

    def answer(self, request: bytes) -> bytes:
        """What the controller sends back for these bytes; empty: silence. Bytes may come in pieces."""
        return self._line.feed(request) if self._faults.hears(self._time_s) else b""

    def line_quiet(self) -> None:
        """The line has been quiet for longer than a frame may pause: half a frame is forgotten."""
        self._line.silence()

    def start_fault(self, name: str) -> None:
        """Begin a fault now. Raises WrongInput with the names there are."""
        self._faults.add(Started(name, self._time_s))

    def true(self) -> dict[str, Any]:
        """What really is: time_s, oven_c, wall_c, core_c (None in an empty oven), output_pct as the controller asks.

        Beside those: power_w that reaches the element, limiter_open, and the faults that have begun.
        """
        truth = self._plant.truth()
        return {
            "time_s": round(self._time_s, 6),
            "oven_c": round(truth.oven_c, 3),
            "wall_c": None if truth.wall_c is None else round(truth.wall_c, 3),
            "core_c": None if truth.core_c is None else round(truth.core_c, 3),
            "output_pct": round(self._controller.output_pct, 3),
            "power_w": round(self._plant.power_w, 3),
            "limiter_open": self._limiter_open,
            "faults": list(self._faults.active(self._time_s)),
        }

    def _step(self, stop_s: float) -> None:
        plant, now_s = self._plant, self._time_s
        dt_s = stop_s - now_s
        swing = math.sin(2.0 * math.pi * now_s / self._deviations.mains_period_s + self._phase)
        full_w = plant.full_power_w(1.0 + self._deviations.mains * swing)
        power_w = self._faults.power_w(self._controller.output_pct / 100.0 * full_w, full_w, now_s)
        plant.step(dt_s, 0.0 if self._limiter_open else power_w)
        if plant.seen_k() - ZERO_C >= self._limiter_c:
            self._limiter_open = True
        self._tip_k = follow(self._tip_k, plant.seen_k(), dt_s)
        self._time_s = stop_s
        self._sample(dt_s)

    def _sample(self, dt_s: float) -> None:
        """The controller looks at the sensor: lagged, off by a constant, with noise, in steps of 0.1 degC."""
        wrong_c = self._deviations.offset_c + self._noise.gauss(0.0, self._deviations.noise_c)
        told_c = self._faults.reading(self._tip_k - ZERO_C + wrong_c, self._time_s)
        if told_c is not None:
            told_c = round(told_c / RESOLUTION_C) * RESOLUTION_C
        self._controller.sample(dt_s, told_c, self._limiter_open)
