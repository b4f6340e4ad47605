"""soak.job.read: by name, path, inline table, overlay and from a record."""

import dataclasses
import json

import pytest

from soak.errors import JobError
from soak.job.find import shipped_folder
from soak.job.pack import Surface
from soak.job.read import job_from_record, list_profiles, read_job, read_job_text
from soak.job.stock import Iron

PLANE_IRONS = (shipped_folder() / "jobs" / "plane-irons.toml").read_text(encoding="utf-8")


def changed(old, new):
    assert old in PLANE_IRONS
    return PLANE_IRONS.replace(old, new, 1)


def test_plane_irons_is_what_its_file_says():
    job = read_job("plane-irons", None)
    assert (job.name, job.text) == ("plane-irons", PLANE_IRONS)
    assert job.title == "Plane irons from lock-gate strap, to be stacked and welded"
    t = job.target
    assert (t.carbon, t.where, t.tolerance, t.surface_max) == (0.0085, "mean", 0.0008, 0.015)
    (strip,) = job.stock
    assert (strip.shape, strip.thickness_m, strip.width_m, strip.length_m, strip.count) == (
        "strip",
        0.004,
        0.032,
        0.18,
        8,
    )
    assert strip.iron.name == "lock-gate-strap"
    assert strip.iron.composition["P"] == 0.0022
    assert (job.packing.gap_m, job.packing.cover_m, job.packing.touching) == (0.008, 0.012, 1)
    assert job.canister.name == "box-96x64"
    assert (job.canister.wall_m, job.canister.lid_m, job.canister.length_m) == (0.004, 0.004, 0.216)
    assert job.pack.energizer == {"CaCO3": 0.05, "Na2CO3": 0.05}
    assert job.oven.chamber_m == (0.25, 0.25, 0.32)
    assert job.controller is not None
    assert job.controller.signals["setpoint_asked"].memory == "nonvolatile"
    assert job.controller.signals["pv"].no_reading == (32767, -32768)
    assert job.controller.sensor_open == 0
    assert job.controller.run_states[1] == "run"
    assert job.controller.run_commands["hold"] == 2
    assert (job.limits.temperature_max_c, job.limits.heat_on_max_h) == (1020.0, 14.0)
    assert set(job.profiles) == {
        "iron/lock-gate-strap",
        "canister/box-96x64",
        "pack/charcoal-soda-lime",
        "oven/bench-20l",
        "controller/int-tenths",
    }


def test_by_path_is_the_same_job():
    assert read_job(str(shipped_folder() / "jobs" / "plane-irons.toml"), None) == read_job("plane-irons", None)


def test_left_out_packing_limits_and_controller_have_defaults():
    text = PLANE_IRONS[: PLANE_IRONS.index("[limits]")]
    text = text.replace('controller = "int-tenths"', "")
    text = text[: text.index("[packing]")] + text[text.index("[use]") :]
    job = read_job_text(text, "mine")
    assert (job.packing.gap_m, job.packing.cover_m, job.limits.heat_on_max_h) == (0.010, 0.025, 12.0)
    assert job.controller is None
    assert job.limits.temperature_max_c is None


def test_profiles_by_path_are_relative_to_the_job(tmp_path):
    (tmp_path / "stuff").mkdir()
    box = (shipped_folder() / "canisters" / "box-96x64.toml").read_text(encoding="utf-8")
    (tmp_path / "stuff" / "long.toml").write_text(box.replace("216 mm", "300 mm"), encoding="utf-8")
    (tmp_path / "mine.toml").write_text(changed('"box-96x64"', '"stuff/long.toml"'), encoding="utf-8")
    job = read_job(str(tmp_path / "mine.toml"), None)
    assert (job.name, job.canister.name, job.canister.length_m) == ("mine", "long", 0.3)
    assert "canister/stuff/long.toml" in job.profiles


def test_the_shop_overlays_shipped_profiles_and_jobs(tmp_path):
    shop = tmp_path / "shop"
    (shop / "profiles" / "irons").mkdir(parents=True)
    (shop / "profiles" / "jobs").mkdir()
    mine = 'format = 1\ntitle = "mine"\ncomposition = { C = "0.1 %" }\n'
    (shop / "profiles" / "irons" / "lock-gate-strap.toml").write_text(mine, encoding="utf-8")
    (shop / "profiles" / "jobs" / "tonight.toml").write_text(PLANE_IRONS, encoding="utf-8")
    assert read_job("plane-irons", shop).stock[0].iron == Iron("lock-gate-strap", "mine", {"C": 0.001})
    assert read_job("plane-irons", None).stock[0].iron.title != "mine"
    assert read_job("tonight", shop).name == "tonight"
    listed = {name: (title, path) for name, title, path in list_profiles("iron", shop)}
    assert listed["lock-gate-strap"][0] == "mine"
    assert listed["lock-gate-strap"][1].is_relative_to(shop)
    assert listed["mild-steel"][1].is_relative_to(shipped_folder())


