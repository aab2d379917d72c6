"""A lever with a hub."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from recommender.duty.fields import Gap, Length, SheetPart


class Lever(SheetPart):
    """A handle on a hub that sits on a shaft or turns a part with flats.

    `arm` runs from the hub's axis to where the hand pushes; `width` is the handle's size in the direction of
    the push, `thickness` the other one. The hub either has a socket with `flats` sides and `across_flats`, or
    a plain bore held by a pin or screw (`flats: 0`).
    """

    kind: Literal["lever"]
    arm: Length
    width: Length
    thickness: Length
    hub_diameter: Length
    hub_height: Length
    across_flats: Length
    flats: Literal[0, 4, 6, 8, 12] = 6
    root_radius: Gap = 0.0

    @model_validator(mode="after")
    def _hub_fits(self) -> Lever:
        if self.across_flats >= self.hub_diameter:
            raise ValueError("hub_diameter must be larger than across_flats.")
        if self.arm <= self.hub_diameter / 2:
            raise ValueError("arm must reach beyond the hub: it runs from the hub's axis to the hand.")
        return self
