"""The maker's checklist: from drying the plastic to handing the part over."""

from __future__ import annotations

from recommender.answer import Notice, Settings
from recommender.duty.loads import Load
from recommender.report.note.blocks import plastic
from recommender.report.note.case import Case
from recommender.report.note.cleaning import clean
from recommender.report.note.compose import compose, page
from recommender.report.note.content import Block, Line, Note
from recommender.report.note.loads import MOST_LISTED, test_amount
from recommender.report.note.measures import rounded_down
from recommender.report.note.warnings import box_of, maker_cautions

MOST_CAUTIONS = 4
MOST_LAWS = 3
MOST_SIZES = 4
HOUR_S, MINUTE_S = 3600.0, 60.0

# What decides strength or fit, by form: fields of the form's own record.
MEASURED: dict[str, tuple[str, ...]] = {
    "lever": ("width", "thickness", "across_flats"),
    "hook": ("depth", "width", "inner_radius"),
    "bracket": ("arm_depth", "width", "leg_thickness", "screw_diameter"),
    "plate": ("thickness",),
    "lug": ("width", "thickness", "hole_diameter", "edge_distance"),
    "snap_arm": ("root_thickness", "width", "length"),
    "screw_boss": ("outer_diameter", "hole_diameter"),
    "insert_boss": ("outer_diameter", "insert_diameter"),
    "press_fit": ("shaft_diameter", "outer_diameter"),
    "hinge_knuckle": ("wall", "knuckle_width"),
    "living_hinge": ("thickness", "width"),
    "gear": ("face_width",),
}
OF_THE_SECTION = ("width", "thickness", "diameter", "outer_diameter", "inner_diameter")


def maker_checklist(case: Case) -> Note:
    """The checklist for whoever prints the part; a refused part gets its refusal page instead."""
    if not case.is_assessed:
        return compose(case)
    say = case.reader.say
    body = (
        _settings(case),
        _drying(case),
        _bed(case),
        _air(case),
        _nozzle(case),
        _first_layer(case),
        _measure(case),
        _proof(case),
        _care(case),
        _law(case),
        _hand_over(case),
    )
    return page(
        case,
        "maker",
        say("title.maker"),
        say("maker.for_whom"),
        tuple(block for block in body if block.lines),
        (say("ask.first"), say("closing.not_certificate")),
    )


def _block(case: Case, key: str, lines: list[Line], facts: bool = False) -> Block:
    return Block(key, case.reader.say(f"maker.{key}"), "facts" if facts else "bullets", tuple(lines))


def _chosen(case: Case) -> Settings:
    choice = case.answer.choice
    if choice is None:
        raise ValueError("a checklist needs the settings of an answer.")
    return case.trace.settings or choice.settings


def _settings(case: Case) -> Block:
    settings, reader = _chosen(case), case.reader
    values = {
        "material": plastic(case),
        "orientation": _named("orientation", settings.orientation, case),
        "walls": str(settings.walls),
        "top_bottom": reader.say(
            "maker.layers_value", top=settings.top_layers, bottom=settings.bottom_layers
        ),
        "infill": reader.say(
            "maker.infill_value",
            percent=reader.number(settings.infill_percent, 0),
            pattern=_named("pattern", settings.infill_pattern, case),
        ),
        "layer": f"{reader.number(settings.layer_height_mm, 2)} mm",
        "line": f"{reader.number(settings.line_width_mm, 2)} mm",
        "nozzle_size": f"{reader.number(settings.nozzle_diameter_mm, 2)} mm",
        "nozzle_heat": reader.setting(settings.nozzle_temperature_c),
        "bed_heat": reader.setting(settings.bed_temperature_c),
    }
    lines = [Line(clean(value), label=reader.say(f"maker.{key}")) for key, value in values.items()]
    return _block(case, "settings", lines, facts=True)


def _named(group: str, name: str, case: Case) -> str:
    """`name` in the reader's language; as it is where the user's own overlay brought it in."""
    key = f"{group}.{name}"
    return case.reader.say(key) if case.reader.wording.has(key) else name.replace("_", " ")


def _drying(case: Case) -> Block:
    reader, stuff = case.reader, case.feedstock
    if stuff is None or stuff.drying_c is None or stuff.drying_h is None:
        return _block(case, "dry", [Line(reader.say("maker.dry_unknown"))])
    text = reader.say(
        "maker.dry_at",
        temperature=reader.hottest(stuff.drying_c),
        time=reader.duration(stuff.drying_h * HOUR_S),
    )
    return _block(case, "dry", [Line(text)])


def _bed(case: Case) -> Block:
    reader = case.reader
    need = case.feedstock.chamber_need if case.feedstock else ""
    lines = [Line(reader.say("maker.bed_at", temperature=reader.setting(_chosen(case).bed_temperature_c)))]
    if need in ("none", "helps", "required"):
        lines.append(Line(reader.say(f"maker.chamber_{need}")))
    return _block(case, "bed", lines)


def _air(case: Case) -> Block:
    reader = case.reader
    emission = case.feedstock.emission if case.feedstock else None
    level = emission.level if emission else "unknown"
    lines = [Line(reader.say(f"maker.air_{'low' if level == 'lower' else level}"))]
    if emission and emission.substance:
        low, high = (reader.number(value, 0) for value in (emission.low, emission.high))
        lines.append(Line(reader.say(f"maker.air_{emission.substance}", low=low, high=high)))
    lines.append(Line(reader.say("maker.leave")))
    return _block(case, "air", lines)


