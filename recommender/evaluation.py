"""From candidates to margins: every limit state of every load case over the whole grid, or for one candidate.

One function, ``state_results``, serves both: on the grid it yields arrays, on a space narrowed to one
candidate the same arrays have one element.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from kb.design_values import EngineValues
from kb.loading import KnowledgeBase
from kb.schema import Printer
from recommender.candidates import Space
from recommender.duty.loads import Load
from recommender.duty.reading import action_of
from recommender.duty.sheet import Duty
from recommender.learned import Learned
from recommender.limit_states import form_model
from recommender.limit_states.derating import Derating, derating, log_sd_of
from recommender.limit_states.form_model import Block, Demand, FormModel, LimitState
from recommender.limit_states.members import MEMBER
from recommender.limit_states.required import across_modifier, required_factor
from recommender.quantities import STANDARD_GRAVITY
from recommender.regression import prediction
from recommender.regression.prediction import Kind
from recommender.regression.record import Record
from recommender.section.core import core_ratios
from recommender.section.lie import Lie
from recommender.section.printed import Skins, bending_reserve
from recommender.section.strengths import Strengths, bond_factor

if TYPE_CHECKING:
    from recommender.geometry.model_figures import ModelFigures

Array = NDArray[np.float64]

BOND_LOG_SD = (
    0.08  # scatter of interlayer strength about its line in layer height (fit, Kuznetsov 2018: 8.9 %)
)
LOAD_LOG_SD = 0.10  # how well the load itself is known (estimate)
# Working strains are allowed values already, so no factor of the table is asked of them, but a chance of holding:
# 85, 90 and 99 % by consequence (estimates), as standard deviations of a normal distribution.
HOLDING = {"no_harm": 1.036, "nuisance": 1.282, "minor_injury": 2.326}
BRITTLE_NOTCH = 0.8  # notch sensitivity from which a blow counts as brittle (estimate)
NO_FACTOR = np.ones(1)  # limits on movement ask for nothing beyond the limit itself
NO_SKIN_MM = 1e-6  # stands for no walls or closed layers at all, so that formulas need not divide by nought
LASTING_SHARE = 0.5  # share of the repeated working strain that may stay for good (estimate)
AS_STIFF = ("stiffness", "strain")  # states that meet the section as it deforms, not as it breaks
SUDDEN = 2.0  # a load put on at once acts at least twice (energy method, h = 0: F = 2 W)


@dataclass(frozen=True, slots=True)
class Problem:
    """A duty on one machine: what stays the same for every candidate.

    `figures` are those of a model file, used for volumes and time instead of the form's own envelope; `record`
    is what measured bars say of the calculated strengths.
    """

    duty: Duty
    knowledge: KnowledgeBase
    printer: Printer
    values: dict[str, EngineValues]
    usual_c: float
    peak_c: float
    learned: Learned
    figures: ModelFigures | None = None
    record: Record | None = None
    deratings: dict[tuple[str, int], Derating] = field(default_factory=dict, compare=False, repr=False)
    model: FormModel = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "model", form_model(self.duty.form.kind))

    @property
    def enclosed(self) -> bool:
        """Whether parts are printed in closed, warm surroundings."""
        return self.printer.enclosure != "none"


@dataclass(frozen=True, slots=True)
class Case:
    """One load case met in one orientation by the materials of a space."""

    demand: Demand
    lie: Lie
    deratings: tuple[Derating, ...]
    required: Array
    required_across: Array


@dataclass(frozen=True, slots=True)
class StateOnGrid:
    """One limit state under one load case: multiples at failure and wanted, on the candidate grid.

    `acting` is the force that acts over the demand's own: more than 1 for an impact.
    """

    state: LimitState
    case: Case
    multiple: Array
    wanted: Array
    acting: Array | float = 1.0


def block_of(space: Space, orientation: str) -> Block:
    """The open grid of one orientation."""
    line_width = space.on_axis("line_width", space.line_width_mm)
    layer_height = space.on_axis("layer_height", space.layer_height_mm)
    skins = Skins(
        walls_mm=np.maximum(space.on_axis("walls", space.walls) * line_width, NO_SKIN_MM),
        top_mm=np.maximum(space.on_axis("skins", space.top_layers) * layer_height, NO_SKIN_MM),
        bottom_mm=np.maximum(space.on_axis("skins", space.bottom_layers) * layer_height, NO_SKIN_MM),
        line_width_mm=line_width,
    )
    core = core_ratios(space.lattices, space.on_axis("infill", space.infill_percent), line_width)
    return Block(orientation, skins, core, layer_height, layer_height / space.nozzle_mm)


def strength_block(problem: Problem, block: Block, case: Case) -> Block:
    """The block as it counts for strength: with the reserve in bending that measured bars show."""
    record = problem.record
    if record is None:
        return block
    exponent = prediction.bending_exponent_of(record) if test_of(problem, case) == "bending" else 0.0
    return replace(block, bending_exponent=exponent) if exponent else block


def test_of(problem: Problem, case: Case) -> prediction.Test:
    """Which test of bars a load case is like.

    Only a straight member bent once for a short time gets the reserve that bars show in bending: nothing was
    measured that grants it to other forms, to repeats or to load that stays.
    """
    load = problem.duty.loads[case.demand.index]
    if case.demand.action == "push":
        return "compression"
    bent = (
        case.demand.action == "bend" and problem.duty.form.kind in ("beam", "bar") and load.kind == "static"
    )
    return "bending" if bent else "tension"


def kind_of(values: EngineValues) -> Kind:
    """The material as the regression groups it."""
    return Kind(values.material, values.filler)


def _corrections(
    problem: Problem, values: list[EngineValues], case: Case
) -> tuple[Array | float, Array | float, Array | float]:
    """Factors from measured bars on strength along, across and pressed, one per material; 1 without a record."""
    record = problem.record
    if record is None:
        return 1.0, 1.0, 1.0
    kinds = tuple(kind_of(v) for v in values)
    return prediction.strength_factors(record, kinds, test_of(problem, case))


def cases_of(problem: Problem, space: Space, orientation: str) -> tuple[Case, ...]:
    """Every load case as the form meets it in this orientation."""
    return tuple(_case(problem, space, orientation, index) for index in range(len(problem.duty.loads)))


def _case(problem: Problem, space: Space, orientation: str, index: int) -> Case:
    load = problem.duty.loads[index]
    demand = problem.model.demand(
        problem.duty.form, _as_unit_force(load), index, action_of(problem.duty, index)
    )
    lie = problem.model.lie(problem.duty.form, orientation, demand)
    values = [problem.values[key] for key in space.materials]
    deratings = tuple(_derating(problem, v, index) for v in values)
    factors = [
        required_factor(problem.duty, load.kind, d.short_fraction, problem.knowledge).factor
        for d in deratings
    ]
    required = space.on_axis("material", np.array(factors))
    doubled: Array | float = 1.0
    if lie.across:
        modifiers = [across_modifier(v, problem.enclosed, problem.knowledge) for v in values]
        doubled = space.on_axis("material", np.array(modifiers))
    return Case(demand, lie, deratings, required, required * doubled)


def _derating(problem: Problem, values: EngineValues, index: int) -> Derating:
    """The derating of a material under a load case, worked out once per problem."""
    key = (values.material, index)
    known = problem.deratings.get(key)
    if known is None:
        load = problem.duty.loads[index]
        known = derating(values, problem.duty, load, problem.usual_c, problem.peak_c)
        problem.deratings[key] = known
    return known


def _as_unit_force(load: Load) -> Load:
    """An impact given by energy or drop is met as a force of 1 N and scaled by the force it causes."""
    if load.kind == "impact" and load.force is None:
        return load.model_copy(update={"force": 1.0})
    return load


def strengths_of(problem: Problem, space: Space, block: Block, case: Case) -> Strengths:
    """Derated strengths of the space's materials in this block."""
    values = [problem.values[key] for key in space.materials]

    def column(numbers: list[float]) -> Array:
        return space.on_axis("material", np.array(numbers))

    learned = [
        problem.learned.strength[v.material].median if v.material in problem.learned.strength else 1.0
        for v in values
    ]
    base = np.array(
        [
            v.strength_mpa.typical * d.strength * f
            for v, d, f in zip(values, case.deratings, learned, strict=True)
        ]
    )
    corrected = _corrections(problem, values, case)
    along = space.on_axis("material", base * corrected[0])
    ratios = [v.interlayer_ratio_enclosed if problem.enclosed else v.interlayer_ratio for v in values]
    ratio = np.array([r.typical for r in ratios])
    across = space.on_axis("material", base * corrected[1] * ratio) * bond_factor(block.layer_over_nozzle)
    compressive = np.array([v.compressive_ratio.typical for v in values])
    modulus = column([v.modulus_mpa.typical * d.modulus for v, d in zip(values, case.deratings, strict=True)])
    strains = [_working_strains(v, d, case) for v, d in zip(values, case.deratings, strict=True)]
    return Strengths(
        along=along,
        across=np.minimum(across, along),
        pressed=space.on_axis("material", base * corrected[2] * compressive),
        modulus=modulus,
        modulus_across=MODULUS_ACROSS * modulus,
        poisson=column([v.poisson_ratio.typical for v in values]),
        once_strain=column([once for once, _, _ in strains]),
        repeat_strain=column([again for _, again, _ in strains]),
        lasting_strain=column([lasting for _, _, lasting in strains]),
        notch=column([_notch(v, case) for v in values]),
    )


