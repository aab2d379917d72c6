"""Why a print failed: the most likely cause, and the one thing to change first.

Bayes over a short list of causes: how likely each is at all, times how likely it makes what was seen (the load as
a multiple of the prediction, whether layers came apart, where, the events of the print, the mass). All of these
likelihoods are estimates of ours (grade C); the answer shows which of them decided.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from recommender.errors import InputError
from recommender.log import recording
from recommender.log.records import Observation, Print

DAY_S = 86400.0
HALF_NOZZLE = 0.5  # layer height over nozzle above which the bond falls quickly (source: Kuznetsov 2018)
SAFE_ROOT_RADIUS_MM = 1.0


@dataclass(frozen=True, slots=True)
class Seen:
    """What is known of a failure, gathered from the print and its entries."""

    entry: Print
    multiple: float | None
    how: str
    place: str
    events: frozenset[str]
    outcome: str
    hottest_c: float | None
    days: float | None
    mass_ratio: float | None

    @property
    def layer_over_nozzle(self) -> float | None:
        """Layer height over nozzle diameter."""
        height, nozzle = (self.entry.settings.get(k) for k in ("layer_height_mm", "nozzle_diameter_mm"))
        if isinstance(height, int | float) and isinstance(nozzle, int | float) and nozzle > 0:
            return float(height / nozzle)
        return None

    @property
    def usual_c(self) -> float:
        """Temperature the duty names as usual, or a room's."""
        from recommender.duty.reading import duty_from
        from recommender.errors import PartdutyError

        try:
            return duty_from(self.entry.sheet).peak_air_c
        except PartdutyError:
            return 23.0


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause: its share among failures, what it makes likely, and the first thing to change.

    `log_multiple` is mean and standard deviation of the log of (load at failure over prediction) under it;
    `along_layers` the chance that layers come apart; `signs` multiply its odds where they were seen.
    """

    key: str
    words: str
    share: float
    log_multiple: tuple[float, float]
    along_layers: float
    signs: dict[str, float]
    change: Callable[[Seen], str]


@dataclass(frozen=True, slots=True)
class Verdict:
    """Causes with their probabilities, the likeliest first, the evidence in words, and the first change."""

    entry: Print
    causes: tuple[tuple[Cause, float], ...]
    evidence: tuple[str, ...]
    change: str
    seen: Seen = field(repr=False)


def _thinner_or_hotter(seen: Seen) -> str:
    ratio = seen.layer_over_nozzle
    nozzle = seen.entry.settings.get("nozzle_diameter_mm")
    if ratio is not None and nozzle is not None and ratio > HALF_NOZZLE:
        return (
            f"Print layers of {HALF_NOZZLE * nozzle:g} mm instead of {ratio * nozzle:g} mm: "
            f"the bond between layers then bears {_bond_gain(ratio):+.0%}."
        )
    temperature = seen.entry.settings.get("nozzle_temperature_c")
    if isinstance(temperature, int | float):
        return (
            f"Print 10 °C hotter ({temperature + 10:g} °C instead of {temperature:g} °C), and with less fan."
        )
    return "Print 10 °C hotter and with less fan, so that the layers fuse."


def _bond_gain(ratio: float) -> float:
    import numpy as np

    from recommender.section.strengths import bond_factor

    half, thick = bond_factor(np.array([HALF_NOZZLE, ratio]))
    return float(half / thick) - 1.0


def _turn_or_thicken(seen: Seen) -> str:
    if seen.entry.settings.get("orientation") == "upright":
        return "Lay the part flat, so that the load runs along the lines instead of pulling layers apart."
    return _bear_more(seen)


def _bear_more(seen: Seen) -> str:
    loads = sorted(seen.entry.states.items(), key=lambda pair: pair[1])
    second = (
        f" The next way to fail lies at {loads[1][1]:.3g} {seen.entry.load_unit}." if len(loads) > 1 else ""
    )
    by_state = {
        "tension": "Thicken the part where it bends or pulls: 10 % more thickness bears about 20 % more.",
        "compression": "Thicken the part on the pressed side.",
        "dimpling": "Give it denser infill: the pressed skin needs support.",
        "core_shear": "Give it denser infill or more walls: the core shears.",
        "buckling": "Thicken the part or hold it in the middle: it bows out.",
        "shear": "Add walls, or turn the part so that layers do not slide on each other.",
        "torsion": "Add walls, or lay the part so that twisting does not slide its layers.",
    }
    first = by_state.get(seen.entry.governing, "Give the part more section where it broke.")
    return first + second


CAUSES: tuple[Cause, ...] = (
    Cause(
        "overload", "the load was more than the part bears as printed", 0.25, (0.05, 0.20), 0.35, {},
        _bear_more,
    ),
    Cause(
        "weak_bond", "the layers bonded badly", 0.20, (math.log(0.60), 0.35), 0.92,
        {"layer split": 5.0, "thick layers": 3.0, "warped": 1.3, "upright": 1.5}, _thinner_or_hotter,
    ),
    Cause(
        "across_layers", "the load pulls the layers apart", 0.12, (-0.15, 0.25), 0.95, {"upright": 3.0},
        _turn_or_thicken,
    ),
    Cause(
        "under_extrusion", "too little plastic was laid", 0.10, (math.log(0.65), 0.35), 0.55,
        {"under-extruded": 12.0, "clogged": 8.0, "light": 6.0},
        lambda seen: "Clear the nozzle and set the flow by weight: " + _mass_words(seen),
    ),
    Cause(
        "moist_feedstock", "the feedstock was damp", 0.07, (math.log(0.75), 0.30), 0.50,
        {"strings": 4.0, "light": 1.3}, lambda seen: "Dry the spool before the next print, then test again.",
    ),
    Cause(
        "stress_raiser", "stress gathers at a sharp place", 0.12, (math.log(0.75), 0.30), 0.35,
        {"at a sharp place": 6.0},
        lambda seen: f"Round the place where it broke ({seen.place or 'the root'}) to a radius of "
        f"{SAFE_ROOT_RADIUS_MM:g} mm or more, or thicken it there.",
    ),
    Cause(
        "weak_spool", "this spool or printer makes weaker parts than the data say", 0.08,
        (math.log(0.78), 0.20), 0.40, {},
        lambda seen: "Break two more test bars of this spool; the factor learned from them then holds for "
        "every suggestion.",
    ),
    Cause(
        "heat", "it grew warmer than the duty says", 0.03, (math.log(0.60), 0.50), 0.30,
        {"hot": 15.0, "sagged": 12.0},
        lambda seen: "Choose a material that softens later, or shade or cool the part: "
        f"it saw {_degrees(seen.hottest_c)}.",
    ),
    Cause(
        "long_load", "it crept or tired under a load it bears for a short time", 0.03,
        (math.log(0.50), 0.40), 0.40, {"long in use": 12.0, "sagged": 6.0},
        lambda seen: "Enter the load as sustained or cyclic in the duty sheet, then let `partduty suggest` "
        "choose again.",
    ),
)  # fmt: skip
"""Shares, spreads and odds: estimates (grade C). Damp feedstock, sharp roots and thick layers as causes of early
failure are the trade's common knowledge; the bond at thick layers is measured (Kuznetsov 2018)."""

