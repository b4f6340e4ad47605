"""The diagram of Fe-C worked out again by an equilibrium program, from a database file that it ships (MIT)."""

import warnings
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import numpy as np
import pytest

from soak.physics import activity as act

KELVIN = 273.15
R = 8.314462618


@pytest.fixture(scope="module")
def program() -> Iterator[tuple[Any, Any]]:
    """The program and its Fe-C database. Its own libraries warn; that is theirs to mend, and silenced here only."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pycalphad

        yield pycalphad, pycalphad.Database(str(files("pycalphad") / "tests" / "databases" / "cfe_broshe.tdb"))


def _balance(
    program: tuple[Any, Any], phases: list[str], elements: list[str], celsius: float, pct: float | None
) -> Any:
    pycalphad, database = program
    v = pycalphad.variables
    conditions: dict[Any, float] = {v.T: celsius + KELVIN, v.P: 101325.0, v.N: 1.0}
    if pct is not None:
        c, fe = pct / 12.011, (100.0 - pct) / 55.845
        conditions[v.X("C")] = c / (c + fe)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pycalphad.equilibrium(database, [*elements, "VA"], phases, conditions)


@pytest.mark.parametrize(
    ("celsius", "pct"),
    [
        (850, 0.2),
        (850, 0.8),
        (927, 0.4),
        (927, 1.2),
        (1000, 0.1),
        (1000, 1.4),
        (1050, 0.8),
        (1050, 1.6),
        (1100, 0.05),
        (1100, 1.2),
    ],
)
def test_activity_of_carbon(program: tuple[Any, Any], celsius: float, pct: float) -> None:
    # the closed form leaves out the magnetic term: the largest difference known is 0.05 %
    austenite = _balance(program, ["FCC_A1"], ["FE", "C"], celsius, pct)
    graphite = _balance(program, ["GRAPHITE"], ["C"], celsius, None)
    potential = float(austenite.MU.sel(component="C").values.squeeze()) - float(graphite.GM.values.squeeze())
    a = np.exp(potential / (R * (celsius + KELVIN)))
    assert np.exp(act.ln_activity(pct / 100, celsius + KELVIN, act.IRON)) == pytest.approx(a, rel=5e-4)


def _carbon_pct(balance: Any, phase: str) -> float:
    """Carbon of one phase in a two-phase balance, % by mass."""
    names = [str(x) for x in balance.Phase.values.squeeze()]
    x = float(balance.X.sel(component="C").values.squeeze()[names.index(phase)])
    return 100.0 * x * 12.011 / (x * 12.011 + (1.0 - x) * 55.845)


@pytest.mark.parametrize("celsius", [850, 1050])
def test_cementite_line(program: tuple[Any, Any], celsius: float) -> None:
    balance = _balance(program, ["FCC_A1", "CEMENTITE_D011"], ["FE", "C"], celsius, 3.0)
    assert 100 * act.acm(celsius + KELVIN) == pytest.approx(_carbon_pct(balance, "FCC_A1"), abs=0.001)


@pytest.mark.parametrize(("celsius", "pct"), [(750, 0.2), (800, 0.1)])
def test_ferrite_lines(program: tuple[Any, Any], celsius: float, pct: float) -> None:
    balance = _balance(program, ["FCC_A1", "BCC_A2"], ["FE", "C"], celsius, pct)
    assert 100 * act.a3(celsius + KELVIN) == pytest.approx(_carbon_pct(balance, "FCC_A1"), abs=0.001)
    assert 100 * act.ferrite_limit(celsius + KELVIN) == pytest.approx(_carbon_pct(balance, "BCC_A2"), abs=0.0002)