def _working_strains(values: EngineValues, left: Derating, case: Case) -> tuple[float, float, float]:
    """Strain that may be asked once, as often as the load comes (repeats wear it as they wear strength), for good."""
    once = values.working_strain_once_percent.typical / 100.0 * left.strain
    again = values.working_strain_repeated_percent.typical / 100.0 * left.strain
    lasting = LASTING_SHARE * again
    if case.demand.load.kind == "cyclic":
        again = min(again, once * left.short_fraction)
    return once, again, lasting


def _notch(values: EngineValues, case: Case) -> float:
    """Notch sensitivity; a blow on a notched brittle plastic meets the notch in full (q = 1, safe side)."""
    sensitivity = values.notch_sensitivity.typical
    brittle = case.demand.load.kind == "impact" and sensitivity >= BRITTLE_NOTCH
    return 1.0 if brittle else sensitivity


MODULUS_ACROSS = 0.85  # modulus across the layers over that along them (estimate; 0.68 of bulk was measured: doi 10.1089/3dp.2020.0109)


def states_of(problem: Problem, case: Case) -> tuple[LimitState, ...]:
    """The form's ways to fail, and the sheet's own limits on movement and strain."""
    form, duty = problem.duty.form, problem.duty
    states = list(problem.model.states(form, case.demand, case.lie))
    if duty.limits.deflection is not None:
        states.append(_movement_limit(problem, case, duty.limits.deflection))
    if duty.limits.strain is not None:
        states.append(_strain_limit(problem, case, duty.limits.strain / 100.0))
    return tuple(states)


