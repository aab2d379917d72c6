"""One candidate looked at closely: every limit state, the interval, the chain of factors, cost."""

from __future__ import annotations

import math

import numpy as np

from kb.design_values import YIELD_SHARE
from recommender.answer import Factor, Interval, Option, Settings, StateResult
from recommender.candidates import Space
from recommender.choose import chance_of_success, costs_on_grid, envelope_of
from recommender.evaluation import (
    LOAD_LOG_SD,
    Problem,
    StateOnGrid,
    bending_gain,
    block_of,
    cases_of,
    log_sd,
    measured_factor,
    state_results,
    strengths_of,
)
from recommender.learned import LearnedFactor
from recommender.limit_states.derating import NINE_IN_TEN
from recommender.limit_states.section_states import NEVER
from recommender.section.strengths import bond_factor

SHOWN_UNITS = {"N·mm": ("N·m", 1e-3), "MPa": ("kPa", 1e3)}


def option_at(problem: Problem, one: Space, orientation: str, label: str = "") -> Option:
    """Everything about the single candidate in `one` (a space of one element)."""
    results = list(state_results(problem, one, orientation))
    material = one.materials[0]
    worst = min(results, key=lambda r: _first(r.multiple) / _first(r.wanted))
    strength = [r for r in results if not r.state.is_limit_on_movement]
    breaking = (
        worst if not worst.state.is_limit_on_movement else min(strength, key=lambda r: _first(r.multiple))
    )
    envelope = envelope_of(problem, orientation)
    cost = costs_on_grid(problem, one, orientation, envelope)
    block, case = block_of(one, orientation), breaking.case
    form = problem.duty.form
    strengths = strengths_of(problem, one, block, case)
    moved = [
        problem.model.deflection(form, c.demand, c.lie, block, strengths_of(problem, one, block, c))
        for c in cases_of(problem, one, orientation)
    ]
    section = problem.model.critical_section(form, case.demand, case.lie, block)
    core_area = _first(section.core_area)
    stress = problem.model.stress(form, case.demand, case.lie, block)
    minutes, grams = _first(cost.time_s) / 60.0, _first(cost.mass_g)
    time_low, time_high = _nine_in_ten(minutes, problem.learned.time_of(material))
    mass_low, mass_high = _nine_in_ten(grams, problem.learned.mass_of(material))
    return Option(
        settings=settings_of(problem, one, orientation, breaking),
        failure_load=_failure_load(problem, breaking, material),
        factor=_first(breaking.multiple),
        required_factor=_first(breaking.wanted),
        governing=worst.state.words,
        survival_probability=min(_survival(problem, r, material) for r in strength),
        deflection_mm=max((_first(m) for m in moved if m is not None), default=None),
        mass_g=grams,
        filament_m=_first(cost.filament_m),
        print_time_min=minutes,
        cost=_first(cost.money),
        currency=problem.printer.currency,
        passes=all(_first(r.multiple) >= _first(r.wanted) for r in results),
        states=tuple(
            _state_result(r)
            for r in sorted(results, key=lambda r: _first(r.multiple / r.wanted))
            if _first(r.multiple) < NEVER / 10
        ),
        chain=_chain(problem, breaking, material, one, _first(strengths.along)),
        skin_fraction=1.0 - core_area / float(section.area),
        has_core=core_area > 0.0,
        first_time_right=chance_of_success(problem, material, envelope),
        stress_mpa=None if stress is None else _first(stress),
        label=label,
        lie=case.lie.words,
        across_layers=case.lie.across,
        print_time_low_min=time_low,
        print_time_high_min=time_high,
        mass_low_g=mass_low,
        mass_high_g=mass_high,
    )


def _nine_in_ten(typical: float, factor: LearnedFactor) -> tuple[float, float]:
    """Bounds that hold the figure of the next print with 90 %."""
    ratio = math.exp(NINE_IN_TEN * factor.log_sd)
    return typical / ratio, typical * ratio


def _first(values: object) -> float:
    return float(np.asarray(values, dtype=float).reshape(-1)[0])


