"""Simulation of learning with a hidden truth, through a real log and the real engine.

    python tests/benchmarks/learning_simulation.py [DRAWS]      200 draws when left out

Synthetic. In each draw a spool has about 0.8 of the nominal strength, 5 mm holes come out about 0.15 mm small,
and prints take about 1.2 of the estimated time; the truth is drawn anew around these figures, and 30 prints are
broken, measured and timed with noise. After 1, 3, 10 and 30 entries of each kind the table shows the error, what
theory says of it, how often the 90 % interval holds the truth, and how close the settings chosen for a bar come
to those chosen by someone who knows the truth. Then the same with one figure in twenty typed ten times too large.

Whether an interval holds is yes or no, so 200 of them alone leave a standard error of 2 %. Therefore each truth is
learned from 20 sets of entries anew: one through the log, on which the settings are chosen, the others through the
classes and the learning alone, after a check that the first comes out the same both ways. The standard error shown
is that of the mean over the draws of the truth, each with its share of intervals that hold.
"""

from __future__ import annotations

import math
import sqlite3
import statistics
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from tabulate import tabulate

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from kb.loading import load_knowledge_base  # noqa: E402
from recommender.duty.reading import duty_from  # noqa: E402
from recommender.learned import NOTHING_LEARNED, Learned, LearnedFactor  # noqa: E402
from recommender.log import recording  # noqa: E402
from recommender.log.classes import lesson_of  # noqa: E402
from recommender.log.learning import lessons, size_advice, sizes  # noqa: E402
from recommender.log.learning.counts import EXACT, Group, counts_from  # noqa: E402
from recommender.log.learning.factors import BELIEFS, posterior_of  # noqa: E402
from recommender.log.learning.hierarchy import Beliefs  # noqa: E402
from recommender.log.prediction import print_from  # noqa: E402
from recommender.log.records import Observation, Print, new_id  # noqa: E402
from recommender.log.steps import DEVIATION_STEP_MM, LOG_RATIO_STEP  # noqa: E402
from recommender.log.store import open_store  # noqa: E402
from recommender.suggest import DEFAULT_PRINTER, assess, suggest  # noqa: E402

