"""A hook."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import Gap, Length, SheetPart


class Hook(SheetPart):
    """A hook whose bend has `inner_radius`; `depth` is its size in the plane of the bend, `width` across it.

    The load hangs through the centre of the bend unless `load_offset` puts it further out.
    """

    kind: Literal["hook"]
    inner_radius: Length = Field(description="inside radius of the bend")
    depth: Length = Field(description="size in the plane of the bend")
    width: Length = Field(description="size across the bend")
    shank_length: Length = Field(description="straight length above the bend")
    load_offset: Gap = Field(default=0.0, description="how far the load hangs outside the centre of the bend")
