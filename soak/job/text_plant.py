"""An oven and a controller as people write them in TOML, checked. Touches no file; `build` freezes them."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from soak.job import quantity as q
from soak.job.quantity import Example, refused
from soak.job.text_base import ProfileText, Text


class RatePoint(Text):
    at: q.OvenTemperature
    rate: q.Rate


class ChamberText(Text):
    width: q.Chamber
    height: q.Chamber
    depth: q.Chamber


class SensorRangeText(Text):
    low: q.SensorTemperature
    high: q.SensorTemperature


def _rising(points: list[RatePoint]) -> list[RatePoint]:
    if any(b.at <= a.at for a, b in pairwise(points)):
        raise refused("table-order", "temperatures do not rise from row to row", "sort the rows by temperature")
    return points


RateTable = Annotated[list[RatePoint], Field(min_length=1), AfterValidator(_rising)]


class OvenText(ProfileText):
    temperature_max: q.OvenTemperature
    power: q.Power
    chamber: ChamberText
    ramp: RateTable
    cooling: RateTable
    ramp_usual: q.Rate | None = None
    sensor_sigma: q.Difference | None = None
    sensor_range: SensorRangeText | None = None
    heat: Literal["electric", "gas"] | None = None
    controlled: bool | None = None
    simulated_as: Literal["small", "medium", "large"] | None = None


class LineText(Text):
    baud: Literal[1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200] = 9600
    bits: Literal[7, 8] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop: Literal[1, 2] = 1


class SignalText(Text):
    at: Annotated[int, Field(ge=0, le=65535), Example("0")]
    kind: Literal["i16", "u16"] = "i16"
    space: Literal["holding", "input"] = "holding"
    scale: Annotated[float, Field(gt=0, le=1000), Example("0.1")] = 1.0
    no_reading: list[int] = Field(default_factory=list)
    write: bool = False
    memory: Literal["ram", "nonvolatile", "unknown"] = "unknown"

    @model_validator(mode="after")
    def _writable(self) -> SignalText:
        if self.write and self.space == "input":
            raise refused("signal-unclear", "cannot be written: it is an input register", 'write space = "holding"')
        return self


class SignalsText(Text):
    pv: SignalText
    setpoint_asked: SignalText
    output_pct: SignalText
    setpoint_in_use: SignalText | None = None
    run_state: SignalText | None = None
    alarm_word: SignalText | None = None
    setpoint_max: SignalText | None = None
    run_command: SignalText | None = None

    @model_validator(mode="after")
    def _layout(self) -> SignalsText:
        said = [(name, s) for name in type(self).model_fields if (s := getattr(self, name)) is not None]
        for i, (name, signal) in enumerate(said):
            for other, earlier in said[:i]:
                if (signal.space, signal.at) == (earlier.space, earlier.at):
                    text = f"{other} and {name} lie at the same address, {signal.at}"
                    raise refused("signal-unclear", text, "write the wire address of each, counted from 0")
        if not self.setpoint_asked.write:
            raise refused("signal-unclear", "setpoint_asked is not marked as writable", "write write = true there")
        return self


class MeaningText(Text):
    run_state: dict[str, str] = Field(default_factory=dict)
    run_command: dict[str, int] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _codes(self) -> MeaningText:
        if wrong := [code for code in self.run_state if not code.isascii() or not code.isdigit()]:
            hint = 'write the code first, like 0 = "idle"'
            raise refused("wrong-type", f'read "{wrong[0]}", where a run state\'s code belongs', hint)
        return self


class AlarmText(Text):
    word: Literal["alarm_word"]
    bit: Annotated[int, Field(ge=0, le=15), Example("0")]
    means: Literal["sensor_open", "high_limit"]


class WearText(Text):
    per_run: Annotated[int, Field(ge=1, le=10000), Example("200")] | None = None
    min_interval: q.Interval | None = None
    min_change: q.Difference | None = None


class ControllerText(ProfileText):
    line: LineText = Field(default_factory=LineText)
    signal: SignalsText
    meaning: MeaningText = Field(default_factory=MeaningText)
    alarm: list[AlarmText] = Field(default_factory=list)
    wear: WearText = Field(default_factory=WearText)
    reply_timeout: q.ReplyTime | None = None
    worst_reply: q.ReplyTime | None = None
    write_with: Literal[6, 16] | None = None
    safe_setpoint: q.SafeSetpoint | None = None

    @model_validator(mode="after")
    def _patience(self) -> ControllerText:
        # A late reply must never be taken for the answer to the next question: the line is given twice the time.
        if (self.worst_reply or 0.6) < 2 * (self.reply_timeout or 0.25):
            raise refused(
                "reply-times", "worst_reply is below twice reply_timeout", 'write worst_reply = "0.6 s" or more'
            )
        return self
