"""From checked text to the frozen dataclasses of a job. Pure: what a key left out says is the dataclass's default."""

from __future__ import annotations

from typing import Any

from soak.job.canister import Canister, Vent
from soak.job.controller import Controller, Line, Signal
from soak.job.oven import Oven
from soak.job.pack import Pack, Surface
from soak.job.packing import Packing
from soak.job.stock import Iron, Stock
from soak.job.target import Limits, Target
from soak.job.text import LimitsText, PackingText, StockText, TargetText
from soak.job.text_charge import CanisterText, IronText, PackText, SurfaceText, VentText
from soak.job.text_plant import ControllerText, OvenText, RatePoint

CASE_CARBON = 0.0040  # mass fraction: case depth is measured to 0.40 % C unless the job says otherwise


def _given(**values: Any) -> dict[str, Any]:
    """Only what the text said."""
    return {key: value for key, value in values.items() if value is not None}


def iron(name: str, t: IronText) -> Iron:
    shares = {symbol: share for symbol, share in t.composition.model_dump().items() if share > 0.0}
    return Iron(name, t.title, shares, t.slag_feo, t.note)


def pack(name: str, t: PackText) -> Pack:
    energizer = t.energizer.model_dump() if t.energizer else {}
    return Pack(
        name,
        t.title,
        energizer={salt: share for salt, share in energizer.items() if share > 0.0},
        surface=_surface(t.surface) if t.surface else None,
        note=t.note,
        **_given(
            grain_m=t.grain,
            density=t.density,
            fixed_carbon=t.fixed_carbon,
            volatiles=t.volatiles,
            moisture=t.moisture,
            reuse=t.reuse,
            uses=t.uses,
            caution=t.caution,
        ),
    )


def _surface(t: SurfaceText) -> Surface:
    if t.potential is not None:
        return Surface("potential", t.potential, t.beta)
    if t.activity is not None:
        return Surface("activity", t.activity)
    assert t.carbon is not None  # the text model lets exactly one of the three through
    return Surface("carbon", t.carbon)


def canister(name: str, t: CanisterText) -> Canister:
    lid = t.lid if t.lid is not None else t.wall
    return Canister(
        name,
        t.title,
        t.form,
        t.material,
        length_m=t.length,
        wall_m=t.wall,
        bottom_m=t.bottom if t.bottom is not None else t.wall,
        lid_m=lid,
        vent=_vent(t.vent, lid),
        note=t.note,
        **_given(
            width_m=t.width,
            height_m=t.height,
            diameter_m=t.diameter,
            lute_gap_m=t.lute_gap,
            lute_m=t.lute_length,
            lute_depth_m=t.lute_depth,
            lute_dry=t.lute_dry,
            expendable=t.expendable,
            floor_supported=t.floor_supported,
            ramp_max_c_per_h=t.ramp_max,
            temperature_max_c=t.temperature_max,
        ),
    )


def _vent(t: VentText, lid_m: float) -> Vent:
    """A hole goes through the lid, so the lid's thickness is its length."""
    if t.kind == "none" or t.diameter is None:
        return Vent("none")
    return Vent(t.kind, t.diameter, t.length if t.length is not None else lid_m)


def oven(name: str, t: OvenText) -> Oven:
    sensor = (t.sensor_range.low, t.sensor_range.high) if t.sensor_range else None
    return Oven(
        name,
        t.title,
        temperature_max_c=t.temperature_max,
        power_w=t.power,
        chamber_m=(t.chamber.width, t.chamber.height, t.chamber.depth),
        ramp=_table(t.ramp),
        cooling=_table(t.cooling),
        note=t.note,
        **_given(
            ramp_usual_c_per_h=t.ramp_usual,
            sensor_sigma_c=t.sensor_sigma,
            sensor_range_c=sensor,
            heat=t.heat,
            controlled=t.controlled,
            simulated_as=t.simulated_as,
        ),
    )


def _table(points: list[RatePoint]) -> tuple[tuple[float, float], ...]:
    return tuple((point.at, point.rate) for point in points)


def controller(name: str, t: ControllerText) -> Controller:
    signals = {
        key: Signal(s.at, s.kind, s.space, s.scale, tuple(s.no_reading), s.write, s.memory)
        for key in type(t.signal).model_fields
        if (s := getattr(t.signal, key)) is not None
    }
    sensor_open = next((alarm.bit for alarm in t.alarm if alarm.means == "sensor_open"), None)
    return Controller(
        name,
        t.title,
        line=Line(t.line.baud, t.line.bits, t.line.parity, t.line.stop),
        signals=signals,
        sensor_open=sensor_open,
        run_states={int(code): state for code, state in t.meaning.run_state.items()},
        run_commands=dict(t.meaning.run_command),
        note=t.note,
        **_given(
            reply_timeout_s=t.reply_timeout,
            worst_reply_s=t.worst_reply,
            write_with=t.write_with,
            per_run=t.wear.per_run,
            min_interval_s=t.wear.min_interval,
            min_change_c=t.wear.min_change,
            safe_setpoint_c=t.safe_setpoint,
        ),
    )


def stock(t: StockText, of: Iron) -> Stock:
    """A round's width is set to its thickness: nobody should meet a piece of no width."""
    width = t.width if t.width is not None else t.thickness
    return Stock(of, t.shape, t.thickness, width, t.length, t.count)


def target(t: TargetText) -> Target:
    return Target(
        carbon=t.carbon if t.carbon is not None else CASE_CARBON,
        where=t.where,
        **_given(
            tolerance=t.tolerance,
            depth_m=t.depth,
            depth_tolerance_m=t.depth_tolerance,
            surface_max=t.surface_max,
        ),
    )


def packing(t: PackingText) -> Packing:
    return Packing(**_given(gap_m=t.gap, cover_m=t.cover, touching=t.touching))


def limits(t: LimitsText) -> Limits:
    return Limits(**_given(temperature_max_c=t.temperature_max, heat_on_max_h=t.heat_on_max))
