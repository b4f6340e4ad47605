"""The only door in for numbers with units, and the only user of pint. Reads text; touches no file, port or clock.

A number and its unit are split here, before pint sees them: pint alone reads "950 C" as coulomb, and takes the degC of
"5 degC/min" for a temperature. Arithmetic is exact (fractions) until the last step: length_m("4 mm") == 0.004.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any

from soak.errors import JobError

# What pint is told. Only what a shop writes: reading pint's whole list of units would cost more than the plan.
_DEFINITIONS = """
milli- = 1e-3
centi- = 1e-2
micro- = 1e-6
kilo- = 1e3
meter = [length]
inch = 0.0254 meter
foot = 12 inch
second = [time]
minute = 60 second
hour = 60 minute
day = 24 hour
gram = [mass]
pound = 453.59237 gram
ounce = pound / 16
liter = 0.001 meter ** 3
watt = 1000 gram * meter ** 2 / second ** 3
kelvin = [temperature]; offset: 0
degree_Celsius = kelvin; offset: 273.15
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9
percent = 0.01
ppm = 1e-6
"""

_LENGTH = {
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "um": "micrometer",
    "in": "inch",
    "inch": "inch",
    "ft": "foot",
}
_TIME = {"s": "second", "min": "minute", "h": "hour", "hr": "hour", "hour": "hour", "hours": "hour", "d": "day"}
_DEGREE = {"degC": "delta_degree_Celsius", "degF": "delta_degree_Fahrenheit", "K": "kelvin"}
_MASS = {"kg": "kilogram", "g": "gram", "lb": "pound", "oz": "ounce"}


def _per(above: Mapping[str, str], below: Mapping[str, str]) -> dict[str, str]:
    return {f"{a}/{b}": f"{above[a]} / {below[b]}" for a in above for b in below}


# kind -> spelling -> pint's words for it
_SPELT: dict[str, dict[str, str]] = {
    "length": _LENGTH,
    "time": _TIME,
    "temperature": {"degC": "degree_Celsius", "degF": "degree_Fahrenheit", "K": "kelvin"},
    "temperature difference": _DEGREE,
    "rate of heating": _per(_DEGREE, _TIME),
    "share": {"%": "percent", "wt%": "percent", "percent": "percent", "ppm": "ppm"},
    "mass": _MASS,
    "speed": _per(_LENGTH, _TIME),
    "density": {
        "kg/m3": "kilogram / meter ** 3",
        "g/l": "gram / liter",
        "g/cm3": "gram / centimeter ** 3",
        "lb/ft3": "pound / foot ** 3",
    },
    "power": {"W": "watt", "kW": "kilowatt"},
}
_COMPOUND = {"length", "time", "mass"}  # "7 h 30 min", "1 ft 2 in"
_UNCLEAR = {"C": "degC", "F": "degF", "c": "degC", "f": "degF"}  # pint would read coulomb and farad
_THERMAL = {"temperature", "temperature difference", "rate of heating"}
_ARTICLE = {"power": "a power", "share": "a share (percent)"}

_NUMBER = re.compile(r"[+-]?(?:\d+[ -]\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)", re.ASCII)
_LETTERS = re.compile(r"\s*([A-Za-zµμ]+)\s*")
_LONGEST = 60


def length_m(raw: object) -> float:
    """Length [m] of text such as "4 mm", "3/16 in", "1 1/2 in"."""
    return _read(raw, "length", "meter", "4 mm")


def temperature_c(raw: object) -> float:
    """Temperature [degC] of text such as "950 degC", "1750 degF", "1223 K". Refused below absolute zero."""
    value = _read(raw, "temperature", "degree_Celsius", "950 degC")
    if value < -273.15:
        raise JobError("out-of-range", f"read {_shown(raw)}, colder than absolute zero", 'write for example "950 degC"')
    return value


def difference_c(raw: object) -> float:
    """Difference between two temperatures [degC] of text such as "12 degC" or "20 degF" (11.1 degC)."""
    return _read(raw, "temperature difference", "delta_degree_Celsius", "12 degC")


def rate_c_per_h(raw: object) -> float:
    """Rate of heating or cooling [degC/h] of text such as "250 degC/h", "5 degC/min", "450 degF/h"."""
    return _read(raw, "rate of heating", "delta_degree_Celsius / hour", "250 degC/h")


def hours(raw: object) -> float:
    """Time [h] of text such as "7 h 30 min", "90 min"."""
    return _read(raw, "time", "hour", "7 h 30 min")


def seconds(raw: object) -> float:
    """Time [s] of text such as "0.25 s", "1 min"."""
    return _read(raw, "time", "second", "0.25 s")


def share(raw: object) -> float:
    """Share [fraction of 1] of text such as "0.85 %" (0.0085) or "300 ppm"."""
    return _read(raw, "share", "", "0.85 %")


def mass_kg(raw: object) -> float:
    """Mass [kg] of text such as "1.2 kg", "1 lb 4 oz"."""
    return _read(raw, "mass", "kilogram", "1.2 kg")


def speed_m_s(raw: object) -> float:
    """Speed [m/s] of text such as "1.3e-7 m/s": a mass transfer coefficient."""
    return _read(raw, "speed", "meter / second", "1.3e-7 m/s")


def density_kg_m3(raw: object) -> float:
    """Density [kg/m3] of text such as "230 kg/m3", "0.23 g/cm3"."""
    return _read(raw, "density", "kilogram / meter ** 3", "230 kg/m3")


def power_w(raw: object) -> float:
    """Power [W] of text such as "3.6 kW"."""
    return _read(raw, "power", "watt", "3.6 kW")


@cache
def _registry() -> Any:
    import pint  # here, not above: `soak --help` must not wait for it

    registry: Any = pint.UnitRegistry(None, non_int_type=Fraction)
    for line in _DEFINITIONS.strip().splitlines():
        registry.define(line)
    return registry


def _read(raw: object, kind: str, wanted: str, example: str) -> float:
    """The number in `wanted` units that `raw` says, or a JobError that says what was read and what to write."""
    hint = f'write for example "{example}"'
    noun = _ARTICLE.get(kind, f"a {kind}")
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise JobError("wrong-type", f"read {_shown(raw)}, where {noun} with its unit belongs", hint)
    if isinstance(raw, int | float):
        if not math.isfinite(raw):
            raise JobError("not-a-number", f"read {_shown(raw)}, which is not a finite number", hint)
        raise JobError("unit-missing", f"read the bare number {_shown(raw)}; {noun} needs its unit", hint)
    registry = _registry()
    total: Any = Fraction(0)
    for number, unit in _parts(raw, kind, noun, example):
        total += registry.Quantity(number, unit).to(wanted).magnitude
    try:
        value = float(total)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise JobError("not-a-number", f"read {_shown(raw)}, which is not a finite number", hint)
    return value


def _parts(raw: str, kind: str, noun: str, example: str) -> list[tuple[Fraction, str]]:
    """Numbers with pint's word for their unit: one pair, or several for "7 h 30 min"."""
    text, hint = raw.strip(), f'write for example "{example}"'
    if len(text) > _LONGEST:
        raise JobError("not-a-number", f"read {_shown(raw)}, too long for {noun}", hint)
    if re.search(r"\d,\d", text):
        raise JobError("not-a-number", f"read {_shown(raw)}, with a comma in the number", f"use a point; {hint}")
    found = _NUMBER.match(text)
    if found is None:
        raise JobError("not-a-number", f"read {_shown(raw)}, where {noun} belongs; it has no finite number first", hint)
    if kind in _COMPOUND and (several := _several(text, kind)):
        return several
    number, unit = _fraction(found.group(), raw, hint), _tidy(text[found.end() :])
    if not unit:
        raise JobError("unit-missing", f"read {_shown(raw)}, a bare number; {noun} needs its unit", hint)
    if unit in _SPELT[kind]:
        return [(number, _SPELT[kind][unit])]
    raise _refusal(raw, found.group(), unit, kind, noun, example)


