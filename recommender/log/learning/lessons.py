"""What the log teaches for one duty, and for show: every factor before and after, and from which entries."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.learned import NOTHING_LEARNED, Learned, LearnedFactor
from recommender.log.location import store_path
from recommender.log.store import errors_explained, open_to_read

if TYPE_CHECKING:
    from recommender.duty.sheet import Duty
    from recommender.log.learning.counts import Counts, Group
    from recommender.log.learning.factors import Posterior
    from recommender.log.learning.hierarchy import Beliefs, Pool
    from recommender.log.learning.success import Chance

MOST_NAMED = 5  # entries named in a sentence
RECENT = 20  # prints whose predicted interval says how sure the prediction was
LEAST_PERSISTENT_SD = (
    0.20  # of log strength, between spools and printers, however sure a prediction claims to be:
)
# handling, setting and age of a spool are in no data sheet; estimate (grade C)
WORDS = {
    "strength": ("load test", "of the predicted strength"),
    "time": ("print time", "times the estimated time"),
    "mass": ("weighed print", "times the estimated mass"),
}


@dataclass(frozen=True, slots=True)
class Lesson:
    """One factor before and after the log: what, for which group, from which entries, and a sentence."""

    topic: str
    group: Group
    before: Posterior
    after: Posterior
    entries: tuple[str, ...]
    outliers: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The lesson in plain words."""
        noun, of_what = WORDS[self.topic]
        number = self.after.entries
        factor, low, high = (math.exp(x) for x in (self.after.mean, self.after.low, self.after.high))
        spool = f", spool {self.group.spool}" if self.group.spool else ""
        where = f"{self.group.material}{spool} on {self.group.printer or 'this printer'}"
        if not number:
            return f"your other prints suggest {factor:.2f} {of_what} for {where} ({low:.2f} to {high:.2f})"
        named = ", ".join(self.entries) + (" ..." if number > len(self.entries) else "")
        odd = f"; {', '.join(self.outliers)} lies far off and hardly counts" if self.outliers else ""
        return (
            f"you logged {number} {noun}{'s' if number > 1 else ''} of {where} ({named}): "
            f"{factor:.2f} {of_what} ({low:.2f} to {high:.2f}){odd}"
        )


@dataclass(frozen=True, slots=True)
class Whole:
    """Counts of one topic with the effects that all groups share."""

    topic: str
    counts: Counts
    beliefs: Beliefs
    pool: Pool


def learned_for(
    duty: Duty, materials: Iterable[str], store: Path | None = None, printer: str = ""
) -> Learned:
    """What the log at `store` (None: the usual place) teaches for `duty`; nothing where there is no log.

    `materials` are those that may be chosen; `printer` is the one the engine takes where the duty names none.
    """
    path = store_path(store)
    connection = open_to_read(path)
    if connection is None:
        return NOTHING_LEARNED
    with closing(connection), errors_explained(path):
        if connection.execute("SELECT 1 FROM summary LIMIT 1").fetchone() is None:
            return NOTHING_LEARNED
        return learned_from(connection, duty.printer or printer, _geometry(duty), materials)


def _geometry(duty: Duty) -> str:
    from recommender.log.geometry_class import geometry_class

    return geometry_class(duty)


def learned_from(
    connection: sqlite3.Connection, printer: str, geometry: str, materials: Iterable[str] = ()
) -> Learned:
    """What the log teaches for `printer` and the geometry class `geometry`, by material.

    Time and mass are told of all `materials`, for what one print teaches of a printer holds for its other
    materials too, and else those never logged would look quicker. Strength is told of logged materials only.
    """
    materials = tuple(materials)
    by_topic = {
        topic: {
            lesson.group.material: _as_factor(lesson)
            for lesson in lessons_of(connection, topic, printer, materials)
        }
        for topic in WORDS
    }
    return Learned(
        strength=by_topic["strength"],
        time=by_topic["time"],
        mass=by_topic["mass"],
        first_time_right=_chances(connection, printer, geometry),
    )


def _as_factor(lesson: Lesson) -> LearnedFactor:
    return LearnedFactor(
        median=math.exp(lesson.after.mean),
        log_sd=lesson.after.predictive_sd,
        entries=lesson.entries,
        because=lesson.sentence,
    )


def lessons_of(
    connection: sqlite3.Connection, topic: str, printer: str | None = None, materials: tuple[str, ...] = ()
) -> list[Lesson]:
    """Every factor of `topic` on `printer` (None: on every own printer), for the spool in use.

    Of time and mass, those of `materials` never logged are told too.
    """
    from recommender.log.learning.counts import read_counts
    from recommender.log.learning.factors import BELIEFS, TOPICS, pool_of

    counts = read_counts(connection, TOPICS[topic], printer)
    if not len(counts.value):
        return []
    beliefs = BELIEFS[topic] if topic != "strength" else _as_sure_as_predicted(connection, BELIEFS[topic])
    whole = Whole(topic, counts, beliefs, pool_of(counts, beliefs))
    return [
        _lesson(connection, whole, target)
        for target in _targets(connection, counts, topic, printer, materials)
    ]


