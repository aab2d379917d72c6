"""What the engine predicts for a print, kept with it so that what happens can be compared.

Two predictions are kept, both before anything learned is applied (else the log would learn from itself): the
load at failure under the duty, and the load at failure in a short test in the hand at room temperature, which
is what "held" and "broke" are compared with.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import TYPE_CHECKING, Any

from recommender.duty.sheet import Duty
from recommender.errors import InputError, OutOfValidityError
from recommender.learned import AS_CALCULATED
from recommender.log.geometry_class import geometry_class
from recommender.log.records import Print

if TYPE_CHECKING:
    from recommender.answer import Answer, Option

ROOM_TEMPERATURE_C = 23.0


def hand_test_of(duty: Duty) -> Duty:
    """The same part under the same loads for minutes, dry, at room temperature, with no limit on movement."""
    loads = tuple(
        load.model_copy(
            update={"kind": "static", "duration": None, "cycles": None, "temperature": ROOM_TEMPERATURE_C}
        )
        if load.kind != "impact"
        else load
        for load in duty.loads
    )
    place = type(duty.place).model_validate({"usual_temperature": "23 °C"})
    # The deduction for a spool known by its label only is caution, not the likeliest strength: it must not be
    # learned away.
    changes = {"loads": loads, "place": place, "limits": type(duty.limits)(), "material_trust": "known_type"}
    return duty.model_copy(update=changes)


def print_from(
    duty: Duty,
    sheet: Mapping[str, Any],
    settings: Mapping[str, Any] | None,
    knowledge: Any,
    learned: Any,
    label: str = "suggested",
    **given: Any,
) -> Print:
    """The print of `duty` with `settings` (None: as suggested), with its predictions.

    Raises
    ------
    InputError
        Nothing suitable can be suggested, or the use is refused: there is nothing to log.
    """
    engine = _engine()
    if settings is None:
        settings = _labelled(engine.suggest(duty, knowledge, learned), label).settings._asdict()
    answer = engine.assess(duty, settings, knowledge, AS_CALCULATED)
    option = _choice_of(answer, "--set")
    test = _hand_test(duty, option.settings._asdict(), knowledge) or option
    predicted: dict[str, Any] = {
        **_failure_loads("failure", option),
        **_failure_loads("test", test),
        "applied": _positive(_applied(option)),
        "load_unit": _INNER.get(option.failure_load.unit, (option.failure_load.unit, 1.0))[0],
        "governing": _governing(test),
        "states": _loads_by_state(test),
        "stress_mpa": _positive(option.stress_mpa),
        "mass_g": _positive(option.mass_g),
        "time_min": _positive(option.print_time_min),
        "first_time_right": option.first_time_right,
        "knowledge_version": answer.knowledge_version[:100],
        "model_version": answer.model_version[:100],
    }
    made = {"printer": printer_name(duty), **given}
    return Print(
        part=duty.part,
        material=option.settings.material,
        geometry=geometry_class(duty),
        sheet=dict(sheet),
        settings=option.settings._asdict(),
        **predicted,
        **made,
    )


def _engine() -> Any:
    return import_module("recommender.suggest")


def _choice_of(answer: Answer, field: str) -> Option:
    if answer.choice is not None:
        return answer.choice
    if answer.verdict == "refused":
        raise InputError(
            field, "this use is refused, so there is no print to log.", "See `partduty suggest`."
        )
    raise InputError(field, "nothing suitable was found, so there is no prediction to log.", "Give --set.")


def printer_name(duty: Duty) -> str:
    """The printer the duty names, or the class the engine takes for it."""
    return duty.printer or str(_engine().DEFAULT_PRINTER)


def _labelled(answer: Answer, label: str) -> Option:
    if label == "suggested":
        return _choice_of(answer, "--as")
    for option in answer.alternatives:
        if option.label == label:
            return option
    labels = ", ".join(["suggested", *(option.label for option in answer.alternatives)])
    raise InputError("--as", f"{label!r} is none of the options.", f"Allowed here: {labels}.")


def _hand_test(duty: Duty, settings: Mapping[str, Any], knowledge: Any) -> Option | None:
    try:
        answer: Answer = _engine().assess(hand_test_of(duty), settings, knowledge, AS_CALCULATED)
        return answer.choice
    except OutOfValidityError:
        return None


def _failure_loads(name: str, option: Option) -> dict[str, float | None]:
    load = option.failure_load
    scale = _INNER.get(load.unit, (load.unit, 1.0))[1]
    return {f"{name}_{part}": _positive(getattr(load, part) * scale) for part in ("low", "typical", "high")}


_INNER = {"N·m": ("N·mm", 1000.0), "kPa": ("MPa", 1e-3)}  # shown unit: inner unit, factor


def _loads_by_state(option: Option) -> dict[str, float]:
    """Load at failure of each way to fail, inner units; the lowest where several load cases share one."""
    applied = _applied(option)
    loads: dict[str, float] = {}
    for state in option.states:
        load = _positive((applied or 0.0) * state.failure_multiple)
        if load is not None:
            loads[state.name] = min(load, loads.get(state.name, load))
    return loads


def _governing(option: Option) -> str:
    loads = _loads_by_state(option)
    return min(loads, key=lambda name: loads[name], default=option.governing)[:100]


def _applied(option: Option) -> float | None:
    """Applied load: the failure load over its multiple of the applied load."""
    scale = _INNER.get(option.failure_load.unit, ("", 1.0))[1]
    return option.failure_load.typical * scale / option.factor if option.factor > 0 else None


def _positive(value: float | None) -> float | None:
    return value if value is not None and 0 < value < 1e9 else None
