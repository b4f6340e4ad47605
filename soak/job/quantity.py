"""The kinds of number a job or profile may hold: which door of `units` reads it, and what is sensible. Reads no file.

Each is a pydantic type. Its example is what an error message tells people to write. Limits are this project's
judgement: outside them a number is far more likely a slip of the pen than a wish.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from soak import units
from soak.errors import JobError


@dataclass(frozen=True, slots=True)
class Example:
    """What to write, as it stands in the file (quotes and all)."""

    text: str


def refused(code: str, text: str, hint: str) -> PydanticCustomError:
    """An error that keeps its code, text and hint through pydantic (text as a value: it may hold braces)."""
    return PydanticCustomError(code, "{text}", {"text": text, "hint": hint})


@dataclass(frozen=True, slots=True)
class Quantity:
    """Pydantic metadata: a number with a unit between `low` and `high`, all three as people would write them."""

    read: Callable[[object], float]
    low: str
    high: str
    example: str

    @property
    def text(self) -> str:
        """The example as it stands in the file, like that of Example."""
        return f'"{self.example}"'

    def validate(self, raw: object) -> float:
        """The number `raw` says, in the unit of `read`; refused when it is not sensible."""
        try:
            value = self.read(raw)
        except JobError as error:
            raise refused(error.code, error.text, error.hint) from error
        low, high = _limits(self)
        if not low <= value <= high:
            text = f'read "{raw}", outside what is sensible here ({self.low} to {self.high})'
            raise refused("out-of-range", text, f'write for example "{self.example}"')
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(self.validate, handler(source))


@cache
def _limits(quantity: Quantity) -> tuple[float, float]:
    return quantity.read(quantity.low), quantity.read(quantity.high)


# pieces, packing, canister
Thickness = Annotated[float, Quantity(units.length_m, "0.2 mm", "200 mm", "4 mm")]
Width = Annotated[float, Quantity(units.length_m, "0.2 mm", "500 mm", "32 mm")]
Length = Annotated[float, Quantity(units.length_m, "1 mm", "2 m", "180 mm")]
Spacing = Annotated[float, Quantity(units.length_m, "0 mm", "200 mm", "8 mm")]
Depth = Annotated[float, Quantity(units.length_m, "0.05 mm", "50 mm", "1.0 mm")]
Outside = Annotated[
    float, Quantity(units.length_m, "40 mm", "200 mm", "100 mm")
]  # the heat model of the pack holds from 40 to 200 mm
CanisterLength = Annotated[float, Quantity(units.length_m, "40 mm", "2 m", "220 mm")]
Wall = Annotated[float, Quantity(units.length_m, "0.5 mm", "40 mm", "4 mm")]
Hole = Annotated[float, Quantity(units.length_m, "0.5 mm", "20 mm", "3 mm")]
TubeLength = Annotated[float, Quantity(units.length_m, "1 mm", "500 mm", "40 mm")]
LuteGap = Annotated[float, Quantity(units.length_m, "0 mm", "5 mm", "0.2 mm")]
LuteLength = Annotated[float, Quantity(units.length_m, "0 mm", "5 m", "400 mm")]
LuteDepth = Annotated[float, Quantity(units.length_m, "1 mm", "100 mm", "20 mm")]

# iron and pack
Carbon = Annotated[float, Quantity(units.share, "0 %", "2 %", "0.85 %")]
Potential = Annotated[float, Quantity(units.share, "0 %", "2.1 %", "1.2 %")]
Tolerance = Annotated[float, Quantity(units.share, "0.005 %", "1 %", "0.08 %")]
Element = Annotated[float, Quantity(units.share, "0 %", "5 %", "0.2 %")]
Slag = Annotated[float, Quantity(units.share, "0 %", "10 %", "1.6 %")]
Share = Annotated[float, Quantity(units.share, "0 %", "100 %", "25 %")]
Carbonate = Annotated[float, Quantity(units.share, "0 %", "50 %", "5 %")]
FixedCarbon = Annotated[float, Quantity(units.share, "30 %", "100 %", "80 %")]
Volatiles = Annotated[float, Quantity(units.share, "0 %", "40 %", "3 %")]
Moisture = Annotated[float, Quantity(units.share, "0 %", "30 %", "5 %")]
Grain = Annotated[
    float, Quantity(units.length_m, "1 mm", "10 mm", "4 mm")
]  # the pack's conduction law holds from 1 to 10 mm
Density = Annotated[float, Quantity(units.density_kg_m3, "50 kg/m3", "1000 kg/m3", "230 kg/m3")]
Beta = Annotated[float, Quantity(units.speed_m_s, "1e-9 m/s", "1e-3 m/s", "1.3e-7 m/s")]

# heat and time
Temperature = Annotated[float, Quantity(units.temperature_c, "20 degC", "1150 degC", "1020 degC")]
OvenTemperature = Annotated[float, Quantity(units.temperature_c, "20 degC", "1400 degC", "1100 degC")]
SensorTemperature = Annotated[float, Quantity(units.temperature_c, "-273 degC", "2500 degC", "1372 degC")]
SafeSetpoint = Annotated[float, Quantity(units.temperature_c, "-50 degC", "50 degC", "0 degC")]
Rate = Annotated[float, Quantity(units.rate_c_per_h, "0.1 degC/h", "20000 degC/h", "250 degC/h")]
Difference = Annotated[float, Quantity(units.difference_c, "0.1 degC", "100 degC", "12 degC")]
HeatOn = Annotated[float, Quantity(units.hours, "15 min", "240 h", "12 h")]
Power = Annotated[float, Quantity(units.power_w, "100 W", "100 kW", "3.6 kW")]
Chamber = Annotated[float, Quantity(units.length_m, "50 mm", "3 m", "250 mm")]
Interval = Annotated[float, Quantity(units.seconds, "0 s", "1 h", "60 s")]
ReplyTime = Annotated[float, Quantity(units.seconds, "0.01 s", "30 s", "0.25 s")]
