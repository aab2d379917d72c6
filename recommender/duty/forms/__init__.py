"""The forms a part can have, one module each; only the form that a sheet names is loaded."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from recommender.duty.fields import SheetPart

# Kind of form, and the class that describes it in the module of that name.
FORMS: dict[str, str] = {
    "bar": "Bar",
    "beam": "Beam",
    "column": "Column",
    "shaft": "Shaft",
    "lever": "Lever",
    "hook": "Hook",
    "bracket": "Bracket",
    "plate": "Plate",
    "lug": "Lug",
    "snap_arm": "SnapArm",
    "screw_boss": "ScrewBoss",
    "insert_boss": "InsertBoss",
    "press_fit": "PressFit",
    "hinge_knuckle": "HingeKnuckle",
    "living_hinge": "LivingHinge",
    "gear": "Gear",
}

# Words people use for these forms.
OTHER_WORDS: dict[str, str] = {
    "rod": "bar", "stick": "bar", "test_bar": "bar", "shelf": "beam", "cantilever": "beam", "plank": "beam",
    "leg": "column", "post": "column", "spacer": "column", "strut": "column", "axle": "shaft",
    "handle": "lever", "arm": "lever", "key": "lever", "knob": "lever", "crank": "lever",
    "l_bracket": "bracket", "shelf_bracket": "bracket", "corner": "bracket", "lid": "plate",
    "cover": "plate", "panel": "plate", "disc": "plate", "eye": "lug", "clevis": "lug", "clip": "snap_arm",
    "snap": "snap_arm", "snap_fit": "snap_arm", "boss": "screw_boss", "screw": "screw_boss",
    "insert": "insert_boss", "threaded_insert": "insert_boss", "pulley": "press_fit", "hub": "press_fit",
    "hinge": "hinge_knuckle", "film_hinge": "living_hinge", "spur_gear": "gear", "cog": "gear",
}  # fmt: skip


def form_class(kind: str) -> type[SheetPart]:
    """The class that describes forms of this `kind`; KeyError when there is none."""
    name = FORMS[kind]
    loaded: type[SheetPart] = getattr(import_module(f"recommender.duty.forms.{kind}"), name)
    return loaded


def form_from(value: Any) -> SheetPart:
    """Check a form as written; ValueError (or pydantic's own error) where it is not one."""
    if isinstance(value, SheetPart):
        return value
    if not isinstance(value, dict):
        raise ValueError(
            f"{value!r:.60} is not a form. Write its kind and sizes, such as "
            "{kind: hook, inner_radius: 10 mm, depth: 8 mm, width: 12 mm, shank_length: 40 mm}."
        )
    kind = value.get("kind")
    if not isinstance(kind, str) or kind not in FORMS:
        raise ValueError(_unknown_kind(kind))
    return form_class(kind).model_validate(value)


def _unknown_kind(kind: Any) -> str:
    from difflib import get_close_matches

    allowed = f"Allowed kinds: {', '.join(FORMS)}."
    if not isinstance(kind, str):
        return (
            f"kind is missing. {allowed}" if kind is None else f"kind {kind!r:.60} is not a word. {allowed}"
        )
    word = kind.strip().lower().replace(" ", "_").replace("-", "_")
    near = OTHER_WORDS.get(word) or next(iter(get_close_matches(word, [*FORMS, *OTHER_WORDS], 1, 0.7)), None)
    meant = f" Did you mean {OTHER_WORDS.get(near, near)}?" if near else ""
    return f"kind {kind[:40]!r} is not known.{meant} {allowed}"
