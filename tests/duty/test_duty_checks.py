"""Forms, loads and fields that only make sense together."""

from __future__ import annotations

from typing import Any

import pytest

from recommender.duty.checks import CHECKS, MEMBER_ACTIONS, action_of
from recommender.duty.forms import FORMS, form_class
from recommender.duty.reading import duty_from
from recommender.errors import DutySheetError

RECTANGLE = {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"}
SIZES: dict[str, dict[str, Any]] = {
    "bar": {"length": "80 mm", "section": RECTANGLE},
    "beam": {"support": "simply_supported", "span": "64 mm", "section": RECTANGLE},
    "column": {"length": "60 mm", "section": {"shape": "round", "diameter": "20 mm"}},
    "shaft": {
        "length": "60 mm",
        "section": {"shape": "tube", "outer_diameter": "14 mm", "inner_diameter": "6 mm"},
    },
    "lever": {"arm": "60 mm", "width": "18 mm", "thickness": "12 mm", "hub_diameter": "26 mm",
              "hub_height": "20 mm", "across_flats": "8 mm", "flats": 4},
    "hook": {"inner_radius": "14 mm", "depth": "16 mm", "width": "18 mm", "shank_length": "45 mm"},
    "bracket": {"reach": "120 mm", "arm_depth": "45 mm", "width": "30 mm", "leg_height": "120 mm",
                "leg_thickness": "10 mm", "screw_diameter": "5 mm", "head_diameter": "15 mm",
                "top_row_height": "100 mm", "bottom_row_height": "20 mm"},
    "plate": {"outline": "round", "diameter": "80 mm", "thickness": "3 mm"},
    "lug": {"width": "28 mm", "thickness": "12 mm", "hole_diameter": "8 mm", "edge_distance": "16 mm"},
    "snap_arm": {"length": "14 mm", "width": "8 mm", "root_thickness": "2 mm", "undercut": "0.8 mm"},
    "screw_boss": {"outer_diameter": "10 mm", "hole_diameter": "3.3 mm", "screw_diameter": "4 mm",
                   "engagement": "10 mm", "height": "12 mm"},
    "insert_boss": {"outer_diameter": "20 mm", "insert_diameter": "8 mm", "insert_length": "10 mm",
                    "height": "14 mm"},
    "press_fit": {"shaft_diameter": "8 mm", "outer_diameter": "32 mm", "interference": "0.1 mm",
                  "length": "16 mm"},
    "hinge_knuckle": {"pin_diameter": "4 mm", "knuckle_width": "14 mm", "wall": "4 mm"},
    "living_hinge": {"thickness": "0.4 mm", "length": "6 mm", "width": "50 mm", "angle": "120 deg"},
    "gear": {"teeth": 24, "module_size": "2 mm", "face_width": "12 mm"},
}  # fmt: skip


def sheet(kind: str, load: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    action = MEMBER_ACTIONS[kind][0]
    amount = {"torque": "1 N·m"} if action == "twist" else {"force": "20 N"}
    form = {"kind": kind, **SIZES[kind], **more.pop("sizes", {})}
    return {"part": "x", "form": form, "loads": [load or {"action": action, **amount}], **more}


def refusal(content: dict[str, Any]) -> str:
    with pytest.raises(DutySheetError) as caught:
        duty_from(content)
    return str(caught.value)


def test_the_sizes_here_name_every_form() -> None:
    assert set(SIZES) == set(FORMS) == set(MEMBER_ACTIONS)


@pytest.mark.parametrize("kind", FORMS)
def test_every_form_is_read(kind: str) -> None:
    duty = duty_from(sheet(kind))
    assert duty.form.kind == kind and isinstance(duty.form, form_class(kind))


@pytest.mark.parametrize("kind", FORMS)
def test_every_size_of_every_form_is_wanted_with_its_unit(kind: str) -> None:
    for name, value in SIZES[kind].items():
        if isinstance(value, str) and value.endswith(("mm", "deg")):
            for wrong in (value.split()[0], f"-{value}", "5 kg", "9e9 mm", float("nan"), True, [value]):
                assert refusal(sheet(kind, sizes={name: wrong})).startswith(f"form.{name}: "), (name, wrong)
        content = sheet(kind)
        del content["form"][name]
        if form_class(kind).model_fields[name].is_required():
            assert refusal(content).startswith(f"form.{name}: this field is missing.")


WRONG_SIZES = [
    (
        "screw_boss",
        {"hole_diameter": "4 mm"},
        "hole_diameter (4 mm) must be smaller than screw_diameter (4 mm).",
    ),
    ("screw_boss", {"outer_diameter": "4 mm"}, "screw_diameter (4 mm) must be smaller than outer_diameter"),
    ("screw_boss", {"engagement": "13 mm"}, "engagement (13 mm) cannot be more than height (12 mm)."),
    (
        "insert_boss",
        {"insert_diameter": "20 mm"},
        "insert_diameter (20 mm) must be smaller than outer_diameter",
    ),
    ("insert_boss", {"insert_length": "15 mm"}, "insert_length (15 mm) cannot be more than height"),
    (
        "bracket",
        {"bottom_row_height": "100 mm"},
        "bottom_row_height (100 mm) must be smaller than top_row_height",
    ),
    ("bracket", {"top_row_height": "120 mm"}, "top_row_height (120 mm) must be smaller than leg_height"),
    ("bracket", {"head_diameter": "5 mm"}, "screw_diameter (5 mm) must be smaller than head_diameter"),
    ("bracket", {"reach": "9 mm"}, "leg_thickness (10 mm) must be smaller than reach (9 mm)."),
    ("bracket", {"screws_per_row": 3}, "3 heads of 15 mm do not fit side by side on a width of 30 mm."),
    ("lever", {"across_flats": "26 mm"}, "across_flats (26 mm) must be smaller than hub_diameter"),
    ("lever", {"arm": "13 mm"}, "arm (13 mm) must reach beyond the hub (radius 13 mm)."),
    ("lug", {"hole_diameter": "28 mm"}, "hole_diameter (28 mm) must be smaller than width"),
    (
        "lug",
        {"edge_distance": "4 mm"},
        "edge_distance (4 mm) must be more than half of hole_diameter (4 mm).",
    ),
    ("plate", {"width": "5 mm"}, "a plate with outline: round has no width."),
    ("plate", {"outline": "rectangle"}, "a plate with outline: rectangle has no diameter."),
    ("plate", {"thickness": "80 mm"}, "thickness (80 mm) must be smaller than diameter"),
    ("plate", {"patch_diameter": "80 mm"}, "patch_diameter (80 mm) must be smaller than diameter"),
    ("press_fit", {"outer_diameter": "8 mm"}, "shaft_diameter (8 mm) must be smaller than outer_diameter"),
    (
        "press_fit",
        {"interference": "0.81 mm"},
        "interference (0.81 mm) is more than a tenth of the shaft (0.8 mm).",
    ),
    (
        "snap_arm",
        {"tip_thickness": "2.1 mm"},
        "tip_thickness (2.1 mm) cannot be more than root_thickness (2 mm).",
    ),
    ("snap_arm", {"undercut": "14 mm"}, "undercut (14 mm) must be smaller than length"),
    ("snap_arm", {"root_thickness": "14 mm"}, "root_thickness (14 mm) must be smaller than length"),
    ("snap_arm", {"lead_angle": "90 deg"}, "lead_angle (90 deg) must be below 90 deg."),
]


@pytest.mark.parametrize(("kind", "sizes", "expected"), WRONG_SIZES)
def test_sizes_that_cannot_be_built(kind: str, sizes: dict[str, Any], expected: str) -> None:
    assert refusal(sheet(kind, sizes=sizes)).startswith(f"form: {expected}")


def test_sizes_just_inside_are_read() -> None:
    duty_from(sheet("screw_boss", sizes={"engagement": "12 mm", "hole_diameter": "3.99 mm"}))
    duty_from(sheet("bracket", sizes={"screws_per_row": 2}))
    duty_from(sheet("press_fit", sizes={"interference": "0.8 mm"}))
    duty_from(sheet("lug", sizes={"edge_distance": "4.01 mm"}))
    duty_from(sheet("snap_arm", sizes={"tip_thickness": "2 mm", "lead_angle": "89 deg"}))


def test_sizes_are_what_a_nozzle_can_draw() -> None:
    # 0.1 mm is below the narrowest line of common nozzles; fits and undercuts may be smaller.
    assert refusal(sheet("hook", sizes={"depth": "0.09 mm"})).startswith(
        "form.depth: '0.09 mm' is outside the range allowed (0.1 to 2000 mm). Check the figure and the unit;"
    )
    duty_from(sheet("hook", sizes={"depth": "0.1 mm"}))
    duty_from(sheet("press_fit", sizes={"interference": "0.02 mm"}))
    duty_from(sheet("snap_arm", sizes={"undercut": "0.05 mm"}))


def test_a_tube_is_hollow() -> None:
    thick = {"shape": "tube", "outer_diameter": "6 mm", "inner_diameter": "6 mm"}
    message = refusal(sheet("shaft", sizes={"section": thick}))
    assert message.startswith(
        "form.section: inner_diameter (6 mm) must be smaller than outer_diameter (6 mm)."
    )


LOADS: list[tuple[str, dict[str, Any], str]] = [
    ("beam", {"force": "5 N", "duration": "2 h"}, "loads[0]: duration goes with kind: sustained, not with"),
    (
        "beam",
        {"kind": "cyclic", "force": "5 N", "cycles": 9, "duration": "2 h"},
        "loads[0]: duration goes with",
    ),
    (
        "beam",
        {"force": "5 N", "cycles": 5},
        "loads[0]: cycles goes with kind: cyclic, not with kind: static.",
    ),
    ("beam", {"force": "5 N", "fully_reversed": True}, "loads[0]: fully_reversed goes with kind: cyclic"),
    ("beam", {"force": "5 N", "energy": "2 J"}, "loads[0]: energy goes with kind: impact"),
    (
        "beam",
        {"mass": "5 kg"},
        "loads[0]: mass goes with kind: impact, not with kind: static. For a hung or laid",
    ),
    ("beam", {"kind": "cyclic", "force": "5 N"}, "loads[0]: a cyclic load needs cycles."),
    ("beam", {"kind": "impact", "drop": "5 mm"}, "loads[0]: drop is given without mass. Add mass: 0.5 kg"),
    ("beam", {"kind": "impact", "mass": "1 kg"}, "loads[0]: mass is given without drop. Add drop: 200 mm"),
    ("beam", {"kind": "impact"}, "loads[0]: an impact needs energy (2 J), or mass (0.5 kg) and drop"),
    (
        "beam",
        {"kind": "impact", "energy": "2 J", "mass": "1 kg", "drop": "1 m"},
        "loads[0]: energy and mass and drop",
    ),
    (
        "bar",
        {"action": "pull", "force": "5 N", "torque": "1 N·m"},
        "loads[0]: force and torque are both given.",
    ),
    ("bar", {"action": "pull", "torque": "1 N·m"}, "loads[0]: a torque twists, but action is pull."),
    ("bar", {"action": "twist", "force": "5 N"}, "loads[0]: a twist is a torque, not a force."),
    ("bar", {"action": "twist"}, "loads[0].torque: a bar that is twisted needs its torque."),
    ("bar", {"force": "5 N"}, "loads[0].action: a bar may be loaded in four ways"),
    ("beam", {}, "loads[0].force: this load does not say how hard."),
    (
        "beam",
        {"action": "twist", "torque": "1 N·m"},
        "loads[0].action: twist does not go with a beam. Allowed: bend.",
    ),
    ("beam", {"torque": "1 N·m"}, "loads[0].torque: twist does not go with a beam."),
    ("lever", {"torque": "1 N·m"}, "loads[0].torque: a lever is loaded by the force of the hand"),
    ("beam", {"pressure": "1 kPa"}, "loads[0].pressure: a beam takes no pressure."),
    ("beam", {"force": "5 N", "at": "65 mm"}, "loads[0].at: 65 mm lies beyond the span of 64 mm."),
    ("beam", {"force": "5 N", "at": "end"}, "loads[0].at: end is where the member is held"),
    ("beam", {"force": "5 N", "at": "64 mm"}, "loads[0].at: 64 mm is where the member is held"),
    ("beam", {"force": "5 N", "at": "0 mm"}, "loads[0].at: 0 mm is where the member is held"),
    (
        "beam",
        {"force": "5 N", "at": "here"},
        "loads[0].at: 'here' is not known. Write middle, end, spread or",
    ),
    ("beam", {"force": "5 N", "at": 20}, "loads[0].at: 20 has no unit."),
    (
        "bar",
        {"action": "bend", "force": "5 N", "at": "81 mm"},
        "loads[0].at: 81 mm lies beyond the span of 80 mm.",
    ),
    (
        "bar",
        {"action": "pull", "force": "5 N", "at": "middle"},
        "loads[0].at: middle has no meaning for a bar",
    ),
    ("hook", {"force": "5 N", "at": "20 mm"}, "loads[0].at: 20 mm has no meaning for a hook"),
    (
        "plate",
        {"force": "5 N", "at": "20 mm"},
        "loads[0].at: 20 mm is not a place that the plate formulas know.",
    ),
    (
        "snap_arm",
        {"kind": "impact", "energy": "2 J"},
        "loads[0].kind: an impact has no formula for a snap_arm.",
    ),
    (
        "gear",
        {"kind": "impact", "torque": "2 N·m"},
        "loads[0].kind: an impact that twists has no formula here.",
    ),
    (
        "gear",
        {"kind": "impact", "energy": "2 J"},
        "loads[0].kind: an impact that twists has no formula here.",
    ),
    ("hook", {"force": "5 N", "direction": "width"}, "loads[0].direction: width only has a meaning"),
    ("column", {"force": "5 N", "temperature": "500 °C"}, "loads[0].temperature: '500 °C' is outside"),
]


@pytest.mark.parametrize(("kind", "load", "expected"), LOADS)
def test_loads_that_make_no_sense(kind: str, load: dict[str, Any], expected: str) -> None:
    assert refusal(sheet(kind, load or {"note": "nothing"})).startswith(expected)


GOOD_LOADS: list[tuple[str, dict[str, Any]]] = [
    ("beam", {"force": "5 N", "at": "middle"}),
    ("beam", {"force": "5 N", "at": "63.9 mm", "direction": "width"}),
    ("beam", {"kind": "impact", "mass": "0.5 kg", "drop": "200 mm"}),
    ("beam", {"kind": "impact", "energy": "2 J"}),
    ("beam", {"kind": "impact", "force": "200 N"}),
    ("beam", {"kind": "cyclic", "force": "5 N", "cycles": 5000, "fully_reversed": True}),
    ("beam", {"kind": "sustained", "force": "5 kg"}),
    ("plate", {"pressure": "2 kPa"}),
    ("plate", {"force": "5 N", "at": "spread"}),
    ("bar", {"torque": "1 N·m"}),
    ("screw_boss", {"torque": "1 N·m"}),
    ("screw_boss", {"force": "80 N"}),
    ("snap_arm", {"kind": "cyclic", "cycles": 50}),
]


@pytest.mark.parametrize(("kind", "load"), GOOD_LOADS)
def test_loads_that_do(kind: str, load: dict[str, Any]) -> None:
    duty = duty_from(sheet(kind, load))
    assert action_of(duty, 0) == ("twist" if "torque" in load else MEMBER_ACTIONS[kind][0])


def test_the_end_of_a_cantilever_is_a_place_and_its_root_is_not() -> None:
    cantilever = {"support": "cantilever"}
    duty_from(sheet("beam", {"force": "5 N", "at": "end"}, sizes=cantilever))
    duty_from(sheet("beam", {"force": "5 N", "at": "64 mm"}, sizes=cantilever))
    assert "fixed root" in refusal(sheet("beam", {"force": "5 N", "at": "0 mm"}, sizes=cantilever))


def test_a_sustained_load_without_a_time_lasts_a_year() -> None:
    load = duty_from(sheet("beam", {"kind": "sustained", "force": "5 N"})).loads[0]
    assert load.duration is None and load.duration_s == 31556952  # 365.2425 days
    assert duty_from(sheet("beam")).loads[0].duration_s is None


TOGETHER: list[tuple[dict[str, Any], str]] = [
    (
        {"place": {"usual_temperature": "60 °C", "peak_temperature": "40 °C"}},
        "place.peak_temperature: 40 °C lies below usual_temperature (60 °C).",
    ),
    (
        {"place": {"peak_temperature": "10 °C"}},
        "place.peak_temperature: 10 °C lies below usual_temperature (23 °C, taken where nothing is written).",
    ),
    (
        {"place": {"lowest_temperature": "30 °C"}},
        "place.lowest_temperature: 30 °C lies above usual_temperature (23 °C, taken where nothing is",
    ),
    ({"contact": {"voltage_v": 230}}, "contact.voltage_v: 230 V is given, but electrical is none."),
    ({"contact": {"animal_food": True}}, "contact.animal_food: it says animal food touches the part, but"),
]


@pytest.mark.parametrize(("more", "expected"), TOGETHER)
def test_fields_that_contradict_each_other(more: dict[str, Any], expected: str) -> None:
    assert refusal(sheet("beam", **more)).startswith(expected)


def test_equal_temperatures_are_no_contradiction() -> None:
    equal = {"usual_temperature": "20 °C", "peak_temperature": "20 °C", "lowest_temperature": "20 °C"}
    assert duty_from(sheet("beam", place=equal)).peak_air_c == 20


def test_a_load_is_no_hotter_than_its_place() -> None:
    hot = {"force": "5 N", "temperature": "80 °C"}
    assert "hotter than the place ever gets (40 °C)" in refusal(
        sheet("beam", hot, place={"peak_temperature": "40 °C"})
    )
    duty_from(sheet("beam", hot, place={"peak_temperature": "40 °C", "surface_temperature": "80 °C"}))
    duty_from(sheet("beam", hot, place={"peak_temperature": "40 °C", "warmed_by": ["motor"]}))
    duty_from(sheet("beam", hot))  # the place says nothing of a peak


def test_every_check_between_fields_has_a_case() -> None:
    messages = {refusal(sheet("beam", **more)).split(":")[0] for more, _ in TOGETHER}
    assert len(messages) >= 4 and len(CHECKS) == 9  # a new check comes with its cases above
