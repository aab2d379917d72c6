"""A hook."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import Gap, SheetPart, Size


class Hook(SheetPart):
    """A hook whose bend has `inner_radius`; `depth` is its size in the plane of the bend, `width` across it.

    The load hangs through the centre of the bend unless `load_offset` puts it further out.
    """

    kind: Literal["hook"]
    inner_radius: Size = Field(description="inside radius of the bend")
    depth: Size = Field(description="size in the plane of the bend")
    width: Size = Field(description="size across the bend")
    shank_length: Size = Field(description="straight length above the bend")
    load_offset: Gap = Field(default=0.0, description="how far the load hangs outside the centre of the bend")
