"""From a case to the page: a note where a load may be stated, a plain refusal where it may not."""

from __future__ import annotations

from recommender.answer import Notice
from recommender.report.note import blocks
from recommender.report.note.case import Case
from recommender.report.note.cleaning import clean
from recommender.report.note.content import Block, Kind, Labels, Line, Note

MOST_REASONS = 6
LONGEST_PART = 200
LONGEST_LEAD = 300


def compose(case: Case) -> Note:
    """The page for the reader of `case`: a note, or a refusal page that states no load and no settings."""
    if case.answer.verdict == "refused" or case.answer.refusals:
        return refusal_page(case)
    return safety_note(case) if case.is_assessed else nothing_suitable_page(case)


def safety_note(case: Case) -> Note:
    """The note itself, its blocks in the order of use."""
    parts = (
        blocks.trace,
        blocks.purpose,
        blocks.not_for,
        blocks.warnings,
        blocks.fit,
        blocks.check,
        blocks.stop,
        blocks.clean_and_store,
        blocks.wrong,
        blocks.tested,
        blocks.ask,
    )
    say = case.reader.say
    return page(
        case,
        "note",
        say("title.note"),
        clean(case.duty.purpose, LONGEST_LEAD) or say(f"form.{case.duty.form.kind}"),
        tuple(part(case) for part in parts),
        (say("closing.keep"), say("closing.not_certificate")),
        blocks.figures(case),
    )


def refusal_page(case: Case) -> Note:
    """Why there is no note, whom to consult and what to do next."""
    say, refusals = case.reader.say, case.answer.refusals
    shown = refusals[:MOST_REASONS]
    body = [
        Block("why", say("refusal.why"), "bullets", tuple(_reason(refusal, case) for refusal in shown)),
        Block("who", say("refusal.who"), "bullets", _who(case, shown)),
        Block("next", say("refusal.next"), "bullets", _next_steps(case, shown)),
    ]
    return page(
        case,
        "refusal",
        say("title.refusal"),
        say("refusal.refused"),
        tuple(body),
        (say("closing.not_certificate"),),
    )


def _reason(refusal: Notice, case: Case) -> Line:
    words = case.reader.wording
    hazard = words.row(refusal.key, "hazard", refusal.hazard)
    result = words.row(refusal.key, "result", refusal.result)
    return Line(f"{hazard} {result}", label=_as_label(case.gate_text(refusal.key, "use"), case))


def _as_label(text: str, case: Case) -> str:
    return f"{text}{case.reader.say('colon')}" if text else ""


def _who(case: Case, refusals: tuple[Notice, ...]) -> tuple[Line, ...]:
    people = blocks.expert_words(case, [refusal.ask for refusal in refusals], most=8)
    first = Line(case.reader.say("ask.first"))
    return (Line(people), first) if people else (first,)


def _next_steps(case: Case, refusals: tuple[Notice, ...]) -> tuple[Line, ...]:
    say, words = case.reader.say, case.reader.wording
    own = [text for text in (case.gate_text(refusal.key, "next_step") for refusal in refusals) if text]
    do_this = [words.row(refusal.key, "do_this", refusal.do_this) for refusal in refusals]
    steps = [*dict.fromkeys([*do_this, *own])] + ([] if own else [say("refusal.rated")])
    return tuple(Line(step) for step in steps)


def nothing_suitable_page(case: Case) -> Note:
    """The page where no setting passed: nothing to hand over, and what could help."""
    say, answer = case.reader.say, case.answer
    body = [
        Block("why", say("refusal.why"), "bullets", (Line(say("refusal.none_why")),)),
        Block(
            "next",
            say("refusal.next"),
            "bullets",
            (Line(say("refusal.none_next")), Line(say("ask.first"))),
        ),
    ]
    details = tuple(
        Line(clean(text, 200)) for text in (*answer.reasons, *answer.nearest_changes)[:MOST_REASONS]
    )
    if details:
        title = say(
            "refusal.nearest" if case.reader.wording.language == "en" else "refusal.reason_in_english"
        )
        body.insert(1, Block("details", title, "bullets", details))
    return page(
        case,
        "refusal",
        say("title.none"),
        say("refusal.none_why"),
        tuple(body),
        (say("closing.not_certificate"),),
    )


def page(
    case: Case,
    kind: Kind,
    heading: str,
    lead: str,
    body: tuple[Block, ...],
    closing: tuple[str, ...],
    figures: tuple[object, ...] = (),
) -> Note:
    """A page with the words that every page carries."""
    say, words = case.reader.say, case.reader.wording
    part = clean(case.duty.part, LONGEST_PART) or say(f"form.{case.duty.form.kind}")
    lines = list(closing)
    if not words.is_reviewed:
        lines.append(say("closing.unreviewed"))
    if case.answer.knowledge_version:
        lines.append(_versions(case))
    return Note(
        kind=kind,
        language=words.language,
        heading=heading,
        part=part,
        document_title=say("title.page", title=heading, part=part),
        lead=lead,
        figures=figures,  # type: ignore[arg-type]
        blocks=body,
        closing=tuple(lines),
        labels=Labels(
            say("warnings.hazard"),
            say("warnings.result"),
            say("warnings.do_this"),
            say("warnings.symbol"),
            say("colon"),
        ),
    )


def _versions(case: Case) -> str:
    answer = case.answer
    facts = clean(answer.knowledge_version, 24)
    if not answer.model_version:
        return case.reader.say("closing.facts", facts=facts)
    return case.reader.say("closing.versions", facts=facts, model=clean(answer.model_version, 24))