def test_a_broken_profile_is_listed_as_such(tmp_path):
    (tmp_path / "profiles" / "irons").mkdir(parents=True)
    (tmp_path / "profiles" / "irons" / "odd.toml").write_text("title =", encoding="utf-8")
    title = {name: title for name, title, _ in list_profiles("iron", tmp_path)}["odd"]
    assert title.startswith("cannot be read: ")
    assert "line 1" in title


def test_list_profiles_of_no_kind():
    with pytest.raises(JobError, match="is no kind of profile"):
        list_profiles("kettle", None)


def test_inline_iron():
    text = changed('"lock-gate-strap"', '{ composition = { C = "0.05 %", P = "0.2 %" } }')
    iron = read_job_text(text, "mine").stock[0].iron
    assert (iron.name, iron.composition, iron.slag_feo) == ("inline", {"C": 0.0005, "P": 0.002}, 0.0)


@pytest.mark.parametrize(
    ("written", "surface"),
    [
        ('{ carbon = "1.2 %" }', Surface("carbon", 0.012)),
        ("{ activity = 0.9 }", Surface("activity", 0.9)),
        ('{ potential = "1.2 %", beta = "1.3e-7 m/s" }', Surface("potential", 0.012, 1.3e-7)),
    ],
)
def test_a_pack_may_state_its_surface(written, surface):
    pack = read_job_text(changed('"charcoal-soda-lime"', f"{{ surface = {written} }}"), "mine").pack
    assert pack.surface == surface
    assert (pack.energizer, pack.density) == ({}, 230.0)


def test_inline_canister_oven_and_vent_of_each_kind():
    sizes = 'diameter = "90 mm", length = "210 mm", wall = "3 mm", lid = "2 mm"'
    canister = f'{{ form = "pipe", material = "310", {sizes}, vent = %s }}'
    for vent, expected in [
        ('{ kind = "hole", diameter = "4 mm" }', ("hole", 0.004, 0.002)),
        ('{ kind = "tube", diameter = "4 mm", length = "40 mm" }', ("tube", 0.004, 0.04)),
        ('{ kind = "none" }', ("none", 0.0, 0.0)),
    ]:
        got = read_job_text(changed('"box-96x64"', canister % vent), "mine").canister
        assert dataclasses.astuple(got.vent) == expected
        assert (got.bottom_m, got.lid_m) == (0.003, 0.002)


def test_controller_none_and_the_forge():
    text = PLANE_IRONS.replace('"int-tenths"', '"none"').replace('"bench-20l"', '"gas-forge"')
    job = read_job_text(text, "mine")
    assert job.controller is None
    assert (job.oven.heat, job.oven.controlled) == ("gas", False)


def test_depth_carbon_is_0_40_percent_if_not_said():
    text = changed('carbon = "0.85 %"', 'depth = "1.0 mm"').replace('where = "mean"', 'where = "depth"')
    target = read_job_text(text, "mine").target
    assert (target.carbon, target.depth_m) == (0.0040, 0.001)


def test_inches_and_fahrenheit():
    text = changed('thickness = "4 mm"', 'thickness = "3/16 in"').replace('"1020 degC"', '"1850 degF"')
    job = read_job_text(text, "mine")
    assert job.stock[0].thickness_m == 0.0047625
    assert job.limits.temperature_max_c == 1010.0


def test_windows_line_ends_and_byte_order_mark(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\xef\xbb\xbf" + PLANE_IRONS.replace("\n", "\r\n").encode())
    assert read_job(str(path), None).stock == read_job("plane-irons", None).stock


@pytest.mark.parametrize("name", ["plane-irons", "chisels", "hinge-pins", "thick-bar"])
def test_a_record_gives_the_same_job_back(name):
    job = read_job(name, None)
    kept = json.loads(json.dumps(job.profiles))
    assert job_from_record(job.text, kept, name) == job


def test_a_record_needs_no_folder(tmp_path):
    """A profile by path and an inline iron: the record holds what the folder no longer does."""
    own = tmp_path / "own.toml"
    own.write_text((shipped_folder() / "packs" / "charcoal.toml").read_text(encoding="utf-8"), encoding="utf-8")
    text = changed('"charcoal-soda-lime"', '"own.toml"').replace(
        '"lock-gate-strap"', '{ composition = { C = "0.1 %" } }'
    )
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    job = read_job(str(tmp_path / "job.toml"), None)
    own.unlink()
    assert job_from_record(job.text, job.profiles, "job") == job
    with pytest.raises(JobError, match="there is no such file"):
        read_job(str(tmp_path / "job.toml"), None)


def test_a_record_that_lost_a_profile():
    job = read_job("plane-irons", None)
    with pytest.raises(JobError, match=r'use.oven: the run kept no oven "bench-20l"'):
        job_from_record(job.text, {k: v for k, v in job.profiles.items() if k != "oven/bench-20l"})


def test_an_installed_package_keeps_its_profiles_inside(tmp_path, monkeypatch):
    """The wheel has soak/_profiles; a source tree has profiles/ beside soak."""
    monkeypatch.setattr("soak.job.find._PACKAGE", tmp_path / "soak")
    assert shipped_folder() == tmp_path / "profiles"
    (tmp_path / "soak" / "_profiles").mkdir(parents=True)
    assert shipped_folder() == tmp_path / "soak" / "_profiles"
