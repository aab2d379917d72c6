"""The forms a part can have, one module each; only the form that a sheet names is loaded."""

from __future__ import annotations

from importlib import import_module

from recommender.duty.fields import SheetPart

FORMS: dict[str, tuple[str, str]] = {
    "bar": ("members", "Bar"),
    "beam": ("members", "Beam"),
    "column": ("members", "Column"),
    "shaft": ("members", "Shaft"),
    "lever": ("lever", "Lever"),
    "hook": ("hook", "Hook"),
    "bracket": ("bracket", "Bracket"),
    "plate": ("plate", "Plate"),
    "lug": ("lug", "Lug"),
    "snap_arm": ("snap_arm", "SnapArm"),
    "screw_boss": ("boss", "ScrewBoss"),
    "insert_boss": ("boss", "InsertBoss"),
    "press_fit": ("press_fit", "PressFit"),
    "hinge_knuckle": ("hinge", "HingeKnuckle"),
    "living_hinge": ("hinge", "LivingHinge"),
    "gear": ("gear", "Gear"),
}


def form_class(kind: str) -> type[SheetPart]:
    """The class that describes forms of this `kind`; KeyError when there is none."""
    module, name = FORMS[kind]
    loaded: type[SheetPart] = getattr(import_module(f"recommender.duty.forms.{module}"), name)
    return loaded
