"""Checks between fields of a duty sheet: what each field says alone must also make sense together."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from recommender.errors import DutySheetError

if TYPE_CHECKING:
    from recommender.duty.loads import Load
    from recommender.duty.sheet import Duty

MEMBER_ACTIONS: dict[str, tuple[str, ...]] = {
    "bar": ("pull", "push", "bend", "twist"),
    "beam": ("bend",),
    "column": ("push",),
    "shaft": ("twist",),
    "lever": ("bend",),
    "hook": ("pull",),
    "bracket": ("bend",),
    "plate": ("bend",),
    "lug": ("pull",),
    "snap_arm": ("bend",),
    "screw_boss": ("pull", "twist"),
    "insert_boss": ("pull", "twist"),
    "press_fit": ("pull", "twist"),
    "hinge_knuckle": ("pull",),
    "living_hinge": ("bend",),
    "gear": ("twist",),
}
SELF_LOADED = ("snap_arm", "living_hinge", "press_fit")
PLACED_LOADS = ("bar", "beam", "plate")

Check = Callable[["Duty"], Iterator[DutySheetError]]


def action_of(duty: Duty, index: int) -> str:
    """The action of load case `index`: as written, else a twist for a torque, else the form's first."""
    load, allowed = duty.loads[index], MEMBER_ACTIONS[duty.form.kind]
    if load.action is not None:
        return load.action
    return "twist" if load.torque is not None and "twist" in allowed else allowed[0]


def check_together(duty: Duty) -> None:
    """Raise the first DutySheetError that the fields give together; do nothing when they agree."""
    for check in CHECKS:
        for problem in check(duty):
            raise problem


def _temperatures_are_in_order(duty: Duty) -> Iterator[DutySheetError]:
    place = duty.place
    if place.peak_temperature is not None and place.peak_temperature < place.usual_temperature:
        usual = _usual_in_words(duty)
        yield DutySheetError(
            "place.peak_temperature",
            f"{place.peak_temperature:g} °C lies below {usual}.",
            "The peak is the hottest the air gets; correct one of the two.",
        )
    if place.lowest_temperature is not None and place.lowest_temperature > place.usual_temperature:
        yield DutySheetError(
            "place.lowest_temperature",
            f"{place.lowest_temperature:g} °C lies above {_usual_in_words(duty)}.",
            "It is the coldest the air gets; correct one of the two.",
        )


def _usual_in_words(duty: Duty) -> str:
    given = "" if duty.said("place.usual_temperature") else ", taken where nothing is written"
    return f"usual_temperature ({duty.place.usual_temperature:g} °C{given})"


def _loads_are_no_hotter_than_the_place(duty: Duty) -> Iterator[DutySheetError]:
    place = duty.place
    if place.peak_temperature is None or place.warmed_by:
        return
    hottest = max(duty.peak_air_c, place.surface_temperature or -1e9)
    for index, load in enumerate(duty.loads):
        if load.temperature is not None and load.temperature > hottest:
            yield DutySheetError(
                f"loads[{index}].temperature",
                f"{load.temperature:g} °C is hotter than the place ever gets ({hottest:g} °C).",
                "Raise place.peak_temperature, or say in place.warmed_by what warms the part.",
            )


def _voltage_is_on_something_electrical(duty: Duty) -> Iterator[DutySheetError]:
    contact = duty.contact
    if contact.voltage_v and contact.electrical == "none" and contact.battery == "none":
        yield DutySheetError(
            "contact.voltage_v",
            f"{contact.voltage_v:g} V is given, but electrical is none.",
            "Write electrical: low_voltage or mains, or leave voltage_v out.",
        )


def _food_for_animals_is_food(duty: Duty) -> Iterator[DutySheetError]:
    if duty.contact.animal_food and duty.contact.food == "none":
        yield DutySheetError(
            "contact.animal_food",
            "it says animal food touches the part, but contact.food is none.",
            "Say which: food: dry, moist or fatty, or leave animal_food out.",
        )


def _actions_go_with_the_form(duty: Duty) -> Iterator[DutySheetError]:
    kind, allowed = duty.form.kind, MEMBER_ACTIONS[duty.form.kind]
    for index, load in enumerate(duty.loads):
        action = load.action or ("twist" if load.torque is not None else None)
        field = f"loads[{index}].action" if load.action else f"loads[{index}].torque"
        if action is not None and action not in allowed:
            yield DutySheetError(field, *_action_in_words(action, kind, allowed))
        if action is None and kind == "bar" and load.kind != "impact":
            yield DutySheetError(
                f"loads[{index}].action",
                "a bar may be loaded in four ways and this load does not say which.",
                f"Write action: {', '.join(allowed[:-1])} or {allowed[-1]}.",
            )


