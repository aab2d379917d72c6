"""Simulation of learning with a hidden truth, through a real log and the real engine.

    python tests/benchmarks/learning_simulation.py [DRAWS]      200 draws when left out

Synthetic. In each draw a spool has about 0.8 of the nominal strength, 5 mm holes come out about 0.15 mm small,
and prints take about 1.2 of the estimated time; the truth is drawn anew around these figures, and 30 prints are
broken, measured and timed with noise. After 1, 3, 10 and 30 entries of each kind the table shows the error, what
theory says of it, how often the 90 % interval holds the truth, and how close the settings chosen for a bar come
to those chosen by someone who knows the truth. Intervals are counted over three times as many draws as well. Then the same with one figure in twenty typed ten times too large.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
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
from recommender.log.learning import lessons, size_advice, sizes  # noqa: E402
from recommender.log.learning.factors import BELIEFS  # noqa: E402
from recommender.log.prediction import print_from  # noqa: E402
from recommender.log.records import Observation, Print, new_id  # noqa: E402
from recommender.log.store import open_store  # noqa: E402
from recommender.suggest import DEFAULT_PRINTER, assess, suggest  # noqa: E402

SEED = 20260
STAGES = (1, 3, 10, 30)
SLIP = 0.05
MORE = 3  # intervals are counted over this many times the draws: 200 alone leave a standard error of 2 %
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
"""Mean and standard deviation of the hidden truth: of log factors, and of the hole's deviation in mm. As wide
as the beliefs before any entry claim; narrower, and the intervals after one entry would be too wide."""
NOISE = {"strength": 0.10, "time": 0.05, "hole": 0.05}
QUANTITIES = tuple(TRUTH)
UNITS = {"strength": "log", "time": "log", "hole": "mm"}


@dataclass(slots=True)
class Scores:
    """Errors and hits of one quantity at one stage, over all draws."""

    errors: list[float] = field(default_factory=list)
    hits: list[bool] = field(default_factory=list)


@dataclass(slots=True)
class Decisions:
    """Settings chosen against those chosen by someone who knows the truth."""

    same: int = 0
    load_off: list[float] = field(default_factory=list)


def main(draws: int = 200) -> None:
    start = time.monotonic()
    for slips in (0.0, SLIP):
        scores, decisions = simulated(draws, slips)
        print(f"\n{draws} draws, {100 * slips:g} % of the figures typed ten times too large\n")
        print(table(scores, draws))
        print()
        print(decision_table(decisions, draws))
    print(f"\ntook {time.monotonic() - start:.0f} s")


def simulated(draws: int, slips: float) -> tuple[dict[tuple[str, int], Scores], dict[int, Decisions]]:
    """Scores by quantity and stage, and decisions by stage."""
    random = np.random.default_rng(SEED)
    knowledge, duty = load_knowledge_base(), duty_from(SHEET)
    entry = print_from(duty, SHEET, None, knowledge, NOTHING_LEARNED, spool="hidden truth")
    scores = {(name, stage): Scores() for name in QUANTITIES for stage in STAGES}
    decisions = {stage: Decisions() for stage in (0, *STAGES)}
    for draw in range(MORE * draws):
        truth = {name: mean + sd * random.standard_normal() for name, (mean, sd) in TRUTH.items()}
        deciding = draw < draws
        wanted = suggest(duty, knowledge, known(truth)).choice if deciding else None
        if deciding:
            _decide(decisions[0], duty, knowledge, NOTHING_LEARNED, truth, wanted)
        with tempfile.TemporaryDirectory() as folder, closing(open_store(Path(folder) / "log.db")) as log:
            log.execute("PRAGMA synchronous = OFF")  # the disk is not what is tested here
            for number in range(1, STAGES[-1] + 1):
                _enter(log, entry, truth, random, slips)
                if number in STAGES:
                    _score_all(log, knowledge, truth, scores, number)
                    if deciding:
                        learned = lessons.learned_from(log, DEFAULT_PRINTER, "bar, medium", ["petg"])
                        _decide(decisions[number], duty, knowledge, learned, truth, wanted)
    return scores, decisions


def known(truth: dict[str, float]) -> Learned:
    """What someone would apply who knows the truth."""
    strength = LearnedFactor(math.exp(truth["strength"]), BELIEFS["strength"].scatter)
    return Learned(strength={"petg": strength}, time={"petg": LearnedFactor(math.exp(truth["time"]), 0.05)})


def _enter(
    log: object, entry: Print, truth: dict[str, float], random: np.random.Generator, slips: float
) -> None:
    """One print, broken, timed and measured."""
    made = entry.model_copy(update={"id": new_id("p")})
    recording.add_print(log, made)  # type: ignore[arg-type]
    seen = {name: truth[name] + NOISE[name] * random.standard_normal() for name in QUANTITIES}
    slip = {name: 10.0 if random.random() < slips else 1.0 for name in QUANTITIES}
    load = (made.test_typical or 0.0) * math.exp(seen["strength"]) * slip["strength"]
    amount = (made.time_min or 0.0) * math.exp(seen["time"]) * slip["time"]
    size = (HOLE.nominal + seen["hole"]) * slip["hole"]
    observations = [
        Observation(print_id=made.id, kind="broke", load=load),
        Observation(print_id=made.id, kind="time", amount=amount),
        Observation(print_id=made.id, kind="size", feature="hole", nominal_mm=HOLE.nominal, measured_mm=size),
    ]
    recording.add_observations(
        log,  # type: ignore[arg-type]
        [recording.with_multiple(made, item) for item in observations],
    )


def _score_all(
    log: object, knowledge: object, truth: dict[str, float], scores: dict[tuple[str, int], Scores], stage: int
) -> None:
    for topic in ("strength", "time"):
        (lesson,) = lessons.lessons_of(log, topic, DEFAULT_PRINTER)  # type: ignore[arg-type]
        after = lesson.after
        _score(scores[topic, stage], after.mean, after.low, after.high, truth[topic])
    measured = sizes.read_measured(log, DEFAULT_PRINTER, "petg")  # type: ignore[arg-type]
    believed = size_advice.shrinkage_believed(knowledge, ["petg"])  # type: ignore[arg-type]
    mean, sd = sizes.sizes_from(measured, sizes.Machine(DEFAULT_PRINTER), "petg", believed).deviation(HOLE)
    half = sizes.NINE_IN_TEN * sd
    _score(scores["hole", stage], mean, mean - half, mean + half, truth["hole"])


def _score(score: Scores, mean: float, low: float, high: float, truth: float) -> None:
    score.errors.append(mean - truth)
    score.hits.append(low <= truth <= high)


def _decide(
    decisions: Decisions,
    duty: object,
    knowledge: object,
    learned: Learned,
    truth: dict[str, float],
    wanted: object,
) -> None:
    chosen = suggest(duty, knowledge, learned).choice  # type: ignore[arg-type]
    if chosen is None or wanted is None:
        decisions.same += chosen is wanted
        decisions.load_off.append(0.0 if chosen is wanted else 1.0)
        return
    decisions.same += chosen.settings == wanted.settings  # type: ignore[attr-defined]
    settings = {name: getattr(chosen.settings, name) for name in chosen.settings.__slots__}
    true = assess(duty, settings, knowledge, known(truth)).choice  # type: ignore[arg-type]
    best = wanted.failure_load.typical  # type: ignore[attr-defined]
    decisions.load_off.append(abs(true.failure_load.typical / best - 1.0) if true else 1.0)


def table(scores: dict[tuple[str, int], Scores], draws: int) -> str:
    """Errors and coverage by quantity and number of entries."""
    rows = []
    for (name, stage), score in scores.items():
        rmse = math.sqrt(sum(error**2 for error in score.errors) / len(score.errors))
        theory = NOISE[name] / math.sqrt(stage)
        first, all_of_them = (sum(hits) / len(hits) for hits in (score.hits[:draws], score.hits))
        rows.append(
            [name, stage, f"{rmse:.4f} {UNITS[name]}", f"{theory:.4f}", f"{first:.1%}", f"{all_of_them:.1%}"]
        )
    headers = [
        "what",
        "entries",
        "error (rms)",
        "noise / root n",
        f"holds ({draws})",
        f"holds ({MORE * draws})",
    ]
    return tabulate(rows, headers=headers, disable_numparse=True)


def decision_table(decisions: dict[int, Decisions], draws: int) -> str:
    """How close the settings chosen come to those of the known truth."""
    rows = [
        [stage, f"{found.same / draws:.0%}", f"{100 * sum(found.load_off) / draws:.1f} %"]
        for stage, found in decisions.items()
    ]
    headers = ["entries", "very same settings as with the truth known", "load borne, off from that choice"]
    return tabulate(rows, headers=headers, disable_numparse=True)


if __name__ == "__main__":
    main(*(int(text) for text in sys.argv[1:]))
