"""What one can do at home tonight to know better: hang a load on a spare part until it breaks, or a hot strip."""

from __future__ import annotations

from dataclasses import replace

from recommender.answer import Interval, Option
from recommender.candidates import Space
from recommender.duty.loads import Load
from recommender.duty.sheet import Place
from recommender.evaluation import Problem
from recommender.options import option_at
from recommender.quantities import STANDARD_GRAVITY

ROOM_C = 23.0
STICK_MM = 200.0  # arm on which a weight is hung to twist a part; our own convention
BUCKET_KG, LEVERS = (
    15.0,
    (1, 5, 10),
)  # what a bucket holds, and the levers that stretch it; our own convention
OF_LOWEST = 0.5  # share of the lowest expected break that is hung first (estimate)


def home_tests(problem: Problem, one: Space, option: Option) -> tuple[str, ...]:
    """Tests worth doing tonight, in plain words with figures."""
    tests = []
    short = short_break(problem, one, option)
    if short is not None:
        tests.append(_hang_it(short))
    if problem.duty.material_trust == "label_only":
        tests.append(
            "You know this spool by its label only. Print a strip, hang a small weight on its end in an oven at "
            f"{problem.peak_c:.0f} °C for an hour: if it bends, do not use the spool here."
        )
    return tuple(tests)


def short_break(problem: Problem, one: Space, option: Option) -> Interval | None:
    """Load at which a fresh part breaks within minutes in a dry room; None where a weight cannot tell.

    A test at home is short and cool, so it must be held against the short load at failure, not against what
    months, repeats or heat leave: a part that bears that little is bad.
    """
    load = problem.duty.loads[option.states[0].load_case]
    bench = bench_load(load)
    if bench is None:
        return None
    duty = problem.duty.model_copy(update={"loads": (bench,), "place": Place()})
    fresh = replace(problem, duty=duty, usual_c=ROOM_C, peak_c=ROOM_C, deratings={})
    found = option_at(fresh, one, option.settings.orientation).failure_load
    return found if found.unit in ("N", "N·m") else None


def bench_load(load: Load) -> Load | None:
    """The load case put on once and slowly; None where it is no force or torque."""
    if load.force is None and load.torque is None:
        return None
    short = {"kind": "static", "duration": None, "cycles": None, "fully_reversed": False, "temperature": None}
    return load.model_copy(update=short)


def _hang_it(load: Interval) -> str:
    low = OF_LOWEST * load.low / STANDARD_GRAVITY
    if load.unit == "N·m":
        how, mass = f"at the end of a {STICK_MM:.0f} mm stick on a spare part", low * 1000.0 / STICK_MM
    else:
        how, mass = "where the load acts on a spare part", low
    gain = next((arm for arm in LEVERS if mass / arm <= BUCKET_KG), None)
    if gain is None:
        return (
            "This part bears more than a bucket can tell. Break a small bar from the same spool and log it "
            "(partduty note prints the sheet)."
        )
    if gain > 1:
        how += f", through a lever with arms 1 to {gain}"
    shown = f"{mass / gain:.1f} kg" if mass / gain < 10 else f"{mass / gain:.0f} kg"
    return (
        f"Hang a bucket {how}. Add water or sand up to {shown} for a minute. A good part holds this: it is half "
        "of the lowest short load that should break it. Stand clear. If it breaks, log it."
    )
