"""The iron and the pieces: what goes into the canister. Lengths in m, composition as mass fractions."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Shape = Literal["strip", "round", "square", "rectangle", "tube"]
ELEMENTS = ("C", "P", "Si", "Mn", "Cr", "Ni", "Cu", "S")


@dataclass(frozen=True, slots=True)
class Iron:
    """An iron: its composition in solution (mass fraction by element symbol) and the iron oxide its slag holds."""

    name: str
    title: str
    composition: dict[str, float] = field(default_factory=dict)
    slag_feo: float = 0.0
    note: str = ""

    @property
    def carbon(self) -> float:
        return self.composition.get("C", 0.0)


@dataclass(frozen=True, slots=True)
class Stock:
    """`count` equal pieces of one iron.

    thickness_m is the diameter of a round (width_m the same) and the wall of a tube, whose width_m is its outside
    diameter; a tube takes carbon from outside only (its bore plugged).
    """

    iron: Iron
    shape: Shape
    thickness_m: float
    width_m: float
    length_m: float
    count: int
