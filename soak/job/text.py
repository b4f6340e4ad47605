"""A job as people write it in TOML, checked. Touches no file; `build` freezes it, `read` looks its profiles up."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from soak.job import quantity as q
from soak.job.quantity import Example, refused
from soak.job.stock import Shape
from soak.job.text_base import Reference, Text, Title

Count = Annotated[int, Field(ge=1, le=500), Example("8")]


class TargetText(Text):
    carbon: q.Carbon | None = None
    where: Literal["mean", "surface", "centre", "depth"] = "mean"
    tolerance: q.Tolerance | None = None
    depth: q.Depth | None = None
    depth_tolerance: q.Depth | None = None
    surface_max: q.Potential | None = None

    @model_validator(mode="after")
    def _complete(self) -> TargetText:
        if self.where == "depth" and self.depth is None:
            hint = 'add depth = "1.0 mm"; carbon is the one reached there, 0.40 % if not said'
            raise refused("depth-missing", 'where = "depth" without a depth', hint)
        if self.where != "depth" and (self.depth is not None or self.depth_tolerance is not None):
            raise refused("depth-unused", f'a depth is given, but where = "{self.where}"', 'write where = "depth"')
        if self.where != "depth" and self.carbon is None:
            raise refused("missing-key", "carbon is missing", 'add carbon = "0.85 %"')
        return self


class StockText(Text):
    iron: Reference
    shape: Shape
    thickness: q.Thickness
    width: q.Width | None = None
    length: q.Length
    count: Count

    @model_validator(mode="after")
    def _sides(self) -> StockText:
        if self.shape in ("round", "square"):
            if self.width is not None:
                says = "its diameter" if self.shape == "round" else "its side"
                raise refused("width-unused", f"a {self.shape} bar has no width", f"drop width; thickness is {says}")
        elif self.shape == "tube":
            if self.width is None:
                hint = 'add width = "20 mm", the outside diameter; thickness is the wall'
                raise refused("missing-key", "width is missing: a tube's outside diameter", hint)
            if self.width <= 2.0 * self.thickness:
                raise refused("no-bore", "the wall leaves no bore", 'write shape = "round" for a solid bar')
        elif self.width is None:
            raise refused("missing-key", f"width is missing: a {self.shape} has one", 'add width = "32 mm"')
        elif self.width < self.thickness:
            hint = "thickness is the smaller side: swap the two"
            raise refused("sides-swapped", "width is below thickness", hint)
        return self


class PackingText(Text):
    gap: q.Spacing | None = None
    cover: q.Spacing | None = None
    touching: Annotated[int, Field(ge=1, le=20), Example("1")] | None = None


class UseText(Text):
    canister: Reference
    pack: Reference
    oven: Reference
    controller: Reference = "none"


class LimitsText(Text):
    temperature_max: q.Temperature | None = None
    heat_on_max: q.HeatOn | None = None


class JobText(Text):
    title: Title = ""
    target: TargetText
    stock: Annotated[list[StockText], Field(min_length=1, max_length=50)]
    coupon: Annotated[list[StockText], Field(max_length=10)] = Field(default_factory=list)
    packing: PackingText = Field(default_factory=PackingText)
    use: UseText
    limits: LimitsText = Field(default_factory=LimitsText)
