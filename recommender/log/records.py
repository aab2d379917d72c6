"""The records of the log: a print, and an observation of it. Impossible ones cannot be built."""

from __future__ import annotations

import re
import secrets
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from recommender.log.store import now

LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"  # without i, l, o, u, which are misread
Kind = Literal["size", "time", "mass", "event", "held", "broke", "service", "note", "photo"]
Feature = Literal["outside", "hole", "slot", "gap", "insert"]
Axis = Literal["x", "y", "z"]
How = Literal["along layers", "across layers", "unknown"]
Outcome = Literal["still fine", "broke", "sagged", "wore", "leaked", "came loose"]

FEATURES: tuple[str, ...] = ("outside", "hole", "slot", "gap", "insert")
EVENTS: dict[str, bool] = {
    "first-time right": False,
    "warped": True,
    "strings": False,
    "poor adhesion": True,
    "layer split": True,
    "under-extruded": True,
    "clogged": True,
}
"""Print quality events, and whether such a print counts as not right the first time."""

Words = Annotated[str, Field(max_length=500)]
Name = Annotated[str, Field(max_length=100)]


def _of_form(pattern: str, otherwise: str) -> AfterValidator:
    """A check that a whole text has this form; `otherwise` says in plain words that it has not."""

    def check(text: str) -> str:
        if not re.fullmatch(pattern, text, re.ASCII):
            raise PydanticCustomError("form", otherwise)
        return text

    return AfterValidator(check)


_ID_FORM = "[0-9a-z]{5,39}"
_ID_WORDS = "and then 5 to 39 of the digits 0 to 9 and the small letters a to z, such as"
PrintId = Annotated[
    str, _of_form(f"p{_ID_FORM}", f"is no id of a print. Such an id is a p {_ID_WORDS} p7k2m9x4tq")
]
ObservationId = Annotated[
    str, _of_form(f"o{_ID_FORM}", f"is no id of an observation. Such an id is an o {_ID_WORDS} o3f8w5d1ba")
]
Moment = Annotated[
    str,
    _of_form(
        r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}Z", "is no moment. Write it in UTC, such as 2026-01-31T09:30:00Z"
    ),
]
Millimetres = Annotated[float, Field(gt=0, le=20_000)]
Positive = Annotated[float, Field(gt=0, le=1e9)]


def new_id(letter: Literal["p", "o"]) -> str:
    """A fresh id, made here rather than by the store, so that a repeated write is recognised as the same."""
    return letter + "".join(secrets.choice(LETTERS) for _ in range(9))


class Record(BaseModel):
    """Base of every record: no unknown keys, no NaN, no change after it is built."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Print(Record):
    """One print: the duty it was made for, the settings used, and what was predicted before anything learned.

    Loads are in `load_unit` (N, N·mm or MPa). `failure_*` is the load at failure under the duty, `test_*` the
    same for a short test in the hand at room temperature; low and high hold 90 %. `states` holds the load at
    failure of every way to fail in that test, and `governing` names the first of them.
    """

    id: PrintId = Field(default_factory=lambda: new_id("p"))
    made_at: Moment = Field(default_factory=now)
    part: Annotated[str, Field(max_length=200)]
    printer: Name = ""
    material: Annotated[str, Field(min_length=1, max_length=100)]
    spool: Name = ""
    source: Annotated[str, Field(min_length=1, max_length=100)] = "own"
    geometry: Name = ""
    sheet: dict[str, Any] = Field(default_factory=dict)
    settings: dict[str, Any] = Field(default_factory=dict)
    applied: Positive | None = None
    load_unit: Annotated[str, Field(max_length=10)] = "N"
    failure_low: Positive | None = None
    failure_typical: Positive | None = None
    failure_high: Positive | None = None
    test_low: Positive | None = None
    test_typical: Positive | None = None
    test_high: Positive | None = None
    governing: Name = ""
    states: dict[str, float] = Field(default_factory=dict)
    stress_mpa: Positive | None = None
    mass_g: Positive | None = None
    time_min: Positive | None = None
    first_time_right: Annotated[float, Field(ge=0, le=1)] | None = None
    knowledge_version: Name = ""
    model_version: Name = ""
    note: Words = ""
    voided: bool = False


REQUIRED: dict[str, tuple[str, ...]] = {
    "size": ("feature", "nominal_mm", "measured_mm"),
    "time": ("amount",),
    "mass": ("amount",),
    "event": ("outcome_words",),
    "held": ("load",),
    "broke": ("load",),
    "service": ("outcome",),
    "note": ("outcome_words",),
    "photo": ("outcome_words",),
}


class Observation(Record):
    """One thing seen of a print. `amount` is minutes for a time and grams for a mass.

    `multiple` is the load as a multiple of the predicted load at failure in the same kind of test, and
    `stress_mpa` the computed stress that goes with it.
    """

    id: ObservationId = Field(default_factory=lambda: new_id("o"))
    print_id: PrintId
    entered_at: Moment = Field(default_factory=now)
    kind: Kind
    feature: Feature | None = None
    axis: Axis | None = None
    first_layer: bool = False
    nominal_mm: Millimetres | None = None
    nominal_assumed: bool = False
    measured_mm: Millimetres | None = None
    load: Positive | None = None
    duration_s: Annotated[float, Field(ge=0, le=1e10)] | None = None
    cycles: Annotated[int, Field(ge=0, le=10**12)] | None = None
    hottest_c: Annotated[float, Field(ge=-100, le=500)] | None = None
    how: How | None = None
    place: Words | None = None
    outcome: Outcome | None = None
    amount: Positive | None = None
    words: Words = ""
    multiple: Positive | None = None
    stress_mpa: Positive | None = None
    voided: bool = False

    @model_validator(mode="after")
    def _holds_what_its_kind_needs(self) -> Observation:
        for field in REQUIRED[self.kind]:
            value = self.words if field == "outcome_words" else getattr(self, field)
            if value is None or value == "":
                name = "words" if field == "outcome_words" else field
                raise ValueError(f"an entry of kind {self.kind} needs {name}.")
        if self.kind == "event" and self.words not in EVENTS:
            raise ValueError(f"event {self.words!r} is not known; allowed: {', '.join(EVENTS)}.")
        return self


def first_refusal(error: ValidationError) -> tuple[str, str]:
    """The first field that was refused ("" for the whole record), and what was written there and why not."""
    first = error.errors(include_url=False)[0]
    field = ".".join(str(step) for step in first["loc"])
    shown = f"{first['input']!r}"[:60] if first["loc"] else ""
    return field, f"{shown} {first['msg']}".strip().removeprefix("Value error, ")


PRINT_FIELDS: tuple[str, ...] = tuple(Print.model_fields)
OBSERVATION_FIELDS: tuple[str, ...] = tuple(Observation.model_fields)
