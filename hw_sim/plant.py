"""Oven and canister as bodies that store and hand on heat; one call is one implicit step. Touches nothing.

A chain of cells: shell ... wall ... hot face - canister wall - rings of the charge to the centre. Two bodies hang on
the hot face: the element and the hearth with its shelf; they are eliminated by hand, so that the chain stays a chain.
Radiation is linearised about the temperatures at the start of the step; loss through the door is to the room.
"""

from __future__ import annotations

from dataclasses import dataclass

from hw_sim import chain
from hw_sim.canister import Canister, must_fit
from hw_sim.charge import rings
from hw_sim.deviations import BOOK, Deviations
from hw_sim.lining import cells
from hw_sim.ovens import Oven
from hw_sim.properties import CERAMIC_CP, ELEMENT_CP, SIGMA, STEP_K, TOP_K, ZERO_C, resistance_factor
from hw_sim.thermocouple import seen_k

LONGEST_STEP_S = 5.0
FACE_EMISSIVITY = 0.8  # [seen: oxidised and refractory surfaces]
ELEMENT_VIEW, ELEMENT_AIR = 0.18, 1.0  # of the inner area: radiating share [-], W/m2K in air [judgement]
HEARTH_VIEW, HEARTH_AIR = 0.7, 8.0  # [-], W/m2K [judgement]
HEARTH_SHARE = 0.35  # hearth and shelf face this share of the inner area [judgement]
CANISTER_AIR = 6.0  # W/m2K in still hot air [memory]
LEAK_SHARE = 0.002  # of the inner area radiates straight out: door gap, peep hole [judgement]
SHELL_EMISSIVITY, SHELL_AIR = 0.85, 8.0  # painted sheet; W/m2K [memory]

_PER_K = 1.0 / STEP_K
_TOP = int(TOP_K / STEP_K)


@dataclass(frozen=True, slots=True)
class Truth:
    """True temperatures [degC]; of the canister's wall and the charge's core, None in an empty oven."""

    oven_c: float
    element_c: float
    wall_c: float | None
    core_c: float | None


def _exchange(hot_k: float, cold_k: float) -> float:
    """sigma (T1^4 - T2^4) / (T1 - T2) [W/m2K]."""
    return SIGMA * (hot_k * hot_k + cold_k * cold_k) * (hot_k + cold_k)


