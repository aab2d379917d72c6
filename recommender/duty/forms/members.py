"""Straight members: bar, beam, column, shaft."""

from __future__ import annotations

from typing import Literal

from recommender.duty.fields import Length, SheetPart
from recommender.duty.sections import Section


class Bar(SheetPart):
    """A straight member that is pulled, pushed, twisted or bent (simply supported when bent)."""

    kind: Literal["bar"]
    length: Length
    section: Section


class Beam(SheetPart):
    """A straight member in bending over `span`; a cantilever's span is its free length."""

    kind: Literal["beam"]
    support: Literal["cantilever", "simply_supported", "fixed_both_ends"]
    span: Length
    section: Section


class Column(SheetPart):
    """A straight member that is pushed and may buckle."""

    kind: Literal["column"]
    length: Length
    section: Section
    ends: Literal["pinned", "fixed", "fixed_free"] = "pinned"


class Shaft(SheetPart):
    """A straight member that is twisted."""

    kind: Literal["shaft"]
    length: Length
    section: Section
