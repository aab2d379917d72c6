"""The loads of a duty as the reader of a note needs them: what, how much, how long, how often."""

from __future__ import annotations

from recommender.duty.loads import Load
from recommender.duty.reading import SELF_LOADED, action_of
from recommender.report.note.case import Case
from recommender.report.note.content import Line

MOST_LISTED = 4
MONTH_S = 2629746.0

_HUNG = frozenset({"hook"})
_CARRIED = frozenset({"bracket", "beam", "plate"})


def load_lines(case: Case) -> tuple[Line, ...]:
    """One line per load case; beyond four, one line per kind that states the least of that kind.

    Stating the least never lets a reader put more on the part than some load case was checked for.
    """
    loads = tuple(dict.fromkeys(zip(case.duty.loads, _labels(case), strict=True)))
    if len(loads) > MOST_LISTED:
        loads = _least_of_each_kind(loads)
    return tuple(
        Line(load_phrase(load, case), label=case.reader.say(f"load.{label}")) for load, label in loads
    )


def amount(load: Load, case: Case) -> str:
    """How much, rounded down: "11 kg (24 lb)"."""
    return _in_words(load, case, 1.0, up=False)


def test_amount(load: Load, case: Case, factor: float) -> str:
    """`factor` times the load, rounded up."""
    return _in_words(load, case, factor, up=True)


def _in_words(load: Load, case: Case, factor: float, up: bool) -> str:
    reader = case.reader
    if load.kind == "impact":
        if load.mass is not None and load.drop is not None:
            return reader.say("load.dropped", mass=reader.mass(load.mass), height=reader.length(load.drop))
        if load.energy is not None:
            return reader.energy(factor * load.energy, up)
    if load.torque is not None:
        return reader.torque(factor * load.torque, up)
    if load.force is not None:
        return reader.weight(factor * load.force, up)
    if load.pressure is not None:
        return reader.pressure(factor * load.pressure, up)
    return reader.say("load.own_spring")


def load_phrase(load: Load, case: Case) -> str:
    """Amount with its time, count and temperature: "11 kg (24 lb), for up to 1 year"."""
    text = f"{amount(load, case)}{reach_in_time(load, case)}"
    if load.temperature is not None and load.temperature < case.hottest_c:
        return case.reader.say(
            "load.at_temperature", load=text, temperature=case.reader.hottest(load.temperature)
        )
    return text


def reach_in_time(load: Load, case: Case) -> str:
    """For how long or how often the load was checked, with its leading comma; empty for a knock."""
    reader = case.reader
    if load.kind == "sustained":
        return reader.say(
            "load.for_time", time=reader.duration(min(load.duration_s or 0.0, retirement_s(case)))
        )
    if load.kind == "cyclic":
        return reader.say("load.for_cycles", cycles=reader.count(load.cycles or 1))
    return "" if load.kind == "impact" or is_own_spring(load, case) else reader.say("load.for_minutes")


def retirement_s(case: Case) -> float:
    """Time to retirement, s: estimated by consequence, never longer than a steady load was checked for."""
    usual = case.service.retirement_months * MONTH_S
    if case.is_hard_service:
        usual /= 2
    checked = [load.duration_s for load in case.duty.loads if load.duration_s is not None]
    return min([usual, *checked])


def is_own_spring(load: Load, case: Case) -> bool:
    """Whether the part loads itself by its shape, as a snap arm does."""
    return case.duty.form.kind in SELF_LOADED and load.force is None and load.torque is None


def _labels(case: Case) -> list[str]:
    return [_label(load, action_of(case.duty, index), case) for index, load in enumerate(case.duty.loads)]


def _label(load: Load, action: str, case: Case) -> str:
    form = case.duty.form.kind
    if load.kind == "impact":
        return "impact"
    if is_own_spring(load, case):
        return "spring"
    if form in _HUNG:
        return "hang"
    return "press" if form in _CARRIED else action


def least_of(loads: tuple[Load, ...]) -> Load | None:
    """The smallest of `loads`; None where they cannot be compared (a force and a torque, or a knock)."""
    for name in ("force", "torque", "pressure"):
        others = {"force", "torque", "pressure"} - {name}
        if all(
            getattr(load, name) is not None
            and load.kind != "impact"
            and not any(getattr(load, o) for o in others)
            for load in loads
        ):
            return min(loads, key=lambda load: float(getattr(load, name)))
    return None


def _size(load: Load) -> float:
    return load.force or load.torque or load.pressure or load.energy or load.mass or 0.0


def _least_of_each_kind(loads: tuple[tuple[Load, str], ...]) -> tuple[tuple[Load, str], ...]:
    least: dict[tuple[str, str], tuple[Load, str]] = {}
    for load, label in loads:
        key = (load.kind, label)
        if key not in least or _size(load) < _size(least[key][0]):
            least[key] = (load, label)
    return tuple(least.values())
