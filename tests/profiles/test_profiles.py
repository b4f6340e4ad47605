"""Every shipped profile and job loads, names its sources, and makes sense beside the others."""

import tomllib

import pytest

from soak.job.find import KINDS, shipped_folder
from soak.job.fit import chamber_complaint, fit
from soak.job.read import list_profiles, read_job, read_job_text

FOLDER = shipped_folder()
FILES = sorted(p for p in FOLDER.rglob("*.toml") if p.name != "sources.toml")
JOBS = [name for name, _, _ in list_profiles("job", None)]
PROFILES = [p for p in FILES if p.parent.name != "jobs"]
PLANE_IRONS = (FOLDER / "jobs" / "plane-irons.toml").read_text(encoding="utf-8")
NAMED_BY_PLANE_IRONS = {
    "iron": "lock-gate-strap",
    "pack": "charcoal-soda-lime",
    "canister": "box-96x64",
    "oven": "bench-20l",
    "controller": "int-tenths",
}
WORDS = {"format", "title", "note", "source", "form", "material", "heat", "controlled", "simulated_as"}


def ident(path):
    return f"{path.parent.name}/{path.stem}"


def test_what_the_issue_asks_for_is_there():
    names = {kind: {name for name, _, _ in list_profiles(kind, None)} for kind in KINDS}
    assert names["iron"] >= {"mild-steel", "pure-iron", "lock-gate-strap", "lock-gate-bolt"}
    packs = {"charcoal", "charcoal-lime", "charcoal-soda-lime", "charcoal-potash", "charcoal-barium"}
    assert names["pack"] >= packs
    boxes = {"box-96x64", "box-96x64-2mm", "fireclay-box"}
    assert names["canister"] >= {"pipe-100", "pipe-100-304", "pipe-100-310"} | boxes
    assert names["oven"] >= {"bench-6l", "bench-20l", "floor-55l", "gas-forge"}
    assert names["controller"] >= {"int-tenths"}
    assert names["job"] >= {"plane-irons", "chisels", "hinge-pins", "thick-bar"}


@pytest.mark.parametrize("path", PROFILES, ids=ident)
def test_profile_loads_in_a_job(path):
    """By name, in place of the one plane-irons uses."""
    kind = path.parent.name.removesuffix("s")
    text = PLANE_IRONS.replace(f'"{NAMED_BY_PLANE_IRONS[kind]}"', f'"{path.stem}"')
    if path.stem == "gas-forge":
        text = text.replace('"int-tenths"', '"none"')
    job = read_job_text(text, "mine", folder=FOLDER)
    got = job.stock[0].iron if kind == "iron" else getattr(job, kind)
    assert got.name == path.stem
    assert got.title
    assert job.profiles[f"{kind}/{path.stem}"]["title"] == got.title


@pytest.mark.parametrize("path", PROFILES, ids=ident)
def test_every_number_names_a_listed_source(path):
    listed = tomllib.loads((FOLDER / "sources.toml").read_text(encoding="utf-8"))
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    assert set(raw["source"]) == set(raw) - WORDS
    assert {entry["source"] for entry in raw["source"].values()} <= set(listed)


def test_every_source_says_how_it_is_known_and_is_used():
    listed = tomllib.loads((FOLDER / "sources.toml").read_text(encoding="utf-8"))
    used = {
        entry["source"]
        for path in PROFILES
        for entry in tomllib.loads(path.read_text(encoding="utf-8"))["source"].values()
    }
    assert used == set(listed)
    assert {entry["how"] for entry in listed.values()} <= {"seen", "memory", "computed", "judgement"}


@pytest.mark.parametrize("name", JOBS)
def test_job_loads_fits_and_goes_into_its_oven(name):
    job = read_job(name, None)
    assert job.title
    result = fit(job)
    assert result.fits, result.text
    assert chamber_complaint(job) == ""
    limit = job.limits.temperature_max_c
    assert limit is not None
    assert limit <= min(job.oven.temperature_max_c, job.canister.temperature_max_c or limit)


def test_plane_irons_fill_the_box_exactly():
    result = fit(read_job("plane-irons", None))
    assert (result.fits, result.count, result.count_that_fits) == (True, 8, 8)
    assert result.text == "8 of 8 strips fit, no more would"


@pytest.mark.parametrize("path", PROFILES, ids=ident)
def test_no_shipped_canister_lacks_a_vent_and_no_job_uses_barium(path):
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    if path.parent.name == "canisters":
        assert raw["vent"]["kind"] != "none"
    if "BaCO3" in raw.get("energizer", {}):
        assert "poisonous" in raw["caution"]
        assert not [name for name in JOBS if f"pack/{path.stem}" in read_job(name, None).profiles]


@pytest.mark.parametrize("name", [name for name, _, _ in list_profiles("oven", None)])
def test_ovens_slow_down_as_they_get_hot_and_reach_below_60_degc(name):
    oven = read_job_text(PLANE_IRONS.replace('"bench-20l"', f'"{name}"').replace('"int-tenths"', '"none"'), "mine").oven
    rates = [rate for _, rate in oven.ramp]
    assert rates == sorted(rates, reverse=True)
    falls = [rate for _, rate in oven.cooling]
    assert falls == sorted(falls)
    assert oven.cooling[0][0] <= 60.0
    assert oven.ramp[-1][0] >= oven.temperature_max_c


@pytest.mark.parametrize(
    ("name", "hours"),
    [("bench-6l", 1.19), ("bench-20l", 1.41), ("floor-55l", 1.42)],
)
def test_full_power_climb_to_1050_with_a_canister(name, hours):
    """Hours from 20 to 1050 degC of the heat balance (sources.toml, oven-balance): the table must say the same."""
    import numpy as np

    text = PLANE_IRONS.replace('"bench-20l"', f'"{name}"')
    at, rate = np.array(read_job_text(text, "mine").oven.ramp).T
    grid = np.linspace(20.0, 1050.0, 20001)
    assert np.trapezoid(1 / np.interp(grid, at, rate), grid) == pytest.approx(hours, abs=0.01)


@pytest.mark.parametrize("line", PLANE_IRONS.splitlines())
def test_no_line_of_plane_irons_is_too_long_to_print(line):
    assert len(line) <= 120