def _movement_limit(problem: Problem, case: Case, limit_mm: float) -> LimitState:
    def multiple(block: Block, strengths: Strengths) -> Array:
        moved = problem.model.deflection(problem.duty.form, case.demand, case.lie, block, strengths)
        return np.full(1, np.inf) if moved is None else limit_mm / np.maximum(moved, 1e-12)

    return LimitState("deflection", f"it moves more than {limit_mm:g} mm", "stiffness", 0.1, multiple)


def _strain_limit(problem: Problem, case: Case, limit: float) -> LimitState:
    def multiple(block: Block, strengths: Strengths) -> Array:
        strain = problem.model.strain(problem.duty.form, case.demand, case.lie, block, strengths)
        return np.full(1, np.inf) if strain is None else limit / np.maximum(strain, 1e-12)

    return LimitState("strain", f"it is strained by more than {limit:.2%}", "stiffness", 0.1, multiple)


def state_results(problem: Problem, space: Space, orientation: str) -> Iterator[StateOnGrid]:
    """Every limit state of every load case on the grid of one orientation."""
    block = block_of(space, orientation)
    for case in cases_of(problem, space, orientation):
        strengths = strengths_of(problem, space, block, case)
        force = _impact_force(problem, case, block, strengths)
        strong = strength_block(problem, block, case)
        for state in states_of(problem, case):
            multiple = state.multiple(block if state.basis in AS_STIFF else strong, strengths)
            if not isinstance(force, float) or force != 1.0:
                multiple = multiple / force
            result = StateOnGrid(state, case, multiple, _wanted(state, case), force)
            yield _with_a_chance_of_holding(problem, space, result) if state.basis == "strain" else result


