"""The vocabulary of the triggers: from a duty sheet (and a material) to the facts that triggers read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from kb.design_values import engine_values
from kb.loading import KnowledgeBase
from kb.schema import Material
from recommender.duty.sheet import Duty
from recommender.errors import DutySheetError
from recommender.rules.triggers import Variable

CONSEQUENCES: dict[str, float | None] = {
    "no_harm": 0, "nuisance": 1, "minor_injury": 2, "serious_injury": 3, "death": 4, "unknown": None,
}  # fmt: skip
# Families of the material files -> words of the vocabulary; a blend counts as each of its parts.
FAMILIES: dict[str, frozenset[str]] = {
    "acrylic": frozenset({"PMMA"}),
    "copolyester": frozenset({"PETG"}),
    "polyamide": frozenset({"PA"}),
    "polycarbonate": frozenset({"PC"}),
    "polycarbonate blend": frozenset({"PC", "ABS"}),
    "polylactide": frozenset({"PLA"}),
    "polyolefin": frozenset({"PP"}),
    "thermoplastic polyurethane": frozenset({"TPU"}),
}
STYRENICS = frozenset({"ABS", "ASA", "HIPS"})  # what a styrenic of unknown name may be
PLASTICS = frozenset(
    {"PLA", "PETG", "PCTG", "PET", "ABS", "ASA", "HIPS", "PC", "PA6", "PA66", "PA12", "TPU", "PP", "POM",
     "PVC", "PMMA", "PVB", "PEEK", "PEI", "PPS"}
)  # fmt: skip
FILLERS = frozenset(
    {"none", "carbon_fibre", "glass_fibre", "carbon_black", "graphene", "cnt", "metal", "wood"}
)
COLD_OUTDOORS_C = -10.0  # estimate: a winter night of a temperate place, where the sheet is silent
COLD_INDOORS_C = 15.0  # estimate
HOT_HUMID_FROM_C = 40.0  # estimate: air from which wet counts as hot and humid
PS1_LIMIT_W = 15.0  # IEC 62368-1, power source class 1
PS2_LIMIT_W = 100.0  # IEC 62368-1, power source class 2
LOW_VOLTAGE_LIMIT_V = 50.0  # taken for "low_voltage" without a figure: the worst that the word allows
FULL_INFILL_PERCENT = 99.5
SECONDS_PER_MONTH = 2629746.0
FOOD_TEMPERATURES_C: dict[str, float] = {"hot": 100.0, "hot_fatty": 100.0, "baby_food": 60.0}
ORDINARY_FOOD_C = 40.0  # estimate: food that is not called hot
NOTCHED_FORMS = frozenset(
    {"hook", "lug", "bracket", "snap_arm", "gear", "screw_boss", "insert_boss", "hinge_knuckle", "lever"}
)
FORM_USES: dict[str, str] = {"lever": "lever", "snap_arm": "snap_clip", "living_hinge": "living_hinge"}
HANGING_FORMS = frozenset({"hook", "bracket", "lug"})
WARMED_PLACES: dict[str, str] = {
    "parked_car": "car", "attic": "attic", "hob": "near_stove", "heater": "heater", "hot_water": "hot_water",
    "reflected_sun": "window_reflection", "sun": "outdoor_sun", "roof": "outdoor_sun",
}  # fmt: skip
WATERY_PLACES: dict[str, str] = {
    "dry": "indoor_dry", "humid": "indoor_humid", "wet": "wet", "immersed": "water_immersed",
}  # fmt: skip


def vocabulary_from(rows: Iterable[Mapping[str, Any]], danger_keys: Iterable[str]) -> dict[str, Variable]:
    """The variables that triggers may name, from the rows of the vocabulary table."""
    listed = list(rows)
    uses = next((row["values"] for row in listed if row["key"] == "uses"), ())
    dangers = frozenset(danger_keys) | frozenset(uses)
    return {row["key"]: _variable(row, dangers) for row in listed}


def _variable(row: Mapping[str, Any], dangers: frozenset[str]) -> Variable:
    values = dangers if row.get("values_from") == "danger_words" else frozenset(row.get("values") or ())
    otherwise = row.get("otherwise")
    if row["kind"] == "words" and isinstance(otherwise, list):
        otherwise = frozenset(otherwise)
    elif otherwise == "unknown" and not (row["kind"] == "word" and "unknown" in values):
        otherwise = None
    elif row["kind"] == "number" and otherwise is not None:
        otherwise = float(otherwise)
    return Variable(row["key"], row["kind"], values, otherwise, row.get("worse"), row["meaning"])


_SEVERAL = (list, tuple, set, frozenset)


def checked_value(variable: Variable, value: Any) -> Any:
    """`value` as this variable holds it.

    Raises
    ------
    ValueError
        Saying what is allowed.
    """
    if variable.kind == "flag":
        if not isinstance(value, bool):
            raise ValueError("true or false is wanted.")
        return value
    if variable.kind == "number":
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise ValueError("a plain number is wanted.")
        return float(value)
    words = [value] if isinstance(value, str) else list(value) if isinstance(value, _SEVERAL) else [value]
    if not all(isinstance(word, str) for word in words):
        raise ValueError(f"one of {_listed(variable.values)} is wanted.")
    wrong = next((word for word in words if word not in variable.values), None)
    if wrong is not None:
        raise ValueError(f"{wrong!r} is not one of {_listed(variable.values)}.")
    if variable.kind == "words":
        return frozenset(words)
    if len(words) != 1:
        raise ValueError("one word is wanted.")
    return words[0]


def _listed(values: frozenset[str], most: int = 12) -> str:
    shown = sorted(values)[:most]
    return ", ".join(shown) + (", ..." if len(values) > most else "")


def worse_of(variable: Variable, first: Any, second: Any) -> Any:
    """The worse of two statements about one variable: unknown never hides a known danger."""
    if first is None or second is None:
        return second if first is None else first
    if variable.kind == "words":
        return first | second
    if variable.kind == "number":
        return min(first, second) if variable.worse == "low" else max(first, second)
    if variable.kind == "flag":
        return variable.worse if variable.worse in (first, second) else first
    return second


def facts_of(
    duty: Duty,
    vocabulary: Mapping[str, Variable],
    material: Mapping[str, Any] | None = None,
    surface_temperature_c: float | None = None,
    settings: Mapping[str, Any] | None = None,
    implied: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """What the triggers read: variable -> value, None where nobody stated it.

    Parameters
    ----------
    duty : Duty
        The duty sheet.
    vocabulary : mapping
        As made by :func:`vocabulary_from`.
    material : mapping, optional
        As made by :func:`material_facts`; without it the material's variables stay unknown.
    surface_temperature_c : float, optional
        Hottest surface of the part, °C; the hottest air where it is not given.
    settings : mapping, optional
        Print settings (``orientation``, ``infill_percent``), and whatever the caller knows beside them.
    implied : mapping, optional
        What the free text of the sheet implies; where it disagrees with a field, the worse one wins.

    Raises
    ------
    DutySheetError
        ``facts:`` of the sheet names an unknown variable or value.
    """
    facts: dict[str, Any] = {key: variable.otherwise for key, variable in vocabulary.items()}
    hottest = surface_temperature_c if surface_temperature_c is not None else duty.peak_air_c
    for derive in (_of_load, _of_people, _of_contact, _of_hand_over):
        facts.update(derive(duty))
    facts.update(_of_place(duty, hottest))
    facts.update(material or {})
    facts.update(_of_settings(duty, settings or {}))
    _take_in(facts, vocabulary, implied or {})
    stated = _stated(duty, vocabulary)
    for key, value in stated.items():
        facts[key] = _overruled(vocabulary[key], facts[key], value, key in (implied or {}))
    _derive_margins(facts, stated)
    return facts


def _take_in(facts: dict[str, Any], vocabulary: Mapping[str, Variable], implied: Mapping[str, Any]) -> None:
    for key, value in implied.items():
        facts[key] = worse_of(vocabulary[key], facts.get(key), value)


def _stated(duty: Duty, vocabulary: Mapping[str, Variable]) -> dict[str, Any]:
    stated = {}
    for key, value in duty.facts.items():
        if key not in vocabulary:
            raise DutySheetError(f"facts.{key[:60]}", "there is no such fact.", _nearest(key, vocabulary))
        try:
            stated[key] = checked_value(vocabulary[key], value)
        except ValueError as error:
            raise DutySheetError(
                f"facts.{key}", f"{value!r:.80}: {error}", f"It says: {vocabulary[key].meaning}."
            ) from None
    return stated


def _nearest(key: str, vocabulary: Mapping[str, Variable]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(key, vocabulary, n=3, cutoff=0.5)
    return f"Did you mean {' or '.join(near)}?" if near else "kb/vocabulary/facts.yaml lists all facts."


def _overruled(variable: Variable, derived: Any, stated: Any, from_text: bool) -> Any:
    """A statement under `facts:` fills what was unknown; it never takes away a danger that a field or text names."""
    if derived is None or (derived == variable.otherwise and not from_text):
        return stated
    return worse_of(variable, derived, stated)


def _of_load(duty: Duty) -> dict[str, Any]:
    forces = [load.force for load in duty.loads if load.force is not None]
    months = [load.duration / SECONDS_PER_MONTH for load in duty.loads if load.duration is not None]
    kind = duty.form.kind
    return {
        "form": kind,
        "loaded": True,
        "load_kinds": frozenset(load.kind for load in duty.loads),
        "hung_load_n": max(forces, default=None),
        "service_months": max(months, default=None),
        "has_hole_or_notch": True if kind in NOTCHED_FORMS else None,
        "uses": frozenset({FORM_USES[kind]} if kind in FORM_USES else ()),
    }


def _of_people(duty: Duty) -> dict[str, Any]:
    people = duty.people
    consequence = CONSEQUENCES[people.if_it_breaks]
    return {
        "consequence": consequence,
        "consequence_said": duty.said("people.if_it_breaks") and consequence is not None,
        "consequence_unknown": people.if_it_breaks == "unknown",
        "load_person": people.holds_person,
        "load_overhead": _overhead(duty),
        "youngest_user_years": people.youngest_user_years,
        "is_toy": people.is_toy,
    }


def _overhead(duty: Duty) -> bool | None:
    """Whether people are below; unknown for a part that holds something up and does not say."""
    if duty.said("people.below"):
        return duty.people.below == "people"
    return None if duty.form.kind in HANGING_FORMS else False


def _of_contact(duty: Duty) -> dict[str, Any]:
    contact = duty.contact
    fluid = contact.fluid_under_pressure
    eaten = contact.food != "none"
    return {
        "food_contact": eaten or contact.animal_food,
        "food_kind": frozenset({contact.food} if eaten else ()),
        "food_reuse": contact.food_reuse,
        "food_max_c": FOOD_TEMPERATURES_C.get(contact.food, ORDINARY_FOOD_C) if eaten else None,
        "skin_contact": contact.skin,
        "mains": contact.electrical == "mains",
        "voltage_v": _voltage(duty),
        "battery": contact.battery,
        "pressurised": fluid != "none",
        "medium": frozenset({fluid}),
    }


def _voltage(duty: Duty) -> float | None:
    if duty.contact.voltage_v is not None:
        return duty.contact.voltage_v
    return {"none": 0.0, "low_voltage": LOW_VOLTAGE_LIMIT_V, "mains": 230.0}[duty.contact.electrical]


def _of_place(duty: Duty, hottest_c: float) -> dict[str, Any]:
    place = duty.place
    watery = place.water in ("humid", "wet", "immersed")
    environments = {WATERY_PLACES[place.water]} | {
        WARMED_PLACES[source] for source in place.warmed_by if source in WARMED_PLACES
    }
    if place.outdoors:
        environments = environments - {"indoor_dry", "indoor_humid"} | {"outdoor_sun"}
    if watery and duty.peak_air_c >= HOT_HUMID_FROM_C:
        environments.add("hot_humid")
    if place.near_flame:
        environments.add("flame")
    return {
        "environments": frozenset(environments),
        "service_max_c": hottest_c,
        "service_min_c": _coldest(duty),
        "outside_air_c": place.peak_temperature,
        "flame_near": place.near_flame,
        "colour_dark": {"dark": True, "light": False, "unknown": None}[place.colour],
        "dishwasher": "dishwasher" in place.warmed_by,
    }


def _coldest(duty: Duty) -> float:
    if duty.place.lowest_temperature is not None:
        return duty.place.lowest_temperature
    usual = COLD_OUTDOORS_C if duty.place.outdoors else COLD_INDOORS_C
    return min(usual, duty.place.usual_temperature)


def _of_hand_over(duty: Duty) -> dict[str, Any]:
    return {
        "hand_over": duty.hand_over,
        "market": duty.market,
        "claims": frozenset(duty.claims),
        "proof_tested": duty.tests_done,
    }


def _of_settings(duty: Duty, settings: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    orientation = settings.get("orientation")
    if orientation is not None:
        found["across_layers"] = orientation == "upright" and any(
            load.action in ("pull", "bend", None) for load in duty.loads
        )
    if settings.get("across_layers") is not None:
        found["across_layers"] = bool(settings["across_layers"])
    if settings.get("infill_percent") is not None:
        solid = float(settings["infill_percent"]) >= FULL_INFILL_PERCENT
        found["infill_solid"] = solid or settings.get("has_core") is False
    return found


def _derive_margins(facts: dict[str, Any], stated: Mapping[str, Any]) -> None:
    """What follows from other facts, computed last so that statements count."""
    pairs = (("softening_margin_k", "service_max_c"), ("food_softening_margin_k", "food_max_c"))
    for margin, hottest in pairs:
        if margin not in stated and facts["softening_c"] is not None and facts[hottest] is not None:
            facts[margin] = facts["softening_c"] - facts[hottest]
    if facts["power_class"] is None and facts["power_w"] is not None:
        power = facts["power_w"]
        facts["power_class"] = "PS1" if power <= PS1_LIMIT_W else "PS2" if power <= PS2_LIMIT_W else "PS3"


def material_facts(key: str, knowledge: KnowledgeBase) -> dict[str, Any]:
    """The material's variables; None where its kind is not one that the rules know.

    Raises
    ------
    KeyError
        The knowledge base has no such material.
    """
    material = knowledge.materials[key]
    values = engine_values(material, knowledge)
    glass = values.glass_transition_c
    name = _plastic_of(material)
    return {
        "material": name,
        "material_family": FAMILIES.get(material.family) or _family_of(name, material.family),
        "filler": _filler_of(material.filler),
        "glass_transition_c": glass.typical if glass is not None else None,
        "softening_c": values.softening_c.typical,
    }


def _plastic_of(material: Material) -> str | None:
    """The plastic's name by the material's key, or by the key that a user's own material is based on."""
    for key in (material.key, material.base):
        name = key.upper().split("_")[0]
        if name in PLASTICS:
            return name
    return None


def _family_of(name: str | None, family: str) -> frozenset[str] | None:
    if name is not None:
        return frozenset({name})
    return STYRENICS if family == "styrenic" else None


def _filler_of(words: str) -> str | None:
    filler = words.strip().replace(" ", "_") or "none"
    return filler if filler in FILLERS else None
