"""The oven as the planner knows it: how hot, how fast up, how fast down. degC, degC/h, W."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Oven:
    """ramp and cooling are tables of (oven temperature degC, rate degC/h): the fastest the oven climbs with a
    canister in it, and how it falls with the power off, closed. Both are interpolated; rates are positive.

    heat "electric" | "gas"; `controlled` False: no controller, follow by hand (a gas forge with a logger).
    simulated_as: which of hw_sim's ovens stands in for it in a dry run (small, medium, large).
    ramp_usual_c_per_h is what a plan asks for; sensor_sigma_c is the doubt of the load's temperature (one sigma).
    """

    name: str
    title: str
    temperature_max_c: float
    power_w: float
    chamber_m: tuple[float, float, float]
    ramp: tuple[tuple[float, float], ...]
    cooling: tuple[tuple[float, float], ...]
    ramp_usual_c_per_h: float = 300.0
    sensor_sigma_c: float = 12.0
    sensor_range_c: tuple[float, float] = (-30.0, 1372.0)
    heat: str = "electric"
    controlled: bool = True
    simulated_as: str = "medium"
    note: str = ""
