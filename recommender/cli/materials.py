"""``materials``: list, filter, compare and show what is known about each material."""

from __future__ import annotations

import difflib
import json
import math
import re
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from kb.schema import as_mapping
from recommender.cli import app
from recommender.cli.knowledge import JsonOption, OverlayOption, knowledge_with
from recommender.cli.shell import errors_as_messages
from recommender.errors import InputError

if TYPE_CHECKING:
    from kb.design_values import EngineValues
    from kb.loading import KnowledgeBase
    from kb.schema import Curve, DesignValue, Fact, Material, Printer

T = TypeVar("T")

WIDTH = 79
SUN_HEATED_C = 55.0  # estimate: a part in the sun of a temperate summer; dark or closed-in parts get hotter
WET_STRENGTH_KEPT = 0.75  # estimate: share of the dry strength a wet part should keep to be listed


class _CompareAsOption(typer.core.TyperGroup):
    """Lets ``materials --compare petg asa`` mean ``materials compare petg asa``."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        return super().parse_args(ctx, ["compare" if arg == "--compare" else arg for arg in args])


group = typer.Typer(cls=_CompareAsOption, invoke_without_command=True)
app.add_typer(group, name="materials")


@dataclass(frozen=True, slots=True)
class Filters:
    """What a listed material must do; None or False asks for nothing."""

    min_service_temp_c: float | None = None
    outdoor: bool = False
    food: bool = False
    wet: bool = False
    printer: Printer | None = None
    max_price: float | None = None


@group.callback()
def list_command(
    context: typer.Context,
    min_service_temp: Annotated[
        str | None, typer.Option(metavar="TEMP", help='Long use at TEMP: 80 (degC) or "176 F".')
    ] = None,
    outdoor: Annotated[bool, typer.Option("--outdoor", help="Stands sun, weather and warmth.")] = False,
    food: Annotated[bool, typer.Option("--food", help="Base polymer listed for food contact.")] = False,
    wet: Annotated[bool, typer.Option("--wet", help="Keeps most of its strength in water.")] = False,
    printer: Annotated[
        str | None, typer.Option(metavar="KEY", help="Printable on this printer (see `printers`).")
    ] = None,
    max_price: Annotated[float | None, typer.Option(metavar="USD", help="Highest price per kg.")] = None,
    overlay: OverlayOption = None,
    as_json: JsonOption = False,
) -> None:
    """List materials; filters narrow the list. `--compare petg asa` sets some side by side.

    Example: partduty materials --min-service-temp 80 --outdoor

    Exit code: 0 listed, 1 no material passes the filters, 2 bad input.
    """
    if context.invoked_subcommand is not None:
        return
    with errors_as_messages():
        knowledge = knowledge_with(overlay)
        filters = Filters(
            _temperature(min_service_temp),
            outdoor,
            food,
            wet,
            _printer(printer, knowledge),
            _price(max_price),
        )
    found = [values for values in all_values(knowledge) if passes(values, filters)]
    if as_json:
        typer.echo(_as_json([as_record(values) for values in found]))
    else:
        typer.echo(list_text(found, filters))
    raise typer.Exit(code=0 if found else 1)


@group.command("show")
def show_command(key: str, overlay: OverlayOption = None, as_json: JsonOption = False) -> None:
    """Print everything known about one material, each fact with its source and grade.

    Example: partduty materials show petg
    """
    with errors_as_messages():
        knowledge = knowledge_with(overlay)
        material = _material(key, knowledge)
    typer.echo(_as_json(sheet_record(material, knowledge)) if as_json else sheet_text(material, knowledge))


@group.command("compare")
def compare_command(keys: list[str], overlay: OverlayOption = None, as_json: JsonOption = False) -> None:
    """Set materials side by side.

    Example: partduty materials --compare petg asa pa12
    """
    with errors_as_messages():
        knowledge = knowledge_with(overlay)
        names = [name for key in keys for name in key.split(",") if name]
        chosen = [_values(_material(name, knowledge), knowledge) for name in dict.fromkeys(names)]
    typer.echo(_as_json([as_record(values) for values in chosen]) if as_json else compare_text(chosen))


# -- what the user wrote ---------------------------------------------------------------------------------


def _temperature(text: str | None) -> float | None:
    if text is None:
        return None
    from recommender.quantities import TEMPERATURE, quantity

    bare = re.fullmatch(r"\s*-?\d+(\.\d+)?\s*", text)
    value = quantity(f"{text} degC" if bare else text, TEMPERATURE, "--min-service-temp")
    if not -60 <= value <= 400:
        raise InputError("--min-service-temp", f"{value:g} °C is outside -60 to 400 °C.", "Check the unit.")
    return value


def _price(value: float | None) -> float | None:
    if value is not None and not (math.isfinite(value) and value > 0):
        raise InputError("--max-price", f"{value:g} USD per kg is not a price.", "Give a number above 0.")
    return value


def _printer(key: str | None, knowledge: KnowledgeBase) -> Printer | None:
    return None if key is None else known("--printer", key, knowledge.printers)


def _material(key: str, knowledge: KnowledgeBase) -> Material:
    return known("material", key.lower().replace("-", "_").replace(" ", "_"), knowledge.materials)


def known(field: str, key: str, entries: Mapping[str, T]) -> T:
    """The entry of that key.

    Raises
    ------
    InputError
        There is none; the message lists those there are, the nearest first.
    """
    if key in entries:
        return entries[key]
    near = difflib.get_close_matches(key, entries, n=3)
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    raise InputError(field, f"{key!r} is not known.", f"{hint}Known: {', '.join(sorted(entries))}.")


# -- filtering -------------------------------------------------------------------------------------------


def all_values(knowledge: KnowledgeBase) -> list[EngineValues]:
    """Engine values of every material, by name."""
    return sorted(
        (_values(material, knowledge) for material in knowledge.materials.values()),
        key=lambda v: v.name.lower(),
    )


def _values(material: Material, knowledge: KnowledgeBase) -> EngineValues:
    from kb.design_values import engine_values

    return engine_values(material, knowledge)


def passes(values: EngineValues, filters: Filters) -> bool:
    """Whether the material does everything that is asked; unknown is never a yes."""
    hot = filters.min_service_temp_c
    return (
        (hot is None or values.continuous_use_c.typical >= hot - 1e-6)
        and (not filters.outdoor or stands_outdoors(values))
        and (not filters.food or values.food_base_polymer == "listed")
        and (not filters.wet or values.wet_strength_factor.typical >= WET_STRENGTH_KEPT)
        and (filters.max_price is None or values.price_per_kg.typical <= filters.max_price)
        and (filters.printer is None or not why_not_printable(values, filters.printer))
    )


def stands_outdoors(values: EngineValues) -> bool:
    """Good or fair in sun and weather, and not soft where the sun heats it."""
    return values.uv_rating in ("good", "fair") and values.continuous_use_c.typical >= SUN_HEATED_C


def why_not_printable(values: EngineValues, printer: Printer) -> list[str]:
    """What of the printer falls short of the material; empty when nothing does."""
    reasons = []
    if values.nozzle_temperature_c.low > printer.hot_end_limit_c:
        reasons.append(f"nozzle {values.nozzle_temperature_c.low:.0f} °C")
    if values.bed_temperature_c.low > printer.bed_limit_c:
        reasons.append(f"bed {values.bed_temperature_c.low:.0f} °C")
    chamber = values.chamber_temperature_c
    if values.chamber_need == "required" and (chamber is None or chamber.low > printer.chamber_limit_c):
        reasons.append("a hot chamber")
    if values.abrasive and not printer.hardened_nozzle:
        reasons.append("a hardened nozzle")
    if values.soft and not printer.direct_drive:
        reasons.append("a feeder on the head")
    return reasons


# -- words and tables ------------------------------------------------------------------------------------


def _number(value: DesignValue | None, digits: int = 3) -> str:
    """Typical value, marked with * where it is our own estimate."""
    if value is None:
        return "-"
    return _short(value.typical, digits) + ("*" if value.is_estimate else "")


def _across(values: EngineValues) -> str:
    return f"{values.strength_mpa.typical * values.interlayer_ratio.typical:.0f}*"


def list_text(found: list[EngineValues], filters: Filters) -> str:
    """The list as a table of at most 80 columns with what its columns mean."""
    from tabulate import tabulate

    if not found:
        return "No material in the knowledge base does all of this; drop a filter to see more."
    rows = [
        (
            values.material,
            _number(values.strength_mpa, 2),
            _across(values),
            _number(values.modulus_mpa, 2),
            _number(values.continuous_use_c, 3),
            values.uv_rating,
            values.warp_tendency,
            {"none": "no", "helps": "helps", "required": "yes"}[values.chamber_need],
            _number(values.price_per_kg, 2),
        )
        for values in found
    ]
    head = (
        ("material", "pull", "across", "modulus", "use to", "sun", "warp", "closed", "price"),
        ("", "MPa", "MPa", "MPa", "°C", "", "", "printer", "USD/kg"),
    )
    align = ("left", "right", "right", "right", "right", "left", "left", "left", "right")
    table = tabulate([*head, *rows], tablefmt="plain", disable_numparse=True, colalign=align)
    return "\n".join([table, "", *_notes(filters), f"{len(found)} material(s)"])


def _notes(filters: Filters) -> list[str]:
    notes = [
        "* own engineering estimate; `show KEY` gives range, source and grade of each figure.",
        "pull: flat, full print along the beads; across: upright print across the layers, in open air;"
        " use to: long use under light load.",
    ]
    if filters.outdoor:
        notes.append("outdoor: good or fair in sun and weather, and fit for long use at 55 °C.")
    if filters.food:
        notes.append(
            "food: only the base polymer is listed. That makes no print food-safe: grooves, colour,"
            " nozzle and storage are outside the listing."
        )
    if filters.wet:
        notes.append("wet: keeps three quarters or more of its dry strength when soaked.")
    if filters.printer:
        notes.append(f"printer: within what `{filters.printer.key}` can do; a closed printer may still help.")
    return [line for note in notes for line in textwrap.wrap(note, WIDTH)]


COMPARED: tuple[tuple[str, str], ...] = (
    ("strength_mpa", "pull along, MPa"),
    ("interlayer_ratio", "across/along, open"),
    ("interlayer_ratio_enclosed", "same in a chamber"),
    ("modulus_mpa", "modulus, MPa"),
    ("elongation_percent", "strain at break, %"),
    ("working_strain_once_percent", "strain once, %"),
    ("impact_notched_kj_m2", "impact, kJ/m2"),
    ("sustained_1_year_23_c", "share for a year"),
    ("fatigue_fraction", "share 1e6 times"),
    ("softening_c", "softens, °C"),
    ("continuous_use_c", "long use, °C"),
    ("wet_strength_factor", "share when wet"),
    ("weather_factor_years", "share after 5 years"),
    ("density_g_cm3", "density, g/cm3"),
    ("shrinkage_percent", "shrinkage, %"),
    ("price_per_kg", "price, USD/kg"),
    ("nozzle_temperature_c", "nozzle, °C"),
    ("bed_temperature_c", "bed, °C"),
    ("max_flow_mm3_s", "flow, mm3/s"),
)
COMPARED_WORDS: tuple[tuple[str, str], ...] = (
    ("uv_rating", "sun and weather"),
    ("warp_tendency", "warp"),
    ("chamber_need", "warm chamber"),
    ("food_base_polymer", "food, base polymer"),
    ("flame_class", "flame class"),
)


AGAINST: Mapping[str, str] = {
    "water": "water",
    "alcohol": "alcohols",
    "oil_fuel": "oils, fuels",
    "acetone_ketone": "acetone, ketones",
    "chlorinated": "chlorinated solvents",
    "weak_acid": "weak acids",
    "weak_base": "weak alkalis",
}


def compare_text(chosen: list[EngineValues]) -> str:
    """Materials as columns, a few at a time so that a line stays within 80 columns."""
    from tabulate import tabulate

    blocks = []
    for start in range(0, len(chosen), 3):
        part = chosen[start : start + 3]
        rows = [(words, *(_range(getattr(v, name)) for v in part)) for name, words in COMPARED]
        rows += [(words, *(getattr(v, name) for v in part)) for name, words in COMPARED_WORDS]
        rows += [
            (words, *(_rating(v.chemical_ratings[name]) for v in part)) for name, words in AGAINST.items()
        ]
        head = ("", *(v.material for v in part))
        blocks.append(tabulate([head, *rows], tablefmt="plain", disable_numparse=True))
    legend = "typical (low-high); * own engineering estimate; low and high bound about 9 in 10 prints"
    return "\n\n".join([*blocks, "\n".join(textwrap.wrap(legend, WIDTH))])


def _rating(letter: str) -> str:
    return {"G": "good", "L": "limited", "P": "poor"}[letter]


def _range(value: DesignValue | None) -> str:
    if value is None:
        return "unknown"
    return f"{_number(value)} ({_short(value.low)}-{_short(value.high)})"


def _short(number: float, digits: int = 3) -> str:
    """At most so many figures, never with an exponent unless very small."""
    return f"{float(f'{number:.{digits}g}'):g}"


def sheet_text(material: Material, knowledge: KnowledgeBase) -> str:
    """The whole sheet of a material: design values, facts in use, facts set aside, cautions, sources."""
    values = _values(material, knowledge)
    parts = [
        _heading(material),
        _design_section(values),
        _facts_section(material),
        _curves_section(material),
        _cautions_section(material, knowledge),
        _sources_section(material, knowledge),
    ]
    return "\n\n".join(part for part in parts if part)


def _wrapped(text: str, indent: str = "  ", first: str | None = None) -> str:
    return textwrap.fill(
        text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent
    )


def _heading(material: Material) -> str:
    about = ", ".join(w for w in (material.family, material.filler, material.crystallinity) if w)
    lines = [_wrapped(f"{material.name} ({material.key}): {about}", first=""), _wrapped(material.description)]
    lines += [
        _wrapped(material.good_at, " " * 12, "  good at:  "),
        _wrapped(material.fails_by, " " * 12, "  fails by: "),
    ]
    return "\n".join(lines)


UNIT_IN_NAME = re.compile(r"_(g_cm3|mpa|c|per_k|percent|kj_m2|per_kg|mm3_s)$")


def _design_section(values: EngineValues) -> str:
    lines = ["Design values: typical, low to high (which bound about 9 in 10 prints)"]
    for name in values.__slots__:
        value = getattr(values, name)
        if hasattr(value, "typical"):
            label = UNIT_IN_NAME.sub("", name).replace("_", " ")
            mark = "estimate" if value.is_estimate else f"grade {value.grade}"
            span = f"{value.low:.4g} to {value.high:.4g}{_unit_words(value.unit)}"
            lines.append(f"  {label:<30}{value.typical:>9.4g}, {span} [{mark}]")
            lines.append(_wrapped(value.reason, " " * 6))
    return "\n".join(lines)


def _facts_section(material: Material) -> str:
    lines = ["Facts, rival sources side by side"]
    last = ""
    for fact in material.facts:
        if fact.property != last:
            lines.append(f"  {fact.property.replace('_', ' ')}")
            last = fact.property
        lines.append(_wrapped(fact_words(fact), " " * 8, "    - "))
    return "\n".join(lines)


def fact_words(fact: Fact) -> str:
    """A fact in one line: value, unit, condition, source, grade, and why it is set aside if it is."""
    condition = f" ({fact.condition})" if fact.condition else ""
    words = f"{_value_words(fact)}{condition} [{_provenance(fact)}]"
    if fact.note:
        words += f" {fact.note}"
    return f"{words}; NOT USED: {fact.set_aside}" if fact.set_aside else words


def _provenance(entry: Fact | Curve) -> str:
    if entry.source == "estimate":
        return "estimate"
    mark = "estimate" if entry.grade == "C" else f"grade {entry.grade}, {entry.basis}"
    return f"{entry.source}; {mark}"


def _unit_words(unit: str) -> str:
    return "" if unit in ("ratio", "1") else f" {unit.replace('degC', '°C')}"


def _value_words(fact: Fact) -> str:
    if fact.text is not None:
        return _rating(fact.text) if fact.text in ("G", "L", "P") and fact.unit == "class" else fact.text
    unit = _unit_words(fact.unit)
    low, typical, high = (None if v is None else f"{v:g}" for v in (fact.low, fact.typical, fact.high))
    if low and high:
        span = f"{low} to {high}"
    else:
        span = f"at least {low}" if low else f"up to {high}" if high else ""
    if typical:
        return f"{typical}{unit}" + (f" ({span})" if span else "")
    return f"{span}{unit}"


def _curves_section(material: Material) -> str:
    lines = ["Against temperature (share of the value at 23 °C)"]
    for curve in material.curves:
        points = ", ".join(f"{point[0]:g} °C {point[2]:g}" for point in curve.points)
        aside = f"; NOT USED: {curve.set_aside}" if curve.set_aside else ""
        words = f"{curve.property.replace('_', ' ')}: {points} [{_provenance(curve)}] {curve.note}{aside}"
        lines.append(_wrapped(words, " " * 6, "  - "))
    return "\n".join(lines)


def cautions_for(material: Material, knowledge: KnowledgeBase) -> list[Mapping[str, Any]]:
    """Cautions whose trigger names this material or its family."""
    names = {material.key.upper(), material.key.upper().split("_")[0]}
    names |= {"PA"} if material.family == "polyamide" else set()
    names |= {"TPU"} if material.key.startswith("tpu") else set()
    if material.filler:
        names.add(material.filler.replace(" ", "_").upper())
    found = []
    for row in knowledge.tables.get("cautions", ()):
        trigger = str(row.get("trigger", row.get("trigger_condition", "")))
        named = re.findall(
            r"(?:material|material_family|filler) (?:=|in) (\{[^}]*\}|\w+)", trigger, re.IGNORECASE
        )
        if names & {word.upper() for group_ in named for word in re.findall(r"[\w+]+", group_)}:
            found.append(row)
    return found


def _cautions_section(material: Material, knowledge: KnowledgeBase) -> str:
    rows = cautions_for(material, knowledge)
    if not rows:
        return ""
    lines = ["Cautions that name this material (a duty sheet brings up the rest)"]
    for row in rows:
        signal = row.get("signal", row.get("signal_word", ""))
        advice = row.get("do_this", row.get("how_to_avoid", ""))
        lines.append(_wrapped(f"{signal}: {row['hazard']} {advice}", " " * 6, "  - "))
    return "\n".join(lines)


def _cited(material: Material) -> list[str]:
    return sorted({fact.source for fact in material.facts} | {curve.source for curve in material.curves})


def _sources_section(material: Material, knowledge: KnowledgeBase) -> str:
    lines = ["Sources"]
    for key in _cited(material):
        source = knowledge.sources[key]
        where = "" if source.address == "none" else f" {source.address}."
        lines.append(_wrapped(f"{key}: {source.citation}.{where} Read: {source.seen}", " " * 6, "  "))
    return "\n".join(lines)


# -- JSON ------------------------------------------------------------------------------------------------


def _as_json(value: object) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)


def as_record(values: EngineValues) -> dict[str, Any]:
    """Engine values as plain data; every number with low, typical, high, unit, grade, sources and reason."""
    record: dict[str, Any] = {}
    for name in values.__slots__:
        value = getattr(values, name)
        if hasattr(value, "typical"):
            record[name] = {**as_mapping(value), "estimate": value.is_estimate}
        else:
            record[name] = list(value) if isinstance(value, tuple) else value
    return record


def sheet_record(material: Material, knowledge: KnowledgeBase) -> dict[str, Any]:
    """The sheet as plain data."""
    return {
        **{name: getattr(material, name) for name in material._fields if name not in ("facts", "curves")},
        "design_values": as_record(_values(material, knowledge)),
        "facts": [as_mapping(fact) for fact in material.facts],
        "curves": [as_mapping(curve) for curve in material.curves],
        "cautions": [dict(row) for row in cautions_for(material, knowledge)],
        "sources": {key: as_mapping(knowledge.sources[key]) for key in _cited(material)},
    }
