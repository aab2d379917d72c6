"""Cross-sections of plain members."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Length, SheetPart


class Rectangle(SheetPart):
    """Solid outline; bending acts through the thickness unless the load says otherwise."""

    shape: Literal["rectangle"]
    width: Length
    thickness: Length


class Round(SheetPart):
    """Solid round outline."""

    shape: Literal["round"]
    diameter: Length


class Tube(SheetPart):
    """Round tube."""

    shape: Literal["tube"]
    outer_diameter: Length
    inner_diameter: Length

    @model_validator(mode="after")
    def _inner_is_smaller(self) -> Tube:
        if self.inner_diameter >= self.outer_diameter:
            raise ValueError("inner_diameter must be smaller than outer_diameter.")
        return self


Section = Annotated[Rectangle | Round | Tube, Field(discriminator="shape")]
