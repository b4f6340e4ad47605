"""What a run file holds, as frozen data. Pure; no file is touched here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal
from uuid import uuid4

from soak import __version__
from soak.trace import Event, Reading

RunKind = Literal["run", "dry-run", "predict"]
QUANTITIES = ("mean_carbon_pct", "surface_carbon_pct", "centre_carbon_pct", "case_depth_mm")


@dataclass(frozen=True, slots=True)
class Header:
    """The inputs of a run. `started` is the wall clock, UTC, ISO 8601. The mappings hold what JSON can hold.

    profiles by "kind/name"; plan as `plan_as_json` gives it or more; draws: names, members, values;
    link: port, address, hash of the register map (None: no controller).
    """

    kind: RunKind
    started: str
    job: str
    title: str
    job_text: str
    profiles: Mapping[str, Any]
    plan: Mapping[str, Any]
    draws: Mapping[str, Any]
    link: Mapping[str, Any] | None = None
    soak: str = __version__


@dataclass(frozen=True, slots=True)
class Band:
    """10 %, member 0, 90 % of one quantity; the unit is in the quantity's name. None: no number."""

    low: float | None = None
    mid: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Prediction:
    """One piece at one time: carbon [mass %], case depth [mm]."""

    time_s: float
    piece: str
    mean_carbon_pct: Band
    surface_carbon_pct: Band
    centre_carbon_pct: Band
    case_depth_mm: Band


@dataclass(frozen=True, slots=True)
class ChargeEstimate:
    """The charge at one time: core and wall pieces [degC], canister wall left [mm], share of CO in the gas [0..1]."""

    time_s: float
    core_c: float | None
    wall_c: float | None
    wall_left_mm: Band
    pco_mid: float | None


@dataclass(frozen=True, slots=True)
class Action:
    """What was about to be done and what the read-back said. `outcome` None: no result was ever written."""

    id: int
    time_s: float
    action: str
    value: float | None
    result_time_s: float | None
    outcome: str | None


@dataclass(frozen=True, slots=True)
class Note:
    """What a person saw. `wall` is the wall clock, UTC, ISO 8601; `time_s` the run's time, where it has one.

    `uid` makes the same note, sent twice, one note.
    """

    wall: str
    kind: str
    values: Mapping[str, Any] = field(default_factory=dict)
    text: str = ""
    time_s: float | None = None
    uid: str = field(default_factory=lambda: uuid4().hex)


@dataclass(frozen=True, slots=True)
class ProfilePoint:
    """Carbon [mass %] of one piece at one depth [mm], at the end."""

    piece: str
    depth_mm: float
    carbon_pct: Band


@dataclass(frozen=True, slots=True)
class Closing:
    """The last word: complete | tripped | stopped | interrupted, and the summary shown to people."""

    time_s: float
    ended: str
    summary: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Record:
    """One whole run. `closing` None: the run still runs, or died. `cautions`: what to know before trusting the file."""

    header: Header
    readings: tuple[Reading, ...]
    predictions: tuple[Prediction, ...]
    charge: tuple[ChargeEstimate, ...]
    events: tuple[Event, ...]
    actions: tuple[Action, ...]
    notes: tuple[Note, ...]
    profiles: tuple[ProfilePoint, ...]
    closing: Closing | None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Glance:
    """A run without its traces: for lists and for the shop's memory. `running`: a loop holds the file now."""

    header: Header
    closing: Closing | None
    last_time_s: float | None
    notes: tuple[Note, ...]
    running: bool