def _as_sure_as_predicted(connection: sqlite3.Connection, beliefs: Beliefs) -> Beliefs:
    """Beliefs whose spread is that of the strengths predicted for the latest prints (the regression's)."""
    rows = connection.execute(
        "SELECT test_low, test_high FROM prints WHERE source = 'own' AND voided = 0 AND test_low > 0 "
        "AND test_high > test_low ORDER BY made_at DESC LIMIT ?",
        (RECENT,),
    ).fetchall()
    if not rows:
        return beliefs
    widths = sorted(math.log(row[1] / row[0]) / (2 * 1.6449) for row in rows)
    return as_sure_as(widths[len(widths) // 2], beliefs)


def as_sure_as(predicted_sd: float, beliefs: Beliefs) -> Beliefs:
    """Beliefs as wide as a predicted interval of this log standard deviation, less the scatter of prints."""
    from recommender.log.learning.factors import spread_of

    of_facts = max(predicted_sd**2 - spread_of(beliefs.scatter) ** 2, 0.0)
    return replace(beliefs, persistent_sd=max(math.sqrt(of_facts), LEAST_PERSISTENT_SD))


def _targets(
    connection: sqlite3.Connection,
    counts: Counts,
    topic: str,
    printer: str | None,
    materials: tuple[str, ...],
) -> Iterable[Group]:
    """The groups of which something is asked: each material of each own printer, with the spool in use."""
    from recommender.log.learning.counts import OWN, Group

    printers = dict.fromkeys(g.printer for g in counts.groups if g.is_own) if printer is None else [printer]
    for name in printers:
        own = {g.material for g in counts.groups if g.is_own and g.printer == name}
        more = {g.material for g in counts.groups} if topic == "strength" else set(materials)
        for material in sorted(own | more):
            spool = spool_in_use(connection, name, material) if topic == "strength" else ""
            yield Group(OWN, name, material, spool)


def spool_in_use(connection: sqlite3.Connection, printer: str, material: str) -> str:
    """The spool of the latest own print in this material on this printer; "" where there is none."""
    row = connection.execute(
        "SELECT g.spool, (SELECT max(p.made_at) FROM prints AS p WHERE p.group_id = g.id) AS latest "
        "FROM groups AS g WHERE g.source = 'own' AND g.printer = ? AND g.material = ? AND latest IS NOT NULL "
        "ORDER BY latest DESC, g.id DESC LIMIT 1",
        (printer, material),
    ).fetchone()
    return str(row[0]) if row else ""


def _lesson(connection: sqlite3.Connection, whole: Whole, target: Group) -> Lesson:
    from recommender.log.learning.factors import TOPICS, believed, posterior_of

    beliefs = whole.beliefs
    before = believed(beliefs)
    after = posterior_of(target, whole.counts, beliefs, whole.pool)
    entries = _entries(connection, target, TOPICS[whole.topic]) if after.entries else ()
    outliers = _outliers(connection, target, whole.topic, after) if after.outliers else ()
    return Lesson(whole.topic, target, before, after, entries, outliers)


def _entries(connection: sqlite3.Connection, group: Group, topics: tuple[str, ...]) -> tuple[str, ...]:
    """The latest entries of a group on these topics."""
    marks = ", ".join("?" * len(topics))
    rows = connection.execute(
        # CROSS JOIN keeps the order: the group's latest prints first, until enough entries are found.
        "SELECT o.id FROM prints AS p CROSS JOIN observations AS o ON o.print_id = p.id "
        f"WHERE p.{_column(topics[0])} = {GROUP_NUMBER} AND p.voided = 0 AND o.voided = 0 "
        f"AND +o.topic IN ({marks}) ORDER BY p.made_at DESC LIMIT ?",
        (group.source, group.printer, group.material, group.spool, *topics, MOST_NAMED),
    )
    return tuple(str(row[0]) for row in rows)


GROUP_NUMBER = "(SELECT id FROM groups WHERE source = ? AND printer = ? AND material = ? AND spool = ?)"


def _column(topic: str) -> str:
    """Column of a print that names its group for this topic."""
    return "pool_id" if topic in ("time", "mass") else "group_id"


def _outliers(connection: sqlite3.Connection, group: Group, topic: str, after: Posterior) -> tuple[str, ...]:
    """Latest entries of a group that lie far off."""
    from recommender.log.learning.heavy_tails import OUTLIER_AT
    from recommender.log.steps import LOG_RATIO_STEP

    exact = "broke" if topic == "strength" else topic
    reach = OUTLIER_AT * after.scatter
    low, high = ((after.mean + sign * reach) / LOG_RATIO_STEP for sign in (-1, 1))
    found: list[sqlite3.Row] = []
    for beyond, bound in (("<", low), (">", high)):
        # The plus keeps SQLite from walking the whole group: few entries are far off, so start from these.
        found += connection.execute(
            "SELECT p.made_at, o.id FROM observations AS o INDEXED BY observations_by_value "
            f"JOIN prints AS p ON p.id = o.print_id WHERE o.topic = ? AND o.value_class {beyond} ? "
            f"AND +p.{_column(exact)} = {GROUP_NUMBER} AND p.voided = 0 AND o.voided = 0",
            (exact, bound, group.source, group.printer, group.material, group.spool),
        ).fetchall()
    latest = sorted(found, key=lambda row: (row[0], row[1]), reverse=True)
    return tuple(str(row[1]) for row in latest[:MOST_NAMED])


def _chances(connection: sqlite3.Connection, printer: str, geometry: str) -> dict[str, tuple[float, str]]:
    from recommender.log.learning.success import chance_of, read_tallies

    tallies = read_tallies(connection)
    chances = {}
    for material in sorted({t.material for t in tallies if t.is_own and t.printer == printer}):
        chance = chance_of(tallies, printer, material, geometry)
        because = (
            f"you logged how {chance.tried} print{'s' if chance.tried != 1 else ''} of {material} on {printer} "
            f"came out: {chance.mean:.0%} of such parts should be right the first time"
        )
        chances[material] = (chance.mean, because)
    return chances


def chances_of(connection: sqlite3.Connection, printer: str | None) -> dict[tuple[str, str, str], Chance]:
    """Chance of a first-time-right print by own printer, material and geometry class."""
    from recommender.log.learning.success import chance_of, read_tallies

    tallies = read_tallies(connection)
    kinds = {(t.printer, t.material, t.geometry) for t in tallies if t.is_own}
    return {key: chance_of(tallies, *key) for key in sorted(kinds) if printer in (None, key[0])}


def latest_printer(connection: sqlite3.Connection) -> str | None:
    """The printer of the latest own print; None where there is none."""
    row = connection.execute(
        "SELECT printer FROM prints WHERE source = 'own' AND voided = 0 ORDER BY made_at DESC LIMIT 1"
    ).fetchone()
    return str(row[0]) if row and row[0] else None


def as_mapping(lesson: Lesson) -> dict[str, Any]:
    """A lesson as plain mappings for JSON: factors before and after, each with bounds that hold 90 %."""
    group = lesson.group
    return {
        "topic": lesson.topic,
        "printer": group.printer,
        "material": group.material,
        "spool": group.spool,
        "before": _factor_mapping(lesson.before),
        "after": _factor_mapping(lesson.after),
        "number_of_entries": lesson.after.entries,
        "latest_entries": list(lesson.entries),
        "outliers": list(lesson.outliers),
        "because": lesson.sentence,
    }


def _factor_mapping(posterior: Posterior) -> dict[str, float]:
    return {
        "median": math.exp(posterior.mean),
        "low": math.exp(posterior.low),
        "high": math.exp(posterior.high),
        "log_sd_of_next": posterior.predictive_sd,
    }


def chance_mapping(key: tuple[str, str, str], chance: Chance) -> dict[str, Any]:
    """A chance as plain mappings for JSON."""
    low, high = chance.bounds()
    names = dict(zip(("printer", "material", "geometry"), key, strict=True))
    return {**names, "chance": chance.mean, "low": low, "high": high, "prints": chance.tried}


def as_text(lessons: list[Lesson], chances: dict[tuple[str, str, str], Chance]) -> str:
    """All lessons in plain words, at most 80 columns."""
    from textwrap import fill

    from tabulate import tabulate

    if not lessons and not chances:
        return "The log has taught nothing yet: enter what you measured with `partduty log observe`."
    rows = [
        [
            lesson.topic,
            f"{lesson.group.material}{' / ' + lesson.group.spool if lesson.group.spool else ''}"[:22],
            lesson.group.printer[:12],
            _shown(lesson.before),
            _shown(lesson.after),
            lesson.after.entries,
        ]
        for lesson in lessons
    ]
    headers = ["factor", "material / spool", "printer", "before", "after", "entries"]
    parts = [tabulate(rows, headers=headers, disable_numparse=True)] if rows else []
    parts += [fill(f"Because {lesson.sentence}.", 80) for lesson in lessons if lesson.after.entries]
    success = [
        [material, geometry, printer[:12], f"{chance.mean:.0%}", chance.tried]
        for (printer, material, geometry), chance in chances.items()
    ]
    if success:
        headers = ["material", "kind of part", "printer", "right first time", "prints"]
        parts.append(tabulate(success, headers=headers, disable_numparse=True))
    return "\n\n".join(parts)


def _shown(posterior: Posterior) -> str:
    middle, low, high = (math.exp(x) for x in (posterior.mean, posterior.low, posterior.high))
    return f"{middle:.2f} ({low:.2f}-{high:.2f})"
