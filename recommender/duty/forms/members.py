"""Straight members: bar, beam, column, shaft."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size
from recommender.duty.sections import Section


class Bar(SheetPart):
    """A straight member that is pulled, pushed, twisted or bent (simply supported when bent)."""

    kind: Literal["bar"]
    length: Size = Field(description="length")
    section: Section = Field(description="cross-section")


class Beam(SheetPart):
    """A straight member in bending over `span`; a cantilever's span is its free length."""

    kind: Literal["beam"]
    support: Literal["cantilever", "simply_supported", "fixed_both_ends"] = Field(
        description="how the ends are held"
    )
    span: Size = Field(description="between the supports; free length of a cantilever")
    section: Section = Field(description="cross-section")


class Column(SheetPart):
    """A straight member that is pushed and may buckle."""

    kind: Literal["column"]
    length: Size = Field(description="length")
    section: Section = Field(description="cross-section")
    ends: Literal["pinned", "fixed", "fixed_free"] = Field(
        default="pinned", description="how the ends are held"
    )


class Shaft(SheetPart):
    """A straight member that is twisted."""

    kind: Literal["shaft"]
    length: Size = Field(description="length")
    section: Section = Field(description="cross-section")
