"""What the engine answers: plain records that the report, the log and the note read.

The machine-readable form is made from these by ``recommender.report.as_json``; its keys are documented in
README.md and do not change without a note there.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

Verdict = Literal["suitable", "none", "refused"]


class Settings(NamedTuple):
    """Print settings of one candidate; temperatures in °C, lengths in mm."""

    material: str
    orientation: str
    walls: int
    top_layers: int
    bottom_layers: int
    infill_percent: float
    infill_pattern: str
    layer_height_mm: float
    line_width_mm: float
    nozzle_diameter_mm: float
    nozzle_temperature_c: float
    bed_temperature_c: float


class Interval(NamedTuple):
    """A figure with the bounds that hold it with 90 % probability."""

    low: float
    typical: float
    high: float
    unit: str


class Factor(NamedTuple):
    """One step of the chain from a data-sheet strength to the load at failure."""

    name: str
    value: float
    unit: str
    why: str
    sources: tuple[str, ...] = ()
    grade: str = "C"


class StateResult(NamedTuple):
    """Load at failure of one limit state under one load case, as a multiple of the applied load."""

    name: str
    load_case: int
    failure_multiple: float
    required_multiple: float
    words: str


class Option(NamedTuple):
    """One candidate with everything that is said of it.

    `lie` says in words how to lay the part; `across_layers` whether the main pull crosses the layers;
    low and high hold nine prints in ten; `stress_mpa` is the direct stress in the skin where the part fails first.
    """

    settings: Settings
    failure_load: Interval
    factor: float
    required_factor: float
    governing: str
    survival_probability: float
    deflection_mm: float | None
    mass_g: float
    filament_m: float
    print_time_min: float
    cost: float
    currency: str
    passes: bool
    states: tuple[StateResult, ...] = ()
    chain: tuple[Factor, ...] = ()
    skin_fraction: float | None = None
    has_core: bool = True
    first_time_right: float | None = None
    stress_mpa: float | None = None
    label: str = ""
    lie: str = ""
    across_layers: bool = False
    print_time_low_min: float | None = None
    print_time_high_min: float | None = None
    mass_low_g: float | None = None
    mass_high_g: float | None = None


class Change(NamedTuple):
    """What one change would do: of a setting, or of the part's shape."""

    what: str
    kind: Literal["setting", "shape"]
    load_percent: float
    time_min: float
    mass_g: float
    words: str


class Notice(NamedTuple):
    """A caution or a refusal: signal word, hazard, result, what to do, whom to ask, sources.

    A refusal also has its `next_step`, and in `because` the words of the sheet that led to it and what the sheet
    leaves open.
    """

    key: str
    signal: str
    hazard: str
    result: str
    do_this: str
    ask: str
    sources: tuple[str, ...] = ()
    grade: str = "C"
    next_step: str = ""
    because: str = ""


class Answer(NamedTuple):
    """The whole answer to a duty sheet."""

    verdict: Verdict
    part: str
    choice: Option | None = None
    alternatives: tuple[Option, ...] = ()
    what_if: tuple[Change, ...] = ()
    reasons: tuple[str, ...] = ()
    cautions: tuple[Notice, ...] = ()
    refusals: tuple[Notice, ...] = ()
    assumptions: tuple[str, ...] = ()
    nearest_changes: tuple[str, ...] = ()
    home_tests: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    surface_temperature_c: float | None = None
    candidates_evaluated: int = 0
    knowledge_version: str = ""
    model_version: str = ""
    because_logged: tuple[str, ...] = ()
