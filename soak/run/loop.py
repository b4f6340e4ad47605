"""The one loop in which time passes: planning, dry run, real run. What differs is only what is plugged in.

A tick: write the setpoint if it must change -> sleep -> read -> guards -> record -> advance -> record. It touches the
world only through the Protocols of `ports`.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field

from soak.errors import LinkError, RecordError, Refused
from soak.process.advance import advance, settle
from soak.process.charge import Charge
from soak.process.outcome import charge_c, numbers
from soak.process.state import State
from soak.run import ahead, guards
from soak.run.follow import arrived, wanted, worth_writing
from soak.run.phases import ENDED, Phase, Signal, after
from soak.run.ports import Clock, Oven, Person, Recorder
from soak.run.task import Done, Outcome, Task, View
from soak.segments import Segment
from soak.trace import Event, Reading, Severity

AT_HEAT_C = 10.0  # the soak begins when the estimated core is this close to the hold
SLOW_C = 600.0
AGAIN_S = 10.0  # between two tries to prove power-off
RAMP_MOST = 2.0
ATTEND_S = 900.0  # attended runs: a sign of life at least this often


@dataclass(slots=True)
class _Run:
    """What the loop carries from tick to tick."""

    task: Task
    oven: Oven
    clock: Clock
    recorder: Recorder | None
    state: State
    central: Charge
    phase: Phase = "idle"
    index: int = 0
    begin_s: float = 0.0
    begin_c: float = 20.0
    asked_c: float | None = None
    asked_s: float = 0.0
    lost_c: float | None = None  # asked, and not proven: asked again as it was, for it may stand all the same
    memories: tuple[guards.Memory, ...] = guards.START
    look: ahead.Look | None = None
    reading: Reading | None = None
    silence: str = ""
    done: list[Done] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    at_heat_s: float | None = None
    power_off_s: float | None = None
    missed: int = 0
    safe: bool = False
    seen: int = 0

    @property
    def segment(self) -> Segment:
        return self.task.plan.segments[self.index]

    def tell(self, time_s: float, code: str, severity: Severity, text: str) -> None:
        event = Event(time_s, code, severity, text)
        self.events.append(event)
        if self.recorder is not None:
            self.recorder.event(event)


def run(
    task: Task,
    oven: Oven,
    clock: Clock,
    recorder: Recorder | None,
    state: State,
    person: Person | None = None,
    see: Callable[[View], None] | None = None,
) -> Outcome:
    """Let time pass until the plan is complete, somebody stops it, or a guard trips.

    Raises nothing of the link's: what the wire does is judged by the guards. What the recorder or `see` raises goes up
    after the oven was made safe.
    """
    now_s = clock.now_s()
    r = _Run(task, oven, clock, recorder, state, task.charge.member(0), asked_s=now_s)
    try:
        _poll(r, now_s, heating=False)
        if r.reading is not None and r.reading.oven_c is not None:
            r.begin_c = r.reading.oven_c
        r.phase = after(r.phase, "start")
        _begin(r, now_s)
        while r.phase == "running":
            _control(r, now_s)
            clock.sleep_until(now_s + _tick_s(r))
            now_s = clock.now_s()
            _poll(r, now_s, heating=r.segment.kind != "cool")
            if person is not None:
                _listen(r, person, now_s)
            if r.phase == "running":
                _follow(r, now_s)
            if see is not None:
                see(View(now_s, r.phase, r.index, r.reading, r.state, r.look, tuple(r.events[r.seen :])))
                r.seen = len(r.events)
    except BaseException:
        if r.phase in ("idle", "running"):
            _safe(r, now_s)
        raise
    r.state, events = settle(task.charge, r.state)
    for e in events:
        r.tell(e.time_s, e.code, e.severity, e.text)
    if recorder is not None:
        recorder.prediction(now_s, numbers(task.charge, r.state))
    met = any(d.why == "carbon" for d in r.done)
    return Outcome(r.state, ENDED[r.phase], met, now_s, tuple(r.done), tuple(r.events), r.at_heat_s, r.power_off_s)


def _tick_s(r: _Run) -> float:
    oven_c = r.reading.oven_c if r.reading else None
    slow = r.segment.kind == "cool" and oven_c is not None and oven_c < SLOW_C
    return r.task.slow_tick_s if slow and r.task.slow_tick_s is not None else r.task.tick_s


def _poll(r: _Run, now_s: float, heating: bool) -> None:
    """Read, judge, record, advance."""
    try:
        r.reading, r.silence = r.oven.read(now_s), ""
    except LinkError as error:
        r.reading, r.silence = None, error.text
    look = guards.Look(now_s, r.reading, heating, r.silence)
    r.memories, findings = guards.watch(r.task.thresholds, r.memories, look)
    if r.reading is not None:
        if r.recorder is not None:
            r.recorder.reading(r.reading)
        if r.reading.oven_c is not None and not any(f.code == "sensor" for f in findings):
            _advance(r, r.reading)
    for f in findings:
        if f.action == "warn":
            r.tell(now_s, f.code, "alarm", f"{f.text}; {f.hint}")
        elif r.phase in ("idle", "running"):
            r.tell(now_s, f.code, "trip", f"{f.text}; {f.hint}")
            _end(r, now_s, "trip")


def _advance(r: _Run, reading: Reading) -> None:
    before_s = r.state.time_s
    r.state, events = advance(r.task.charge, r.state, reading)
    for e in events:
        r.tell(e.time_s, e.code, e.severity, e.text)
    if r.recorder is not None and r.state.time_s > before_s:
        r.recorder.prediction(r.state.time_s, numbers(r.task.charge, r.state))


def _control(r: _Run, now_s: float) -> None:
    """Write the setpoint if it must change; while cooling: ask for power-off again until it is proven."""
    if r.segment.kind == "cool":
        if not r.safe and now_s - r.asked_s >= AGAIN_S:
            _safe(r, now_s)
        return
    pace, oven_c = r.task.pace, r.reading.oven_c if r.reading else None
    value = r.lost_c
    if value is None:
        value = wanted(r.segment, r.begin_c, now_s - r.begin_s, oven_c, pace, r.task.tick_s)
        if not worth_writing(pace, r.asked_c, r.asked_s, value, now_s):
            return
    row = r.recorder.intent(now_s, "setpoint", value) if r.recorder else 0
    outcome = "read back"
    try:
        r.oven.ask(value)
        r.asked_c, r.asked_s, r.lost_c = value, now_s, None
    except Refused as error:
        outcome = error.text
        r.tell(now_s, "setpoint-refused", "trip", f"the controller did not take {value:.1f} degC: {error.text}")
        _end(r, now_s, "trip")
    except LinkError as error:
        outcome, r.lost_c = error.text, value  # the next tick asks again; the guard counts the silence
    if r.recorder:
        r.recorder.result(row, now_s, outcome)


def _follow(r: _Run, now_s: float) -> None:
    """Has this segment ended, and why? Then the next one begins.

    Not while a guard counts polls it does not believe: a broken sensor that reads high would end a ramp, and a hold.
    """
    if any(m.polls for m in r.memories):
        return
    segment = r.segment
    core_c = charge_c(r.state)[0]
    if segment.ends_on == "carbon" and r.at_heat_s is None and core_c >= segment.to_c - AT_HEAT_C:
        r.at_heat_s = now_s
        r.tell(now_s, "at-heat", "info", f"the charge is at heat: its core is estimated at {core_c:.0f} degC")
    why = _why_ended(r, segment, now_s, core_c)
    if why is None:
        return
    r.done.append(Done(segment, r.begin_s, now_s, why))
    r.tell(now_s, "segment-ended", "info", f"{segment.kind} {r.index + 1} ended on {why}")
    if r.index + 1 == len(r.task.plan.segments):
        r.phase = after(r.phase, "done")
        r.tell(now_s, "complete", "info", f"complete: the core is estimated below {segment.to_c:.0f} degC")
        return
    r.index += 1
    r.begin_c = segment.to_c if segment.kind != "cool" else core_c
    _begin(r, now_s)


def _why_ended(r: _Run, segment: Segment, now_s: float, core_c: float) -> str | None:
    elapsed_s = now_s - r.begin_s
    oven_c = r.reading.oven_c if r.reading else None
    if segment.kind == "ramp" and elapsed_s > 3600.0 * _longest_ramp_h(r, segment):
        text = (
            f"the ramp to {segment.to_c:.0f} degC has taken {elapsed_s / 3600.0:.1f} h, planned {segment.hours:.1f} h"
        )
        r.tell(now_s, "ramp-too-slow", "trip", f"{text}; look at elements, mains, door and the setpoint that stands")
        _end(r, now_s, "trip")
        return None
    if segment.kind == "ramp":
        return "temperature" if arrived(segment, r.begin_c, oven_c) else None
    if segment.kind == "cool":
        return "temperature" if core_c <= segment.to_c else None
    if segment.ends_on == "time":
        return "time" if elapsed_s >= segment.hours * 3600.0 - 1e-6 else None
    if elapsed_s >= segment.greatest_h * 3600.0:
        return "time limit before the target"
    if r.look is None or now_s >= r.look.next_s:
        one = r.state.member(0)
        r.look = ahead.look(r.central, one, r.task.cooling, r.task.target, now_s, r.look)
    enough = r.look.carbon >= r.task.target.carbon and elapsed_s >= segment.least_h * 3600.0
    return "carbon" if enough else None


def _longest_ramp_h(r: _Run, segment: Segment) -> float:
    return RAMP_MOST * segment.hours + r.task.thresholds.ramp_grace_h


def _begin(r: _Run, now_s: float) -> None:
    """Enter the current segment."""
    r.begin_s = now_s
    s = r.segment
    if s.kind == "cool":
        r.power_off_s = now_s
        r.tell(now_s, "power-off", "info", f"power off; do not open before the core is below {s.to_c:.0f} degC")
        _safe(r, now_s)
    else:
        rate = f" at {s.rate_c_per_h:.0f} degC/h" if s.rate_c_per_h else ""
        r.tell(now_s, "segment", "info", f"{s.kind} {r.index + 1}: {s.to_c:.0f} degC{rate}, ends on {s.ends_on}")


def _listen(r: _Run, person: Person, now_s: float) -> None:
    """What was said, and whether anybody is there."""
    if "safe" in person.heard() and r.phase == "running":
        r.tell(now_s, "stopped", "warning", "stopped by a person: to the safe end state")
        _end(r, now_s, "stop")
        return
    if not r.task.attended or r.segment.kind == "cool":
        return
    missed = int(person.silent_s() // ATTEND_S)
    if missed == 1 and r.missed == 0:
        text = "no sign of life for 15 min: press a key; in 15 min more the power goes off"
        r.tell(now_s, "no-sign-of-life", "alarm", text)
    elif missed >= 2 and r.phase == "running":
        r.tell(now_s, "no-sign-of-life", "trip", "no sign of life for 30 min: to the safe end state")
        _end(r, now_s, "trip")
    r.missed = missed


def _end(r: _Run, now_s: float, signal: Signal) -> None:
    """Leave the plan early: the safe end state, then the phase."""
    r.power_off_s = r.power_off_s if r.power_off_s is not None else now_s
    _safe(r, now_s)
    r.phase = after(r.phase, signal)


def _safe(r: _Run, now_s: float) -> None:
    """The safe end state, with an intent before and the result after. A broken record never stands in its way."""
    row = None
    if r.recorder is not None:
        with suppress(RecordError):
            row = r.recorder.intent(now_s, "make-safe", None)
    outcome = "read back"
    r.asked_s = now_s
    try:
        r.oven.make_safe()
        r.safe = True
    except LinkError as error:
        outcome = f"{error.text} {error.hint}".strip()
        r.events.append(Event(now_s, "not-safe", "trip", f"the safe end state could not be proven: {outcome}"))
        if r.recorder is not None:
            with suppress(RecordError):
                r.recorder.event(r.events[-1])
    if r.recorder is not None and row is not None:
        with suppress(RecordError):
            r.recorder.result(row, now_s, outcome)