SEED = 20260
STAGES = (1, 3, 10, 30)
SLIP = 0.05
SETS = 20  # of entries for each truth, of which one goes through the log
SHEET = {
    "part": "synthetic bar",
    "form": {
        "kind": "bar",
        "length": "80 mm",
        "section": {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"},
    },
    "loads": [{"kind": "static", "action": "pull", "force": "200 N"}],
    "filaments": ["petg"],
}
HOLE = sizes.Feature("hole", 5.0)
TRUTH = {"strength": (math.log(0.8), 0.20), "time": (math.log(1.2), 0.12), "hole": (-0.15, 0.08)}
"""Mean and standard deviation of the hidden truth: of log factors, and of the hole's deviation in mm. Before any
entry the log believes 1.0 with 0.29 (as wide as this bar's predicted interval), 1.2 with 0.12, -0.28 with 0.11."""
NOISE = {"strength": 0.10, "time": 0.05, "hole": 0.05}
QUANTITIES = tuple(TRUTH)
UNITS = {"strength": "log", "time": "log", "hole": "mm"}
STEPS = {"strength": LOG_RATIO_STEP, "time": LOG_RATIO_STEP, "hole": DEVIATION_STEP_MM}

Truth = dict[str, float]
Interval = tuple[float, float, float]  # mean, and bounds that hold 90 %


@dataclass(slots=True)
class Scores:
    """Errors of one quantity at one stage, and the share of its intervals that hold, by draw of the truth."""

    errors: list[float] = field(default_factory=list)
    shares: list[float] = field(default_factory=list)


@dataclass(slots=True)
class Decisions:
    """Settings chosen against those chosen by someone who knows the truth."""

    same: list[bool] = field(default_factory=list)
    load_off: list[float] = field(default_factory=list)


@dataclass(slots=True)
class Found:
    """What came of some draws of the truth: scores by quantity and stage, decisions by stage."""

    scores: dict[tuple[str, int], Scores] = field(
        default_factory=lambda: {(name, stage): Scores() for name in QUANTITIES for stage in STAGES}
    )
    decisions: dict[int, Decisions] = field(
        default_factory=lambda: {stage: Decisions() for stage in (0, *STAGES)}
    )


def main(draws: int = 200) -> None:
    start = time.monotonic()
    with ProcessPoolExecutor(2) as both:
        runs = list(both.map(simulated, [draws, draws], [0.0, SLIP]))
    for slips, found in zip((0.0, SLIP), runs, strict=True):
        print(f"\n{draws} draws of the truth, {SETS} sets of entries each; {100 * slips:g} % of the figures typed "
              "ten times too large\n")  # fmt: skip
        print(table(found.scores))
        print()
        print(decision_table(found.decisions))
    print(f"\ntook {time.monotonic() - start:.0f} s")


def simulated(draws: int, slips: float) -> Found:
    """Scores and decisions of `draws` truths, of whose entries a share of `slips` is ten times too large."""
    knowledge, duty = load_knowledge_base(), duty_from(SHEET)
    entry = print_from(duty, SHEET, None, knowledge, NOTHING_LEARNED, spool="hidden truth")
    found = Found()
    for draw in range(draws):
        random = np.random.default_rng((SEED, draw))
        truth = {name: mean + sd * random.standard_normal() for name, (mean, sd) in TRUTH.items()}
        intervals = [_through_the_log(entry, duty, knowledge, truth, random, slips, found.decisions)]
        for _ in range(SETS - 1):
            observations = [_seen(entry, truth, random, slips) for _ in range(STAGES[-1])]
            intervals.append(_without_the_log(entry, knowledge, observations))
        _score(found.scores, truth, intervals)
    return found


def _through_the_log(
    entry: Print,
    duty: object,
    knowledge: object,
    truth: Truth,
    random: np.random.Generator,
    slips: float,
    decisions: dict[int, Decisions],
) -> dict[tuple[str, int], Interval]:
    """Intervals learned from a log in which 30 prints are entered one by one; and settings chosen from it."""
    wanted = suggest(duty, knowledge, known(truth)).choice  # type: ignore[arg-type]
    _decide(decisions[0], duty, knowledge, NOTHING_LEARNED, truth, wanted)
    intervals: dict[tuple[str, int], Interval] = {}
    entered: list[list[Observation]] = []
    with tempfile.TemporaryDirectory() as folder, closing(open_store(Path(folder) / "log.db")) as log:
        log.execute("PRAGMA synchronous = OFF")  # the disk is not what is tested here
        for number in range(1, STAGES[-1] + 1):
            entered.append(_enter(log, entry, truth, random, slips))
            if number in STAGES:
                intervals |= {(name, number): found for name, found in _learned(log, knowledge).items()}
                learned = lessons.learned_from(log, DEFAULT_PRINTER, "bar, medium", ["petg"])
                _decide(decisions[number], duty, knowledge, learned, truth, wanted)
    if not _agree(_without_the_log(entry, knowledge, entered), intervals):
        raise SystemExit("The log teaches something else than its entries: the two ways must agree.")
    return intervals


def known(truth: dict[str, float]) -> Learned:
    """What someone would apply who knows the truth."""
    strength = LearnedFactor(math.exp(truth["strength"]), NOISE["strength"])
    return Learned(
        strength={"petg": strength}, time={"petg": LearnedFactor(math.exp(truth["time"]), NOISE["time"])}
    )


def _enter(
    log: sqlite3.Connection, entry: Print, truth: Truth, random: np.random.Generator, slips: float
) -> list[Observation]:
    """One print, broken, timed and measured."""
    made = entry.model_copy(update={"id": new_id("p")})
    recording.add_print(log, made)
    observations = _seen(made, truth, random, slips)
    recording.add_observations(log, [recording.with_multiple(made, item) for item in observations])
    return observations


def _seen(made: Print, truth: Truth, random: np.random.Generator, slips: float) -> list[Observation]:
    """What is seen of one print: strength, time, hole."""
    seen = {name: truth[name] + NOISE[name] * random.standard_normal() for name in QUANTITIES}
    slip = {name: 10.0 if random.random() < slips else 1.0 for name in QUANTITIES}
    load = (made.test_typical or 0.0) * math.exp(seen["strength"]) * slip["strength"]
    amount = (made.time_min or 0.0) * math.exp(seen["time"]) * slip["time"]
    size = (HOLE.nominal + seen["hole"]) * slip["hole"]
    return [
        Observation(print_id=made.id, kind="broke", load=load),
        Observation(print_id=made.id, kind="time", amount=amount),
        Observation(print_id=made.id, kind="size", feature="hole", nominal_mm=HOLE.nominal, measured_mm=size),
    ]


def _learned(log: sqlite3.Connection, knowledge: object) -> dict[str, Interval]:
    """What the log teaches of each quantity."""
    intervals = {}
    for topic in ("strength", "time"):
        (lesson,) = lessons.lessons_of(log, topic, DEFAULT_PRINTER)
        intervals[topic] = (lesson.after.mean, lesson.after.low, lesson.after.high)
    return {**intervals, "hole": _hole(sizes.read_measured(log, DEFAULT_PRINTER, "petg"), knowledge)}


def _hole(measured: list[sizes.Measured], knowledge: object) -> Interval:
    believed = size_advice.shrinkage_believed(knowledge, ["petg"])  # type: ignore[arg-type]
    mean, sd = sizes.sizes_from(measured, sizes.Machine(DEFAULT_PRINTER), "petg", believed).deviation(HOLE)
    return mean, mean - sizes.NINE_IN_TEN * sd, mean + sizes.NINE_IN_TEN * sd


def _without_the_log(
    entry: Print, knowledge: object, observations: list[list[Observation]]
) -> dict[tuple[str, int], Interval]:
    """What is learned from these observations of 30 prints, straight from their classes."""
    intervals = {}
    for name, seen in zip(QUANTITIES, zip(*observations, strict=True), strict=True):
        values = [lesson_of(entry, item).value for item in seen]
        for stage in STAGES:
            few = sorted(values[:stage])
            intervals[name, stage] = _hole_of(few, knowledge) if name == "hole" else _factor(name, few, entry)
    return intervals


def _factor(name: str, values: list[int], entry: Print) -> Interval:
    spool = entry.spool if name == "strength" else ""
    group = Group(entry.source, entry.printer, entry.material, spool)
    counts = counts_from([(group, value * STEPS[name], EXACT) for value in values])
    found = posterior_of(group, counts, _beliefs(name, entry))
    return found.mean, found.low, found.high


def _beliefs(name: str, entry: Print) -> Beliefs:
    if name != "strength":
        return BELIEFS[name]
    assert entry.test_low and entry.test_high
    return lessons.as_sure_as(math.log(entry.test_high / entry.test_low) / (2 * 1.6449), BELIEFS[name])


def _hole_of(values: list[int], knowledge: object) -> Interval:
    machine = sizes.Machine(DEFAULT_PRINTER)
    deviations = [value * STEPS["hole"] for value in values]
    return _hole([sizes.Measured(machine, "petg", HOLE, deviation) for deviation in deviations], knowledge)


def _agree(one: dict[tuple[str, int], Interval], other: dict[tuple[str, int], Interval]) -> bool:
    return one.keys() == other.keys() and all(np.allclose(one[key], other[key], atol=1e-9) for key in one)


def _score(
    scores: dict[tuple[str, int], Scores], truth: Truth, intervals: list[dict[tuple[str, int], Interval]]
) -> None:
    for (name, stage), score in scores.items():
        found = [some[name, stage] for some in intervals]
        score.errors += [mean - truth[name] for mean, _, _ in found]
        score.shares.append(statistics.fmean(low <= truth[name] <= high for _, low, high in found))


def _decide(
    decisions: Decisions, duty: object, knowledge: object, learned: Learned, truth: Truth, wanted: object
) -> None:
    chosen = suggest(duty, knowledge, learned).choice  # type: ignore[arg-type]
    if chosen is None or wanted is None:
        decisions.same.append(chosen is wanted)
        decisions.load_off.append(0.0 if chosen is wanted else 1.0)
        return
    decisions.same.append(chosen.settings == wanted.settings)  # type: ignore[attr-defined]
    settings = chosen.settings._asdict()  # type: ignore[attr-defined]
    true = assess(duty, settings, knowledge, known(truth)).choice  # type: ignore[arg-type]
    best = wanted.failure_load.typical  # type: ignore[attr-defined]
    decisions.load_off.append(abs(true.failure_load.typical / best - 1.0) if true else 1.0)


def table(scores: dict[tuple[str, int], Scores]) -> str:
    """Errors and coverage by quantity and number of entries."""
    headers = [
        "what",
        "entries",
        "error (rms)",
        "noise / root n",
        "90 % intervals that hold",
        "standard error",
    ]
    return tabulate(
        [_row(name, stage, score) for (name, stage), score in scores.items()],
        headers=headers,
        disable_numparse=True,
    )


def _row(name: str, stage: int, score: Scores) -> list[object]:
    rms = math.sqrt(statistics.fmean(error**2 for error in score.errors))
    off_by = statistics.stdev(score.shares) / math.sqrt(len(score.shares)) if len(score.shares) > 1 else 1.0
    theory = NOISE[name] / math.sqrt(stage)
    held = f"{statistics.fmean(score.shares):.1%}"
    return [name, stage, f"{rms:.4f} {UNITS[name]}", f"{theory:.4f}", held, f"{off_by:.1%}"]


def decision_table(decisions: dict[int, Decisions]) -> str:
    """How close the settings chosen come to those of the known truth."""
    rows = [
        [stage, f"{statistics.fmean(found.same):.0%}", f"{statistics.fmean(found.load_off):.1%}"]
        for stage, found in decisions.items()
    ]
    headers = ["entries", "very same settings as with the truth known", "load borne, off from that choice"]
    return tabulate(rows, headers=headers, disable_numparse=True)


if __name__ == "__main__":
    main(*(int(text) for text in sys.argv[1:]))
