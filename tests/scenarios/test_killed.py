"""A dry run that is killed, or told to stop: the file opens, what was told is in it, and no process is left behind."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest
from cli_parts import Answer, Bench, Terminal, finished, recorded, wait_for

from soak.record.load import load

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
KILLS = 5


def children(pid: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def alive(pid: int) -> bool:
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False


def hw_sim_of(process: subprocess.Popen[str]) -> int:
    """The simulator that this soak started."""
    (pid,) = wait_for(lambda: children(process.pid), "the simulator")
    return int(pid)


def lines_until(process: subprocess.Popen[str], part: str) -> list[str]:
    """Lines of stderr up to the first that holds `part`."""
    assert process.stderr is not None
    lines = []
    for line in process.stderr:
        lines.append(line)
        if part in line:
            return lines
    raise AssertionError(f"no {part!r} in {lines}")


def test_kill_at_any_moment_loses_nothing_that_was_told(tmp_path: Path) -> None:
    benches = []
    for n in range(KILLS):
        folder = tmp_path / str(n)
        folder.mkdir()
        benches.append(Bench(folder))
    running = [(bench, bench.start("dry-run", bench.job())) for bench in benches]
    chance = random.Random(20260207)
    killed: list[tuple[Bench, int, list[str]]] = []
    for bench, process in running:
        told = lines_until(process, "ramp  oven")
        simulator = hw_sim_of(process)
        moment = time.monotonic() + chance.uniform(0.0, 0.5)
        wait_for(lambda moment=moment: time.monotonic() >= moment, "the moment")
        process.kill()
        done = finished(process)
        assert done.code == -signal.SIGKILL
        killed.append((bench, simulator, told + done.err.splitlines()))
    for bench, simulator, told in killed:
        wait_for(lambda simulator=simulator: not alive(simulator), "the end of the simulator", 2.0)
        (path,) = bench.runs
        record = load(path)
        assert record.closing is None
        times = [r.time_s for r in record.readings]
        assert times == [5.0 * n for n in range(len(times))]  # none is missing up to the last that was committed
        texts = [e.text for e in record.events]
        assert [t for t in texts if not any(t in line for line in told)] in ([], texts[-1:])
        spoken = [line for line in told if "ends on" in line or "ended on" in line]
        assert spoken
        assert all(any(text in line for text in texts) for line in spoken)
        shown = bench("show", "last", "--json").document()
        assert (shown["ended"], shown["summary"]) == ("interrupted", None)
        assert "interrupted" in bench("show", "last").out
    # and life goes on
    assert bench("note", "last", "the lights went out", "--json").document()["done"] == "written"
    assert bench("dry-run", bench.job(), "--fault", "sensor-open@10min", "--json").code == 6
    assert [d["ended"] for d in bench("runs", "--json").document()["runs"]] == ["interrupted", "tripped"]


def stopped(bench: Bench, number: int) -> Answer:
    """A dry run that gets a signal while it heats: a long one, that the signal cannot come too late."""
    process = bench.start("dry-run", "hinge-pins", "--json")
    simulator = hw_sim_of(process)
    recorded(bench, process, lambda record: record.events, "the first event")
    process.send_signal(number)
    done = finished(process)
    assert not alive(simulator)
    return done


@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGINT, 130)])
def test_a_signal_leads_to_the_safe_end(bench: Bench, number: int, code: int) -> None:
    done = stopped(bench, number)
    assert done.code == code
    assert done.document()["ended"] == "stopped"
    assert done.document()["target_met"] is False
    record = load(bench.runs[0])
    assert record.closing is not None
    assert record.closing.ended == "stopped"
    assert [e.code for e in record.events][-1] == "stopped"
    assert (record.actions[-1].action, record.actions[-1].outcome) == ("make-safe", "read back")
    assert [p.name for p in bench.runs[0].parent.iterdir()] == [bench.runs[0].name]  # one plain file is left


def test_a_hang_up_of_the_whole_session_is_not_minded(bench: Bench) -> None:
    process = bench.start("dry-run", bench.job(), "--fault", "sensor-open@20min", start_new_session=True)
    lines_until(process, "ramp  oven")
    os.killpg(process.pid, signal.SIGHUP)
    assert finished(process).code == 6
    assert load(bench.runs[0]).readings[-1].time_s == 1205.0


def test_a_terminal_that_goes_away_does_not_end_the_run(bench: Bench) -> None:
    with Terminal(bench, "dry-run", bench.job(), "--fault", "sensor-open@20min") as terminal:
        terminal.until("ramp  oven")
        terminal.hang_up()
        terminal.process.wait(timeout=60)
    record = load(bench.runs[0])
    assert record.readings[-1].time_s == 1205.0
    assert record.closing is not None
    assert record.closing.ended == "tripped"
