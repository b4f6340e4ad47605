"""The controller as a register layout, never a brand. Wire addresses, not table numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True)
class Line:
    baud: int = 9600
    bits: int = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop: int = 1


@dataclass(frozen=True, slots=True)
class Signal:
    """One quantity on the wire: space and wire address, type, scale to degC or percent, codes for no reading."""

    at: int
    kind: Literal["i16", "u16"] = "i16"
    space: Literal["holding", "input"] = "holding"
    scale: float = 1.0
    no_reading: tuple[int, ...] = ()
    write: bool = False
    memory: Literal["ram", "nonvolatile", "unknown"] = "unknown"


@dataclass(frozen=True, slots=True)
class Controller:
    """signals by name: pv, setpoint_asked, output_pct (required), run_state, alarm_word, setpoint_max, run_command.

    sensor_open: the bit of alarm_word that says so.  run_states, run_commands: code by name.
    write_with: function 6 or 16.  Wear: at most per_run setpoint writes, min_interval_s and min_change_c apart.
    safe_setpoint_c: what the safe end state asks for.
    """

    name: str
    title: str
    line: Line
    signals: dict[str, Signal]
    sensor_open: int | None = None
    run_states: dict[int, str] = field(default_factory=dict)
    run_commands: dict[str, int] = field(default_factory=dict)
    reply_timeout_s: float = 0.25
    worst_reply_s: float = 0.6
    write_with: Literal[6, 16] = 16
    per_run: int = 200
    min_interval_s: float = 60.0
    min_change_c: float = 1.0
    safe_setpoint_c: float = 0.0
    note: str = ""
