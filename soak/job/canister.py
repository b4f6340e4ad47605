"""The canister: outside size, walls, what it is made of, vent and lute. Lengths in m, temperatures in degC."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Material = Literal["steel", "304", "309", "310", "330", "600", "601", "800H", "fireclay"]


@dataclass(frozen=True, slots=True)
class Vent:
    """A hole (its length is the wall it goes through) or a tube. `kind` none: no vent, and the plan is refused."""

    kind: Literal["none", "hole", "tube"]
    diameter_m: float = 0.0
    length_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Canister:
    """Outside size: a box has width, height and length; a pipe has a diameter and a length.

    gap_m is the width of the crack that an average lute leaves, along lute_m of joint, lute_depth_m deep.
    expendable: the reserve of a quarter of the wall is given up.  floor_supported: a flat
    shelf carries the whole floor, so that it cannot sag.  lute_dry: no drying hold is needed.
    ramp_max_c_per_h: slower than the oven could (fireclay).  temperature_max_c: refused above.
    """

    name: str
    title: str
    form: Literal["box", "pipe"]
    material: Material
    length_m: float
    wall_m: float
    bottom_m: float
    lid_m: float
    vent: Vent
    width_m: float = 0.0
    height_m: float = 0.0
    diameter_m: float = 0.0
    lute_gap_m: float = 0.00002
    lute_m: float = 0.4
    lute_depth_m: float = 0.02
    lute_dry: bool = False
    expendable: bool = False
    floor_supported: bool = True
    ramp_max_c_per_h: float | None = None
    temperature_max_c: float | None = None
    note: str = ""
