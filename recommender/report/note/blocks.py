"""The blocks of a safety note, in the order in which a reader needs them."""

from __future__ import annotations

import math

from kb.wording import slug
from recommender.report.note.case import Case, Feedstock, HeldTest
from recommender.report.note.cleaning import clean
from recommender.report.note.content import Block, Figure, Line
from recommender.report.note.loads import (
    amount,
    is_own_spring,
    least_of,
    load_lines,
    reach_in_time,
    retirement_s,
)
from recommender.report.note.measures import rounded_down
from recommender.report.note.warnings import warning_boxes

LEAST_NOT_FOR, MOST_NOT_FOR = 3, 6
MOST_EXPERTS = 4
MOST_SIZES = 3
LEAST_FACTOR_TOLD = 1.5  # below this the limit is one of movement or strain, not of a break

CRACKED_BY_FLUIDS = frozenset({"PC", "ABS", "ASA", "HIPS", "PMMA", "styrenic", "polycarbonate", "acrylic"})
SOFTENED_BY_DAMP = frozenset({"PA", "polyamide"})
CONDUCTING_FILLERS = frozenset({"carbon_fibre", "carbon fibre", "carbon_black", "graphene", "cnt", "metal"})
SCREWED = frozenset({"bracket"})


def trace(case: Case) -> Block:
    """Who made what and when; what is missing is named as missing."""
    say, maker, trace_of = case.reader.say, case.maker, case.trace
    given = (
        ("made_by", maker.name),
        ("address", maker.address),
        ("contact", maker.contact),
        ("batch", trace_of.batch),
        ("date", trace_of.made_on),
        ("plastic", plastic(case)),
        ("colour", trace_of.colour),
    )
    lines = tuple(Line(clean(text) or say("trace.missing"), label=say(f"trace.{key}")) for key, text in given)
    return Block("trace", say("trace.title"), "facts", lines)


def plastic(case: Case) -> str:
    """Name of the plastic: as logged, or of the chosen material."""
    if case.trace.plastic:
        return case.trace.plastic
    if case.feedstock is not None:
        return _plastic_name(case.feedstock, case)
    return case.answer.choice.settings.material if case.answer.choice else ""


def _plastic_name(stuff: Feedstock, case: Case) -> str:
    """Name of the plastic in the reader's language; short names ("PETG") are the same in all."""
    filled, words = f"plastic.{slug(stuff.filler)}", case.reader.wording
    if stuff.filler and words.has(filled):
        return words.say(filled, base=stuff.name.split(" with ")[0])
    return words.say(f"plastic.{stuff.key}") if words.has(f"plastic.{stuff.key}") else stuff.name


def figures(case: Case) -> tuple[Figure, ...]:
    """What must be seen first: how much, how hot, how long."""
    say = case.reader.say
    return (
        _load_figure(case),
        Figure(say("figure.hottest"), case.reader.hottest(case.hottest_c), say("figure.hottest_note")),
        Figure(say("figure.retire"), retirement(case), say("figure.retire_note")),
    )


def _load_figure(case: Case) -> Figure:
    """The load; of several of one kind of quantity the least, which none of them falls short of."""
    say, loads = case.reader.say, case.duty.loads
    if all(is_own_spring(load, case) for load in loads):
        fewest = min(loads, key=lambda load: load.cycles or 1)
        often = reach_in_time(fewest, case).lstrip(", ")
        return Figure(say("figure.uses"), often or say("figure.by_hand"), say("load.own_spring"))
    if len(loads) == 1:
        return Figure(say("figure.load"), amount(loads[0], case), reach_in_time(loads[0], case).lstrip(", "))
    least = least_of(loads)
    if least is None:
        return Figure(say("figure.load"), say("figure.see_list"))
    return Figure(say("figure.load"), amount(least, case), say("figure.least", n=len(loads)))


def purpose(case: Case) -> Block:
    """What the part is for: loads, place, users; use and greatest heat stand at the head of the page."""
    duty, say = case.duty, case.reader.say
    place = say("purpose.outdoors" if duty.place.outdoors else "purpose.indoors")
    lines = (
        *load_lines(case),
        Line(_coldest(case), label=say("figure.coldest")),
        Line(
            say("purpose.place_and_water", place=place, water=say(f"purpose.{duty.place.water}")),
            label=say("purpose.place"),
        ),
        Line(_users(case), label=say("purpose.users")),
    )
    return Block("purpose", say("purpose.title"), "facts", lines)


def _coldest(case: Case) -> str:
    lowest = case.duty.place.lowest_temperature
    return case.reader.say("purpose.coldest_missing") if lowest is None else case.reader.coldest(lowest)


