"""Outside checks of a wall that loses its scale soak by soak, and of the floor that sags."""

import csv
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from soak.physics import creep, scaling, spall

Array = NDArray[np.float64]

KELVIN = 273.15
HOUR = 3600.0
DATA = Path(__file__).parent / "data"
COLD = 20 + KELVIN


def _soak(wall: spall.Wall, points: list[tuple[float, float]], rate: Callable[[Array], Array]) -> spall.Wall:
    """Through a trace of (hours, degC) joined by straight lines, steps of at most 60 s; rate(T) is K."""
    for (h0, c0), (h1, c1) in pairwise(points):
        steps = max(1, int(np.ceil((h1 - h0) * 60)))
        T = np.linspace(c0, c1, steps + 1) + KELVIN
        k = rate(T)
        for i in range(steps):
            wall = spall.step(wall, T[i + 1], 0.5 * (k[i] + k[i + 1]), (h1 - h0) * HOUR / steps)
    return wall


def _hold(
    wall: spall.Wall, material: str, celsius: float, hours: float, cycles: int, factor: float = 1.0
) -> spall.Wall:
    """`cycles` of a steady hold, each ended by a plunge to room temperature that scales nothing."""
    k = float(scaling.rate(material, celsius + KELVIN)) * factor
    for _ in range(cycles):
        wall = spall.step(spall.step(wall, celsius + KELVIN, k, hours * HOUR), COLD, 0.0, 60.0)
    return wall


def test_c8_a_hundred_equal_soaks() -> None:
    # C8: F = 1, 0.5, 0.25, 0.1 lose 100 / 71.0 / 50.6 / 32.6 single soaks; in the end sqrt(F) a soak (computed)
    f = np.array([1.0, 0.5, 0.25, 0.1])
    wall = spall.bare(4)
    for _ in range(100):
        before, wall = spall.mean_loss(wall), spall.step(spall.step(wall, 1273.15, 1.0, 1.0, f), COLD, 0.0, 60.0, f)
    assert spall.mean_loss(wall) == pytest.approx([100, 71.0, 50.6, 32.6], rel=0.005)
    assert spall.mean_loss(wall) - before == pytest.approx(np.sqrt(f), rel=1e-9)


@pytest.mark.parametrize(
    ("material", "celsius", "cycles", "model", "measured", "low", "high"),
    [
        ("310", 980, 2000, 401, 406, 0.7, 1.3),  # C9
        ("330", 1090, 1000, 445, 391, 0.7, 1.3),  # C10
        ("800H", 980, 2000, 1069, 582, 0.5, 2.0),  # C11: conservative by 1.8
    ],
)
def test_c9_to_c11_a_burner_rig(
    material: str, celsius: float, cycles: int, model: float, measured: float, low: float, high: float
) -> None:
    # producer burner rig, 0.3 Mach, cooled every 30 min (seen), um, all scale falling. The model's figures were worked
    # out 2 to 3 K hotter than the rig, at the tests' own 982 and 1093 degC: 3 %
    ours = 1e6 * float(spall.mean_loss(_hold(spall.bare(1), material, celsius, 0.5, cycles))[0])
    assert ours == pytest.approx(model, rel=0.03)
    assert low < ours / measured < high


def test_330_in_the_cooler_rig() -> None:
    # same page, 330 at 980 degC for 1000 h: 356 by the recipe, 221 measured (seen): within the stated 1.9 pessimistic
    ours = 1e6 * float(spall.mean_loss(_hold(spall.bare(1), "330", 980, 0.5, 2000))[0])
    assert ours == pytest.approx(356, rel=0.03)
    assert 1.0 < ours / 221 < 1.9


def test_maximum_and_zero_of_weight_stand_one_to_three() -> None:
    # interfacial model, constant area fraction, thickest first (Smialek, abstract seen): cycles to the greatest weight
    # and to zero weight change are as 1:3 exactly in the limit of small F; a cycle either way is 2 % here. And the
    # maximum goes as sqrt(kp dt/F)
    peaks, where = [], []
    for f in (0.001, 0.004):
        wall, weight = spall.bare(1, segments=int(1 / f) + 2), [0.0]
        for _ in range(round(0.5 / f)):
            wall = spall.spall(spall.grow(wall, 1e-12), f)
            scale = (wall.area * np.sqrt(wall.square)).sum() / scaling.RECESSION.value  # oxygen still on it, kg/m2
            weight.append(scale - scaling.STEEL_DENSITY * (wall.area * wall.gone).sum())
        w = np.array(weight)
        peaks.append(w.max())
        where.append((int(np.argmax(w)), int(np.argmax(w[1:] < 0.0)) + 1))
    assert where[0][1] / where[0][0] == pytest.approx(3.0, rel=0.02)
    assert peaks[0] / peaks[1] == pytest.approx(2.0, rel=0.02)


def test_c15_soaks_of_a_steel_box() -> None:
    # C15: 3 mm wall to 0.5 mm, 4 h at 1000 degC: 6 soaks by the mean, 2 at high rate and twice at the worst spot
    for factor, local, soaks in ((1.0, 1.0, 6), (2.0, scaling.LOCAL.value, 2)):
        wall, counted = spall.bare(1), 0
        while True:
            wall = _hold(wall, "steel", 1000, 4, 1, factor)
            if 3e-3 - local * float(spall.mean_loss(wall)[0]) < 0.5e-3:
                break
            counted += 1
        assert counted == soaks


def _table(material: str) -> list[dict[str, str]]:
    lines = [x for x in (DATA / "canister_soaks.csv").read_text().splitlines() if not x.startswith("#")]
    return [row for row in csv.DictReader(lines) if row["material"] == material]


