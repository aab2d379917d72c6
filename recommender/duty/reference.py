"""The list of every field of the duty sheet, in Markdown, made from the models themselves.

``python -m recommender.duty.reference`` prints it; a test holds README.md against it.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.duty.checks import MEMBER_ACTIONS
from recommender.duty.choices import FORM_WORDS
from recommender.duty.fields import PLACES_ON_A_MEMBER, Range
from recommender.duty.forms import FORMS, form_class
from recommender.duty.loads import Load
from recommender.duty.sections import Rectangle, Round, Tube
from recommender.duty.sheet import Contact, Duty, Limits, People, Place

GROUPS: dict[str, type[BaseModel]] = {"place": Place, "contact": Contact, "people": People, "limits": Limits}
SECTIONS: tuple[type[BaseModel], ...] = (Rectangle, Round, Tube)
EXAMPLES: dict[str, str] = {
    "part": "shelf bracket", "purpose": "holds paint tins in a shed", "notes": "screws go into brick",
    "form": "{kind: hook, ...}", "loads": "[{action: pull, force: 5 kg}]", "place": "{outdoors: yes}",
    "contact": "{skin: brief}", "people": "{below: floor}", "limits": "{deflection: 2 mm}",
    "uses": "[garden]", "market": "EU", "printer": "open_medium", "filaments": "[petg, asa]",
    "nozzle": "0.4 mm", "facts": "{metal_insert: brass}",
    "loads.kind": "cyclic", "loads.action": "bend", "loads.at": "middle", "loads.cycles": "5000",
    "loads.drop": "200 mm", "loads.temperature": "60 °C", "loads.note": "gusts",
    "place.usual_temperature": "20 °C", "place.peak_temperature": "38 °C", "place.colour": "dark",
    "place.lowest_temperature": "-10 °C", "place.surface_temperature": "60 °C", "place.water": "wet",
    "place.chemicals": "[dish soap]", "contact.food": "dry", "contact.electrical": "low_voltage",
    "contact.voltage_v": "12", "contact.skin": "brief", "contact.battery": "other",
    "contact.fluid_under_pressure": "water", "people.if_it_breaks": "nuisance", "people.below": "floor",
    "people.youngest_user_years": "6", "limits.deflection": "2 mm", "form.support": "cantilever",
    "form.section": "{shape: round, diameter: 8 mm}", "form.ends": "fixed", "form.teeth": "24",
    "form.screws_per_row": "2", "form.shear_planes": "2", "form.friction": "0.3", "form.lead_angle": "30 deg",
    "form.angle": "120 deg", "form.span": "90 mm", "form.arm": "60 mm", "form.width": "20 mm",
    "form.thickness": "5 mm", "form.diameter": "60 mm", "form.outer_diameter": "20 mm",
    "form.inner_diameter": "8 mm", "form.hub_diameter": "26 mm", "form.hub_height": "20 mm",
    "form.across_flats": "8 mm", "form.root_radius": "6 mm", "form.inner_radius": "12 mm",
    "form.depth": "16 mm", "form.shank_length": "45 mm", "form.load_offset": "4 mm", "form.reach": "120 mm",
    "form.arm_depth": "45 mm", "form.leg_height": "120 mm", "form.leg_thickness": "10 mm",
    "form.screw_diameter": "5 mm", "form.head_diameter": "15 mm", "form.top_row_height": "100 mm",
    "form.bottom_row_height": "20 mm", "form.patch_diameter": "20 mm", "form.hole_diameter": "4.2 mm",
    "form.edge_distance": "14 mm", "form.root_thickness": "2 mm", "form.tip_thickness": "1.4 mm",
    "form.undercut": "0.8 mm", "form.engagement": "10 mm", "form.height": "14 mm",
    "form.insert_diameter": "8.2 mm", "form.insert_length": "10 mm", "form.shaft_diameter": "8 mm",
    "form.interference": "0.08 mm", "form.pin_diameter": "4 mm", "form.knuckle_width": "14 mm",
    "form.wall": "4 mm", "form.module_size": "2 mm", "form.face_width": "12 mm",
}  # fmt: skip


def markdown() -> str:
    """The whole list."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield "The sheet itself:\n"
    yield from _table(Duty, "")
    yield "\n`loads`, a list; each load has:\n"
    yield from _table(Load, "loads")
    for group, model in GROUPS.items():
        yield f"\n`{group}`:\n"
        yield from _table(model, group)
    yield "\n`form`, by its `kind`:\n"
    for kind in FORMS:
        actions = ", ".join(MEMBER_ACTIONS[kind])
        yield f"\n`kind: {kind}`: {FORM_WORDS[kind]} (action: {actions}).\n"
        yield from _table(form_class(kind), "form")
    yield "\n`section` of a bar, beam, column or shaft, by its `shape`:\n"
    for model in SECTIONS:
        yield f"\n`shape: {_literals(model.model_fields['shape'].annotation)[0]}`:\n"
        yield from _table(model, "form")


