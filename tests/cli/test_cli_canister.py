"""`soak canister`: what it says, as text and as JSON, on real run files and weighings; what it refuses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from cli_parts import QUICK, Bench, bands, quick

from soak.job.read import read_job_text
from soak.plan.choose import Planned, choose
from soak.record.store import Store
from soak.shop.conduct import header, summary

CAN = """format = 1
title = "A little pipe"
form = "pipe"
material = "steel"
diameter = "40 mm"
length = "60 mm"
wall = "2 mm"
vent = { kind = "hole", diameter = "3 mm" }
lute_dry = true
"""
INLINE = QUICK[QUICK.index("[use.canister]") : QUICK.index("[use.oven]")]
USED = quick((INLINE, ""), ('controller = "int-tenths"', 'controller = "int-tenths"\ncanister = "little"'))


@pytest.fixture
def shop(bench: Bench) -> Bench:
    """A shop that has the canister's profile, and a job that uses it."""
    folder = bench.shop / "profiles" / "canisters"
    folder.mkdir(parents=True)
    (folder / "little.toml").write_text(CAN)
    (bench.shop / "runs").mkdir()
    bench.job(USED)
    return bench


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    folder = tmp_path_factory.mktemp("planned")
    (folder / "little.toml").write_text(CAN)
    text = USED.replace('canister = "little"', 'canister = "little.toml"')
    return choose(read_job_text(text, "quick.toml", folder=folder, name="quick"), members=16)


def ran(bench: Bench, planned: Planned, *days: int, link: dict[str, float] | None = None) -> list[Path]:
    """Real runs that went as planned."""
    paths = []
    for day in days:
        path = bench.shop / "runs" / f"2031-02-{day:02d}-quick-run.soak"
        head = replace(header("run", planned, link or {}), started=f"2031-02-{day:02d}T18:00:00+00:00")
        store = Store.create(path, head, lambda: 0.0)
        store.close(planned.outcome.time_s, "complete", summary(planned, planned.outcome, path))
        paths.append(path)
    return paths


def test_all_of_it_as_json(shop: Bench, planned: Planned) -> None:
    ran(shop, planned, 1, 2)
    found = shop("canister", "little", "--json").document()
    assert set(found) == {
        *("format", "soak", "canister", "next", "soaks", "weighings", "rate", "one_more_weighing", "warnings"),
    }
    can = found["canister"]
    assert (can["name"], can["title"], can["material"]) == ("little", "A little pipe", "steel")
    assert (can["wall_new_mm"], can["done_at_mm"]) == (2.0, 0.5)
    assert can["outside_area_cm2"] == pytest.approx(100.5, abs=0.1)  # pi 4 cm (6 cm + 2 cm)
    one, two = found["soaks"]
    assert (one["run"], one["job"], one["ended"], one["weighed"]) == (
        "2031-02-01-quick-run",
        "quick",
        "complete",
        False,
    )
    assert one["hold_c"] == planned.chosen.hold_c
    assert one["at_heat_h"] > 0.5
    assert two["started"] == "2031-02-02T18:00:00+00:00"
    lost = one["wall_lost_mm"]["mid"]
    assert can["wall_lost_so_far_mm"]["mid"] == pytest.approx(2 * lost, abs=1e-4)
    assert can["wall_now_mm"]["mid"] == pytest.approx(2.0 - 4 * lost, abs=1e-4)  # twice as much at the worst spot
    assert can["used_share"]["mid"] == pytest.approx(4 * lost / 1.5, abs=1e-3)
    assert found["next"]["like"] == "2031-02-02-quick-run"
    assert found["next"]["soaks_left"]["mid"] == (2.0 - 4 * lost - 0.5) // (2 * lost)
    assert found["rate"] == {"scale": 1.0, "weighings": 0, "sd_ln": 0.5408, "loss_times": 1.0, "loss_within": 1.414}
    tell = found["one_more_weighing"]
    assert tell["when"] == "first"
    assert tell["grams_per_tenth_mm"] == pytest.approx(7870 * 100.53e-4 * 1e-4 * 1e3, rel=1e-3)
    assert tell["grams"]["mid"] == pytest.approx(tell["grams_per_tenth_mm"] * lost / 0.1, rel=1e-2)
    assert all(band["low"] <= band["mid"] <= band["high"] for _, band in bands(found))


