"""Words with numbers: why this choice, what each neighbour would change, what is uncertain, what to test.

Sentences are short and plain: the summary is held to reading grade 8 by a test.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from kb.schema import DesignValue
from recommender.answer import Change, Option
from recommender.candidates import Space
from recommender.capability import chemical_groups
from recommender.choose import orientations_of, smallest_passing
from recommender.duty.reading import action_of
from recommender.evaluation import Problem, block_of, cases_of, holds_for, strengths_of, with_form
from recommender.limit_states.derating import derating
from recommender.options import option_at

LYING = {
    "flat": "flat, on its wide face",
    "edge": "on edge, on its narrow long face",
    "upright": "upright, on its end",
}


def one_space(space: Space, material: str, **settings: float) -> Space:
    """`space`, already narrowed, with some settings changed."""
    changed: dict[str, Any] = {name: np.array([float(value)]) for name, value in settings.items()}
    return replace(space, materials=(material,), **changed)


def what_if(problem: Problem, one: Space, option: Option) -> tuple[Change, ...]:
    """What each neighbour of the choice would change: settings first, then the part's shape."""
    return (
        *_setting_changes(problem, one, option),
        *_shape_changes(problem, one, option),
        *_metal_rod(problem, one, option),
    )


def _setting_changes(problem: Problem, one: Space, option: Option) -> Iterable[Change]:
    material, orientation = option.settings.material, option.settings.orientation
    walls = float(one.walls[0])
    infill = float(one.infill_percent[0])
    layer = float(one.layer_height_mm[0])
    trials: list[tuple[str, Space, str]] = [
        ("one wall more", one_space(one, material, walls=walls + 1), orientation),
    ]
    if walls > 1:
        trials.append(("one wall fewer", one_space(one, material, walls=walls - 1), orientation))
    more = min(2 * infill, 100.0)
    if more > infill:
        trials.append(
            (
                f"infill from {infill:.0f} to {more:.0f} %",
                one_space(one, material, infill_percent=more),
                orientation,
            )
        )
    skins = float(one.top_layers[0]) + 2
    trials.append(
        (
            "two top and two bottom layers more",
            one_space(one, material, top_layers=skins, bottom_layers=float(one.bottom_layers[0]) + 2),
            orientation,
        )
    )
    low, high = problem.printer.layer_heights_mm
    for other in (round(layer - 0.08, 2), round(layer + 0.08, 2)):
        if low <= other <= min(high, 0.75 * one.nozzle_mm):
            trials.append(
                (
                    f"layer height from {layer:g} to {other:g} mm",
                    one_space(one, material, layer_height_mm=other),
                    orientation,
                )
            )
    for lie in orientations_of(problem):
        if lie != orientation:
            trials.append((f"printed {LYING[lie].split(',')[0]}", one, lie))
    for words, space, lie in trials:
        yield _change(words, "setting", option, option_at(problem, space, lie))


def _shape_changes(problem: Problem, one: Space, option: Option) -> Iterable[Change]:
    demand = problem.model.demand(problem.duty.form, problem.duty.loads[0], 0, action_of(problem.duty, 0))
    for change in problem.model.shape_changes(problem.duty.form, demand):
        if not holds_for(problem, change.form):
            continue
        changed = with_form(problem, change.form)
        yield _change(change.words, "shape", option, option_at(changed, one, option.settings.orientation))


STEEL_MODULUS_MPA = 210_000.0  # Young's modulus of steel, textbook value
STEEL_DENSITY_G_CM3 = 7.85
OVERBUILT = 2.5  # times what is wanted from which a part counts as over-built; our own convention
WORTH_SAYING = 0.95  # share of time or mass below which smaller settings are worth saying; our own convention
RODS_MM = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
ROD_SHARE = 0.4  # of the smaller side that a rod may take, so that walls stay round it (estimate)


def _metal_rod(problem: Problem, one: Space, option: Option) -> Iterable[Change]:
    """What a steel rod along the middle of a bent member would do: it takes its share of the moment.

    The plastic's stress falls by EI / (EI + E_rod I_rod) (bars side by side; the hole on the neutral axis is
    left out of the plastic's EI, which is on the safe side for thin rods).
    """
    form = problem.duty.form
    bent = [c for c in cases_of(problem, one, option.settings.orientation) if c.demand.action == "bend"]
    if form.kind not in ("bar", "beam", "lever", "bracket") or not bent:
        return
    block = block_of(one, option.settings.orientation)
    section: Any = problem.model.critical_section(form, bent[0].demand, bent[0].lie, block)
    fitting = [rod for rod in RODS_MM if rod <= ROD_SHARE * min(section.depth, section.breadth)]
    if not fitting:
        return
    rod = fitting[-1]
    strengths = strengths_of(problem, one, block, bent[0])
    plastic = float(np.reshape(strengths.modulus * section.flexural(block.core_along(bent[0].lie)), -1)[0])
    steel = STEEL_MODULUS_MPA * np.pi * rod**4 / 64.0
    length = max(problem.model.envelope(form, "flat").box)
    grams = np.pi / 4.0 * rod**2 * length / 1000.0 * STEEL_DENSITY_G_CM3
    gain = 100.0 * steel / plastic
    words = f"a {rod:g} mm steel rod along the middle"
    yield Change(
        words,
        "shape",
        gain,
        0.0,
        float(grams),
        f"{words}: up to {_signed(gain, '%')} load in bending, {_signed(float(grams), 'g')}",
    )


