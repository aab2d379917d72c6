"""A lever with a hub."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Gap, SheetPart, Size


class Lever(SheetPart):
    """A handle on a hub that sits on a shaft or turns a part with flats.

    `arm` runs from the hub's axis to where the hand pushes; `width` is the handle's size in the direction of
    the push, `thickness` the other one. The hub either has a socket with `flats` sides and `across_flats`, or
    a plain bore held by a pin or screw (`flats: 0`).
    """

    kind: Literal["lever"]
    arm: Size = Field(description="from the hub's axis to the middle of the hand")
    width: Size = Field(description="size of the handle along the push")
    thickness: Size = Field(description="size of the handle the other way")
    hub_diameter: Size = Field(description="outside diameter of the hub")
    hub_height: Size = Field(description="height of the hub along its axis")
    across_flats: Size = Field(description="size of the socket between flats, or diameter of a plain bore")
    flats: Literal[0, 4, 6, 8, 12] = Field(
        default=6, description="sides of the socket, 4, 6, 8 or 12; 0 for a plain bore with pin or screw"
    )
    root_radius: Gap = Field(default=0.0, description="fillet where the handle meets the hub")

    @model_validator(mode="after")
    def _hub_fits(self) -> Lever:
        self._must_be_smaller("across_flats", "hub_diameter", "Leave plastic round the socket.")
        if self.arm <= self.hub_diameter / 2:
            raise ValueError(
                f"arm ({self.arm:g} mm) must reach beyond the hub (radius {self.hub_diameter / 2:g} mm). "
                "It runs from the hub's axis to the middle of the hand."
            )
        return self
