"""Short texts of `partduty log observe` ("slot=13.92", "210 N, across layers") read into observations."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from recommender import quantities
from recommender.errors import InputError, UnitError
from recommender.log.classes import FORCES
from recommender.log.records import EVENTS, FEATURES, Observation, Print, first_refusal

SIZE_EXAMPLE = (
    'Write it such as "slot 14 = 13.92", "hole 5 = 4.83 along x" or "outside 60 = 59.8 first layer".'
)
OUTSIDE_WORDS = (
    "outside", "width", "length", "height", "thickness", "depth", "diameter", "pin", "shaft", "boss", "wall",
)  # fmt: skip
HOLE_WORDS = ("hole", "bore", "hole_diameter", "bore_diameter", "inner_diameter", "inner_radius")
LOADS = {
    "N": quantities.FORCE, "N·mm": quantities.TORQUE, "MPa": quantities.PRESSURE, "mm": quantities.LENGTH,
    "deg": quantities.ANGLE,
}  # fmt: skip
PLACES = (
    "at a hole", "at the root", "at the bend", "in the middle", "at the end", "at a screw", "at the support",
    "at the thread", "at the insert",
)  # fmt: skip
EVENT_WORDS = {
    "under extruded": "under-extruded", "layers split": "layer split", "split": "layer split",
    "warp": "warped", "string": "strings", "poor bed adhesion": "poor adhesion", "clog": "clogged",
}  # fmt: skip
NOMINAL_STEP_MM = 0.5  # a size without its nominal is taken to be of the nearest half millimetre ...
NOMINAL_REACH_MM = 0.2  # ... where it lies within this of it

_SIZE = re.compile(
    r"^\s*(?P<name>[A-Za-z_ ]+?)\s*(?P<nominal>[\d.,/ ]+\s*(?:mm|cm|in|inch|\"|um)?)?\s*=\s*"
    r"(?P<measured>[\d.,/]+\s*(?:mm|cm|in|inch|\"|um)?)\s*(?P<rest>.*)$"
)
_TIME_PART = re.compile(r"([\d.,]+)\s*([A-Za-z]+)")


def measured(text: str, entry: Print) -> dict[str, Any]:
    """A measured size: feature, nominal, measured, axis, first layer."""
    found = _SIZE.match(text)
    if not found:
        raise InputError("--measured", f"{text!r} cannot be read.", SIZE_EXAMPLE)
    name = found["name"].strip().lower().replace(" ", "_")
    value = _millimetres(found["measured"], "--measured")
    feature = _feature(name, text)
    nominal, assumed = _nominal(found["nominal"], name, value, entry.sheet)
    return {
        "kind": "size",
        "feature": feature,
        "nominal_mm": nominal,
        "nominal_assumed": assumed,
        "measured_mm": value,
        **_where_measured(found["rest"], name),
    }


def _feature(name: str, text: str) -> str:
    if name in FEATURES:
        return name
    last = name.rsplit("_", 1)[-1]
    if name in HOLE_WORDS or last in HOLE_WORDS:
        return "hole"
    if last in OUTSIDE_WORDS:
        return "outside"
    if last in FEATURES:
        return last
    raise InputError(
        "--measured", f"{text!r}: {name!r} is no kind of size.", f"Allowed: {', '.join(FEATURES)}."
    )


def _millimetres(text: str, field: str) -> float:
    text = text.strip()
    if re.fullmatch(r"[\d.,/]+", text):
        text += " mm"
    return quantities.quantity(text, quantities.LENGTH, field)


def _nominal(written: str | None, name: str, value: float, sheet: Mapping[str, Any]) -> tuple[float, bool]:
    if written and written.strip():
        return _millimetres(written, "--measured"), False
    from_sheet = _from_sheet(name, sheet.get("form", {}))
    if from_sheet is not None:
        return from_sheet, False
    nearest = round(value / NOMINAL_STEP_MM) * NOMINAL_STEP_MM
    if nearest <= 0 or abs(value - nearest) > NOMINAL_REACH_MM:
        raise InputError(
            "--measured", f"the nominal size of {name} = {value:g} mm is not given.", SIZE_EXAMPLE
        )
    return nearest, True


def _from_sheet(name: str, form: Any) -> float | None:
    """The size called `name` in the form of the duty sheet, in mm."""
    if not isinstance(form, Mapping):
        return None
    for key, value in form.items():
        if isinstance(value, Mapping):
            inner = _from_sheet(name, value)
            if inner is not None:
                return inner
        elif key == name and isinstance(value, str):
            return quantities.quantity(value, quantities.LENGTH, f"form.{key}")
    return None


def _where_measured(rest: str, name: str) -> dict[str, Any]:
    words = rest.lower().replace(",", " ").split()
    result: dict[str, Any] = {"axis": "z" if name == "height" else None, "first_layer": False}
    text = " ".join(words)
    if "first layer" in text:
        result["first_layer"] = True
        text = text.replace("first layer", " ")
    left = [word for word in text.split() if word not in ("along", "in", "at", "the", "axis")]
    for word in left:
        if word not in ("x", "y", "z"):
            raise InputError("--measured", f"{word!r} is not understood.", SIZE_EXAMPLE)
        result["axis"] = word
    return result


def held(text: str, entry: Print) -> dict[str, Any]:
    """A load that was held: "40 N for 5 min"."""
    load, _, time = text.partition(" for ")
    duration = duration_s(time, "--held") if time.strip() else None
    return {"kind": "held", "load": _load(load, "--held", entry), "duration_s": duration}


def broke(text: str, entry: Print) -> dict[str, Any]:
    """A load at which it broke, and how and where: "210 N, across layers, at the root"."""
    load, *remarks = [part.strip() for part in text.split(",")] if not _comma_number(text) else [text]
    how, places = "unknown", []
    for remark in filter(None, remarks):
        if remark.lower() in ("along layers", "across layers", "unknown"):
            how = remark.lower()
        else:
            places.append(_place(remark))
    return {
        "kind": "broke",
        "load": _load(load, "--broke", entry),
        "how": how,
        "place": ", ".join(places) or None,
    }


def _comma_number(text: str) -> bool:
    return re.fullmatch(r"\s*\d+,\d+\s*[^,]*", text) is not None


def _place(remark: str) -> str:
    lowered = remark.lower().removeprefix("broke ").strip()
    for place in PLACES:
        if lowered in (place, place.split()[-1], place.replace("at a ", "at the ")):
            return place
    return remark[:200]


def _load(text: str, field: str, entry: Print) -> float:
    dimension = LOADS.get(entry.load_unit, quantities.FORCE)
    value = quantities.quantity(text.strip(), dimension, field)
    if value <= 0:
        raise InputError(field, f"{text.strip()!r} is no load.", f"Write it such as {dimension.example}.")
    return value


def duration_s(text: str, field: str) -> float:
    """A time in one or more parts ("2 h 20 min"), in s."""
    parts = _TIME_PART.findall(text)
    left = _TIME_PART.sub("", text).replace("and", "").replace(",", "").strip()
    if not parts or left:
        raise UnitError(field, f"{text.strip()!r} is not a time.", 'Write it such as "2 h 20 min".')
    return sum(quantities.quantity(f"{number} {unit}", quantities.TIME, field) for number, unit in parts)


def print_time(text: str, entry: Print) -> dict[str, Any]:
    """How long the print took; `amount` in minutes."""
    return {"kind": "time", "amount": duration_s(text, "--time") / 60}


def mass(text: str, entry: Print) -> dict[str, Any]:
    """What the part weighs; `amount` in grams."""
    return {"kind": "mass", "amount": quantities.quantity(text, quantities.MASS, "--mass")}


def event(text: str, entry: Print) -> dict[str, Any]:
    """A print quality event in one of the known words."""
    tidy = text.strip().lower().replace("first time right", "first-time right").replace("_", " ")
    tidy = EVENT_WORDS.get(tidy, tidy)
    if tidy not in EVENTS:
        raise InputError("--event", f"{text!r} is not known.", f"Allowed: {', '.join(EVENTS)}.")
    return {"kind": "event", "words": tidy}


def service(text: str, entry: Print) -> dict[str, Any]:
    """How the part does in use: "in use 200 days, hottest 35 °C, still fine"."""
    result: dict[str, Any] = {"kind": "service"}
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        result.update(_service_part(part, text))
    if "outcome" not in result:
        raise InputError("--service", f"{text!r} does not say how it went.", _SERVICE_HELP)
    return result


OUTCOMES = ("still fine", "broke", "sagged", "wore", "leaked", "came loose")
_SERVICE_HELP = (
    f'Write it such as "in use 200 days, hottest 35 °C, still fine"; outcomes: {", ".join(OUTCOMES)}; '
    "where it broke: along layers, across layers, at a hole, at the root."
)


def _service_part(part: str, text: str) -> dict[str, Any]:
    lowered = part.lower().removeprefix("failed ").removeprefix("it ").strip()
    for field, phrases in (("outcome", OUTCOMES), ("how", ("along layers", "across layers"))):
        for phrase in phrases:
            if lowered == phrase:
                return {field: phrase}
            if lowered.startswith(phrase + " "):
                return {field: phrase, **_service_part(lowered.removeprefix(phrase).strip(), text)}
    if lowered.startswith("hottest"):
        heat = quantities.quantity(part.lower().removeprefix("hottest").strip().replace("°c", "°C"),
                                   quantities.TEMPERATURE, "--service")  # fmt: skip
        return {"hottest_c": heat}
    amount = re.fullmatch(r"(?:in use |after |for )?(?:for )?(?P<what>\d.*)", lowered)
    if amount:
        cycles = re.fullmatch(r"(\d+)\s*(?:cycles|times)", amount["what"])
        return (
            {"cycles": int(cycles[1])} if cycles else {"duration_s": duration_s(amount["what"], "--service")}
        )
    if lowered.startswith(("at ", "in ")):
        return {"place": _place(lowered)}
    raise InputError("--service", f"{part!r} is not understood.", _SERVICE_HELP)


def note(text: str, entry: Print) -> dict[str, Any]:
    """Any words."""
    return {"kind": "note", "words": text.strip()}


def photo(text: str, entry: Print) -> dict[str, Any]:
    """The path of a photo; the file itself stays where it is."""
    return {"kind": "photo", "words": text.strip()}


READERS = {
    "measured": measured, "time": print_time, "mass": mass, "event": event, "held": held, "broke": broke,
    "service": service, "note": note, "photo": photo,
}  # fmt: skip


def observations_from(texts: Mapping[str, list[str]], entry: Print) -> list[Observation]:
    """All observations written for the print `entry`, by the name of their option.

    Raises
    ------
    InputError
        A text cannot be read: which, why, and an example.
    """
    from pydantic import ValidationError

    from recommender.log.recording import with_multiple

    seen = []
    for name, written in texts.items():
        for text in written:
            fields = READERS[name](text, entry)
            try:
                seen.append(with_multiple(entry, Observation(print_id=entry.id, **fields)))
            except ValidationError as error:
                _, why = first_refusal(error)
                raise InputError(f"--{name}", f"{text!r}: {why}.", "Check the figure.") from None
    return seen


def remarks(entry: Print, seen: Observation) -> list[str]:
    """What to look at again in `seen`: an assumed nominal, a figure far from what was expected."""
    told = []
    if seen.kind == "size" and seen.nominal_mm and seen.measured_mm:
        if seen.nominal_assumed:
            told.append(f"nominal taken as {seen.nominal_mm:g} mm; else amend {seen.id}, nominal_mm=...")
        if abs(seen.measured_mm - seen.nominal_mm) > max(0.1 * seen.nominal_mm, 1.0):
            told.append(f"{seen.measured_mm:g} mm is far from nominal; amend {seen.id} if it is a slip.")
    ratio = _ratio_to_prediction(entry, seen)
    if ratio is not None and not 0.3 < ratio < 3:
        told.append(f"this is {ratio:.2g} times the prediction; amend {seen.id} if it is a typing error.")
    if seen.kind in ("held", "broke") and entry.load_unit not in FORCES:
        told.append("how far it bent or turned tells of strain, so it does not change the strength learned.")
    elif seen.kind in ("held", "broke") and entry.test_typical is None:
        told.append("no strength was predicted for this print, so this load teaches nothing.")
    return told


def _ratio_to_prediction(entry: Print, seen: Observation) -> float | None:
    if seen.kind == "broke":
        return seen.multiple
    predicted = {"time": entry.time_min, "mass": entry.mass_g}.get(seen.kind)
    return seen.amount / predicted if predicted and seen.amount else None
