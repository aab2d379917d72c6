"""Duty sheets of our own for the note, with answers made by hand: the page is tested apart from the engine."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from kb.loading import KnowledgeBase, load_knowledge_base
from recommender.answer import Answer, Interval, Option, Settings
from recommender.duty.reading import duty_from
from recommender.report.note.case import Case, Maker, Trace
from recommender.report.note.gather import case_of

MAKER = Maker(
    "Anna Weber, Printed Parts", "Lindenweg 4, 79098 Freiburg, Germany", "anna@printed-parts.example"
)
TRACE = Trace(batch="B-017", made_on="2026-11-20", colour="white")

HOOK = {"kind": "hook", "inner_radius": "15 mm", "depth": "14 mm", "width": "12 mm", "shank_length": "40 mm"}
BAR = {
    "kind": "bar",
    "length": "90 mm",
    "section": {"shape": "rectangle", "width": "20 mm", "thickness": "8 mm"},
}
BRACKET = {
    "kind": "bracket",
    "reach": "120 mm",
    "arm_depth": "20 mm",
    "width": "40 mm",
    "inner_radius": "6 mm",
    "leg_height": "100 mm",
    "leg_thickness": "10 mm",
    "screw_diameter": "5 mm",
    "head_diameter": "10 mm",
    "top_row_height": "80 mm",
}
PLATE = {"kind": "plate", "outline": "round", "diameter": "90 mm", "thickness": "4 mm"}
LEVER = {
    "kind": "lever",
    "arm": "80 mm",
    "width": "18 mm",
    "thickness": "12 mm",
    "hub_diameter": "30 mm",
    "hub_height": "14 mm",
    "across_flats": "14 mm",
}
SNAP = {
    "kind": "snap_arm",
    "length": "20 mm",
    "width": "8 mm",
    "root_thickness": "2 mm",
    "undercut": "1.2 mm",
}
GEAR = {"kind": "gear", "teeth": 24, "module_size": "1.5 mm", "face_width": "10 mm"}

Sheet = dict[str, Any]

SHEETS: dict[str, tuple[str, Sheet]] = {
    "label_spacer": ("pla", {
        "part": "Spacer behind a door sign", "purpose": "Keeps a paper door sign 8 mm off the wall.", "form": BAR,
        "loads": [{"kind": "static", "action": "push", "force": "2 N"}],
        "people": {"if_it_breaks": "no_harm"}, "place": {"lowest_temperature": "10 C"},
    }),
    "coat_hook": ("petg", {
        "part": "Coat hook for the hall", "purpose": "Holds coats and a bag on a wooden wall.", "form": HOOK,
        "loads": [{"kind": "sustained", "force": "4 kg", "duration": "2 years"}],
        "place": {"peak_temperature": "40 C", "lowest_temperature": "5 C"},
        "people": {"if_it_breaks": "nuisance", "below": "floor"}, "uses": ["wall_hook"],
        "hand_over": "sold", "market": "EU",
    }),
    "shelf_bracket": ("pa12", {
        "part": "Bracket under a spice shelf", "purpose": "Two of these carry a small shelf.", "form": BRACKET,
        "loads": [{"kind": "sustained", "force": "3 kg", "duration": "5 years"}],
        "people": {"if_it_breaks": "minor_injury", "below": "goods"}, "uses": ["shelf_bracket"],
    }),
    "trellis_bar": ("abs", {
        "part": "Trellis bar", "purpose": "Holds a vine wire on a south wall.", "form": BAR,
        "loads": [{"kind": "sustained", "action": "pull", "force": "30 N", "duration": "1 year"}],
        "place": {"peak_temperature": "35 C", "lowest_temperature": "-10 C", "outdoors": True,
                  "warmed_by": ["sun"], "colour": "dark", "water": "wet"},
        "people": {"if_it_breaks": "nuisance"},
    }),
    "crank_gear": ("petg", {
        "part": "Gear of a marble run crank", "purpose": "Turns a marble lift by hand.", "form": GEAR,
        "loads": [{"kind": "cyclic", "torque": "0.4 N·m", "cycles": 40000}],
        "people": {"if_it_breaks": "no_harm", "youngest_user_years": 8},
    }),
    "biscuit_stamp": ("pla", {
        "part": "Biscuit stamp", "purpose": "Presses a pattern into dough.", "form": PLATE,
        "loads": [{"kind": "static", "force": "40 N"}],
        "contact": {"food": "moist", "food_reuse": "repeated"}, "people": {"if_it_breaks": "minor_injury"},
        "hand_over": "given", "market": "EU",
    }),
    "strip_light_clip": ("pc", {
        "part": "Clip for a 12 V strip light", "purpose": "Holds a low-voltage strip under a shelf.", "form": SNAP,
        "loads": [{"kind": "static"}], "contact": {"electrical": "low_voltage", "voltage_v": 12},
        "people": {"if_it_breaks": "nuisance"},
    }),
    "phone_arm": ("asa", {
        "part": "Arm for a phone on the dash", "purpose": "Holds a phone in a car.", "form": BAR,
        "loads": [{"kind": "cyclic", "action": "bend", "force": "3 N", "cycles": 200000}],
        "place": {"peak_temperature": "30 C", "warmed_by": ["parked_car"]},
        "people": {"if_it_breaks": "nuisance"},
    }),
    "mallet_bar": ("pa12", {
        "part": "Bar that stops a garden gate", "purpose": "Stops a light gate.", "form": BAR,
        "loads": [{"kind": "impact", "action": "bend", "mass": "1.5 kg", "drop": "200 mm"}],
        "place": {"lowest_temperature": "-5 C", "outdoors": True},
        "people": {"if_it_breaks": "minor_injury"},
    }),
    "child_swing_hook": ("pa12", {
        "part": "Hook for a child's swing", "form": HOOK, "loads": [{"kind": "cyclic", "force": "30 kg", "cycles": 100000}],
        "people": {"if_it_breaks": "serious_injury", "holds_person": True, "youngest_user_years": 4},
    }),
    "socket_cover": ("pc", {
        "part": "Cover for a wall socket", "form": PLATE, "loads": [{"kind": "static", "force": "20 N"}],
        "contact": {"electrical": "mains", "voltage_v": 230}, "people": {"if_it_breaks": "death"},
    }),
    "meat_press": ("pp", {
        "part": "Press for burgers", "form": PLATE, "loads": [{"kind": "static", "force": "80 N"}],
        "contact": {"food": "raw_meat"}, "people": {"if_it_breaks": "minor_injury"},
    }),
}  # fmt: skip


@cache
def knowledge() -> KnowledgeBase:
    """The knowledge base, read once."""
    return load_knowledge_base()


def answer_to(part: str, material: str, required: float = 4.5, surface_c: float | None = None) -> Answer:
    """A suitable answer made by hand; its figures stand for no part."""
    settings = Settings(material, "flat", 5, 5, 5, 40.0, "gyroid", 0.2, 0.45, 0.4, 240.0, 80.0)
    option = Option(
        settings=settings,
        failure_load=Interval(200.0, 260.0, 330.0, "N"),
        factor=required * 1.1,
        required_factor=required,
        governing="bending",
        survival_probability=0.99,
        deflection_mm=1.2,
        mass_g=23.0,
        filament_m=7.7,
        print_time_min=70.0,
        cost=1.2,
        currency="EUR",
        passes=True,
    )
    return Answer(
        "suitable", part, choice=option, surface_temperature_c=surface_c, knowledge_version="a1b2c3d4e5f6"
    )


def case_for(
    name: str,
    language: str = "en",
    maker: Maker = MAKER,
    trace: Trace = TRACE,
    units: Any = "metric",
    **changes: Any,
) -> Case:
    """The case of one of our sheets; `changes` replace fields of the sheet.

    Names go past the reading of sheets, which refuses the oddest: the page must bear whatever comes.
    """
    material, sheet = SHEETS[name]
    texts = {key: changes.pop(key) for key in ("part", "purpose") if key in changes}
    duty = duty_from({**sheet, **changes}).model_copy(update=texts)
    return case_of(duty, answer_to(duty.part, material), knowledge(), maker, language, units, trace)


def with_answer(case: Case, **changes: Any) -> Case:
    """The same case with fields of its answer replaced."""
    return replace(case, answer=case.answer._replace(**changes))
