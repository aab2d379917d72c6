"""A plate or lid."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from recommender.duty.fields import Length, SheetPart


class Plate(SheetPart):
    """A flat plate held along its edge; the load is a pressure, a spread force, or a force at its middle."""

    kind: Literal["plate"]
    outline: Literal["round", "rectangle"]
    diameter: Length | None = None
    length: Length | None = None
    width: Length | None = None
    thickness: Length
    edge: Literal["resting", "clamped"] = "resting"
    patch_diameter: Length = 10.0

    @model_validator(mode="after")
    def _sizes_match_the_outline(self) -> Plate:
        if self.outline == "round" and self.diameter is None:
            raise ValueError("a round plate needs its diameter.")
        if self.outline == "rectangle" and (self.length is None or self.width is None):
            raise ValueError("a rectangular plate needs length and width.")
        return self
