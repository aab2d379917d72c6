"""A spur gear."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size


class Gear(SheetPart):
    """A spur gear with full-depth teeth at 20° pressure angle; `module_size` as in ISO 54."""

    kind: Literal["gear"]
    teeth: int = Field(ge=12, le=100, description="number of teeth")
    module_size: Size = Field(description="module (pitch diameter over teeth), as in ISO 54")
    face_width: Size = Field(description="width of the teeth along the axis")