def _name(row: dict[str, str]) -> str:
    return f"{row['temperature_c']}-{row['scenario']}"


def _points(row: dict[str, str]) -> list[tuple[float, float]]:
    """Trace of a row. Below 549 degC it plunges: the table does not count what bare metal tarnishes there, 1 um."""
    celsius = float(row["temperature_c"])
    if row["scenario"] == "isothermal":
        return [(0.0, celsius), (4.0, celsius), (4.0 + 1e-6, 20.0)]
    up, down = (celsius - 20) / 200, (celsius - 549) / 200
    return [(0.0, 20.0), (up, celsius), (up + 4, celsius), (up + 4 + down, 549.0), (up + 4 + down + 1e-6, 20.0)]


@pytest.mark.parametrize("row", _table("steel"), ids=_name)
def test_table_of_soaks_of_steel(row: dict[str, str]) -> None:
    # loss per soak to 0.3 % (printed to four figures; minute steps), counts exactly, for 1.5, 2, 3 and 5 mm walls
    wall = _soak(spall.bare(1), _points(row), scaling.steel_rate)
    first = float(spall.mean_loss(wall)[0])
    assert 1e3 * first == pytest.approx(float(row["loss_mm"]), rel=0.003)
    again = _soak(wall, _points(row), scaling.steel_rate)
    assert spall.mean_loss(again) == pytest.approx(2 * first, rel=1e-3)  # all scale fell: the next soak starts bare
    for new in ("1.5", "2", "3", "5"):
        usable = 1e-3 * float(new) - 0.5e-3
        assert int(usable / first) == int(row[f"central_{new}"])
        assert int(usable / (2.0 * 2**0.5 * first)) == int(row[f"careful_{new}"])


@pytest.mark.parametrize("row", _table("304"), ids=_name)
def test_table_of_soaks_of_304(row: dict[str, str]) -> None:
    # careful is broken away and 4.7 x in K. The table was made from the tests, ours from anchors kept to two figures:
    # 1 % in loss, so 1 % or a soak in counts
    def central(T: Array) -> Array:
        return scaling.rate("304", T)

    def careful(T: Array) -> Array:
        return 4.7 * scaling.rate("304", T) * spall.breakaway_factor(T, True)

    mid, high = (float(spall.mean_loss(_soak(spall.bare(1), _points(row), k))[0]) for k in (central, careful))
    assert 1e3 * mid == pytest.approx(float(row["loss_mm"]), rel=0.01)
    for new in ("1.5", "2", "3", "5"):
        usable = 1e-3 * float(new) - 0.5e-3
        assert int(usable / mid) == pytest.approx(int(row[f"central_{new}"]), rel=0.01, abs=1)
        ours, printed = int(usable / (2.0 * high)), int(row[f"careful_{new}"])
        if row["scenario"] == "isothermal":
            assert ours == pytest.approx(printed, rel=0.01, abs=1)
        else:
            # the table scaled the ramps of the careful case like those of the central one; the rule itself, followed
            # through the ramp, breaks away from 870 degC on and leaves up to 5 % fewer soaks. We keep to the rule
            assert 0.95 * printed - 1 <= ours <= printed


@pytest.mark.parametrize(
    ("celsius", "fast", "middle", "slow"),
    [(900, 28, 17, 10), (950, 22, 13, 7.8), (1000, 17, 10, 6.0), (1050, 13, 7.8, 4.7), (1100, 10, 6.2, 3.7)],
)
def test_c23_stress_of_creeping_iron(celsius: float, fast: float, middle: float, slow: float) -> None:
    # Frost and Ashby 1982 (memory constants, +- a factor 1.5), MPa at 1e-6, 1e-7, 1e-8 per s, worked out once,
    # printed to two figures: 4 %
    ours = creep.iron_stress(celsius + KELVIN, np.array([1e-6, 1e-7, 1e-8])) / 1e6
    assert ours == pytest.approx([fast, middle, slow], rel=0.04)


def test_c24_datasheet_of_1_4835() -> None:
    # 10 000 h strength, MPa (producer's datasheet, seen)
    ours = creep.strength_1_4835(np.array([900.0, 950, 1000, 1050, 1100]) + KELVIN) / 1e6
    assert ours == pytest.approx([13, 9.6, 7, 5.5, 4.3])
    # the stand-in is weaker than what austenitic iron carries for the length of a soak: it errs to the safe side
    assert (ours < creep.iron_stress(np.array([900.0, 950, 1000, 1050, 1100]) + KELVIN) / 1e6).all()


@pytest.mark.parametrize(("kpa", "mm", "expected"), [(2, 100, [0.7, 0.8, 0.9, 1.0]), (5, 200, [2.2, 2.5, 2.8, 3.2])])
def test_floors_that_do_not_sag(kpa: float, mm: float, expected: list[float]) -> None:
    # clamped square floor, 0.14 % in 4 h, at 950, 1000, 1050, 1100 degC (computed; printed to 0.1 mm)
    stress = creep.iron_stress(np.array([950.0, 1000, 1050, 1100]) + KELVIN)
    assert 1e3 * creep.sag_thickness(1e3 * kpa, mm / 1e3, stress) == pytest.approx(expected, abs=0.06)


def test_loads_on_a_floor() -> None:
    # 15 cm of charcoal about 0.3 kPa; 20 kg on 0.03 m2 6.5 kPa (computed)
    assert creep.floor_load(0.15 * 200.0, 1.0) == pytest.approx(300, rel=0.05)
    assert creep.floor_load(20.0, 0.03) == pytest.approx(6500, rel=0.01)
