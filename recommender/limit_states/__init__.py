"""The ways a form can fail. One module per form; each gives its lies, limit states, deflection and envelope.

House rule elsewhere is one module per way to fail; here the ways belong to a form's geometry, and what forms
share (skin, core, interlayer shear, dimpling) stands in ``section_states``.
"""

from __future__ import annotations

from importlib import import_module

from recommender.limit_states.form_model import FormModel

MODELS: dict[str, tuple[str, str]] = {
    "bar": ("members", "MEMBER"),
    "beam": ("members", "MEMBER"),
    "column": ("members", "MEMBER"),
    "shaft": ("members", "MEMBER"),
    "lever": ("lever", "LEVER"),
    "hook": ("hook", "HOOK"),
    "bracket": ("bracket", "BRACKET"),
    "plate": ("plate", "PLATE"),
    "lug": ("lug", "LUG"),
    "snap_arm": ("snap_arm", "SNAP_ARM"),
    "screw_boss": ("boss", "SCREW_BOSS"),
    "insert_boss": ("boss", "INSERT_BOSS"),
    "press_fit": ("press_fit", "PRESS_FIT"),
    "hinge_knuckle": ("hinge", "HINGE_KNUCKLE"),
    "living_hinge": ("hinge", "LIVING_HINGE"),
    "gear": ("gear", "GEAR"),
}


def form_model(kind: str) -> FormModel:
    """The model of forms of this `kind`."""
    module, name = MODELS[kind]
    model: FormModel = getattr(import_module(f"recommender.limit_states.{module}"), name)
    return model