def _change(words: str, kind: str, before: Option, after: Option) -> Change:
    margins = after.factor / after.required_factor, before.factor / before.required_factor
    load = 100.0 * (margins[0] / max(margins[1], 1e-9) - 1.0)
    minutes = after.print_time_min - before.print_time_min
    grams = after.mass_g - before.mass_g
    strength = f"{_signed(load, '%')} load" if abs(load) >= 0.5 else "does nothing for strength"
    parts = [strength, *_costs(minutes, grams)]
    if before.passes and not after.passes:
        parts.append("no longer enough")
    if not before.passes and after.passes:
        parts.append("then it is enough")
    return Change(
        words, "shape" if kind == "shape" else "setting", load, minutes, grams, f"{words}: {', '.join(parts)}"
    )


def _costs(minutes: float, grams: float) -> list[str]:
    shown = [_signed(minutes, "min"), _signed(grams, "g")]
    return [words for words in shown if not words.startswith("±")]


def _difference(minutes: float, grams: float) -> str:
    return " and ".join(
        f"{abs(value):.{digits}f} {unit} {'less' if value < 0 else 'more'}"
        for value, unit, digits in ((minutes, "min", 0), (grams, "g", 1 if abs(grams) < 10 else 0))
        if abs(value) >= 0.5 * 10.0**-digits
    )


def _signed(value: float, unit: str) -> str:
    rounded = round(value) if abs(value) >= 10 or unit != "g" else round(value, 1)
    return f"{'+' if rounded > 0 else '-' if rounded < 0 else '±'}{abs(rounded):g} {unit}"


def reasons_for(
    problem: Problem, one: Space, option: Option, others: dict[str, Option], passing: int, evaluated: int
) -> tuple[str, ...]:
    """Why this choice, most important first."""
    lines = [
        _load_line(option),
        _material_line(problem, option, others),
        _measured_line(option),
        _lie_line(option),
    ]
    lines.append(_walls_line(option))
    lines.append(_infill_line(option))
    lines.append(_smaller_line(problem, one, option))
    lines.append(_heat_line(problem, option))
    lines.append(
        f"{passing:,} of {evaluated:,} combinations of settings pass every check; "
        f"this one is the best for '{problem.duty.favour}'."
    )
    return tuple(line for line in lines if line)


def _load_line(option: Option) -> str:
    load = option.failure_load
    return (
        f"It should break at about {_figure(load.typical)} {load.unit} (nine in ten between "
        f"{_figure(load.low)} and {_figure(load.high)}). That is {option.factor:.1f} times your load; "
        f"{option.required_factor:.1f} times is wanted. What gives way first: {option.governing}."
    )


def _material_line(problem: Problem, option: Option, others: dict[str, Option]) -> str:
    values = problem.values[option.settings.material]
    rivals = sorted(
        (o for m, o in others.items() if m != option.settings.material), key=lambda o: o.print_time_min
    )[:2]
    line = f"{values.name}: strength {values.strength_mpa.typical:.0f} MPa, softens near {values.softening_c.typical:.0f} °C."
    if rivals:
        compared = " and ".join(
            f"{problem.values[r.settings.material].name} ({r.print_time_min:.0f} min, {r.mass_g:.0f} g, "
            f"{r.cost:.2f} {r.currency})"
            for r in rivals
        )
        line += f" Also fit: {compared}."
    return line


def _measured_line(option: Option) -> str:
    """What measured bars changed, or that there are none."""
    found = next((factor for factor in option.chain if factor.name == "measured bars"), None)
    if found is None:
        return ""
    change = found.value - 1.0
    if abs(change) < 0.005:
        return f"Measured bars agree with the calculated strength ({found.why})."
    words = "raise" if change > 0 else "lower"
    if found.why.startswith("no bar"):
        return f"Bars of its kin {words} the calculated strength by {abs(change):.0%}: {found.why}."
    return f"Measured bars {words} the calculated strength by {abs(change):.0%} ({found.why})."


def _lie_line(option: Option) -> str:
    if option.across_layers:
        return f"Printed {option.lie}. The main pull goes across the layers here, so keep them thin."
    return f"Printed {option.lie}, so that the main pull runs along the lines and not across the layers."


def _walls_line(option: Option) -> str:
    s = option.settings
    share = option.skin_fraction
    if share is None or not option.has_core or s.infill_percent >= 100:
        return ""
    words = (
        f"{s.walls} walls and {s.top_layers} top and {s.bottom_layers} bottom layers make {share:.0%} of the "
        "section that fails first"
    )
    most = share > (1.0 - share) * s.infill_percent / 100.0
    return (
        f"{words}; they carry most of the load." if most else f"{words}; the infill carries much of the load."
    )