def test_all_of_it_as_text(shop: Bench, planned: Planned) -> None:
    ran(shop, planned, 1)
    answer = shop("canister", "little")
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0] == "little: A little pipe"
    assert ") at its thinnest; 2.00 mm when new" in answer.out
    assert "done at 0.50 mm: thinner walls leak" in answer.out
    assert "next      a soak like 2031-02-01-quick-run (" in answer.out
    assert "soaks like it left: " in answer.out
    row = next(line for line in lines if line.startswith("2031-02-01  2031-02-01-quick-run"))
    assert " mm (" in row
    assert "weigh     weigh it descaled, with its lid: 0.1 mm of wall is 8 g" in answer.out
    assert "now and after the next soak: that should take" in answer.out
    assert "it would narrow the rate of loss, now known to times or divided by 1.41, to 1.28" in answer.out
    us = shop("canister", "little", "--units", "us").out
    assert "degF" in us
    assert "0.01 in of wall is" in us
    assert " mm" not in us
    assert "degC" not in us


def test_weighings_written_down_with_note(shop: Bench, planned: Planned) -> None:
    first, second = ran(shop, planned, 1, 2)
    before = shop("canister", "little", "--json").document()
    gram = before["one_more_weighing"]["grams"]["mid"]
    words = ("--of", "canister", "--weight-before", "500 g", "--weight-after", f"{500 - 0.7 * gram:.3f} g")
    assert shop("note", first, *words).code == 0
    found = shop("canister", "little", "--json").document()
    (row,) = found["weighings"]
    assert (row["runs"], row["counts_for"], row["why"]) == (["2031-02-01-quick-run"], ["wall", "rate"], "")
    assert row["measured_mm"] / row["predicted_mm"] == pytest.approx(0.7, rel=1e-2)
    assert found["rate"]["scale"] == pytest.approx(0.7, rel=1e-2)  # geometric mean of 0.49 and 1
    assert [s["weighed"] for s in found["soaks"]] == [True, False]
    assert found["one_more_weighing"]["when"] == "now"
    text = shop("canister", "little").out
    assert "so wall is lost 0.84 times as fast as the law says, times or divided by 1.28" in text
    assert "now: since it was last weighed it should have lost" in text
    assert shop("note", second, "--of", "canister", "--weight-after", "510 g").code == 0
    worse = shop("canister", "little", "--json").document()
    (warned,) = [w["text"] for w in worse["warnings"] if w["code"] == "weighing"]
    assert warned.startswith("weighed after 2031-02-02-quick-run: it did not get lighter")
    assert worse["rate"] == found["rate"]
    # the iron's own weighing is none of the canister
    assert shop("note", second, "--weight-before", "500 g", "--weight-after", "400 g").code == 0
    assert shop("canister", "little", "--json").document()["weighings"] == worse["weighings"]


def test_no_runs_yet(shop: Bench) -> None:
    found = shop("canister", "little", "--json").document()
    assert (found["next"], found["soaks"], found["weighings"], found["warnings"]) == (None, [], [], [])
    assert found["canister"]["wall_now_mm"]["mid"] == 2.0
    text = shop("canister", "little").out
    assert "no soaks yet: no run in this shop used it" in text
    assert "2.00 mm when new" in text
    assert "soak canister NAME --like JOB says what a soak would take" in text


def test_like_a_job_planned_now(shop: Bench, planned: Planned) -> None:
    job = shop.folder / "quick.toml"
    found = shop("canister", "little", "--like", job, "--json").document()
    plan = shop("plan", job, "--json").document()
    assert (found["next"]["like"], found["soaks"]) == ("quick", [])
    for end in ("low", "mid", "high"):
        wanted = plan["canister"]["wall_lost_mm"][end]
        assert found["next"]["wall_lost_mm"][end] == pytest.approx(wanted, rel=1e-2)
    # a plan counts the soaks left after itself
    assert found["next"]["soaks_left"]["mid"] == plan["canister"]["soaks_left"]["mid"] + 1
    ran(shop, planned, 1)
    again = shop("canister", "little", "--like", job, "--json").document()
    assert again["next"]["like"] == "quick"
    assert again["next"]["wall_lost_mm"]["mid"] == found["next"]["wall_lost_mm"]["mid"]  # an old wall loses no less
    assert "a soak like quick (" in shop("canister", "little", "--like", job).out


