"""Choice among the candidates that pass: by the stated preference, with alternatives that differ in kind."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from recommender.candidates import INFILL_PERCENT, SKINS, WALLS, Space
from recommender.cost import Cost, Volumes, cost_of
from recommender.evaluation import Problem, block_of, margin_on_grid
from recommender.limit_states.form_model import Block, Envelope

if TYPE_CHECKING:
    from recommender.geometry.model_figures import OrientationFigures

Array = NDArray[np.float64]
Places = NDArray[np.intp]

GOALS = ("balanced", "fast", "light", "cheap", "strong")
# Weights of the balanced choice on the logarithms of time, money and mass, and what spare strength is worth up
# to half as much again; our own judgement of an even trade.
TIME_WEIGHT, MONEY_WEIGHT, MASS_WEIGHT, SPARE_WEIGHT, SPARE_UP_TO = 0.45, 0.35, 0.20, 0.25, 1.5
# A special plastic means buying a spool first; not where the sheet lists what is at hand (our own judgement).
USUAL_PRICE, ONLY_IF_NEEDED, CHEAP_SPOOL, SPOOL_EFFORT = 39.0, 10.0, 20.0, 0.30  # prices per kg
BENDS_ON_PURPOSE, SOFT_EFFORT = ("snap_arm", "living_hinge"), 0.5  # where a soft plastic is no drawback
STRONG_STEP = (
    0.05  # strengths within 5 % count as equal when the strongest is wanted; the lighter work decides
)
# Chance of a first-time-right print before the log has taught better (estimates; an open university studio saw
# 41 % of prints fail, 26 % by human error: kb/failures).
FIRST_TIME_RIGHT = 0.92
WARP_LOSS = {"low": 0.0, "medium": 0.04, "high": 0.12}
SLENDER_LOSS = 0.10  # a part more than eight times as high as its foot is wide
SLENDER = 8.0
SUPPORT_LOSS = 0.08  # a part that needs support
# What a balanced choice asks a material to make up for: strength known only as an estimate, long drying, and
# cold surroundings for a plastic that wants them warm (our own judgement, in log cost).
UNMEASURED_EFFORT, DRYING_EFFORT, COLD_EFFORT, LONG_DRYING_H = 0.20, 0.08, 0.20, 6.0
WARM_EFFORT, WARM_K = (
    0.20,
    30.0,
)  # within 30 K of softening little is known of strength (kb/design_factors D33)
BRITTLE_EFFORT, BRITTLE_PERCENT = 0.10, 3.5  # a plastic that breaks without warning


@dataclass(frozen=True, slots=True)
class Place:
    """Where a candidate stands: orientation and index on the grid."""

    orientation: str
    index: tuple[int, ...]
    score: float
    margin: float


@dataclass(frozen=True, slots=True)
class Chosen:
    """Best candidates: by goal, by material (balanced), and the strongest whether it passes or not."""

    best: dict[str, Place]
    by_material: dict[str, Place]
    strongest: Place | None
    evaluated: int
    passing: int


def chance_of_success(problem: Problem, material: str, envelope: Envelope) -> float:
    """Probability that the print succeeds the first time; from the log where it has taught one."""
    learned = problem.learned.first_time_right.get(material)
    if learned is not None:
        return learned[0]
    loss = WARP_LOSS.get(problem.values[material].warp_tendency, 0.04) * (0.5 if problem.enclosed else 1.0)
    if envelope.height > SLENDER * min(envelope.box[0], envelope.box[1]):
        loss += SLENDER_LOSS
    if envelope.support_mm3 > 0.02 * envelope.volume:
        loss += SUPPORT_LOSS
    return FIRST_TIME_RIGHT - loss


def fits_the_bed(problem: Problem, envelope: Envelope) -> bool:
    """Whether the part as laid fits the build volume, turned about the vertical if need be."""
    x, y, z = envelope.box
    bed_x, bed_y, bed_z = problem.printer.build_volume_mm
    return z <= bed_z and ((x <= bed_x and y <= bed_y) or (y <= bed_x and x <= bed_y))


def envelope_of(problem: Problem, orientation: str) -> Envelope:
    """What the printer lays: the model's figures where a model was read, else the form's own envelope."""
    form = problem.model.envelope(problem.duty.form, orientation)
    figures = _model_orientation(problem, form)
    if figures is None:
        return form
    assert problem.figures is not None
    foot = sorted(problem.figures.extents)
    foot.remove(min(foot, key=lambda extent: abs(extent - figures.height)))
    return replace(
        form, footprint=figures.footprint, perimeter=figures.outline_length, height=figures.height,
        box=(foot[1], foot[0], figures.height), capped=figures.footprint,
    )  # fmt: skip


def _model_orientation(problem: Problem, form: Envelope) -> OrientationFigures | None:
    """The model's figures in the orientation whose height is nearest to that of the form as laid."""
    if problem.figures is None:
        return None
    return min(problem.figures.orientations.values(), key=lambda known: abs(known.height - form.height))


