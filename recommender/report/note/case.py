"""Everything a note is made from: the duty, its answer, who made the part, how, and for whom the page is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from recommender.answer import Answer, Settings
from recommender.duty.sheet import Duty
from recommender.report.note.measures import Reader


@dataclass(frozen=True, slots=True)
class Maker:
    """Who made the part; an empty text is a missing one."""

    name: str = ""
    address: str = ""
    contact: str = ""


@dataclass(frozen=True, slots=True)
class HeldTest:
    """A load test that was held: multiple of the greatest load, time in s, temperature in °C, the day."""

    held: bool
    multiple: float
    hold_s: float | None = None
    temperature_c: float | None = None
    on: str = ""


@dataclass(frozen=True, slots=True)
class MeasuredSize:
    """A size as planned and as it came out, mm; `feature` is outside, hole, slot, gap or insert."""

    feature: str
    planned_mm: float
    measured_mm: float


@dataclass(frozen=True, slots=True)
class Trace:
    """What identifies this very part; an empty text is a missing one."""

    batch: str = ""
    made_on: str = ""
    plastic: str = ""
    colour: str = ""
    measured: tuple[MeasuredSize, ...] = ()
    tests: tuple[HeldTest, ...] = ()
    settings: Settings | None = None  # as logged; None when the answer's settings are meant


@dataclass(frozen=True, slots=True)
class Emission:
    """What printing this kind of plastic gives off: our class, and a measured rate in micrograms a minute."""

    level: str = "unknown"
    substance: str = ""
    low: float = 0.0
    high: float = 0.0


UNKNOWN_EMISSION = Emission()


@dataclass(frozen=True, slots=True)
class Feedstock:
    """What the note needs to know of the plastic; None or empty where the knowledge base is silent."""

    key: str
    name: str
    family: str = ""
    filler: str = ""
    drying_c: float | None = None
    drying_h: float | None = None
    chamber_need: str = ""
    abrasive: bool | None = None
    emission: Emission = UNKNOWN_EMISSION


@dataclass(frozen=True, slots=True)
class ServiceRule:
    """How often to look, when to retire and how to prove a part; times in months and minutes."""

    inspection_months: int = 3
    retirement_months: int = 12
    proof_factor: float = 2.0
    proof_hold_min: float = 60.0
    break_samples: int = 3


NOBODY = Maker()
NO_TRACE = Trace()
STRICTEST = ServiceRule()


@dataclass(frozen=True, slots=True)
class Case:
    """One part, one answer, one reader."""

    duty: Duty
    answer: Answer
    reader: Reader
    maker: Maker = NOBODY
    trace: Trace = NO_TRACE
    feedstock: Feedstock | None = None
    near_misses: tuple[str, ...] = ()  # keys of refusals that this part comes near
    service: ServiceRule = STRICTEST
    rows: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)  # cautions and gates by key

    def gate_text(self, key: str, name: str) -> str:
        """A further text of a refusal's row in the reader's language; empty where the row has none."""
        english = str(self.rows.get(key, {}).get(name) or "")
        return self.reader.wording.row(key, name, english) if english else ""

    @property
    def is_assessed(self) -> bool:
        """Whether a working load may be stated: only from an assessment that passed."""
        choice = self.answer.choice
        return self.answer.verdict == "suitable" and choice is not None and choice.passes

    @property
    def hottest_c(self) -> float:
        """Hottest temperature of the part that the assessment covers, °C."""
        surface = self.answer.surface_temperature_c
        return self.duty.peak_air_c if surface is None else surface

    @property
    def is_hard_service(self) -> bool:
        """Repeats, knocks, weather, water or warmth: full checks come sooner (severe service)."""
        place = self.duty.place
        kinds = {load.kind for load in self.duty.loads}
        return bool(
            kinds & {"cyclic", "impact"}
            or place.outdoors
            or place.water in ("wet", "immersed")
            or self.hottest_c > 45
        )