def test_a_canister_near_its_end_is_told(shop: Bench, planned: Planned) -> None:
    lost = summary(planned, planned.outcome, Path("x"))["canister"]["wall_lost_mm"]["mid"]
    days = range(1, 29)

    def codes(count: int) -> set[str]:
        have = len(list((shop.shop / "runs").iterdir()))
        ran(shop, planned, *days[have:count])
        return {w["code"] for w in shop("canister", "little", "--json").document()["warnings"]}

    per_soak = 2 * lost / 1.5  # share of what it may lose
    half, nearly, all_of_it = (int(share / per_soak) + 1 for share in (0.5, 0.8, 1.0))
    assert all_of_it < len(days)
    assert codes(half) & {"half-used", "nearly-used", "used-up"} == {"half-used"}
    assert codes(nearly) & {"half-used", "nearly-used", "used-up"} == {"nearly-used"}
    assert codes(all_of_it) & {"half-used", "nearly-used", "used-up"} == {"used-up"}
    text = shop("canister", "little").out
    assert "its wall is used up (done at 0.50 mm at its thinnest): retire it" in text
    assert "soaks like it left: 0" in text
    assert codes(all_of_it + 4) >= {"used-up", "breach-chance"}
    assert "of 100" in shop("canister", "little").out
    assert "a plan is refused above 10" in shop("canister", "little").out


def test_what_was_left_out_or_does_not_count_is_said(shop: Bench, planned: Planned) -> None:
    ran(shop, planned, 1, link={"rate": 600.0})
    (shop.shop / "runs" / "notes.soak").write_text("no run")
    answer = shop("canister", "little", "--json")
    assert answer.err.startswith("soak: left out of the canister's history: notes.soak: ")
    (warned,) = [w for w in answer.document()["warnings"] if w["code"] == "simulated"]
    assert "2031-02-01-quick-run" in warned["text"]
    died = shop.shop / "runs" / "2031-02-02-quick-run.soak"
    Store.create(died, replace(header("run", planned, {}), started="2031-02-02T18:00:00+00:00"), lambda: 0.0).leave()
    found = shop("canister", "little", "--json").document()
    assert found["soaks"][1]["ended"] == "interrupted"
    assert found["soaks"][1]["wall_lost_mm"]["mid"] == 0.0
    assert {"code": "not-closed", "text": "counted up to when last heard of: 2031-02-02-quick-run"} in found["warnings"]
    row = next(line for line in shop("canister", "little").out.splitlines() if line.startswith("2031-02-02"))
    assert "never" in row
    assert row.endswith("interrupted")


def test_a_profile_that_was_changed(shop: Bench, planned: Planned) -> None:
    ran(shop, planned, 1)
    profile = shop.shop / "profiles" / "canisters" / "little.toml"
    profile.write_text(CAN.replace('wall = "2 mm"', 'wall = "3 mm"'))
    found = shop("canister", "little", "--json").document()
    assert found["canister"]["wall_new_mm"] == 3.0
    (warned,) = found["warnings"]
    assert warned["code"] == "profile-changed"
    assert warned["text"].startswith("its profile says another wall than when it was last used")
    profile.unlink()  # then it is what the run says
    assert shop("canister", "little", "--json").document()["canister"]["wall_new_mm"] == 2.0


def test_a_floor_without_a_shelf(shop: Bench, planned: Planned) -> None:
    ran(shop, planned, 1)
    profile = shop.shop / "profiles" / "canisters" / "little.toml"
    assert shop("canister", "little", "--json").document()["canister"]["sags_below_mm"] is None
    profile.write_text(CAN + "floor_supported = false\n")
    found = shop("canister", "little", "--json").document()
    assert found["canister"]["sags_below_mm"] > 0.0
    assert found["canister"]["done_at_mm"] == max(0.5, found["canister"]["sags_below_mm"])
    for run in (shop.shop / "runs").iterdir():
        run.unlink()
    (warned,) = shop("canister", "little", "--json").document()["warnings"]
    assert warned["code"] == "sag-unknown"
    assert warned["text"].startswith("its floor stands free, but when it would sag is not known")


def test_fireclay_does_not_scale(shop: Bench) -> None:
    text = shop("canister", "fireclay-box").out
    assert "fireclay does not scale: it ends by cracks and by alkali, not on the balance" in text
    assert "0 % (0 to 0) of what it may lose" in text


def test_what_it_refuses(shop: Bench, planned: Planned) -> None:
    ran(shop, planned, 1)
    error = shop("canister", "litle", "--json").refused(3, "unknown-canister")
    assert 'there is no canister called "litle", neither among the profiles nor in the run files' in error["text"]
    assert error["hint"] == "did you mean little?"
    assert error["nearest"] == {"names": ["little"]}
    assert shop("canister", "no/such.toml", "--json").refused(3, "file-missing")["hint"]
    assert shop("canister", "little", "--like", "nothing", "--json").refused(3, "unknown-job")["text"]
    assert shop("canister", "little", "--like", "thick-bar", "--json").refused(4, "does-not-fit")["text"]
    assert shop("canister", "--json").refused(2, "usage")["text"]
    people = shop("canister", "litle")
    assert (people.code, people.out) == (3, "")
    assert "  -> did you mean little?" in people.err
