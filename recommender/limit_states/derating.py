"""What heat, time under load, repeats, water, weather and doubt leave of a strength measured fresh at 23 °C.

Heat, load and time are one check: a strength at the load's temperature times what time under load leaves of
it. A steady load is checked twice, at the usual temperature for its whole time and at the peak for a while,
and the worse counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from kb.design_values import EngineValues
from kb.schema import DesignValue
from recommender.answer import Factor
from recommender.duty.loads import Load
from recommender.duty.sheet import Duty

NINE_IN_TEN = 1.645  # standard deviations that bound 90 % of a normal distribution
NEAR_SOFTENING_K = 30.0  # within 30 K an unmeasured strength counts half (estimate, kb/design_factors D33)
PEAK_TIME_H = 10.0  # how long a steady load is taken to stay at the peak temperature at a time (estimate)
REVERSED = (
    3.15 / 4.33
)  # peak stress R -1 over R 0.1 at 2e6 cycles, printed PLA: Yaren et al. 2026, Tables 1-2
LABEL_ONLY = 0.8  # strength allowed for a spool known by its label only (estimate)
FIRST_HOUR_H = 0.1  # up to here a load counts as short (estimate)


@dataclass(frozen=True, slots=True)
class Derating:
    """Strength and modulus left (1 = all) for one material under one load case, with the chain of factors.

    `log_sd` is the standard deviation of the logarithm of the strength factor, from the facts' spread.
    `short_fraction` is the part of `strength` that the load kind (time, repeats) alone leaves, `strain` the
    part of a working strain that repeats, weather and doubt about the spool leave.
    """

    strength: float
    modulus: float
    log_sd: float
    short_fraction: float
    strain: float
    temperature_c: float
    chain: tuple[Factor, ...]


def log_sd_of(value: DesignValue) -> float:
    """Standard deviation of the logarithm if low and high bound nine in ten."""
    if value.low <= 0 or value.high <= value.low:
        return 0.05
    return math.log(value.high / value.low) / (2.0 * NINE_IN_TEN)


def derating(values: EngineValues, duty: Duty, load: Load, usual_c: float, peak_c: float) -> Derating:
    """What is left for `load`, with surface temperatures usual and peak in °C."""
    if load.temperature is not None:
        usual_c = peak_c = load.temperature
    heat = _heat_and_time(values, load, usual_c, peak_c)
    steps = [*heat.steps]
    modulus = heat.modulus
    if load.kind == "cyclic":
        steps.append(_repeats(values, load))
    water = _water(values, duty)
    if water is not None:
        steps.append(water[0])
        modulus *= water[1]
    if duty.place.outdoors:
        steps.append(_weather(values))
    if duty.material_trust == "label_only":
        steps.append(
            _Step(Factor("label only", LABEL_ONLY, "ratio", "the spool is known by its label only"), 0.10)
        )
    strength = math.prod(step.factor.value for step in steps)
    spread = math.sqrt(sum(step.log_sd**2 for step in steps))

    def left(*names: str) -> float:
        return math.prod(step.factor.value for step in steps if step.factor.name in names)

    return Derating(
        strength, modulus, spread, left("time under load", "repeats"), left("weather", "label only"),
        heat.temperature_c, tuple(step.factor for step in steps),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Step:
    factor: Factor
    log_sd: float


@dataclass(frozen=True, slots=True)
class _Heat:
    steps: tuple[_Step, ...]
    modulus: float
    temperature_c: float


def _heat_and_time(values: EngineValues, load: Load, usual_c: float, peak_c: float) -> _Heat:
    if load.kind != "sustained":
        return _Heat((_temperature(values, peak_c),), _modulus_at(values, peak_c), peak_c)
    hours = (load.duration_s or 0.0) / 3600.0
    long = (_temperature(values, usual_c), _time(values, hours, usual_c))
    brief = (_temperature(values, peak_c), _time(values, min(hours, PEAK_TIME_H), peak_c))
    worse = min((long, brief), key=lambda pair: pair[0].factor.value * pair[1].factor.value)
    temperature = usual_c if worse is long else peak_c
    # Creep: the modulus falls with time as far as strength does (estimate; the facts are on strength).
    creep = worse[1].factor.value ** 0.5
    return _Heat(worse, _modulus_at(values, temperature) * creep, temperature)


def _modulus_at(values: EngineValues, temperature_c: float) -> float:
    return max(float(values.modulus_at(temperature_c)), 1e-4)


def _temperature(values: EngineValues, temperature_c: float) -> _Step:
    typical = float(values.strength_at(temperature_c))
    low = float(values.strength_at(temperature_c, "low"))
    high = float(values.strength_at(temperature_c, "high"))
    why = f"strength left at {temperature_c:.0f} °C"
    gap = values.softening_c.typical - temperature_c
    if (
        temperature_c > 23.0
        and gap < NEAR_SOFTENING_K
        and values.strength_curve_grade == "C"
        and typical > 0.5
    ):
        typical, low = 0.5, min(low, 0.5)
        why += f", halved because it softens {gap:.0f} °C above that and no measured curve is known"
    typical = max(typical, 1e-4)
    spread = math.log(max(high, typical) / max(low, 1e-4)) / (2 * NINE_IN_TEN) if high > low else 0.0
    return _Step(
        Factor("temperature", typical, "ratio", why, values.softening_c.sources, values.strength_curve_grade),
        spread,
    )


def _time(values: EngineValues, hours: float, temperature_c: float) -> _Step:
    cold = _fraction_after(hours, values.sustained_1000_h_23_c, values.sustained_1_year_23_c)
    warm = _fraction_after(hours, values.sustained_1000_h_40_c, values.sustained_1_year_40_c)
    share = max(temperature_c - 23.0, 0.0) / 17.0
    fraction = min(cold * min(warm / cold, 1.0) ** share, 1.0)
    source = values.sustained_1_year_23_c
    return _Step(
        Factor("time under load", fraction, "ratio", f"what {_duration(hours)} under load leaves",
               source.sources, source.grade),
        log_sd_of(source) if hours > FIRST_HOUR_H else 0.0,
    )  # fmt: skip


def _fraction_after(hours: float, at_1000_h: DesignValue, at_1_year: DesignValue) -> float:
    """Straight lines in log time through 1 at FIRST_HOUR_H, the 1000 h and the 1 year figures, and on."""
    if hours <= FIRST_HOUR_H:
        return 1.0
    times = np.log10([FIRST_HOUR_H, 1000.0, 8766.0])
    fractions = [1.0, at_1000_h.typical, min(at_1_year.typical, at_1000_h.typical)]
    at = math.log10(hours)
    if at <= times[2]:
        return float(np.interp(at, times, fractions))
    slope = (fractions[2] - fractions[1]) / (times[2] - times[1])
    return float(max(fractions[2] + slope * (at - times[2]), 0.25 * fractions[2]))


def _duration(hours: float) -> str:
    for unit, size in (("years", 8766.0), ("months", 730.5), ("days", 24.0)):
        if hours >= 2 * size:
            return f"{hours / size:.0f} {unit}"
    return f"{hours:.0f} h" if hours >= 1 else f"{hours * 60:.0f} min"


def _repeats(values: EngineValues, load: Load) -> _Step:
    cycles = float(load.cycles or 1)
    fraction = values.fatigue_fraction.typical * (cycles / 1e6) ** values.fatigue_slope.typical
    if load.fully_reversed:
        fraction *= REVERSED
    reached = min(fraction, 1.0)
    words = f"what {load.cycles:,} {'reversed ' if load.fully_reversed else ''}repeats leave"
    source = values.fatigue_fraction
    return _Step(
        Factor("repeats", reached, "ratio", words, source.sources, source.grade),
        log_sd_of(source) if reached < 1.0 else 0.05,
    )


def _water(values: EngineValues, duty: Duty) -> tuple[_Step, float] | None:
    if duty.place.water in ("dry", "humid"):  # parts in a room take up its moisture; nylons show it
        strength, modulus = values.conditioned_strength_factor, values.conditioned_modulus_factor
    else:
        strength, modulus = values.wet_strength_factor, values.wet_modulus_factor
    if strength.typical > 0.995 and modulus.typical > 0.995:
        return None
    words = "room air" if duty.place.water == "dry" else f"{duty.place.water} use"
    factor = Factor("water", min(strength.typical, 1.0), "ratio", f"kept in {words}",
                    strength.sources, strength.grade)  # fmt: skip
    return _Step(factor, log_sd_of(strength)), min(modulus.typical, 1.0)


def _weather(values: EngineValues) -> _Step:
    kept = values.weather_factor_years
    factor = Factor(
        "weather", min(kept.typical, 1.0), "ratio", "kept after some years outdoors", kept.sources, kept.grade
    )
    return _Step(factor, log_sd_of(kept))
