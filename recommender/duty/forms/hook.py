"""A hook."""

from __future__ import annotations

from typing import Literal

from recommender.duty.fields import Gap, Length, SheetPart


class Hook(SheetPart):
    """A hook whose bend has `inner_radius`; `depth` is its size in the plane of the bend, `width` across it.

    The load hangs through the centre of the bend unless `load_offset` puts it further out.
    """

    kind: Literal["hook"]
    inner_radius: Length
    depth: Length
    width: Length
    shank_length: Length
    load_offset: Gap = 0.0