def _infill_line(option: Option) -> str:
    s = option.settings
    if not option.has_core:
        return (
            "The walls and layers meet: there is no infill in this section. The infill setting does nothing for "
            "its strength."
        )
    if s.infill_percent >= 100:
        return "Infill 100 %: the part is solid, so walls and layers make no difference."
    return f"Infill {s.infill_percent:.0f} % {s.infill_pattern}: enough to hold the skin in place."


def _smaller_line(problem: Problem, one: Space, option: Option) -> str:
    """The smallest settings that pass, where they save work; where even those are far too much, say so."""
    if not option.passes:
        return ""
    small = smallest_passing(problem, one, option.settings.orientation)
    lean = option_at(problem, small, option.settings.orientation) if small is not None else option
    spare = min(s.failure_multiple / s.required_multiple for s in lean.states)
    words = ""
    if (
        lean.mass_g < WORTH_SAYING * option.mass_g
        or lean.print_time_min < WORTH_SAYING * option.print_time_min
    ):
        words = (
            f"Smaller settings pass as well: {_settings_words(lean, option)}. That takes "
            f"{_difference(lean.print_time_min - option.print_time_min, lean.mass_g - option.mass_g)}."
        )
    if spare >= OVERBUILT:
        end = "" if words else "; no setting can be smaller"
        words += (
            f" It is over-built: the smallest settings still leave {spare:.1f} times more than wanted{end}."
        )
        words += " You could make the part smaller."
    return words.strip()


def _settings_words(lean: Option, option: Option) -> str:
    new, old = lean.settings, option.settings
    changed = []
    if new.walls != old.walls:
        changed.append(f"{new.walls} walls")
    if new.top_layers != old.top_layers:
        changed.append(f"{new.top_layers} top and bottom layers")
    if new.infill_percent != old.infill_percent:
        changed.append(f"{new.infill_percent:g} % infill")
    return ", ".join(changed)


def _heat_line(problem: Problem, option: Option) -> str:
    values = problem.values[option.settings.material]
    worst = min(
        (
            derating(values, problem.duty, load, problem.usual_c, problem.peak_c)
            for load in problem.duty.loads
        ),
        key=lambda d: d.strength,
    )
    if worst.strength > 0.95:
        return ""
    taken = ", ".join(
        f"{f.why} {f.value:.2f}{' (estimate)' if f.grade == 'C' else ''}"
        for f in worst.chain
        if f.value < 0.995
    )
    return f"Heat, time and place together leave {worst.strength:.0%} of the fresh strength: {taken}."


def _figure(value: float) -> str:
    if value >= 100:
        return f"{float(f'{value:.3g}'):,.0f}"
    return f"{value:.3g}"


def assumptions_of(problem: Problem, option: Option | None) -> tuple[str, ...]:
    """What the sheet did not say and what was taken, and which facts are estimates."""
    duty = problem.duty
    taken = []
    if not duty.said("people.if_it_breaks"):
        taken.append("Nobody said who could be hurt: a minor injury is assumed (if_it_breaks: minor_injury).")
    if not duty.said("place.usual_temperature") and duty.place.surface_temperature is None:
        taken.append("No temperature given: 23 °C is assumed.")
    if not duty.said("printer"):
        taken.append(
            f"No printer given: '{problem.printer.name}' is assumed (printer: {problem.printer.key})."
        )
    if len(duty.loads) > 1:
        taken.append(
            "The loads are checked one by one. Loads that act at the same time must be given as one."
        )
    strange = [word for word in duty.place.chemicals if not chemical_groups(word)]
    if strange:
        taken.append(
            f"Nothing is known here about {', '.join(strange)}: soak a scrap in it for a week first."
        )
    if option is not None:
        taken += _usual_prints(problem, option.settings.material)
        taken += _estimates(problem, option)
    return tuple(taken)


def _usual_prints(problem: Problem, material: str) -> list[str]:
    """What time and mass were taken to come to over what is calculated, where the log has not taught it."""
    learned = problem.learned
    taken = [
        f"{name} {factor.median:g} times"
        for name, known, factor in (
            ("time", learned.time, learned.believed_time),
            ("mass", learned.mass, learned.believed_mass),
        )
        if material not in known and factor.median != 1.0
    ]
    said = " and ".join(taken)
    return (
        [f"Taken as in usual prints (our estimate): {said} what is calculated. Log yours to learn it."]
        if taken
        else []
    )


def _estimates(problem: Problem, option: Option) -> list[str]:
    values = problem.values[option.settings.material]
    facts: list[tuple[str, DesignValue]] = [
        ("strength along the lines", values.strength_mpa),
        ("strength across the layers", values.interlayer_ratio),
        ("stiffness", values.modulus_mpa),
        ("compression", values.compressive_ratio),
    ]
    guessed = [name for name, fact in facts if fact.is_estimate]
    if not guessed:
        return []
    return [f"Estimates, not measured figures, for {values.name}: {', '.join(guessed)}."]
