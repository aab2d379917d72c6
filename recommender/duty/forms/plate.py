"""A plate or lid."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import SheetPart, Size


class Plate(SheetPart):
    """A flat plate held along its edge; the load is a pressure, a spread force, or a force at its middle."""

    kind: Literal["plate"]
    outline: Literal["round", "rectangle"] = Field(description="outline")
    diameter: Size | None = Field(default=None, description="diameter of a round plate")
    length: Size | None = Field(default=None, description="longer side of a rectangle")
    width: Size | None = Field(default=None, description="shorter side of a rectangle")
    thickness: Size = Field(description="thickness")
    edge: Literal["resting", "clamped"] = Field(default="resting", description="how the edge is held")
    patch_diameter: Size = Field(
        default=10.0, description="size of the spot where a force in the middle presses"
    )

    @model_validator(mode="after")
    def _sizes_match_the_outline(self) -> Plate:
        wanted = ("diameter",) if self.outline == "round" else ("length", "width")
        for name in ("diameter", "length", "width"):
            if (getattr(self, name) is not None) != (name in wanted):
                fault = "needs its" if name in wanted else "has no"
                raise ValueError(
                    f"a plate with outline: {self.outline} {fault} {name}. "
                    "Give diameter for a round one, length and width for a rectangle."
                )
        self._must_be_smaller("thickness", wanted[-1])
        self._must_be_smaller("patch_diameter", wanted[-1], "The spot must lie on the plate.")
        return self