def _volumes_of_model(problem: Problem, orientation: str, block: Block) -> Volumes | None:
    figures = _model_orientation(problem, problem.model.envelope(problem.duty.form, orientation))
    if figures is None:
        return None
    regions = figures.volumes(block.skins.walls_mm, 0.5 * (block.skins.top_mm + block.skins.bottom_mm))
    return Volumes(regions.walls, regions.closed, regions.core * block.core.density)


def costs_on_grid(problem: Problem, space: Space, orientation: str, envelope: Envelope) -> Cost:
    """Mass, filament, time and money on the grid of one orientation, with what the log has taught or is believed of prints."""
    values = [problem.values[key] for key in space.materials]

    def column(numbers: list[float]) -> Array:
        return space.on_axis("material", np.array(numbers))

    block = block_of(space, orientation)
    plain = cost_of(
        envelope,
        block,
        problem.printer,
        column([v.density_g_cm3.typical for v in values]),
        column([v.price_per_kg.typical for v in values]),
        column([v.max_flow_mm3_s.typical for v in values]),
        _volumes_of_model(problem, orientation, block),
    )
    learned = problem.learned
    mass = column([learned.mass_of(m).median for m in space.materials])
    time = column([learned.time_of(m).median for m in space.materials])
    time_s, mass_g = plain.time_s * time, plain.mass_g * mass
    machine = problem.printer.hourly_cost / 3600.0
    money = (plain.money - plain.time_s * machine) * mass + time_s * machine
    return Cost(mass_g, plain.filament_m * mass, time_s, money)


def choose(problem: Problem, space: Space) -> Chosen:
    """Best candidates over all orientations that fit the bed."""
    best: dict[str, Place] = {}
    by_material: dict[str, Place] = {}
    strongest: Place | None = None
    evaluated = passing = 0
    for orientation in orientations_of(problem):
        envelope = envelope_of(problem, orientation)
        if not fits_the_bed(problem, envelope):
            continue
        margin = margin_on_grid(problem, space, orientation)
        evaluated += margin.size
        passing_at = np.flatnonzero(margin >= 1.0)
        passing += passing_at.size
        flat = int(np.argmax(margin))
        strongest = _better(strongest, _at(orientation, -float(margin.flat[flat]), margin, flat))
        if not passing_at.size:
            continue
        scores = _scores(problem, space, orientation, envelope, margin, passing_at)
        for goal, score in scores.items():
            pick = int(np.argmin(score))
            place = _at(orientation, float(score[pick]), margin, int(passing_at[pick]))
            best[goal] = _better(best.get(goal), place)
        _best_by_material(by_material, space, orientation, scores["balanced"], margin, passing_at)
    return Chosen(best, by_material, strongest, evaluated, passing)


def smallest_passing(problem: Problem, one: Space, orientation: str) -> Space | None:
    """The settings of least work that pass with the material, pattern, layer and line of `one`; None without any.

    Work is print time, mass on a tie.
    """
    space = replace(
        one, walls=np.array(WALLS, dtype=float), top_layers=np.array(SKINS, dtype=float),
        bottom_layers=np.array(SKINS, dtype=float), infill_percent=np.array(INFILL_PERCENT),
    )  # fmt: skip
    margin = margin_on_grid(problem, space, orientation)
    if not (margin >= 1.0).any():
        return None
    cost = costs_on_grid(problem, space, orientation, envelope_of(problem, orientation))
    work = np.where(margin >= 1.0, cost.time_s + 1e-3 * cost.mass_g, np.inf)
    return space.narrowed_to(tuple(int(i) for i in np.unravel_index(int(np.argmin(work)), margin.shape)))