PRINT_CHANGES: dict[str, str] = {
    "warped": "Hold the first layer better: a brim, a clean bed 5 to 10 °C hotter, no draught.",
    "poor adhesion": "Clean the bed, then print the first layer slower and 5 °C hotter.",
    "clogged": "Clear the nozzle, then print 10 °C hotter or slower.",
    "under-extruded": "Print slower or 10 °C hotter, so that the hot end keeps up.",
    "layer split": "Print 10 °C hotter with less fan, so that the layers fuse.",
    "strings": "Dry the spool, then print 5 °C cooler.",
}
"""First change for a print that did not come out right: trade practice, estimates (grade C)."""


def _mass_words(seen: Seen) -> str:
    if seen.mass_ratio is None:
        return "weigh the part and compare it with the predicted mass."
    return f"the part weighs {seen.mass_ratio:.2f} times the predicted mass."


def _degrees(value: float | None) -> str:
    return f"{value:g} °C" if value is not None else "more heat than thought"


def diagnosed(connection: sqlite3.Connection, print_id: str) -> Verdict:
    """The verdict on one print.

    Raises
    ------
    InputError
        Nothing went wrong with this print, as far as the log says.
    """
    entry = recording.find_print(connection, print_id)
    observations = [seen for seen in recording.observations_of(connection, print_id) if not seen.voided]
    return verdict_on(seen_from(entry, observations))


def seen_from(entry: Print, observations: list[Observation]) -> Seen:
    """What the entries tell of a failure; the last break counts."""
    failures = [
        o for o in observations if o.kind == "broke" or (o.kind == "service" and o.outcome != "still fine")
    ]
    failure = failures[-1] if failures else None
    masses = [o.amount for o in observations if o.kind == "mass" and o.amount]
    return Seen(
        entry=entry,
        multiple=failure.multiple if failure and (failure.outcome or "broke") == "broke" else None,
        how=(failure.how if failure and failure.how else "unknown"),
        place=(failure.place or "") if failure else "",
        events=frozenset(o.words for o in observations if o.kind == "event"),
        outcome=(failure.outcome or "broke") if failure else "",
        hottest_c=failure.hottest_c if failure else None,
        days=failure.duration_s / DAY_S
        if failure and failure.kind == "service" and failure.duration_s
        else None,
        mass_ratio=masses[-1] / entry.mass_g if masses and entry.mass_g else None,
    )