def _users(case: Case) -> str:
    age = case.duty.people.youngest_user_years
    if age >= 18:
        return case.reader.say("purpose.adults")
    return case.reader.say("purpose.from_age", age=math.ceil(age))


def not_for(case: Case) -> Block:
    """Near misses of a refusal, filled up to three lines with what no printed part is for."""
    say = case.reader.say
    near = [text for text in (case.gate_text(key, "not_for") for key in case.near_misses) if text]
    near = near[: MOST_NOT_FOR - 1]
    usual = [say(f"not_for.{key}") for key in ("people", "over_people")]
    texts = [*near, *usual[: max(0, LEAST_NOT_FOR - 1 - len(near))], say("not_for.other_use")]
    return Block("not_for", say("not_for.title"), "crosses", tuple(Line(text) for text in texts))


def warnings(case: Case) -> Block:
    """At most five warnings, the worst first; a plain line where there are none."""
    say, boxes = case.reader.say, warning_boxes(case)
    lines = () if boxes else (Line(say("warnings.none")),)
    return Block("warnings", say("warnings.title"), "boxes", lines, boxes)


_FIT_STEPS: dict[str, str] = {
    "bracket": "screws",
    "screw_boss": "one_screw",
    "insert_boss": "insert",
    "hook": "hook",
    "lever": "lever",
    "snap_arm": "snap",
    "press_fit": "press",
    "hinge_knuckle": "hinge",
    "living_hinge": "hinge",
    "shaft": "shaft",
    "gear": "gear",
    "plate": "plate",
}


def fit(case: Case) -> Block:
    """Numbered steps, only those that matter for safety."""
    duty, say = case.duty, case.reader.say
    steps = [say("fit.look_first"), say(f"fit.{_FIT_STEPS.get(duty.form.kind, 'member')}"), _load_step(case)]
    if duty.form.kind in SCREWED:
        steps.append(say("fit.tighten"))
    if duty.people.below == "people":
        steps += [say("fit.backup"), say("fit.keep_clear")]
    if duty.people.below == "goods":
        steps.append(say("fit.fragile"))
    steps.append(say("fit.heat", temperature=case.reader.hottest(case.hottest_c)))
    lines = (*(Line(step) for step in steps if step), Line(say("fit.change"), spare=True))
    return Block("fit", say("fit.title"), "steps", lines)


def _load_step(case: Case) -> str:
    say, loads = case.reader.say, case.duty.loads
    if len(loads) > 1:
        return say("fit.loads")
    only = loads[0]
    if only.torque is not None:
        return say("fit.torque", load=amount(only, case))
    if only.kind == "impact" or (only.force is None and only.pressure is None):
        return ""
    return say("fit.load", load=amount(only, case))


def check(case: Case) -> Block:
    """What to look for and how often: from consequence and hardness of service (D37, D38)."""
    say = case.reader.say
    months = inspection_months(case)
    often = say("check.full_year") if months == 12 else say("check.full_months", months=months)
    first = say("check.each_use" if months < 12 else "check.before_use")
    lines = [Line(first), Line(often)]
    lines += [Line(say(f"check.{key}"), spare=True) for key in _look_at(case)]
    lines.append(Line(say("check.touch"), spare=True))
    return Block("check", say("check.title"), "bullets", tuple(lines))


def _look_at(case: Case) -> list[str]:
    kinds = {load.kind for load in case.duty.loads}
    form = case.duty.form.kind
    keys = ["shape"] if "sustained" in kinds else []
    if form in ("gear",):
        keys.append("teeth")
    elif form in ("snap_arm", "living_hinge", "lever", "hook"):
        keys.append("root")
    elif "cyclic" in kinds or form in ("bracket", "lug", "screw_boss", "insert_boss"):
        keys.append("holes")
    if form in ("hinge_knuckle", "press_fit", "shaft", "gear"):
        keys.append("wear")
    return keys + (["weather"] if case.duty.place.outdoors else [])


def inspection_months(case: Case) -> int:
    """Months between full checks; hard service is checked each quarter whatever the consequence."""
    usual = case.service.inspection_months
    return min(usual, 3) if case.is_hard_service else usual


def retirement(case: Case) -> str:
    """Time to retirement in words."""
    return case.reader.duration(retirement_s(case))


def stop(case: Case) -> Block:
    """When to take the part out of use."""
    say = case.reader.say
    cycles = [load.cycles for load in case.duty.loads if load.kind == "cyclic" and load.cycles]
    lines = [Line(say("stop.damage")), Line(say("stop.overload"))]
    if cycles:
        lines.append(Line(say("stop.cycles", cycles=case.reader.count(min(cycles)))))
    lines += [
        Line(say("stop.time", time=retirement(case))),
        Line(say("stop.label"), spare=True),
        Line(say("stop.throw_away")),
    ]
    return Block("stop", say("stop.title"), "bullets", tuple(lines))