def _with_a_chance_of_holding(problem: Problem, space: Space, result: StateOnGrid) -> StateOnGrid:
    """`result` with the multiple wanted raised so far that the part holds with the chance asked for."""
    deviations = HOLDING[problem.duty.people.if_it_breaks]
    spreads = [
        math.hypot(log_sd(problem, result, material, number), LOAD_LOG_SD)
        for number, material in enumerate(space.materials)
    ]
    wanted = space.on_axis("material", np.exp(deviations * np.array(spreads)))
    return replace(result, wanted=wanted)


def _wanted(state: LimitState, case: Case) -> Array:
    if state.is_limit_on_movement:
        return NO_FACTOR
    crosses = state.basis in ("across", "shear_between") and case.lie.across
    return case.required_across if crosses else case.required


def _impact_force(problem: Problem, case: Case, block: Block, strengths: Strengths) -> Array | float:
    """The still force that strains the part as much as the impact, over the demand's own force.

    F = W + sqrt(W^2 + 2 k E), with the part's stiffness k; at least twice the weight (textbook energy method,
    recommender.mechanics.impact). A force written for an impact is put on suddenly: twice.
    """
    load = case.demand.load
    if problem.duty.loads[case.demand.index].kind != "impact":
        return 1.0
    if problem.duty.loads[case.demand.index].force is not None:
        return SUDDEN
    moved = problem.model.deflection(problem.duty.form, case.demand, case.lie, block, strengths)
    weight = (load.mass or 0.0) / 1000.0 * STANDARD_GRAVITY
    energy = load.energy if load.energy is not None else weight * (load.drop or 0.0)
    stiffness = case.demand.amount / np.maximum(moved if moved is not None else np.full(1, 1e-3), 1e-9)
    force: Array = weight + np.sqrt(weight**2 + 2.0 * stiffness * energy)
    return np.maximum(force, SUDDEN * weight) / case.demand.amount


def margin_on_grid(problem: Problem, space: Space, orientation: str) -> Array:
    """Lowest (multiple at failure / multiple wanted) over all states and cases; at least 1 where all pass."""
    margin: Array | None = None
    for multiple, wanted in _least_by_wanted(state_results(problem, space, orientation)):
        share = multiple / wanted
        if margin is None:
            margin = np.array(np.broadcast_to(share, space.shape))
        else:
            np.minimum(margin, share, out=margin)
    if margin is None:
        raise ValueError("the form has no limit state")
    return margin


def _least_by_wanted(results: Iterable[StateOnGrid]) -> Iterator[tuple[Array, Array]]:
    """Lowest multiple of all states that want the same factor, so that the grid is divided once for each."""
    least: dict[int, tuple[Array, Array]] = {}
    for result in results:
        found = least.get(id(result.wanted))
        multiple = result.multiple if found is None else np.minimum(found[0], result.multiple)
        least[id(result.wanted)] = (multiple, result.wanted)
    yield from least.values()


def log_sd(problem: Problem, result: StateOnGrid, material: str, number: int = 0) -> float:
    """Standard deviation of the logarithm of a multiple at failure, from the spread of all facts behind it.

    `number` is the place of `material` on the material axis of the space that `result` belongs to.
    """
    values = problem.values[material]
    derated = result.case.deratings[number]
    parts = [result.state.log_sd, derated.log_sd]
    if result.state.basis == "stiffness":
        parts.append(log_sd_of(values.modulus_mpa))
    else:
        parts.append(_strength_log_sd(problem, values, result))
    return math.sqrt(sum(part**2 for part in parts))