class Plant:
    """An oven with or without a canister in it, all at one temperature to begin with.

    canister_c: the canister's own temperature at the start, when it is put cold into a hot oven.
    temps_k holds the chain from the shell in; `face` is the place of the hot face, the canister's wall follows it.
    """

    def __init__(
        self,
        oven: Oven,
        canister: Canister | None,
        deviations: Deviations = BOOK,
        start_c: float = 20.0,
        canister_c: float | None = None,
        room_c: float = 20.0,
    ) -> None:
        if canister is not None:
            must_fit(canister.size_mm, oven.chamber_mm, oven.name)
        self.oven, self.canister, self.deviations = oven, canister, deviations
        self.wall = cells(oven, deviations.lining_k)[::-1]  # from the shell in
        self.face = len(self.wall) - 1
        self.rings = rings(canister, deviations.pack_k) if canister else None
        start_k = start_c + ZERO_C
        self._room_k = room_c + ZERO_C
        self.temps_k = [start_k] * len(self.wall)
        if self.rings:
            cold_k = start_k if canister_c is None else canister_c + ZERO_C
            self.temps_k += [cold_k] * (1 + len(self.rings.shape))
        self._change = [0.0] * len(self.temps_k)  # K in the last second, to look half a step ahead
        self.hottest_k = list(self.temps_k)  # so far, to know whose lime and water have gone
        self.element_k = start_k
        self.hearth_k = start_k
        self.power_w = 0.0  # in the last step
        self.given_j = 0.0  # by the element since the start
        self.lost_j = 0.0  # to the room since the start

    def full_power_w(self, volts: float = 1.0) -> float:
        """Power with the element on all the time, P_n (V/V_n)^2 / (ageing x resistance factor) [W]."""
        return self.oven.power_w * volts * volts / (self.deviations.element * resistance_factor(self.element_k))

    def truth(self) -> Truth:
        """The temperatures as they are."""
        t = self.temps_k
        return Truth(
            oven_c=seen_k(t[self.face], self.element_k) - ZERO_C,
            element_c=self.element_k - ZERO_C,
            wall_c=t[self.face + 1] - ZERO_C if self.rings else None,
            core_c=t[-1] - ZERO_C if self.rings else None,
        )

    def seen_k(self) -> float:
        """What the tip of the control thermocouple sees [K]."""
        return seen_k(self.temps_k[self.face], self.element_k)

    def step(self, dt_s: float, power_w: float) -> None:
        """One step of at most 5 s with this power in the element [W]."""
        temps, face, oven = self.temps_k, self.face, self.oven
        rate, links = self._tables_at(dt_s)
        n = len(temps)
        pull = [0.0] * n
        source = [0.0] * n
        face_k, element_k, hearth_k, room_k = temps[face], self.element_k, self.hearth_k, self._room_k

        shell = oven.outer_m2 * (SHELL_AIR + SHELL_EMISSIVITY * _exchange(temps[0], room_k))
        half = self.wall[0].out_m / self.wall[0].k[int(temps[0] * _PER_K)]
        shell = 1.0 / (1.0 / shell + half)
        door = oven.door_w_per_k + LEAK_SHARE * oven.inner_m2 * _exchange(face_k, room_k)
        pull[0] += shell
        source[0] += shell * room_k
        pull[face] += door
        source[face] += door * room_k

        # element and hearth: T' = (C/dt T + P + g T'_face) / (C/dt + g), put into the hot face's own equation
        wire = oven.inner_m2 * (ELEMENT_VIEW * _exchange(element_k, face_k) + ELEMENT_AIR)
        wire_rate = oven.element_kg * (ELEMENT_CP[0] + ELEMENT_CP[1] * (element_k - 293.15)) / dt_s
        wire_load = wire_rate * element_k + power_w
        share = wire / (wire_rate + wire)
        pull[face] += wire * (1.0 - share)
        source[face] += share * wire_load
        floor = HEARTH_SHARE * oven.inner_m2 * (HEARTH_VIEW * _exchange(hearth_k, face_k) + HEARTH_AIR)
        floor_rate = oven.hearth_kg * (CERAMIC_CP[0] + CERAMIC_CP[1] * (hearth_k - 293.15)) / dt_s
        floor_load = floor_rate * hearth_k
        floor_share = floor / (floor_rate + floor)
        pull[face] += floor * (1.0 - floor_share)
        source[face] += floor_share * floor_load

        new = chain.step(temps, rate, links, pull, source)
        face_new = new[face]
        self.element_k = (wire_load + wire * face_new) / (wire_rate + wire)
        self.hearth_k = (floor_load + floor * face_new) / (floor_rate + floor)
        self.power_w = power_w
        self.given_j += power_w * dt_s
        self.lost_j += (shell * (new[0] - room_k) + door * (face_new - room_k)) * dt_s
        self._change = [(b - a) / dt_s for a, b in zip(temps, new, strict=True)]
        self.temps_k = new

    def _tables_at(self, dt_s: float) -> tuple[list[float], list[float]]:
        """Capacity over time step of each cell [W/K] and conductance between neighbours [W/K], half a step ahead."""
        temps, change, half_s = self.temps_k, self._change, 0.5 * dt_s
        at = [min(int((t + r * half_s) * _PER_K), _TOP) for t, r in zip(temps, change, strict=True)]
        per_s = 1.0 / dt_s
        rate: list[float] = []
        links: list[float] = []
        outer = None  # resistance of the outer neighbour's inner half [K/W]
        for cell, i in zip(self.wall, at, strict=False):
            k = cell.k[i]
            if outer is not None:
                links.append(1.0 / (outer + cell.out_m / k))
            outer = cell.in_m / k
            rate.append(cell.heat[i] * per_s)
        face = self.face
        face_t = temps[face] - 293.15
        rate[face] += self.oven.face_kg * (CERAMIC_CP[0] + CERAMIC_CP[1] * face_t) * per_s
        if self.rings is None or self.canister is None:
            return rate, links

        made = self.rings
        wall = face + 1
        area = self.canister.outside_m2
        view = 1.0 / self.deviations.emissivity + area / self.oven.inner_m2 * (1.0 / FACE_EMISSIVITY - 1.0)
        links.append(area * (_exchange(temps[face], temps[wall]) / view + CANISTER_AIR))
        rate.append(made.wall_heat[at[wall]] * per_s)
        k_table, hottest = made.k, self.hottest_k
        k_last = k_table[at[wall + 1]]
        for j, shape in enumerate(made.shape):
            n = wall + 1 + j
            i = at[n]
            k = k_table[i]
            links.append(shape * 0.5 * (k + k_last))
            k_last = k
            t = temps[n]
            if t >= hottest[n]:
                hottest[n] = t
                rate.append(made.wet[i] * made.volume_m3[j] * per_s)
            else:
                rate.append(made.spent[i] * made.volume_m3[j] * per_s)
        return rate, links