def _nozzle(case: Case) -> Block:
    abrasive = case.feedstock.abrasive if case.feedstock else None
    key = {True: "abrasive", False: "not_abrasive", None: "wear_unknown"}[abrasive]
    return _block(case, "nozzle", [Line(case.reader.say(f"maker.{key}"))])


def _first_layer(case: Case) -> Block:
    keys = ("first_layer_look", "layers_look", "first_layer_flare", "inside_corners")
    return _block(case, "first_layer", [Line(case.reader.say(f"maker.{key}")) for key in keys])


def planned_sizes(case: Case) -> list[tuple[str, float]]:
    """Names and planned sizes in mm of what decides strength or fit."""
    form = case.duty.form
    holder = getattr(form, "section", form)
    names = MEASURED.get(form.kind, OF_THE_SECTION)
    sizes = [(name, getattr(holder, name, None)) for name in names]
    return [(name, size) for name, size in sizes if size][:MOST_SIZES]


def _measure(case: Case) -> Block:
    reader, choice = case.reader, case.answer.choice
    lines = [
        Line(
            reader.say("maker.measure_size", what=reader.say(f"measure.{name}"), size=reader.size(size)),
        )
        for name, size in planned_sizes(case)
    ]
    if choice is not None and choice.mass_g > 0:
        lines.append(Line(reader.say("maker.measure_mass", mass=reader.mass(choice.mass_g))))
    return _block(case, "measure", [*lines, Line(reader.say("maker.measure_log"))])


def _proof(case: Case) -> Block:
    reader, rule = case.reader, case.service
    testable = [load for load in case.duty.loads if _can_be_hung(load)][:MOST_LISTED]
    lines = [Line(_proof_words(load, case)) for load in testable]
    if not testable:
        lines.append(Line(reader.say("maker.proof_self", uses=20)))
    lines.append(Line(reader.say("maker.proof_heat", temperature=reader.hottest(case.hottest_c))))
    keys = ["proof_rig"] if testable else []
    lines += [Line(reader.say(f"maker.{key}")) for key in [*keys, "proof_away", "proof_pass", "proof_fail"]]
    lines.append(Line(reader.say("maker.proof_once"), spare=True))
    if rule.break_samples and testable and case.answer.choice is not None:
        load = test_amount(_largest(testable), case, case.answer.choice.required_factor)
        lines.append(Line(reader.say("maker.break_samples", samples=rule.break_samples, load=load)))
    lines += _further_tests(case)
    lines.append(Line(reader.say("maker.basis")))
    return _block(case, "test", lines)


def _can_be_hung(load: Load) -> bool:
    return load.kind != "impact" and any(
        value is not None for value in (load.force, load.torque, load.pressure)
    )


def _largest(loads: list[Load]) -> Load:
    return max(loads, key=lambda load: load.force or load.torque or load.pressure or 0.0)


def _proof_words(load: Load, case: Case) -> str:
    reader, rule = case.reader, case.service
    return reader.say(
        "maker.proof",
        load=test_amount(load, case, rule.proof_factor),
        time=reader.duration(rule.proof_hold_min * MINUTE_S),
        factor=reader.number(rounded_down(rule.proof_factor, 3)),
    )


def _further_tests(case: Case) -> list[Line]:
    reader, kinds = case.reader, {load.kind for load in case.duty.loads}
    lines = []
    if "impact" in kinds:
        lowest = case.duty.place.lowest_temperature
        cold = (
            reader.say("maker.cold_unknown")
            if lowest is None
            else reader.say("maker.cold", temperature=reader.setting(lowest))
        )
        lines.append(Line(cold))
    if "cyclic" in kinds:
        lines.append(Line(reader.say("maker.cycles")))
    return lines


def _in_words(notice: Notice, case: Case) -> Line:
    box = box_of(notice, case)
    return Line(f"{box.hazard} {box.do_this}", label=f"{box.word}{case.reader.say('colon')}")


def _is_law(notice: Notice, case: Case) -> bool:
    return case.rows.get(notice.key, {}).get("audience") == "seller"


def _care(case: Case) -> Block:
    chosen = [notice for notice in maker_cautions(case) if not _is_law(notice, case)]
    return _block(case, "care", [_in_words(notice, case) for notice in chosen[:MOST_CAUTIONS]])


def _law(case: Case) -> Block:
    chosen = [notice for notice in maker_cautions(case) if _is_law(notice, case)]
    return _block(case, "law", [_in_words(notice, case) for notice in chosen[:MOST_LAWS]])


def _hand_over(case: Case) -> Block:
    say = case.reader.say
    lines = [Line(say("maker.mark")), Line(say("maker.give_note")), Line(say("maker.log_it"))]
    missing = [say(f"trace.{key}") for key in missing_trace(case)]
    if missing:
        lines.insert(0, Line(say("maker.missing", items=", ".join(missing))))
    if not _says_how_hot(case):
        lines.append(Line(say("maker.no_peak", temperature=case.reader.hottest(case.hottest_c))))
    if case.duty.hand_over != "self" and case.duty.market == "EU":
        lines.append(Line(say("maker.papers")))
    return _block(case, "hand_over", lines)


def _says_how_hot(case: Case) -> bool:
    place = case.duty.place
    return (
        place.peak_temperature is not None or place.surface_temperature is not None or bool(place.warmed_by)
    )


def missing_trace(case: Case) -> list[str]:
    """Keys of the trace items that neither profile, command nor log gives."""
    given = {
        "made_by": case.maker.name,
        "address": case.maker.address,
        "contact": case.maker.contact,
        "batch": case.trace.batch,
        "date": case.trace.made_on,
        "colour": case.trace.colour,
    }
    return [key for key, text in given.items() if not clean(text)]
