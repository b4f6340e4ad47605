"""soak.units: what is read, exactly, and what is refused, in which words."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soak import units
from soak.errors import JobError

READ = [
    (units.length_m, "4 mm", 0.004),
    (units.length_m, "4mm", 0.004),
    (units.length_m, " 0.4 cm ", 0.004),
    (units.length_m, "2 m", 2.0),
    (units.length_m, "5 µm", 5e-6),  # micro sign
    (units.length_m, "5 μm", 5e-6),  # Greek letter
    (units.length_m, "3/16 in", 0.0047625),
    (units.length_m, "1 1/2 in", 0.0381),
    (units.length_m, "1-1/2 in", 0.0381),
    (units.length_m, "-1 1/2 in", -0.0381),
    (units.length_m, ".5 inches", 0.0127),
    (units.length_m, "1 ft 1 1/2 in", 0.3429),
    (units.temperature_c, "950 degC", 950.0),
    (units.temperature_c, "950 °C", 950.0),
    (units.temperature_c, "1742 degF", 950.0),
    (units.temperature_c, "1223.15 K", 950.0),
    (units.temperature_c, "-40 degF", -40.0),
    (units.difference_c, "12 degC", 12.0),
    (units.difference_c, "18 degF", 10.0),  # not minus 7.8: a difference is no temperature
    (units.difference_c, "12 K", 12.0),
    (units.rate_c_per_h, "250 degC/h", 250.0),
    (units.rate_c_per_h, "5 degC/min", 300.0),  # pint with autoconvert: 278 K/min
    (units.rate_c_per_h, "450 degF/h", 250.0),
    (units.rate_c_per_h, "250 degC per h", 250.0),
    (units.hours, "7 h 30 min", 7.5),
    (units.hours, "7h30min", 7.5),
    (units.hours, "90 min", 1.5),
    (units.hours, "1 d 2 hours", 26.0),
    (units.hours, "1e1 h", 10.0),
    (units.seconds, "0.25 s", 0.25),
    (units.seconds, "1 min", 60.0),
    (units.share, "0.85 %", 0.0085),
    (units.share, "0.85 wt %", 0.0085),
    (units.share, "300 ppm", 0.0003),
    (units.mass_kg, "1.2 kg", 1.2),
    (units.mass_kg, "1 lb 4 oz", 0.5669904625),
    (units.speed_m_s, "1.3e-7 m/s", 1.3e-7),
    (units.speed_m_s, "3.6 m/h", 0.001),
    (units.density_kg_m3, "230 kg/m3", 230.0),
    (units.density_kg_m3, "0.23 g/cm³", 230.0),
    (units.density_kg_m3, "230 kg/m^3", 230.0),
    (units.density_kg_m3, "230 g/l", 230.0),
    (units.power_w, "3.6 kW", 3600.0),
    (units.power_w, "1800 W", 1800.0),
]


@pytest.mark.parametrize(("read", "text", "value"), READ)
def test_read_exactly(read, text, value):
    assert read(text) == value


REFUSED = [
    (units.length_m, 4, "unit-missing", "read the bare number 4; a length needs its unit", 'write for example "4 mm"'),
    (units.length_m, "4", "unit-missing", 'read "4", a bare number; a length needs its unit', '"4 mm"'),
    (units.length_m, "4 kg", "wrong-dimension", 'read "4 kg", a mass, where a length belongs', '"4 mm"'),
    (units.length_m, "5 degC/min", "wrong-dimension", "a rate of heating, where a length belongs", '"4 mm"'),
    (units.length_m, "4 furlong", "unknown-unit", 'the unit "furlong" is not known here', "of mm, cm, m, um, in"),
    (units.length_m, "4 MM", "unknown-unit", 'the unit "MM" is not known here', '"4 mm"'),
    (units.length_m, "4,5 mm", "not-a-number", 'read "4,5 mm", with a comma in the number', "use a point"),
    (units.length_m, "3/0 in", "not-a-number", 'read "3/0 in", a fraction of zero', "write for example"),
    (units.length_m, "thick", "not-a-number", 'read "thick", where a length belongs', '"4 mm"'),
    (units.length_m, "", "not-a-number", 'read "", where a length belongs', '"4 mm"'),
    (units.length_m, "nan mm", "not-a-number", "it has no finite number first", '"4 mm"'),
    (units.length_m, "inf mm", "not-a-number", "it has no finite number first", '"4 mm"'),
    (units.length_m, "1e999 mm", "not-a-number", "which is not a finite number", '"4 mm"'),
    (units.length_m, math.nan, "not-a-number", "read nan, which is not a finite number", '"4 mm"'),
    (units.length_m, -math.inf, "not-a-number", "read -inf, which is not a finite number", '"4 mm"'),
    (units.length_m, "1" * 70 + " mm", "not-a-number", "too long for a length", '"4 mm"'),
    (units.length_m, "٤ mm", "not-a-number", "where a length belongs", '"4 mm"'),
    (units.length_m, True, "wrong-type", "read true, where a length with its unit belongs", '"4 mm"'),
    (units.length_m, ["4 mm"], "wrong-type", "read ['4 mm'], where a length with its unit belongs", '"4 mm"'),
    (units.length_m, None, "wrong-type", "read None, where a length with its unit belongs", '"4 mm"'),
    (units.temperature_c, "950 C", "unknown-unit", '"C" alone is no unit of temperature', 'degF: "950 degC"'),
    (units.temperature_c, "950F", "unknown-unit", '"F" alone is no unit of temperature', 'degF: "950 degF"'),
    (units.temperature_c, "250 degC/h", "wrong-dimension", "a rate of heating, where a temperature", '"950 degC"'),
    (units.temperature_c, "-300 degC", "out-of-range", "colder than absolute zero", '"950 degC"'),
    (units.difference_c, "12 C", "unknown-unit", '"C" alone is no unit of temperature', '"12 degC"'),
    (units.rate_c_per_h, "5 C / min", "unknown-unit", '"C" alone is no unit of temperature', '"5 degC/min"'),
    (units.rate_c_per_h, "250 degC", "wrong-dimension", "a temperature, where a rate of heating", '"250 degC/h"'),
    (units.hours, "7:30", "unknown-unit", 'the unit ":30" is not known here', '"7 h 30 min"'),
    (units.hours, "7 h -3 min", "unknown-unit", "is not known here", '"7 h 30 min"'),
    (units.seconds, 60, "unit-missing", "read the bare number 60; a time needs its unit", '"0.25 s"'),
    (units.share, "0.85", "unit-missing", "a share (percent) needs its unit", '"0.85 %"'),
    (units.share, 0.85, "unit-missing", "read the bare number 0.85", '"0.85 %"'),
    (units.mass_kg, "3 mm", "wrong-dimension", "a length, where a mass belongs", '"1.2 kg"'),
    (units.speed_m_s, "2 h", "wrong-dimension", "a time, where a speed belongs", '"1.3e-7 m/s"'),
    (units.density_kg_m3, "230 kg", "wrong-dimension", "a mass, where a density belongs", '"230 kg/m3"'),
    (units.power_w, "3.6 kWh", "unknown-unit", 'the unit "kWh" is not known here', '"3.6 kW"'),
]


@pytest.mark.parametrize(("read", "raw", "code", "text", "hint"), REFUSED)
def test_refused_in_words(read, raw, code, text, hint):
    with pytest.raises(JobError) as caught:
        read(raw)
    assert caught.value.code == code
    assert text in caught.value.text
    assert hint in caught.value.hint


def test_the_hint_for_a_bare_c_is_itself_read():
    with pytest.raises(JobError) as caught:
        units.rate_c_per_h("5 C/min")
    assert units.rate_c_per_h(caught.value.hint.split('"')[1]) == 300.0


@given(st.text(max_size=40))
def test_any_text_gives_a_finite_number_or_a_job_error(text):
    try:
        value = units.length_m(text)
    except JobError as error:
        value, said = 0.0, error.text and error.hint
    else:
        said = "a number"
    assert math.isfinite(value)
    assert said


@given(st.integers(0, 10**6), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_more_is_longer(n, unit):
    assert units.length_m(f"{n + 1} {unit}") > units.length_m(f"{n} {unit}")


def test_pint_is_not_loaded_before_a_quantity_is_read():
    """`soak --help` must stay quick."""
    import subprocess
    import sys

    code = "import soak.units, soak.job.text, sys; raise SystemExit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0
