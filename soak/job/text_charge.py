"""An iron, a pack and a canister as people write them in TOML, checked. Touches no file; `build` freezes them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from soak.job import quantity as q
from soak.job.canister import Material
from soak.job.quantity import Example, refused
from soak.job.text_base import ProfileText, Text


class CompositionText(Text):
    C: q.Carbon = 0.0
    P: q.Element = 0.0
    Si: q.Element = 0.0
    Mn: q.Element = 0.0
    Cr: q.Element = 0.0
    Ni: q.Element = 0.0
    Cu: q.Element = 0.0
    S: q.Element = 0.0


class IronText(ProfileText):
    composition: CompositionText
    slag_feo: q.Slag = 0.0


class EnergizerText(Text):
    CaCO3: q.Carbonate = 0.0
    Na2CO3: q.Carbonate = 0.0
    K2CO3: q.Carbonate = 0.0
    BaCO3: q.Carbonate = 0.0


class SurfaceText(Text):
    carbon: q.Potential | None = None
    activity: Annotated[float, Field(gt=0, le=2), Example("0.9")] | None = None
    potential: q.Potential | None = None
    beta: q.Beta | None = None

    @model_validator(mode="after")
    def _one_of_three(self) -> SurfaceText:
        if [self.carbon, self.activity, self.potential].count(None) != 2:
            hint = 'write { carbon = "1.2 %" }, { activity = 0.9 }, or { potential = "1.2 %", beta = "1.3e-7 m/s" }'
            raise refused("surface-unclear", "needs exactly one of carbon, activity, potential", hint)
        if (self.potential is None) != (self.beta is None):
            hint = 'write surface = { potential = "1.2 %", beta = "1.3e-7 m/s" }'
            raise refused("surface-unclear", "a carbon potential and beta belong together", hint)
        return self


class PackText(ProfileText):
    energizer: EnergizerText | None = None
    grain: q.Grain | None = None
    density: q.Density | None = None
    fixed_carbon: q.FixedCarbon | None = None
    volatiles: q.Volatiles | None = None
    moisture: q.Moisture | None = None
    reuse: q.Share | None = None
    uses: Annotated[int, Field(ge=0, le=50), Example("3")] | None = None
    surface: SurfaceText | None = None
    caution: str | None = None

    @model_validator(mode="after")
    def _reuse_and_uses(self) -> PackText:
        if bool(self.reuse) != bool(self.uses):
            hint = 'write both, like reuse = "67 %" and uses = 3 (the soaks that share has seen), or neither'
            raise refused("reuse-unclear", "reuse and uses belong together", hint)
        return self


class VentText(Text):
    kind: Literal["none", "hole", "tube"]
    diameter: q.Hole | None = None
    length: q.TubeLength | None = None

    @model_validator(mode="after")
    def _sizes(self) -> VentText:
        wanted = {"none": (False, False), "hole": (True, False), "tube": (True, True)}[self.kind]
        if (self.diameter is not None, self.length is not None) != wanted:
            hint = 'write { kind = "hole", diameter = "3 mm" }, { kind = "tube", diameter = "3 mm", length = "40 mm" }'
            raise refused("vent-unclear", f"does not say the size of a vent of kind {self.kind}", hint)
        return self


class CanisterText(ProfileText):
    form: Literal["box", "pipe"]
    material: Material
    width: q.Outside | None = None
    height: q.Outside | None = None
    diameter: q.Outside | None = None
    length: q.CanisterLength
    wall: q.Wall
    bottom: q.Wall | None = None
    lid: q.Wall | None = None
    vent: VentText
    lute_gap: q.LuteGap | None = None
    lute_length: q.LuteLength | None = None
    lute_depth: q.LuteDepth | None = None
    lute_dry: bool | None = None
    expendable: bool | None = None
    floor_supported: bool | None = None
    ramp_max: q.Rate | None = None
    temperature_max: q.Temperature | None = None

    @model_validator(mode="after")
    def _outside(self) -> CanisterText:
        said = {k for k in ("width", "height", "diameter") if getattr(self, k) is not None}
        if said != ({"width", "height"} if self.form == "box" else {"diameter"}):
            hint = "a box has width and height, a pipe has diameter; all are outside sizes"
            raise refused("canister-size", f"does not say the size of a {self.form}", hint)
        ends = (self.bottom or self.wall) + (self.lid or self.wall)
        across = min(v for k in said if (v := getattr(self, k)) is not None)
        if across <= 2 * self.wall or self.length <= ends:
            raise refused("canister-size", "walls leave no room inside", "sizes are outside sizes; walls are per side")
        return self
