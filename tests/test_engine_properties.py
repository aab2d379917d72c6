"""Physical sense of the engine, as properties over random members, settings and materials.

No figure here is ours: each property is a law that any right answer obeys.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.design_values import engine_values
from kb.loading import KnowledgeBase, load_knowledge_base
from recommender.duty.reading import duty_from
from recommender.evaluation import Problem, margin_on_grid, state_results
from recommender.learned import NOTHING_LEARNED
from recommender.suggest import assess, suggest

KNOWLEDGE: KnowledgeBase = load_knowledge_base()
COMMON = ("pla", "petg", "abs", "asa", "pa12", "pc", "tpu_95a", "pa6_cf")

sizes = st.floats(min_value=4.0, max_value=40.0)
lengths = st.floats(min_value=90.0, max_value=200.0)
forces = st.floats(min_value=1.0, max_value=2000.0)
materials = st.sampled_from(COMMON)
orientations = st.sampled_from(("flat", "edge", "upright"))
actions = st.sampled_from(("pull", "push", "bend"))
quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def bar(
    width: float, thickness: float, length: float, action: str, force: float, **more: Any
) -> dict[str, Any]:
    load: dict[str, Any] = {
        "kind": "static",
        "action": action,
        "force": f"{force:.6f} N",
        **more.pop("load", {}),
    }
    return {
        "part": "bar",
        "form": {
            "kind": "bar", "length": f"{length:.6f} mm",
            "section": {"shape": "rectangle", "width": f"{width:.6f} mm", "thickness": f"{thickness:.6f} mm"},
        },
        "loads": [load],
        **more,
    }  # fmt: skip


def failure(sheet: dict[str, Any], **chosen: Any) -> float:
    answer = assess(duty_from(sheet), {"material": "petg", **chosen}, KNOWLEDGE)
    assert answer.choice is not None
    return answer.choice.failure_load.typical


@quick
@given(sizes, sizes, lengths, actions, materials, orientations, st.integers(1, 9))
def test_more_walls_never_weaken(w, t, length, action, material, orientation, walls) -> None:  # type: ignore[no-untyped-def]
    sheet = bar(w, t, length, action, 100.0)
    chosen = {"material": material, "orientation": orientation}
    assert failure(sheet, walls=walls + 1, **chosen) >= failure(sheet, walls=walls, **chosen) * (1 - 1e-9)


@quick
@given(sizes, sizes, lengths, actions, materials, orientations, st.integers(5, 90))
def test_more_infill_never_weakens(w, t, length, action, material, orientation, infill) -> None:  # type: ignore[no-untyped-def]
    sheet = bar(w, t, length, action, 100.0)
    chosen = {"material": material, "orientation": orientation, "infill_pattern": "gyroid"}
    more = failure(sheet, infill_percent=infill + 10, **chosen)
    assert more >= failure(sheet, infill_percent=infill, **chosen) * (1 - 1e-9)


@quick
@given(sizes, sizes, lengths, actions, forces, forces, materials)
def test_more_load_never_raises_the_factor(w, t, length, action, first, second, material) -> None:  # type: ignore[no-untyped-def]
    low, high = sorted((first, second))
    factors = []
    for force in (low, high):
        choice = assess(duty_from(bar(w, t, length, action, force)), {"material": material}, KNOWLEDGE).choice
        assert choice is not None
        factors.append(choice.factor)
    assert factors[1] <= factors[0] * (1 + 1e-9)
    assert factors[0] * low == pytest.approx(factors[1] * high, rel=1e-6)  # the part bears what it bears


@quick
@given(sizes, sizes, lengths, actions, materials, st.floats(20, 110), st.floats(0, 60))
def test_hotter_never_strengthens(w, t, length, action, material, cool, warmer) -> None:  # type: ignore[no-untyped-def]
    loads = [
        failure(
            bar(w, t, length, action, 100.0, load={"temperature": f"{temperature:.3f} °C"}), material=material
        )
        for temperature in (cool, cool + warmer)
    ]
    assert loads[1] <= loads[0] * (1 + 1e-9)


@quick
@given(sizes, sizes, lengths, materials, st.integers(1, 8), st.integers(5, 100))
def test_upright_never_beats_flat_when_layers_are_pulled_apart(w, t, length, material, walls, infill) -> None:  # type: ignore[no-untyped-def]
    # Solid bars, so that only the direction differs: a sparse lattice is stiffer along the build axis.
    sheet = bar(w, t, length, "pull", 100.0)
    chosen = {"material": material, "walls": walls, "infill_percent": 100}
    del infill
    assert failure(sheet, orientation="upright", **chosen) <= failure(sheet, orientation="flat", **chosen) * (
        1 + 1e-9
    )


@quick
@given(sizes, sizes, lengths, actions, materials, orientations, st.sampled_from(sorted(KNOWLEDGE.lattices)))
def test_full_infill_equals_solid(w, t, length, action, material, orientation, pattern) -> None:  # type: ignore[no-untyped-def]
    sheet = bar(w, t, length, action, 100.0)
    chosen = {"material": material, "orientation": orientation}
    full = failure(sheet, walls=1, infill_percent=100, infill_pattern=pattern, **chosen)
    solid = failure(sheet, walls=100, infill_percent=20, **chosen)
    assert full == pytest.approx(solid, rel=1e-6)


@quick
@given(sizes, sizes, lengths, st.sampled_from(("pull", "bend")), materials, st.floats(1.2, 3.0))
def test_a_solid_bar_scales_with_the_square_of_its_size(w, t, length, action, material, scale) -> None:  # type: ignore[no-untyped-def]
    # Stress is force over size squared for pull, and for bending when the span grows with the section.
    chosen = {"material": material, "infill_percent": 100}
    small = failure(bar(w, t, length, action, 100.0), **chosen)
    large = failure(bar(scale * w, scale * t, scale * length, action, 100.0), **chosen)
    assert large == pytest.approx(scale**2 * small, rel=1e-4)


@quick
@given(sizes, sizes, lengths, materials, st.integers(1, 6), st.integers(5, 100), orientations)
def test_swapping_the_sides_and_the_direction_changes_nothing(
    w, t, length, material, walls, infill, orientation
) -> None:  # type: ignore[no-untyped-def]
    # A bar bent through its width is the bar with sides swapped bent through its thickness, laid the other way.
    other = {"flat": "edge", "edge": "flat", "upright": "upright"}[orientation]
    chosen = {"material": material, "walls": walls, "infill_percent": infill}
    through_width = bar(w, t, length, "bend", 100.0, load={"direction": "width"})
    swapped = bar(t, w, length, "bend", 100.0)
    first = failure(through_width, orientation=orientation, **chosen)
    assert first == pytest.approx(failure(swapped, orientation=other, **chosen), rel=1e-9)


def test_the_grid_agrees_with_single_candidates() -> None:
    # The margin on the whole grid at random places equals that of the space narrowed to the place.
    from recommender.candidates import space_for

    duty = duty_from(bar(12.0, 8.0, 100.0, "bend", 80.0))
    printer = KNOWLEDGE.printers["open_medium"]
    values = {key: engine_values(KNOWLEDGE.materials[key], KNOWLEDGE) for key in COMMON}
    problem = Problem(duty, KNOWLEDGE, printer, values, 23.0, 23.0, NOTHING_LEARNED)
    space = space_for(COMMON, tuple(KNOWLEDGE.lattices.values()), printer, 0.4)
    random = np.random.default_rng(7)
    for orientation in ("flat", "edge", "upright"):
        margin = margin_on_grid(problem, space, orientation)
        for flat in random.integers(0, margin.size, 40):
            index = tuple(int(i) for i in np.unravel_index(int(flat), margin.shape))
            one = space.narrowed_to(index)
            alone = min(
                float((r.multiple / r.wanted).reshape(-1)[0])
                for r in state_results(problem, one, orientation)
            )
            assert margin[index] == pytest.approx(alone, rel=1e-12)


@pytest.mark.parametrize("favour", ["balanced", "fast", "light", "cheap", "strong"])
def test_what_is_favoured_is_best_among_the_alternatives(favour: str) -> None:
    sheet = bar(20.0, 10.0, 120.0, "bend", 60.0, favour=favour, filaments=["pla", "petg", "asa"])
    answer = suggest(duty_from(sheet), KNOWLEDGE)
    assert answer.choice is not None and answer.choice.passes
    measure = {
        "fast": lambda o: o.print_time_min / (o.first_time_right or 1.0),
        "light": lambda o: o.mass_g,
        "cheap": lambda o: o.cost / (o.first_time_right or 1.0),
        "strong": lambda o: -o.factor,
    }.get(favour)
    if measure is not None:
        assert all(measure(answer.choice) <= measure(o) * (1 + 1e-2) for o in answer.alternatives)


def test_nothing_suitable_names_a_change_that_passes() -> None:
    sheet = bar(8.0, 6.0, 150.0, "bend", 40.0, filaments=["pla"])
    answer = suggest(duty_from(sheet), KNOWLEDGE)
    assert answer.verdict == "none" and answer.choice is None
    assert any("then it passes" in line for line in answer.nearest_changes)


def test_no_answer_beyond_the_printer() -> None:
    sheet = bar(20.0, 10.0, 120.0, "bend", 20.0, printer="open_basic")
    answer = suggest(duty_from(sheet), KNOWLEDGE, top=20)
    printer = KNOWLEDGE.printers["open_basic"]
    assert answer.choice is not None
    for option in (answer.choice, *answer.alternatives):
        assert option.settings.nozzle_temperature_c <= printer.hot_end_limit_c
        assert option.settings.bed_temperature_c <= printer.bed_limit_c
        assert not engine_values(KNOWLEDGE.materials[option.settings.material], KNOWLEDGE).abrasive
