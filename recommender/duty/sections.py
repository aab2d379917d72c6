"""Cross-sections of plain members."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from recommender.duty.fields import SheetPart, Size


class Rectangle(SheetPart):
    """Solid outline; bending acts through the thickness unless the load says otherwise."""

    shape: Literal["rectangle"]
    width: Size = Field(description="the wider side; lies on the bed when the part is printed flat")
    thickness: Size = Field(description="the other side; bending acts through it")


class Round(SheetPart):
    """Solid round outline."""

    shape: Literal["round"]
    diameter: Size = Field(description="diameter")


class Tube(SheetPart):
    """Round tube."""

    shape: Literal["tube"]
    outer_diameter: Size = Field(description="outside diameter")
    inner_diameter: Size = Field(description="inside diameter, smaller than the outside one")

    @model_validator(mode="after")
    def _inner_is_smaller(self) -> Tube:
        self._must_be_smaller("inner_diameter", "outer_diameter")
        return self


Section = Annotated[Rectangle | Round | Tube, Field(discriminator="shape")]
