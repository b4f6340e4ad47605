"""The packed canister: its outside size, what is in it, and the round body that heats like it. Pure."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from hw_sim.errors import WrongInput
from hw_sim.properties import STEEL_DENSITY

PACK_DENSITY = 230.0  # kg/m3, charcoal of 3-6 mm with carbonate, as it fills [computed; 180-300]
SHAPE = 0.4267  # 1/R^2 = SHAPE (1/a^2 + 1/b^2 + 1/c^2), a, b, c half widths [computed: (pi/2)^2 / 2.4048^2]


@dataclass(frozen=True, slots=True)
class Canister:
    """size_mm: (width, height, length) of a box or (diameter, length) of a pipe, outside. Steel is the charge of iron.

    lime and moisture are mass fractions of the pack. pack_kg None: filled up at 230 kg/m3.
    """

    size_mm: tuple[float, ...] = (96.0, 64.0, 220.0)
    wall_mm: float = 2.0
    steel_kg: float = 1.4
    pack_kg: float | None = None
    lime: float = 0.05
    moisture: float = 0.05

    def __post_init__(self) -> None:
        if min(self.size_mm) < 20.0 or max(self.size_mm) > 2000.0:
            raise WrongInput(f"canister size {_by(self.size_mm)} mm: each length must be 20 to 2000 mm")
        if not 0.0 < self.wall_mm < min(self.size_mm) / 4:
            raise WrongInput(f"canister wall {self.wall_mm:g} mm: it must be above 0 and under a quarter of the width")
        if self.steel_kg < 0.0 or not 0.0 <= self.steel_share <= 0.5:
            most = 0.5 * STEEL_DENSITY * self.inside_m3
            raise WrongInput(
                f"{self.steel_kg:g} kg of steel in this canister: write 0 to {most:.2f} kg (half of its room)"
            )
        if not 20.0 <= self.pack_density <= 1000.0:
            room = self.inside_m3 * (1.0 - self.steel_share)
            raise WrongInput(
                f"{self.pack_kg:g} kg of pack in {1000 * room:.2f} L: write {20 * room:.3f} to {1000 * room:.2f} kg"
            )
        for name, value in (("lime", self.lime), ("moisture", self.moisture)):
            if not 0.0 <= value <= 0.4:
                raise WrongInput(f"{name} {value:g} of the pack's mass: write a fraction from 0 to 0.4, as 0.05")

    @property
    def inside_m3(self) -> float:
        """Room inside the wall [m3]."""
        return _volume([mm - 2.0 * self.wall_mm for mm in self.size_mm])

    @property
    def outside_m2(self) -> float:
        """Outer surface [m2]."""
        if len(self.size_mm) == 2:
            d, length = (mm / 1000 for mm in self.size_mm)
            return math.pi * d * (length + d / 2)
        a, b, c = (mm / 1000 for mm in self.size_mm)
        return 2.0 * (a * b + b * c + c * a)

    @property
    def steel_share(self) -> float:
        """Steel's share of the room inside [-]."""
        return self.steel_kg / STEEL_DENSITY / self.inside_m3

    @property
    def pack_density(self) -> float:
        """Bulk density of the pack between the pieces [kg/m3]."""
        if self.pack_kg is None:
            return PACK_DENSITY
        return self.pack_kg / (self.inside_m3 * (1.0 - self.steel_share))

    @property
    def wall_kg(self) -> float:
        """Mass of the canister itself [kg]."""
        return STEEL_DENSITY * self.wall_mm / 1000 * self.outside_m2

    @property
    def round_m(self) -> float:
        """Radius of the round bar that heats through as fast [m]: from the outside size, the slowest mode's decay.

        A square bar of width W: 1.083 W/2; a cube 0.884 W/2; a long pipe its own radius (computed from eigenvalues).
        """
        halves = [mm / 2000 for mm in self.size_mm]
        if len(halves) == 2:
            return 1.0 / math.sqrt(1.0 / halves[0] ** 2 + SHAPE / halves[1] ** 2)
        return 1.0 / math.sqrt(sum(SHAPE / half**2 for half in halves))


def _by(size_mm: tuple[float, ...]) -> str:
    return "x".join(f"{mm:g}" for mm in size_mm)


def _volume(size_mm: list[float]) -> float:
    if len(size_mm) == 2:
        return math.pi / 4 * (size_mm[0] / 1000) ** 2 * size_mm[1] / 1000
    return size_mm[0] * size_mm[1] * size_mm[2] * 1e-9


def read_size(text: str) -> tuple[float, ...]:
    """ "96x64x220" (box, width x height x length) or "100x250" (pipe, diameter x length), mm. Raises WrongInput."""
    number = r"(\d+(?:\.\d+)?)"
    found = re.fullmatch(rf"\s*{number}\s*[xX]\s*{number}(?:\s*[xX]\s*{number})?\s*", text)
    if not found:
        raise WrongInput(
            f"canister size {text!r} is not a size: write width x height x length of a box as 96x64x220, "
            "or diameter x length of a pipe as 100x250, in mm, or the word empty"
        )
    return tuple(float(part) for part in found.groups() if part is not None)


def must_fit(size_mm: tuple[float, ...], chamber_mm: tuple[float, float, float], oven: str) -> None:
    """Raises WrongInput if the canister does not go into the chamber, laid any square way."""
    outer = size_mm if len(size_mm) == 3 else (size_mm[0], size_mm[0], size_mm[1])
    if any(mm > room for mm, room in zip(sorted(outer), sorted(chamber_mm), strict=True)):
        raise WrongInput(
            f"a canister of {_by(size_mm)} mm does not go into the {oven} oven's chamber of {_by(chamber_mm)} mm: "
            "take a larger oven or a smaller canister"
        )