def clean_and_store(case: Case) -> Block:
    """How to wash and where to keep it."""
    say, stuff = case.reader.say, case.feedstock
    family = stuff.family if stuff else ""
    keys = ["wash", "no_dishwasher", "no_solvent" if family in CRACKED_BY_FLUIDS else "mild_only"]
    if family in SOFTENED_BY_DAMP:
        keys.append("dry")
    if stuff and stuff.filler in CONDUCTING_FILLERS:
        keys.append("no_current")
    lines = (*(Line(say(f"clean.{key}")) for key in keys), Line(say("clean.store"), spare=True))
    return Block("clean", say("clean.title"), "bullets", lines)


def wrong(case: Case) -> Block:
    """What to do when it bends, breaks or hurts someone."""
    say, contact = case.reader.say, clean(case.maker.contact, 80)
    tell = say("wrong.tell", contact=contact) if contact else say("wrong.tell_missing")
    keys = ("wrong.away", "wrong.unload", "wrong.stop")
    lines = (*(Line(say(key)) for key in keys), Line(tell), Line(say("wrong.emergency")))
    return Block("wrong", say("wrong.title"), "bullets", lines)


def tested(case: Case) -> Block:
    """What was done to this part: each test, or plainly that there was none; then how the load was found."""
    say, tests = case.reader.say, case.trace.tests
    lines = [Line(_test_words(test, case)) for test in tests[-3:]]
    if not tests:
        declared = case.duty.tests_done or case.duty.facts.get("proof_tested") is True
        lines.append(Line(say("tested.declared" if declared else "tested.none")))
    if tests:
        lines.append(Line(say("tested.no_life")))
    if case.trace.measured:
        lines.append(Line(say("tested.measured", measured=_sizes(case))))
    if case.trace.settings is not None:
        lines.append(Line(say("tested.settings_logged"), spare=True))
    return Block("tested", say("tested.title"), "bullets", (*lines, *_basis(case)))


def _sizes(case: Case) -> str:
    reader = case.reader
    return ", ".join(
        reader.say(
            "tested.size",
            what=reader.say(f"feature.{size.feature}"),
            measured=reader.number(size.measured_mm, 2),
            planned=reader.number(size.planned_mm, 2),
        )
        for size in case.trace.measured[:MOST_SIZES]
    )


def _basis(case: Case) -> tuple[Line, ...]:
    choice = case.answer.choice
    if choice is None:
        return ()
    say, factor = case.reader.say, rounded_down(choice.required_factor)
    if factor < LEAST_FACTOR_TOLD or all(is_own_spring(load, case) for load in case.duty.loads):
        found = say("tested.sums_plain")
    else:
        found = say("tested.sums", factor=case.reader.number(factor))
    return Line(found), Line(say("tested.sums_basis"))


def _test_words(test: HeldTest, case: Case) -> str:
    reader = case.reader
    values = {
        "date": clean(test.on) or reader.say("trace.missing"),
        "times": reader.number(rounded_down(test.multiple, 3)),
    }
    if not test.held:
        return reader.say("tested.test_failed", **values)
    if test.hold_s is None:
        return reader.say("tested.test_short", **values)
    if test.temperature_c is None:
        return reader.say("tested.test_timed", **values, time=reader.duration(test.hold_s))
    return reader.say(
        "tested.test",
        **values,
        time=reader.duration(test.hold_s),
        temperature=reader.setting(test.temperature_c),
    )


def ask(case: Case) -> Block:
    """Whom to ask: codes first, then the experts of the cautions shown."""
    say = case.reader.say
    shown = {box.key for box in warning_boxes(case)}
    people = expert_words(case, [n.ask for n in case.answer.cautions if n.key in shown])
    lines = [Line(say("ask.first"))]
    if people:
        lines.append(Line(say("ask.people", people=people)))
    return Block("ask", say("ask.title"), "bullets", tuple(lines))


def expert_words(case: Case, asks: list[str], most: int = MOST_EXPERTS) -> str:
    """The experts that `asks` name ("doctor; test lab"), once each, in the reader's language."""
    names = dict.fromkeys(
        name.strip() for text in asks for name in text.replace(";", ",").split(",") if name.strip()
    )
    names.pop("maker of the part", None)
    return ", ".join(case.reader.wording.expert(name) for name in list(names)[:most])
