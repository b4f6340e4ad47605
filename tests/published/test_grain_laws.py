"""Outside checks of grain growth. The laws' constants are from memory: the rows prove the formulas, not the grain."""

import csv
from pathlib import Path

import numpy as np
import pytest

from soak.physics import grain

KELVIN = 273.15
DATA = Path(__file__).parent / "data"


def _um(celsius: float, hours: float, start: float = 20e-6) -> np.ndarray:
    """Grain by the three laws, um, stepped every minute as a trace is; 0.2 % C."""
    d = grain.fresh(d=start)
    for _ in range(round(60 * hours)):
        d = grain.step(d, celsius + KELVIN, 60.0, 0.002)
    return 1e6 * d


def test_a14_ten_hours_at_950() -> None:
    # Hodgson and Gibbs 1992: 123 um, ASTM 2.8
    hodgson, sellars, lee = _um(950, 10)
    assert hodgson == pytest.approx(123, rel=0.005)
    assert grain.astm_number(hodgson * 1e-6) == pytest.approx(2.8, abs=0.05)
    # the note gives a factor 1.3 between the formulas as fair: it holds for the third, NOT for the second (1.47)
    assert hodgson / lee < 1.3
    assert hodgson / sellars == pytest.approx(1.47, abs=0.01)


def test_a15_four_hours_at_1000() -> None:
    # Sellars and Whiteman 1979: 108 um
    assert _um(1000, 4)[1] == pytest.approx(108, abs=2)


def test_a16_an_hour_at_1000() -> None:
    # Lee and Lee 2008: 89 um, 0.2 % C
    assert _um(1000, 1)[2] == pytest.approx(89, abs=2)


def _table() -> list[dict[str, float]]:
    lines = [x for x in (DATA / "grain_growth.csv").read_text().splitlines() if not x.startswith("#")]
    return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(lines)]


def test_table_of_holds() -> None:
    # 5 temperatures x 6 times, printed to 0.1 um and 0.01 in G; the third law's column starts from no grain at all
    rows = _table()
    assert len(rows) == 30
    for row in rows:
        T, t = row["temperature_c"] + KELVIN, row["hours"] * 3600.0
        first, second, _ = grain.step(grain.fresh(), T, t, 0.002)
        third = grain.step(grain.fresh(d=1e-7), T, t, 0.002)[2]
        for d, law in ((first, "hodgson"), (second, "sellars"), (third, "lee")):
            assert 1e6 * d == pytest.approx(row[f"{law}_um"], abs=0.06), row
            assert grain.astm_number(d) == pytest.approx(row[f"{law}_g"], abs=0.006), row


def test_measured_growth_of_a_mild_steel() -> None:
    # Lai et al. 2019 (Metals 9:370, seen): 1150-1250 degC, d ~ t^n with n 0.20-0.26, and Q of d^(1/n) 405-752 kJ/mol.
    # Of the three only Lee and Lee is of that family in n (0.211) and Q (425); the other two have n 1/7 and 1/10 and
    # 400 kJ/mol, just outside: they grow less with time than was measured there.
    n = 1.0 / grain.EXPONENTS
    T = np.array([1423.15, 1523.15])
    k = grain.rate(T, 0.002)
    q = 8.314462618e-3 * np.log(k[1] / k[0]) / (1 / T[0] - 1 / T[1])
    assert 0.20 <= n[2] <= 0.26
    assert 405 <= q[2] <= 752
    assert n[:2] == pytest.approx([0.143, 0.1], abs=0.001)
    assert q[:2] == pytest.approx([400, 400], abs=0.01)
