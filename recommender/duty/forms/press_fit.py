"""A hub pressed on a shaft."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Length, SheetPart, Size


class PressFit(SheetPart):
    """A printed hub pressed on a shaft; `interference` is on the diameter."""

    kind: Literal["press_fit"]
    shaft_diameter: Size = Field(description="diameter of the shaft")
    outer_diameter: Size = Field(description="outside diameter of the hub")
    interference: Length = Field(description="how much larger the shaft is than the hole, on the diameter")
    length: Size = Field(description="length of the fit")
    shaft: Literal["steel", "printed"] = Field(default="steel", description="what the shaft is made of")

    @model_validator(mode="after")
    def _hub_is_larger(self) -> PressFit:
        self._must_be_smaller("shaft_diameter", "outer_diameter")
        if self.interference > self.shaft_diameter / 10:
            raise ValueError(
                f"interference ({self.interference:g} mm) is more than a tenth of the shaft "
                f"({self.shaft_diameter / 10:g} mm). It is the difference of the diameters, such as 0.1 mm."
            )
        return self