def orientations_of(problem: Problem) -> tuple[str, ...]:
    """Orientations that every load case allows."""
    sets = [problem.model.orientations(problem.duty.form, load) for load in problem.duty.loads]
    return tuple(o for o in sets[0] if all(o in other for other in sets[1:]))


def _scores(
    problem: Problem, space: Space, orientation: str, envelope: Envelope, margin: Array, at: Places
) -> dict[str, Array]:
    """Scores by goal, lower is better, of the candidates that stand `at` these flat places of the grid."""
    cost = costs_on_grid(problem, space, orientation, envelope)
    success = space.on_axis(
        "material", np.array([chance_of_success(problem, m, envelope) for m in space.materials])
    )

    def there(values: Array) -> Array:
        return np.asarray(np.broadcast_to(values, space.shape).reshape(-1)[at])

    margin, chance = there(margin), np.log(there(success))
    time, money = np.log(there(cost.time_s)) - chance, np.log(there(cost.money)) - chance
    mass = np.log(there(cost.mass_g))
    spare = np.log(np.clip(margin, 1e-9, SPARE_UP_TO))
    effort = there(space.on_axis("material", np.array([_effort(problem, m) for m in space.materials])))
    balanced = effort + TIME_WEIGHT * time + MONEY_WEIGHT * money + MASS_WEIGHT * mass - SPARE_WEIGHT * spare
    unusual = there(space.on_axis("material", np.array([_unusual(problem, m) for m in space.materials])))
    rest = 1e-3 * balanced + unusual
    return {
        "balanced": balanced,
        "fast": time + rest,
        "light": mass + rest,
        "cheap": money + rest,
        "strong": -np.floor(np.log(np.maximum(margin, 1e-9)) / STRONG_STEP) * STRONG_STEP + 1e-3 * balanced,
    }


def _unusual(problem: Problem, material: str) -> float:
    """So much that a special plastic is fastest, lightest or cheapest only where no usual one passes.

    Soft plastics are special where a part should keep its shape.
    """
    values = problem.values[material]
    special = values.price_per_kg.typical > USUAL_PRICE
    special |= values.soft and problem.duty.form.kind not in BENDS_ON_PURPOSE
    return ONLY_IF_NEEDED if special and not problem.duty.filaments else 0.0


def _effort(problem: Problem, material: str) -> float:
    values = problem.values[material]
    effort = UNMEASURED_EFFORT if values.strength_mpa.is_estimate else 0.0
    effort += SOFT_EFFORT if values.soft and problem.duty.form.kind not in BENDS_ON_PURPOSE else 0.0
    effort += WARM_EFFORT if values.softening_c.typical - problem.peak_c < WARM_K else 0.0
    effort += BRITTLE_EFFORT if values.elongation_percent.typical < BRITTLE_PERCENT else 0.0
    effort += DRYING_EFFORT if values.drying_hours.typical >= LONG_DRYING_H else 0.0
    if not problem.duty.filaments:
        effort += SPOOL_EFFORT * max(float(np.log(values.price_per_kg.typical / CHEAP_SPOOL)), 0.0)
    return effort + (COLD_EFFORT if values.chamber_need != "none" and not problem.enclosed else 0.0)


def _at(orientation: str, score: float, margin: Array, flat: int) -> Place:
    index = tuple(int(i) for i in np.unravel_index(flat, margin.shape))
    return Place(orientation, index, score, float(margin[index]))


def _better(first: Place | None, second: Place) -> Place:
    return second if first is None or second.score < first.score else first


def _best_by_material(
    found: dict[str, Place], space: Space, orientation: str, score: Array, margin: Array, at: Places
) -> None:
    each = margin.size // len(space.materials)
    bounds = np.searchsorted(at, each * np.arange(len(space.materials) + 1))
    for number, material in enumerate(space.materials):
        first, last = int(bounds[number]), int(bounds[number + 1])
        if last > first:
            pick = first + int(np.argmin(score[first:last]))
            place = _at(orientation, float(score[pick]), margin, int(at[pick]))
            found[material] = _better(found.get(material), place)