def _strength_log_sd(problem: Problem, values: EngineValues, result: StateOnGrid) -> float:
    """Doubt about the strength: from measured bars, from the log if it knows the material, or from the facts."""
    across = result.state.basis in ("across", "shear_between")
    learned = problem.learned.strength.get(values.material)
    if problem.record is None:
        along = learned.log_sd if learned is not None else log_sd_of(values.strength_mpa)
        return math.hypot(along, _ratio_log_sd(problem, values)) if across else along
    test = test_of(problem, result.case)
    here = _measured_log_sd(problem.record, values, across, test)
    if learned is not None:
        along = _measured_log_sd(problem.record, values, False, test)
        here = math.hypot(learned.log_sd, math.sqrt(max(here**2 - along**2, 0.0)))
    if across:
        here = math.hypot(here, BOND_LOG_SD)
    if not prediction.has_seen(problem.record, values.material, across):
        facts = _ratio_log_sd(problem, values) if across else log_sd_of(values.strength_mpa)
        here = math.hypot(here, facts)
    return here


def bending_gain(problem: Problem, result: StateOnGrid, one: Space) -> float:
    """Factor by which the section of the single candidate in `one` outdoes its outer fibre in `result`."""
    if result.state.key not in ("tension", "compression") or problem.record is None:
        return 1.0
    lie = result.case.lie
    strong = strength_block(problem, block_of(one, lie.orientation), result.case)
    if not strong.bending_exponent:
        return 1.0
    section = MEMBER.critical_section(problem.duty.form, result.case.demand, lie, strong)
    reserve = bending_reserve(section, strong.core_along(lie))
    return float(np.exp(strong.bending_exponent * reserve).reshape(-1)[0])


@dataclass(frozen=True, slots=True)
class Measured:
    """What measured bars change about a strength: a factor, and in words what was seen."""

    factor: float
    because: str


def measured_factor(problem: Problem, result: StateOnGrid, material: str) -> Measured | None:
    """The regression's factor on the strength that decides `result`; None without a record or for stiffness."""
    if problem.record is None or result.state.basis == "stiffness":
        return None
    across = result.state.basis in ("across", "shear_between")
    test = test_of(problem, result.case)
    if test == "compression" and result.state.basis != "pressed":
        test = "tension"
    mean, _ = prediction.correction(
        problem.record, [kind_of(problem.values[material])], across=across, test=test
    )
    return Measured(float(np.exp(mean[0])), _seen_words(problem.record, problem.values[material], across))


def _seen_words(record: Record, values: EngineValues, across: bool) -> str:
    way = "across" if across else "along"
    if not prediction.has_seen(record, values.material, across):
        return f"no bar of {values.name} was measured {way} its layers; the interval is wider for it"
    seen = record.seen[values.material]
    rows, studies = (seen.across if across else seen.along), seen.studies
    return (
        f"{rows} measured set{'s' if rows > 1 else ''} of bars of {values.name} {way} the layers, "
        f"{studies} {'studies' if studies > 1 else 'study'} of it"
    )


def _measured_log_sd(record: Record, values: EngineValues, across: bool, test: prediction.Test) -> float:
    return prediction.plain_correction(record, kind_of(values), across, test)[1]


def _ratio_log_sd(problem: Problem, values: EngineValues) -> float:
    ratio = values.interlayer_ratio_enclosed if problem.enclosed else values.interlayer_ratio
    return math.hypot(log_sd_of(ratio), BOND_LOG_SD)


def holds_for(problem: Problem, form: Any) -> bool:
    """Whether a changed `form` is one that can be, and its formulas hold under every load case."""
    return form.sizes_agree() and not any(validity_problems(with_form(problem, form)))


def validity_problems(problem: Problem) -> Iterator[str]:
    """Why no number may be given: the form's own limits, and a blow on a form whose give is not known."""
    model, form = problem.model, problem.duty.form
    for index, load in enumerate(problem.duty.loads):
        demand = model.demand(form, _as_unit_force(load), index, action_of(problem.duty, index))
        yield from model.problems(form, demand)
        imposed = demand.unit in ("mm", "deg")
        known = model.gives and demand.unit != "N·mm"
        if load.kind == "impact" and (load.mass or load.energy) and not imposed and not known:
            yield (
                f"how far a {form.kind} gives under a blow is not known, so its energy cannot be turned into a "
                "force; give the force of the blow instead"
            )


def with_form(problem: Problem, form: object) -> Problem:
    """The same problem for a part of another shape."""
    return replace(problem, duty=problem.duty.model_copy(update={"form": form}))
