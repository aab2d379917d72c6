"""Which cautions stand on the reader's page: those about use, the worst first, five at most."""

from __future__ import annotations

from collections.abc import Iterable

from recommender.answer import Notice
from recommender.report.note.case import Case
from recommender.report.note.content import SIGNALS, Box

MOST_BOXES = 5


def warning_boxes(case: Case) -> tuple[Box, ...]:
    """The boxes of the reader's page."""
    chosen = [notice for notice in _once(case) if not is_for_the_maker(notice, case)]
    return tuple(box_of(notice, case) for notice in worst_first(chosen)[:MOST_BOXES])


def maker_cautions(case: Case) -> tuple[Notice, ...]:
    """Cautions for whoever makes the part, the worst first."""
    return tuple(worst_first(notice for notice in _once(case) if is_for_the_maker(notice, case)))


def is_for_the_maker(notice: Notice, case: Case) -> bool:
    """Whether the caution speaks to whoever prints, tests or sells the part, not to whoever uses it."""
    return str(case.rows.get(notice.key, {}).get("audience", "user")) != "user"


def _once(case: Case) -> list[Notice]:
    return list({notice.key: notice for notice in case.answer.cautions}.values())


def worst_first(notices: Iterable[Notice]) -> list[Notice]:
    """Notices by signal word; those of one word stay in the order given."""
    return sorted(notices, key=lambda notice: SIGNALS.index(notice.signal))


def box_of(notice: Notice, case: Case) -> Box:
    """A caution in the reader's language."""
    words = case.reader.wording
    return Box(
        key=notice.key,
        signal=notice.signal,  # type: ignore[arg-type]
        word=words.say(f"signal.{notice.signal}"),
        hazard=words.row(notice.key, "hazard", notice.hazard),
        result=words.row(notice.key, "result", notice.result),
        do_this=words.row(notice.key, "do_this", notice.do_this),
    )
