"""A boss for a heat-set insert."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import SheetPart, Size


class InsertBoss(SheetPart):
    """A boss that holds a heat-set threaded insert (give the insert's measured outer diameter)."""

    kind: Literal["insert_boss"]
    outer_diameter: Size = Field(description="outside diameter of the boss")
    insert_diameter: Size = Field(description="outside diameter of the insert, measured")
    insert_length: Size = Field(description="length of the insert")
    height: Size = Field(description="height of the boss")

    @model_validator(mode="after")
    def _insert_fits(self) -> InsertBoss:
        self._must_be_smaller("insert_diameter", "outer_diameter", "Leave plastic round the insert.")
        if self.insert_length > self.height:
            raise ValueError(
                f"insert_length ({self.insert_length:g} mm) cannot be more than height ({self.height:g} mm). "
                "Make the boss higher or use a shorter insert."
            )
        return self