def _table(model: type[BaseModel], group: str) -> Iterator[str]:
    yield "| field | takes | when left out | example | meaning |"
    yield "|---|---|---|---|---|"
    for name, info in model.model_fields.items():
        if name not in ("kind", "shape") or group == "loads":
            yield _row(name, info, f"{group}.{name}" if group else name)


def _row(name: str, info: FieldInfo, path: str) -> str:
    cells = (
        f"`{name}`",
        takes(info),
        _when_left_out(info),
        f"`{example(info, path)}`",
        info.description or "",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def takes(info: FieldInfo) -> str:
    """What a field takes, in words: the choices, or the kind of value with its bounds."""
    span, kind = _range(info), _plain_type(info.annotation)
    if span:
        return f"{span.dimension.name}, {_bounds(span)}"
    if float | str in get_args(kind):
        return f"{', '.join(PLACES_ON_A_MEMBER)}, or a length"
    choices = _literals(kind)
    if choices:
        return ("list of: " if get_origin(kind) is tuple else "") + ", ".join(choices)
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return "group of fields"
    words = {bool: "yes or no", int: "whole number", float: "plain number", str: "words"}
    if kind in words:
        return words[kind] + _number_bounds(info)
    inner: Any = next(iter(get_args(kind)), None)
    return (
        {str: "list of words", Load: "list of loads"}.get(inner, "")
        if get_origin(kind) is tuple
        else _other(kind)
    )


def _other(kind: Any) -> str:
    return "names with yes, no, a number, words" if get_origin(kind) is dict else "group of fields"


def _bounds(span: Range) -> str:
    return f"{'above' if span.low_open else 'from'} {span.low:g} to {span.high_in_words}"


def _number_bounds(info: FieldInfo) -> str:
    bounds = {type(each).__name__: each for each in info.metadata}
    low = getattr(bounds.get("Ge"), "ge", None)
    above = getattr(bounds.get("Gt"), "gt", None)
    high = getattr(bounds.get("Le"), "le", None)
    if high is None:
        return ""
    return f", {f'from {low:g}' if above is None else f'above {above:g}'} to {high:g}".replace("e+0", "e")


def _range(info: FieldInfo) -> Range | None:
    found = next((each for each in info.metadata if isinstance(each, Range)), None)
    if found is None:
        inner = (each for part in get_args(info.annotation) for each in getattr(part, "__metadata__", ()))
        found = next((each for each in inner if isinstance(each, Range)), None)
    return found


def _plain_type(annotation: Any) -> Any:
    if get_origin(annotation) in (Union, types.UnionType):
        kept = [part for part in get_args(annotation) if part is not type(None)]
        return kept[0] if len(kept) == 1 else annotation
    return annotation


def _literals(kind: Any) -> list[str]:
    if get_origin(kind) is Literal:
        return [str(choice) for choice in get_args(kind)]
    if get_origin(kind) is tuple:
        return _literals(get_args(kind)[0])
    return []


def _when_left_out(info: FieldInfo) -> str:
    default = info.get_default(call_default_factory=True, validated_data={})
    if info.is_required():
        return "needed"
    if isinstance(default, BaseModel) or default in (None, (), {}, ""):
        return "-"
    if isinstance(default, bool):
        return "yes" if default else "no"
    span = _range(info)
    return f"{default:g} {span.dimension.inner_symbol}" if span else str(default)


def example(info: FieldInfo, path: str) -> str:
    """A value that the field takes."""
    span, kind = _range(info), _plain_type(info.annotation)
    if path in EXAMPLES:
        return EXAMPLES[path]
    if span:
        return span.dimension.example.split(" (")[0]
    choices = _literals(kind)
    if choices:
        return f"[{choices[0]}]" if get_origin(kind) is tuple else choices[-1]
    return {bool: "yes", int: "1", float: "1", str: "words"}.get(kind, "")


def comments(kind: str, shape: str = "") -> dict[str, str]:
    """A short comment for each field by its path, for a sheet whose form is of this kind and shape."""
    models: list[tuple[str, type[BaseModel]]] = [("", Duty), ("loads.", Load), ("form.", form_class(kind))]
    models += [(f"{group}.", model) for group, model in GROUPS.items()]
    models += [
        ("form.section.", model)
        for model in SECTIONS
        if shape in _literals(model.model_fields["shape"].annotation)
    ]
    return {
        f"{group}{name}": info.description or ""
        for group, model in models
        for name, info in model.model_fields.items()
        if info.description
    }


if __name__ == "__main__":
    print(markdown(), end="")
