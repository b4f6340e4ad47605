"""The oven's wall cut into cells, fine at the hot face. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hw_sim.ovens import Material, Oven
from hw_sim.properties import between, table

FIRST_MM = 3.5  # thickness of the cell at the hot face [judgement]
GROWTH = 1.35  # each next cell in the first layer over the one before [judgement]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the wall: capacity per K as a table of temperature, half-resistances toward both sides."""

    heat: list[float]  # J/K by temperature
    k: list[float]  # W/mK by temperature
    in_m: float  # half thickness over the area of its inner half [1/m]
    out_m: float  # the same, outer half


def _thicknesses(layer_mm: float, first_mm: float, growth: float) -> list[float]:
    """A layer cut into cells that grow from the inside; scaled so that they fill it exactly."""
    cells: list[float] = []
    next_mm = first_mm
    while sum(cells) + next_mm / 2 < layer_mm:
        cells.append(next_mm)
        next_mm *= growth
    scale = layer_mm / sum(cells)
    return [mm * scale for mm in cells]


def cells(oven: Oven, k_factor: float) -> list[Cell]:
    """The wall's cells from the hot face to the shell.

    The area grows outward, A(x) = A_i (1 + (sqrt(A_o/A_i) - 1) x/L)^2; for conduction that to the power 0.8, as edges
    and corners carry less than their share (judgement, checked against the hold powers asked for in the tests).
    """
    total_m = sum(mm for _, mm in oven.lining) / 1000.0
    spread = math.sqrt(oven.outer_m2 / oven.inner_m2) - 1.0

    def area(x_m: float, power: float) -> float:
        return oven.inner_m2 * math.pow(1.0 + spread * x_m / total_m, 2.0 * power)

    made: list[Cell] = []
    x = 0.0
    first = FIRST_MM
    for material, layer_mm in oven.lining:
        for mm in _thicknesses(layer_mm, first, GROWTH):
            dx = mm / 1000.0
            volume = dx * area(x + dx / 2, 1.0)
            made.append(
                Cell(
                    heat=_heat_table(material, volume),
                    k=table(lambda t, m=material: k_factor * between(m.k, t)),  # type: ignore[misc]
                    in_m=dx / 2 / area(x + dx / 4, 0.8),
                    out_m=dx / 2 / area(x + 3 * dx / 4, 0.8),
                )
            )
            x += dx
            first = mm
    return made


def _heat_table(material: Material, volume_m3: float) -> list[float]:
    return table(lambda t: material.density * volume_m3 * (material.cp_20 + material.cp_slope * (t - 20.0)))