def _action_in_words(action: str, kind: str, allowed: tuple[str, ...]) -> tuple[str, str]:
    if kind == "lever" and action == "twist":
        return (
            "a lever is loaded by the force of the hand; the torque follows from its arm.",
            "Write action: bend and force: 60 N (the torque over the arm).",
        )
    others = [form for form, actions in MEMBER_ACTIONS.items() if action in actions]
    return (
        f"{action} does not go with a {kind}.",
        f"Allowed: {', '.join(allowed)}. Forms that take {action}: {', '.join(others)}.",
    )


def _loads_say_how_much(duty: Duty) -> Iterator[DutySheetError]:
    kind = duty.form.kind
    for index, load in enumerate(duty.loads):
        if load.pressure is not None and kind != "plate":
            yield DutySheetError(
                f"loads[{index}].pressure",
                f"a {kind} takes no pressure.",
                "Write the force (pressure times area), or use form kind: plate.",
            )
        if kind not in SELF_LOADED and load.kind != "impact":
            yield from _amount_is_given(load, action_of(duty, index), kind, f"loads[{index}]")


def _amount_is_given(load: Load, action: str, kind: str, field: str) -> Iterator[DutySheetError]:
    if action == "twist" and load.torque is None:
        yield DutySheetError(
            f"{field}.torque", f"a {kind} that is twisted needs its torque.", "Write torque: 1.5 N·m."
        )
    if action != "twist" and load.force is None and load.pressure is None:
        yield DutySheetError(
            f"{field}.force", "this load does not say how hard.", "Write force: 50 N, or a hung mass: 5 kg."
        )


def _blows_go_with_the_form(duty: Duty) -> Iterator[DutySheetError]:
    kind = duty.form.kind
    for index, load in enumerate(duty.loads):
        if load.kind != "impact":
            continue
        if kind in SELF_LOADED:
            yield DutySheetError(
                f"loads[{index}].kind",
                f"an impact has no formula for a {kind}.",
                "Write how it is used (static, sustained or cyclic); a blow on the part around it is another sheet.",
            )
        if action_of(duty, index) == "twist":
            yield DutySheetError(
                f"loads[{index}].kind",
                "an impact that twists has no formula here.",
                "Write kind: static and twice the torque of the jolt: put on at once, it strains twice as much.",
            )


def _positions_lie_on_the_member(duty: Duty) -> Iterator[DutySheetError]:
    form = duty.form
    for index, load in enumerate(duty.loads):
        field = f"loads[{index}].at"
        if load.at is None:
            continue
        if form.kind not in PLACED_LOADS or action_of(duty, index) != "bend":
            yield DutySheetError(
                field,
                f"{_place_in_words(load.at)} has no meaning for a {form.kind} that is not bent along a span.",
                "Leave it out; the sizes of the form say where the load acts.",
            )
        elif form.kind == "plate":
            yield from _on_the_plate(load.at, field)
        else:
            yield from _on_the_span(load.at, form, field)


def _place_in_words(at: float | str) -> str:
    return at if isinstance(at, str) else f"{at:g} mm"


def _on_the_plate(at: float | str, field: str) -> Iterator[DutySheetError]:
    if at not in ("middle", "spread"):
        yield DutySheetError(
            field,
            f"{_place_in_words(at)} is not a place that the plate formulas know.",
            "Allowed for a plate: middle, spread. The middle is the worst place.",
        )


def _on_the_span(at: float | str, form: object, field: str) -> Iterator[DutySheetError]:
    span: float = getattr(form, "span", 0.0) or getattr(form, "length", 0.0)
    ends_rest = getattr(form, "support", "simply_supported") != "cantilever"
    if isinstance(at, float) and at > span:
        yield DutySheetError(
            field,
            f"{at:g} mm lies beyond the span of {span:g} mm.",
            "Put it on the span, or say middle or end.",
        )
    elif ends_rest and (at == "end" or at in (0.0, span)):
        yield DutySheetError(
            field,
            f"{_place_in_words(at)} is where the member is held, so the load bends nothing.",
            "Write at: middle, or the distance from one end; a free end is support: cantilever.",
        )
    elif not ends_rest and at == 0.0:
        yield DutySheetError(
            field, "0 mm is the fixed root, so the load bends nothing.", "Write the distance from the root."
        )


def _directions_have_two_sides(duty: Duty) -> Iterator[DutySheetError]:
    section = getattr(duty.form, "section", None)
    for index, load in enumerate(duty.loads):
        bends_a_rectangle = getattr(section, "shape", "") == "rectangle" and action_of(duty, index) == "bend"
        if load.direction == "width" and not bends_a_rectangle:
            yield DutySheetError(
                f"loads[{index}].direction",
                "width only has a meaning where a rectangular section is bent.",
                "Leave direction out.",
            )


CHECKS: tuple[Check, ...] = (
    _temperatures_are_in_order,
    _loads_are_no_hotter_than_the_place,
    _voltage_is_on_something_electrical,
    _food_for_animals_is_food,
    _actions_go_with_the_form,
    _loads_say_how_much,
    _blows_go_with_the_form,
    _positions_lie_on_the_member,
    _directions_have_two_sides,
)