def _several(text: str, kind: str) -> list[tuple[Fraction, str]]:
    """The pairs of "7 h 30 min"; empty when the text is not of that form (then it is read as one pair)."""
    pairs: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(text):
        number = _NUMBER.match(text, at)
        unit = _LETTERS.match(text, number.end()) if number else None
        spelt = _SPELT[kind].get(_tidy(unit.group(1))) if unit else None
        if number is None or unit is None or spelt is None or (pairs and number.group()[0] in "+-"):
            return []
        pairs.append((_fraction(number.group(), text, 'write for example "3/16 in"'), spelt))
        at = unit.end()
    return pairs


def _fraction(number: str, raw: str, hint: str) -> Fraction:
    """3/16, 1 1/2, 1-1/2 and 1.3e-7, exactly."""
    if "/" not in number:
        return Fraction(number)
    whole, _, part = number.lstrip("+-").replace("-", " ").rpartition(" ")
    try:
        size = Fraction(whole or 0) + Fraction(part)
    except ZeroDivisionError:
        raise JobError("not-a-number", f"read {_shown(raw)}, a fraction of zero", hint) from None
    return -size if number.startswith("-") else size


def _tidy(unit: str) -> str:
    """One spelling for the many: no blanks, degC for a degree sign, u for micro, 3 for a raised 3."""
    unit = re.sub(r"\s+per\s+", "/", unit)
    unit = re.sub(r"\s+|\^|\*\*", "", unit)
    for old, new in (("°", "deg"), ("º", "deg"), ("µ", "u"), ("μ", "u"), ("³", "3"), ("inches", "in"), ('"', "in")):
        unit = unit.replace(old, new)
    return unit


def _refusal(raw: str, number: str, unit: str, kind: str, noun: str, example: str) -> JobError:
    hint = f'write for example "{example}"'
    letter, slash, per = unit.partition("/")
    if letter in _UNCLEAR and kind in _THERMAL:
        good = _UNCLEAR[letter] + slash + per
        text = f'read {_shown(raw)}; "{letter}" alone is no unit of temperature'
        return JobError("unknown-unit", text, f'write degC or degF: "{number} {good}"')
    for other, spelt in _SPELT.items():
        if unit in spelt and other != "temperature difference":
            was = _ARTICLE.get(other, f"a {other}")
            return JobError("wrong-dimension", f"read {_shown(raw)}, {was}, where {noun} belongs", hint)
    known = ", ".join(list(_SPELT[kind])[:8])
    return JobError("unknown-unit", f'read {_shown(raw)}; the unit "{unit}" is not known here', f"{hint} (of {known})")


def _shown(raw: object) -> str:
    """What was read, short enough for one line."""
    text = f'"{raw}"' if isinstance(raw, str) else str(raw).lower() if isinstance(raw, bool) else repr(raw)
    return text if len(text) <= _LONGEST else text[:_LONGEST] + "…"
