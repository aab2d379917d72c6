"""From a duty sheet to an answer: one pure function per question, no files, no clock, no globals."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from kb.design_values import EngineValues, engine_values
from kb.loading import KnowledgeBase
from kb.schema import Printer
from recommender.answer import Answer, Notice, Option
from recommender.candidates import Space, space_for
from recommender.capability import Unfit, is_fit
from recommender.choose import Chosen, choose, envelope_of, orientations_of
from recommender.duty.reading import action_of
from recommender.duty.sheet import Duty
from recommender.errors import DutySheetError, InputError, OutOfValidityError
from recommender.evaluation import Problem, holds_for, validity_problems, with_form
from recommender.explanation import assumptions_of, reasons_for, what_if
from recommender.home_tests import home_tests
from recommender.learned import NOTHING_LEARNED, Learned
from recommender.options import option_at
from recommender.regression.record import shipped_record
from recommender.rules.cautions import cautions_for
from recommender.rules.heat import surface_temperature
from recommender.rules.refusals import excluded_materials, read_as, refused_uses

if TYPE_CHECKING:
    from recommender.geometry.model_figures import ModelFigures

DEFAULT_PRINTER = "open_medium"
ALWAYS_WARM = frozenset({"motor", "heater", "closed_air", "lamp"})
NOT_SUGGESTED = ("concentric",)  # rings along the walls leave the layers above them unsupported
RIVALS = 3  # other materials looked at closely, the best first
FURTHEST = 6  # steps by which one size is changed in search of a shape that passes
LIGHTER = ("fast", "light", "cheap", "strong")
LABELS = {"fast": "fastest", "light": "lightest", "cheap": "cheapest", "strong": "strongest"}


def suggest(
    duty: Duty,
    knowledge: KnowledgeBase,
    learned: Learned = NOTHING_LEARNED,
    top: int = 3,
    figures: ModelFigures | None = None,
) -> Answer:
    """Answer a duty sheet: refuse, find nothing, or choose and explain.

    Raises
    ------
    InputError
        The sheet names an unknown printer or filament, or a form outside the validity of its formulas.
    """
    refusals = refused_uses(duty, knowledge)
    if refusals:
        return refused(duty, refusals, knowledge)
    printer = printer_of(duty, knowledge)
    nozzle = nozzle_of(duty, printer)
    usual, peak = surface_of(duty, knowledge)
    fit, unfit = _fit_materials(duty, knowledge, printer, nozzle, peak)
    record = shipped_record()
    problem = Problem(duty, knowledge, printer, fit, usual, peak, learned, figures, record)
    _refuse_outside_validity(problem)
    base = Answer(
        "none", duty.part, surface_temperature_c=peak, knowledge_version=knowledge.version,
        model_version=record.version,
    )  # fmt: skip
    if not fit:
        return base._replace(
            reasons=("No material passes the first checks.",), nearest_changes=_remedies(unfit)
        )
    lattices = tuple(known for known in knowledge.lattices.values() if known.key not in NOT_SUGGESTED)
    space = space_for(tuple(fit), lattices, printer, nozzle)
    chosen = choose(problem, space)
    if duty.favour not in chosen.best:
        return _nothing(base, problem, space, chosen, unfit)
    return _answered(base, problem, space, chosen, top)


def assess(
    duty: Duty,
    settings: Mapping[str, object],
    knowledge: KnowledgeBase,
    learned: Learned = NOTHING_LEARNED,
    figures: ModelFigures | None = None,
) -> Answer:
    """What the given settings would bear; what they leave out is taken from usual practice and said."""
    refusals = refused_uses(duty, knowledge)
    if refusals:
        return refused(duty, refusals, knowledge)
    printer = printer_of(duty, knowledge)
    usual, peak = surface_of(duty, knowledge)
    one, orientation, assumed = _space_from(duty, settings, knowledge, printer)
    values = {one.materials[0]: engine_values(knowledge.materials[one.materials[0]], knowledge)}
    record = shipped_record()
    problem = Problem(duty, knowledge, printer, values, usual, peak, learned, figures, record)
    _refuse_outside_validity(problem)
    option = _with_given_temperatures(option_at(problem, one, orientation), settings)
    unfit = is_fit(values[one.materials[0]], duty, printer, one.nozzle_mm, hottest(duty, peak))
    against = (f"{unfit.reason}.",) if unfit else ()
    return Answer(
        "suitable" if option.passes and not unfit else "none",
        duty.part,
        choice=option,
        what_if=what_if(problem, one, option),
        cautions=cautions_of(duty, option, knowledge),
        reasons=(*against, *reasons_for(problem, one, option, {}, int(option.passes), 1)[:-1]),
        assumptions=(*assumptions_of(problem, option), *assumed, *read_as(duty, knowledge)),
        home_tests=home_tests(problem, one, option),
        sources=_sources(option),
        surface_temperature_c=peak,
        candidates_evaluated=1,
        because_logged=learned.because(option.settings.material),
        knowledge_version=knowledge.version,
        model_version=record.version,
    )


def refused(duty: Duty, refusals: tuple[Notice, ...], knowledge: KnowledgeBase) -> Answer:
    """The answer to a use that must be refused: reasons, whom to ask, next step, and no settings."""
    return Answer(
        "refused", duty.part, refusals=refusals, knowledge_version=knowledge.version,
        sources=tuple(dict.fromkeys(source for notice in refusals for source in notice.sources)),
    )  # fmt: skip


def cautions_of(duty: Duty, option: Option, knowledge: KnowledgeBase) -> tuple[Notice, ...]:
    """What whoever prints or uses this part in these settings should mind, worst first."""
    settings = {
        "orientation": option.settings.orientation,
        "infill_percent": option.settings.infill_percent,
        "has_core": option.has_core,
        "across_layers": option.across_layers,
    }
    return cautions_for(duty, option.settings.material, settings, knowledge)


def printer_of(duty: Duty, knowledge: KnowledgeBase) -> Printer:
    """The printer the sheet names, or the default class."""
    key = duty.printer or DEFAULT_PRINTER
    if key not in knowledge.printers:
        known = ", ".join(sorted(knowledge.printers))
        raise DutySheetError(
            "printer", f"{key!r} is not known.", f"Known: {known}; or add yours to your overlay."
        )
    return knowledge.printers[key]


def nozzle_of(duty: Duty, printer: Printer) -> float:
    """Nozzle diameter in mm: the sheet's, or the first of the printer's."""
    return float(duty.nozzle) if duty.nozzle is not None else printer.nozzle_diameters_mm[0]


def surface_of(duty: Duty, knowledge: KnowledgeBase) -> tuple[float, float]:
    """Usual and hottest temperature of the part's surface, °C.

    Heat that is always there (a motor, a heater, closed air) warms the usual temperature as well.
    """
    peak = surface_temperature(duty, knowledge).value_c
    always = ALWAYS_WARM & set(duty.place.warmed_by)
    rise = max(peak - duty.peak_air_c, 0.0) if always else 0.0
    return min(duty.place.usual_temperature + rise, max(peak, duty.place.usual_temperature)), peak


def hottest(duty: Duty, peak_c: float) -> float:
    """Hottest the part gets, °C: its surface, or a load case with a temperature of its own."""
    return max(peak_c, *(load.temperature for load in duty.loads if load.temperature is not None), -273.15)


def material_key(name: str, knowledge: KnowledgeBase, field: str) -> str:
    """The key of the material that a person calls `name`."""
    wanted = name.strip().lower().replace("-", "_").replace(" ", "_")
    for key, material in knowledge.materials.items():
        names = {key, material.name.lower(), *(n.lower() for n in material.other_names)}
        if wanted in {n.replace("-", "_").replace(" ", "_") for n in names}:
            return key
    known = ", ".join(sorted(knowledge.materials))
    raise InputError(field, f"{name!r} is not a known material.", f"Known: {known}.")


def _fit_materials(
    duty: Duty, knowledge: KnowledgeBase, printer: Printer, nozzle: float, peak: float
) -> tuple[dict[str, EngineValues], list[Unfit]]:
    wanted = [material_key(n, knowledge, f"filaments[{i}]") for i, n in enumerate(duty.filaments)]
    excluded = excluded_materials(duty, knowledge, knowledge.materials)
    fit: dict[str, EngineValues] = {}
    unfit: list[Unfit] = []
    for key in dict.fromkeys(wanted or knowledge.materials):
        values = engine_values(knowledge.materials[key], knowledge)
        reason = is_fit(values, duty, printer, nozzle, hottest(duty, peak))
        if reason is None and key in excluded:
            reason = Unfit(key, f"{values.name}: {excluded[key].hazard}", "")
        if reason is None:
            fit[key] = values
        else:
            unfit.append(reason)
    return fit, unfit


def _refuse_outside_validity(problem: Problem) -> None:
    for found in validity_problems(problem):
        raise OutOfValidityError("form", f"{found}.", "No figure is given rather than a wrong one.")


def _answered(base: Answer, problem: Problem, space: Space, chosen: Chosen, top: int) -> Answer:
    favoured = chosen.best[problem.duty.favour]
    one = space.narrowed_to(favoured.index)
    option = option_at(problem, one, favoured.orientation)
    rivals = sorted(
        ((p.score, m) for m, p in chosen.by_material.items() if m != option.settings.material),
    )[: max(top, RIVALS)]
    others = {
        m: option_at(
            problem,
            space.narrowed_to(chosen.by_material[m].index),
            chosen.by_material[m].orientation,
            "other material",
        )
        for _, m in rivals
    }
    return base._replace(
        verdict="suitable",
        choice=option,
        alternatives=_alternatives(problem, space, chosen, option, others, top),
        what_if=what_if(problem, one, option),
        cautions=cautions_of(problem.duty, option, problem.knowledge),
        reasons=reasons_for(problem, one, option, others, chosen.passing, chosen.evaluated),
        assumptions=(*assumptions_of(problem, option), *read_as(problem.duty, problem.knowledge)),
        home_tests=home_tests(problem, one, option),
        sources=_sources(option),
        candidates_evaluated=chosen.evaluated,
        because_logged=problem.learned.because(option.settings.material),
    )


def _alternatives(
    problem: Problem, space: Space, chosen: Chosen, option: Option, others: dict[str, Option], top: int
) -> tuple[Option, ...]:
    found = [
        option_at(problem, space.narrowed_to(p.index), p.orientation)._replace(label=LABELS[goal])
        for goal, p in chosen.best.items()
        if goal in LABELS and goal != problem.duty.favour
    ]
    found += sorted(others.values(), key=lambda o: o.cost)[: max(top - 1, 1)]
    distinct: dict[object, Option] = {}
    for other in found:
        if other.settings != option.settings:
            kept = distinct.get(other.settings)
            distinct[other.settings] = (
                other if kept is None else kept._replace(label=f"{kept.label}, {other.label}")
            )
    return tuple(distinct.values())[: 2 + top]


def _nothing(base: Answer, problem: Problem, space: Space, chosen: Chosen, unfit: list[Unfit]) -> Answer:
    """Nothing passes: the strongest there is, and the nearest changes that would make it enough."""
    if chosen.strongest is None:
        envelope = [envelope_of(problem, o).box for o in orientations_of(problem)]
        sizes = " or ".join(" x ".join(f"{side:.0f}" for side in box) for box in envelope)
        bed = " x ".join(f"{side:.0f}" for side in problem.printer.build_volume_mm)
        return base._replace(reasons=(f"The part ({sizes} mm) does not fit the build volume of {bed} mm.",),
                       nearest_changes=("Split the part, or use a larger machine.",))  # fmt: skip
    place = chosen.strongest
    one = space.narrowed_to(place.index)
    option = option_at(problem, one, place.orientation, "the strongest")
    reason = f"The strongest of {chosen.evaluated:,} combinations bears {option.factor:.1f} times the load; "
    if option.factor < option.required_factor:
        reason += f"{option.required_factor:.1f} times is wanted. What gives way first: {option.governing}."
    else:
        reason += f"that is enough, but {option.governing}."
    return base._replace(
        choice=None,
        alternatives=(option,),
        what_if=what_if(problem, one, option),
        reasons=(reason,),
        nearest_changes=(*_shapes_that_would_do(problem, one, option), *_remedies(unfit)[:4]),
        assumptions=(*assumptions_of(problem, option), *read_as(problem.duty, problem.knowledge)),
        sources=_sources(option),
        candidates_evaluated=chosen.evaluated,
    )


def _shapes_that_would_do(problem: Problem, one: Space, option: Option) -> list[str]:
    """Each change of shape, taken further until it passes; the ones that help, best first."""
    demand = problem.model.demand(problem.duty.form, problem.duty.loads[0], 0, action_of(problem.duty, 0))
    count = len(problem.model.shape_changes(problem.duty.form, demand))
    less = min(s.failure_multiple / s.required_multiple for s in option.states)
    found = [_taken_further(problem, one, option, number) for number in range(count)]
    helpful = sorted(
        ((share, words) for share, words in found if share > less * 1.02),
        reverse=True,
    )
    return [*(words for _, words in helpful), f"Or hang less on it: {less:.0%} of the load would pass."]


def _taken_further(problem: Problem, one: Space, option: Option, number: int) -> tuple[float, str]:
    form, words, share = problem.duty.form, "", 0.0
    for _ in range(FURTHEST):
        demand = problem.model.demand(form, problem.duty.loads[0], 0, action_of(problem.duty, 0))
        changes = problem.model.shape_changes(form, demand)
        if number >= len(changes):
            break
        if not holds_for(problem, changes[number].form):
            break
        form, words = changes[number].form, changes[number].words
        after = option_at(with_form(problem, form), one, option.settings.orientation)
        share = min(s.failure_multiple / s.required_multiple for s in after.states)
        if share >= 1.0:
            break
    start = problem.model.shape_changes(
        problem.duty.form,
        problem.model.demand(problem.duty.form, problem.duty.loads[0], 0, action_of(problem.duty, 0)),
    )[number].words
    shown = f"{start.rsplit(' to ', 1)[0]} to {words.rsplit(' to ', 1)[-1]}" if " to " in words else words
    verdict = "then it passes" if share >= 1.0 else f"then it reaches {share:.0%} of what is wanted"
    return min(share, 1.0), f"Change the shape: {shown}; {verdict}."


def _remedies(unfit: list[Unfit]) -> tuple[str, ...]:
    """What would let further materials in, one line per remedy."""
    grouped: dict[str, list[Unfit]] = {}
    for one in unfit:
        if one.remedy:
            grouped.setdefault(one.remedy, []).append(one)
    lines = []
    for remedy, members in grouped.items():
        names = ", ".join(sorted(u.material for u in members))
        lines.append(f"{remedy[0].upper()}{remedy[1:]} would let in {names} ({members[0].reason}).")
    return tuple(lines)


def _sources(option: Option) -> tuple[str, ...]:
    return tuple(dict.fromkeys(source for factor in option.chain for source in factor.sources))


SETTING_NAMES = {
    "walls": "walls", "top_layers": "top_layers", "bottom_layers": "bottom_layers",
    "infill_percent": "infill_percent", "infill": "infill_percent", "infill_pattern": "infill_pattern",
    "pattern": "infill_pattern", "layer_height_mm": "layer_height_mm", "layer_height": "layer_height_mm",
    "line_width_mm": "line_width_mm", "line_width": "line_width_mm", "material": "material",
    "orientation": "orientation", "nozzle_diameter_mm": "nozzle_diameter_mm", "nozzle": "nozzle_diameter_mm",
    "nozzle_temperature_c": "nozzle_temperature_c", "bed_temperature_c": "bed_temperature_c",
}  # fmt: skip
PATTERN_NAMES = {"rectilinear": "lines", "line": "lines", "zigzag": "lines", "triangle": "triangles",
                 "triangular": "triangles", "hexagon": "honeycomb", "hexagonal": "honeycomb"}  # fmt: skip
RANGES = {
    "walls": (0, 100), "top_layers": (0, 1000), "bottom_layers": (0, 1000), "infill_percent": (0, 100),
    "layer_height_mm": (0.02, 2.0), "line_width_mm": (0.1, 4.0), "nozzle_diameter_mm": (0.1, 3.0),
    "nozzle_temperature_c": (100, 500), "bed_temperature_c": (0, 250),
}  # fmt: skip


def _space_from(
    duty: Duty, settings: Mapping[str, object], knowledge: KnowledgeBase, printer: Printer
) -> tuple[Space, str, list[str]]:
    given = {SETTING_NAMES[_known_setting(name)]: value for name, value in settings.items()}
    assumed: list[str] = []

    def number(name: str, default: float) -> float:
        if name not in given:
            assumed.append(f"{name} was not given: {default:g} is assumed.")
            return default
        return _number(name, given[name])

    material = str(given.get("material") or (duty.filaments[0] if duty.filaments else ""))
    if not material:
        raise InputError("material", "no material is given.", "Add --set material=petg.")
    orientation = str(given.get("orientation", "flat"))
    if orientation not in ("flat", "edge", "upright"):
        raise InputError("orientation", f"{orientation!r} is not known.", "Allowed: flat, edge, upright.")
    nozzle = number("nozzle_diameter_mm", nozzle_of(duty, printer))
    layer = number("layer_height_mm", round(0.5 * nozzle, 2))
    if layer > nozzle:
        raise InputError(
            "--set layer_height_mm", f"{layer:g} mm is more than the nozzle of {nozzle:g} mm can lay.",
            f"Allowed up to the nozzle's diameter; {0.75 * nozzle:.2f} mm is a usual limit.",
        )  # fmt: skip
    pattern = str(given.get("infill_pattern", "grid")).strip().lower()
    pattern = PATTERN_NAMES.get(pattern, pattern)
    if pattern not in knowledge.lattices:
        known = ", ".join(sorted(knowledge.lattices))
        raise InputError("infill_pattern", f"{pattern!r} is not known.", f"Known: {known}.")
    top = number("top_layers", max(round(0.8 / layer), 1))
    space = Space(
        materials=(material_key(material, knowledge, "material"),),
        lattices=(knowledge.lattices[pattern],),
        nozzle_mm=nozzle,
        layer_height_mm=np.array([layer]),
        line_width_mm=np.array([number("line_width_mm", round(1.1 * nozzle, 2))]),
        walls=np.array([number("walls", 2)]),
        top_layers=np.array([top]),
        bottom_layers=np.array(
            [_number("bottom_layers", given["bottom_layers"]) if "bottom_layers" in given else top]
        ),
        infill_percent=np.array([number("infill_percent", 20)]),
    )
    return space, orientation, assumed


def _known_setting(name: str) -> str:
    if name not in SETTING_NAMES:
        raise InputError(f"--set {name}", "there is no such setting.", f"Known: {', '.join(SETTING_NAMES)}.")
    return name


def _number(name: str, value: object) -> float:
    low, high = RANGES[name]
    try:
        number = float(str(value).strip().removesuffix("%").removesuffix("mm").strip())
    except ValueError:
        raise InputError(
            f"--set {name}", f"{value!r} is not a number.", f"Allowed: {low:g} to {high:g}."
        ) from None
    if not low <= number <= high:
        raise InputError(f"--set {name}", f"{number:g} is outside {low:g} to {high:g}.", "Check the unit.")
    if name in ("walls", "top_layers", "bottom_layers") and number != int(number):
        raise InputError(f"--set {name}", f"{number:g} is not a whole number.", "Write a whole number.")
    return number


def _with_given_temperatures(option: Option, settings: Mapping[str, object]) -> Option:
    given: dict[str, Any] = {
        name: _number(name, settings[name])
        for name in ("nozzle_temperature_c", "bed_temperature_c")
        if name in settings
    }
    return option._replace(settings=option.settings._replace(**given)) if given else option