def verdict_on(seen: Seen) -> Verdict:
    """Bayes over the causes."""
    if not seen.outcome:
        return _print_verdict(seen)
    signs = dict(_signs_of(seen))
    odds = [(cause, cause.share * _likelihood(cause, seen, signs)) for cause in CAUSES]
    total = sum(weight for _, weight in odds)
    causes = tuple(sorted(((c, w / total) for c, w in odds), key=lambda pair: -pair[1]))
    evidence = (*_load_evidence(seen), *signs.values())
    return Verdict(seen.entry, causes, evidence, causes[0][0].change(seen), seen)


def _print_verdict(seen: Seen) -> Verdict:
    for event, change in PRINT_CHANGES.items():
        if event in seen.events:
            words = f"the print {_event_words(event)}"
            cause = Cause(event, words, 1.0, (0.0, 1.0), 0.5, {}, _change_of_print)
            return Verdict(seen.entry, ((cause, 1.0),), (f"you logged: {event}",), change, seen)
    raise InputError(
        seen.entry.id, "no failure is logged for this print.", 'Enter one: log observe ID --broke "210 N".'
    )


def _change_of_print(seen: Seen) -> str:
    return next((change for event, change in PRINT_CHANGES.items() if event in seen.events), "")


def _event_words(event: str) -> str:
    return {"poor adhesion": "did not stick", "layer split": "split", "strings": "strung"}.get(event, event)


def _likelihood(cause: Cause, seen: Seen, signs: dict[str, str]) -> float:
    value = 1.0
    if seen.multiple is not None:
        mean, spread = cause.log_multiple
        off = (math.log(seen.multiple) - mean) / math.hypot(spread, _prediction_sd(seen.entry))
        value *= (1 + off * off / 4) ** -2.5 / math.hypot(spread, _prediction_sd(seen.entry))
    if seen.how != "unknown":
        value *= cause.along_layers if seen.how == "along layers" else 1 - cause.along_layers
    for sign in signs:
        value *= cause.signs.get(sign, 1.0)
    return value


def _prediction_sd(entry: Print) -> float:
    if entry.test_low and entry.test_high and entry.test_high > entry.test_low:
        return math.log(entry.test_high / entry.test_low) / (2 * 1.6449)
    return 0.25


def _load_evidence(seen: Seen) -> Iterator[str]:
    if seen.multiple is not None:
        yield f"it broke at {seen.multiple:.2f} of the predicted load"
    if seen.how != "unknown":
        yield "the layers came apart" if seen.how == "along layers" else "the break cuts through the layers"
    if seen.entry.governing:
        yield f"predicted to fail first by {seen.entry.governing.replace('_', ' ')}"


def _signs_of(seen: Seen) -> Iterator[tuple[str, str]]:
    """Signs that were seen, each with its words."""
    ratio = seen.layer_over_nozzle
    if ratio is not None and ratio > HALF_NOZZLE:
        yield "thick layers", f"layer height is {ratio:.2f} of the nozzle"
    if seen.entry.settings.get("orientation") == "upright":
        yield "upright", "it was printed upright"
    if any(word in seen.place for word in ("hole", "root", "bend", "screw", "thread", "insert")):
        yield "at a sharp place", f"it failed {seen.place}"
    if seen.mass_ratio is not None and seen.mass_ratio < 0.95:
        yield "light", f"it weighs {seen.mass_ratio:.2f} of the predicted mass"
    if seen.hottest_c is not None and seen.hottest_c > seen.usual_c + 5:
        yield "hot", f"it saw {seen.hottest_c:g} °C, the duty says {seen.usual_c:g} °C"
    if seen.outcome == "sagged":
        yield "sagged", "it sagged"
    if seen.days is not None and seen.days > 7:
        yield "long in use", f"it was in use for {seen.days:.0f} days"
    for event in sorted(seen.events):
        yield event, f"you logged: {event}"


def as_mapping(verdict: Verdict) -> dict[str, Any]:
    """The verdict as plain mappings for JSON."""
    return {
        "print": verdict.entry.id,
        "causes": [{"cause": c.key, "words": c.words, "probability": p} for c, p in verdict.causes],
        "evidence": list(verdict.evidence),
        "change_first": verdict.change,
    }


SHOWN = 3


def as_text(verdict: Verdict) -> str:
    """The verdict in plain words."""
    cause, probability = verdict.causes[0]
    lines = [f"{verdict.entry.id}, {verdict.entry.part}: most likely {cause.words} ({probability:.0%})."]
    lines += [f"Change first: {verdict.change}", "", "Because:"]
    lines += [f"  - {evidence}" for evidence in verdict.evidence]
    if len(verdict.causes) > 1:
        lines += ["", "Other causes:"]
        lines += [f"  {share:4.0%}  {other.words}" for other, share in verdict.causes[1 : SHOWN + 1]]
        lines += ["", "The odds behind this are estimates; one clean test tells more than all of them."]
    return "\n".join(lines)