def settings_of(problem: Problem, one: Space, orientation: str, breaking: StateOnGrid) -> Settings:
    """The candidate's settings; the nozzle runs hotter where the bond between layers decides."""
    values = problem.values[one.materials[0]]
    nozzle = values.nozzle_temperature_c
    temperature = nozzle.typical
    if breaking.state.basis in ("across", "shear_between"):
        temperature = 0.5 * (nozzle.typical + nozzle.high)
    return Settings(
        material=one.materials[0],
        orientation=orientation,
        walls=int(one.walls[0]),
        top_layers=int(one.top_layers[0]),
        bottom_layers=int(one.bottom_layers[0]),
        infill_percent=float(one.infill_percent[0]),
        infill_pattern=one.lattices[0].key,
        layer_height_mm=float(one.layer_height_mm[0]),
        line_width_mm=float(one.line_width_mm[0]),
        nozzle_diameter_mm=one.nozzle_mm,
        nozzle_temperature_c=round(min(temperature, problem.printer.hot_end_limit_c)),
        bed_temperature_c=round(min(values.bed_temperature_c.typical, problem.printer.bed_limit_c)),
    )


def _failure_load(problem: Problem, breaking: StateOnGrid, material: str) -> Interval:
    unit, scale = SHOWN_UNITS.get(breaking.case.demand.unit, (breaking.case.demand.unit, 1.0))
    typical = _first(breaking.multiple) * _first(breaking.acting) * breaking.case.demand.amount * scale
    spread = math.exp(NINE_IN_TEN * log_sd(problem, breaking, material))
    return Interval(typical / spread, typical, typical * spread, unit)


def _survival(problem: Problem, result: StateOnGrid, material: str) -> float:
    """Probability that the load at failure exceeds the load, both log-normal."""
    multiple = _first(result.multiple)
    if multiple <= 0.0:
        return 0.0
    if result.state.basis == "strain":  # working strains are at most YIELD_SHARE of what breaks
        multiple /= YIELD_SHARE
    spread = math.hypot(log_sd(problem, result, material), LOAD_LOG_SD)
    return 0.5 * math.erfc(-math.log(multiple) / spread / math.sqrt(2.0))


def _state_result(result: StateOnGrid) -> StateResult:
    return StateResult(
        result.state.key,
        result.case.demand.index,
        _first(result.multiple),
        _first(result.wanted),
        result.state.words,
    )


def _chain(
    problem: Problem, breaking: StateOnGrid, material: str, one: Space, along: float
) -> tuple[Factor, ...]:
    values = problem.values[material]
    steps = [
        Factor("strength along the lines", values.strength_mpa.typical, "MPa", values.strength_mpa.reason,
               values.strength_mpa.sources, values.strength_mpa.grade),
        *breaking.case.deratings[0].chain,
    ]  # fmt: skip
    measured = measured_factor(problem, breaking, material)
    if measured is not None:
        steps.append(Factor("measured bars", measured.factor, "ratio", measured.because, (), "B"))
    reserve = bending_gain(problem, breaking, one)
    if reserve > 1.0:
        why = "a bar bent once bears more than its outer fibre says; short tests of bars show it"
        steps.append(Factor("reserve in bending", reserve, "ratio", why, (), "B"))
    learned = problem.learned.strength.get(material)
    if learned is not None:
        steps.append(Factor("your log", learned.median, "ratio", learned.because, (), "A"))
    if breaking.state.basis in ("across", "shear_between"):
        ratio = values.interlayer_ratio_enclosed if problem.enclosed else values.interlayer_ratio
        steps.append(
            Factor("across the layers", ratio.typical, "ratio", ratio.reason, ratio.sources, ratio.grade)
        )
        bond = _first(bond_factor(one.layer_height_mm / one.nozzle_mm))
        steps.append(
            Factor("layer height over nozzle", bond, "ratio", "thinner layers bond better",
                   ("kuznetsov_2018",), "A")
        )  # fmt: skip
    return tuple(steps)
