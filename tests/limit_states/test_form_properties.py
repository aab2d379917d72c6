"""Laws that every form obeys, over random settings and sizes, and the grid against single candidates."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from one_candidate import KNOWLEDGE, candidate, plastic

from kb.design_values import engine_values
from recommender.candidates import space_for
from recommender.duty.reading import duty_from
from recommender.evaluation import Problem, margin_on_grid, state_results, validity_problems
from recommender.learned import NOTHING_LEARNED
from recommender.limit_states import MODELS

quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def mm(value: float) -> str:
    return f"{value:.6f} mm"


SECTION = {"shape": "rectangle", "width": "20 mm", "thickness": "10 mm"}
# kind of form -> (form, load); every kind of form is here, as a test below checks.
FORMS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "bar": ({"kind": "bar", "length": "90 mm", "section": SECTION}, {"action": "pull", "force": "200 N"}),
    "beam": (
        {"kind": "beam", "support": "cantilever", "span": "80 mm", "section": SECTION},
        {"action": "bend", "force": "20 N", "at": "end"},
    ),
    "column": (
        {"kind": "column", "length": "90 mm", "section": {"shape": "round", "diameter": "14 mm"}},
        {"action": "push", "force": "150 N"},
    ),
    "shaft": (
        {"kind": "shaft", "length": "90 mm",
         "section": {"shape": "tube", "outer_diameter": "18 mm", "inner_diameter": "8 mm"}},
        {"action": "twist", "torque": "1 N·m"},
    ),
    "lever": (
        {"kind": "lever", "arm": "90 mm", "width": "16 mm", "thickness": "12 mm", "hub_diameter": "26 mm",
         "hub_height": "16 mm", "across_flats": "12 mm", "flats": 6, "root_radius": "5 mm"},
        {"action": "bend", "force": "30 N"},
    ),
    "hook": (
        {"kind": "hook", "inner_radius": "12 mm", "depth": "14 mm", "width": "12 mm", "shank_length": "40 mm"},
        {"action": "pull", "force": "60 N"},
    ),
    "bracket": (
        {"kind": "bracket", "reach": "80 mm", "arm_depth": "25 mm", "width": "24 mm", "inner_radius": "8 mm",
         "leg_height": "90 mm", "leg_thickness": "10 mm", "screw_diameter": "4 mm", "head_diameter": "9 mm",
         "top_row_height": "75 mm", "bottom_row_height": "15 mm"},
        {"action": "bend", "force": "40 N"},
    ),
    "plate": (
        {"kind": "plate", "outline": "rectangle", "length": "120 mm", "width": "80 mm", "thickness": "6 mm",
         "edge": "resting", "patch_diameter": "12 mm"},
        {"action": "bend", "force": "60 N", "at": "middle"},
    ),
    "lug": (
        {"kind": "lug", "width": "26 mm", "thickness": "8 mm", "hole_diameter": "9 mm", "edge_distance": "14 mm"},
        {"action": "pull", "force": "200 N"},
    ),
    "snap_arm": (
        {"kind": "snap_arm", "length": "16 mm", "width": "8 mm", "root_thickness": "1.6 mm", "undercut": "0.8 mm"},
        {"action": "bend"},
    ),
    "screw_boss": (
        {"kind": "screw_boss", "outer_diameter": "10 mm", "hole_diameter": "3.3 mm", "screw_diameter": "4 mm",
         "engagement": "10 mm", "height": "14 mm"},
        {"action": "pull", "force": "60 N"},
    ),
    "insert_boss": (
        {"kind": "insert_boss", "outer_diameter": "12 mm", "insert_diameter": "5.6 mm", "insert_length": "7 mm",
         "height": "12 mm"},
        {"action": "pull", "force": "60 N"},
    ),
    "press_fit": (
        {"kind": "press_fit", "shaft_diameter": "8 mm", "outer_diameter": "22 mm", "interference": "0.05 mm",
         "length": "14 mm", "shaft": "steel"},
        {"action": "twist", "torque": "0.1 N·m"},
    ),
    "hinge_knuckle": (
        {"kind": "hinge_knuckle", "pin_diameter": "4 mm", "knuckle_width": "12 mm", "wall": "3 mm", "pin": "printed"},
        {"action": "pull", "force": "40 N"},
    ),
    "living_hinge": (
        {"kind": "living_hinge", "thickness": "0.4 mm", "length": "6 mm", "width": "20 mm", "angle": "40 deg"},
        {"action": "bend"},
    ),
    "gear": (
        {"kind": "gear", "teeth": 24, "module_size": "1.5 mm", "face_width": "10 mm"},
        {"action": "twist", "torque": "0.6 N·m"},
    ),
}  # fmt: skip
# A size that never weakens the part as it grows, and one that never strengthens it.
STRONGER = {
    "bar": ("section.thickness", 8, 20), "beam": ("section.thickness", 8, 20), "column": ("section.diameter", 10, 30),
    "shaft": ("section.outer_diameter", 14, 40), "lever": ("thickness", 8, 24), "hook": ("depth", 8, 24),
    "bracket": ("arm_depth", 15, 50), "plate": ("thickness", 4, 12), "lug": ("thickness", 4, 20),
    "snap_arm": ("length", 14, 40), "screw_boss": ("engagement", 4, 14), "insert_boss": ("insert_length", 4, 12),
    "press_fit": ("length", 8, 30), "hinge_knuckle": ("wall", 2, 6), "living_hinge": ("length", 3, 20),
    "gear": ("face_width", 6, 25),
}  # fmt: skip
WEAKER = {
    "beam": ("span", 40, 200), "column": ("length", 40, 300), "lever": ("arm", 60, 200), "bracket": ("reach", 40, 200),
    "hook": ("load_offset", 0, 30), "snap_arm": ("undercut", 0.2, 2), "living_hinge": ("thickness", 0.2, 0.9),
}  # fmt: skip
kinds = st.sampled_from(sorted(FORMS))


def with_size(form: dict[str, Any], name: str, value: float) -> dict[str, Any]:
    if name.startswith("section."):
        return {**form, "section": {**form["section"], name.removeprefix("section."): mm(value)}}
    return {**form, name: mm(value)}


def problem(form: dict[str, Any], load: dict[str, Any], **more: Any) -> Problem:
    duty = duty_from(
        {
            "part": "part",
            "people": {"if_it_breaks": "no_harm"},
            "form": form,
            "loads": [{"kind": "static", **load}],
            **more,
        }
    )
    printer = KNOWLEDGE.printers["open_medium"]
    return Problem(duty, KNOWLEDGE, printer, {"pla": plastic()}, 23.0, 23.0, NOTHING_LEARNED)


def states(asked: Problem, orientation: str, **chosen: Any) -> dict[str, float]:
    """Multiples at failure, movement and validity left out."""
    return {
        r.state.key: float(np.reshape(r.multiple, -1)[0])
        for r in state_results(asked, candidate(**chosen), orientation)
        if not r.state.is_limit_on_movement
    }


def least(asked: Problem, orientation: str, **chosen: Any) -> float:
    return min(states(asked, orientation, **chosen).values())


def orientations(asked: Problem) -> tuple[str, ...]:
    return asked.model.orientations(asked.duty.form, asked.duty.loads[0])


def test_every_kind_of_form_is_tested() -> None:
    assert set(FORMS) == set(MODELS) == set(STRONGER)


@quick
@given(kinds, st.data(), st.integers(1, 9), st.integers(2, 9))
def test_a_larger_size_never_weakens(kind: str, data: st.DataObject, walls: int, layers: int) -> None:
    form, load = FORMS[kind]
    name, low, high = STRONGER[kind]
    small, large = sorted(data.draw(st.tuples(*[st.floats(low, high)] * 2)))
    chosen: dict[str, Any] = {"walls": walls, "layers": layers, "infill": 100, "pattern": "gyroid"}
    first, second = (problem(with_size(form, name, size), load) for size in (small, large))
    if any(validity_problems(first)) or any(validity_problems(second)):
        return
    for orientation in orientations(first):
        # A part that outgrows its skins turns from solid to sparse, so the law holds at full infill.
        before, after = (states(p, orientation, **chosen) for p in (first, second))
        if before.keys() == after.keys():
            assert min(after.values()) >= min(before.values()) * (1 - 1e-9), (
                kind,
                orientation,
                before,
                after,
            )


@quick
@given(st.sampled_from(sorted(WEAKER)), st.data(), st.integers(1, 9), st.sampled_from((10, 20, 100)))
def test_longer_and_further_out_is_never_stronger(
    kind: str, data: st.DataObject, walls: int, infill: int
) -> None:
    form, load = FORMS[kind]
    name, low, high = WEAKER[kind]
    short, long = sorted(data.draw(st.tuples(*[st.floats(low, high)] * 2)))
    first, second = (problem(with_size(form, name, size), load) for size in (short, long))
    if any(validity_problems(first)) or any(validity_problems(second)):
        return
    for orientation in orientations(first):
        chosen: dict[str, Any] = {"walls": walls, "infill": infill}
        assert least(second, orientation, **chosen) <= least(first, orientation, **chosen) * (1 + 1e-9)


@quick
@given(
    kinds,
    st.integers(1, 8),
    st.integers(2, 8),
    st.sampled_from((10, 15, 20, 40)),
    st.sampled_from(("gyroid", "cubic")),
)
def test_more_walls_or_infill_never_weaken_any_form(
    kind: str, walls: int, layers: int, infill: int, pattern: str
) -> None:
    asked = problem(*FORMS[kind])
    base: dict[str, Any] = {"walls": walls, "layers": layers, "infill": infill, "pattern": pattern}
    for orientation in orientations(asked):
        before = least(asked, orientation, **base)
        # A press fit holds harder the thicker its ring and so bursts sooner by the same law: left out for walls.
        if kind != "press_fit":
            assert least(asked, orientation, **{**base, "walls": walls + 1}) >= before * (1 - 1e-9)
        assert least(asked, orientation, **{**base, "infill": infill + 10}) >= before * (1 - 1e-9)


@quick
@given(kinds, st.floats(0.05, 20.0))
def test_multiples_fall_as_the_load_grows(kind: str, scale: float) -> None:
    form, load = FORMS[kind]
    if "force" not in load or kind == "plate":
        return
    newton = float(load["force"].split()[0])
    first, second = problem(form, load), problem(form, {**load, "force": f"{scale * newton} N"})
    for orientation in orientations(first):
        before, after = states(first, orientation), states(second, orientation)
        for key, multiple in before.items():
            if multiple < 1e8:
                assert after[key] == pytest.approx(multiple / scale, rel=1e-6), (kind, key)


@pytest.mark.parametrize("kind", sorted(FORMS))
def test_the_layers_pulled_apart_are_never_the_better_way(kind: str) -> None:
    # Solid, so that only the direction of the layers differs: where one orientation pulls layers apart, the best
    # orientation is one that does not.
    asked = problem(*FORMS[kind])
    solid: dict[str, Any] = {"walls": 1000, "infill": 100}
    found = {}
    for orientation in orientations(asked):
        results = list(state_results(asked, candidate(**solid), orientation))
        multiple = min(
            float(np.reshape(r.multiple, -1)[0]) for r in results if not r.state.is_limit_on_movement
        )
        found[orientation] = (results[0].case.lie.across, multiple)
    along = [m for across, m in found.values() if not across]
    pulled = [m for across, m in found.values() if across]
    if (
        kind != "screw_boss" and kind != "insert_boss" and along and pulled
    ):  # threads hold better in standing walls
        assert max(pulled) <= max(along) * (1 + 1e-9)


@pytest.mark.parametrize("kind", sorted(FORMS))
def test_the_grid_agrees_with_single_candidates_for_every_form(kind: str) -> None:
    materials = ("pla", "petg", "pa12", "tpu_95a")
    values = {key: engine_values(KNOWLEDGE.materials[key], KNOWLEDGE) for key in materials}
    printer = KNOWLEDGE.printers["open_medium"]
    duty = duty_from(
        {"part": "part", "form": FORMS[kind][0], "loads": [{"kind": "static", **FORMS[kind][1]}]}
    )
    asked = Problem(duty, KNOWLEDGE, printer, values, 23.0, 40.0, NOTHING_LEARNED)
    space = space_for(materials, tuple(KNOWLEDGE.lattices.values()), printer, 0.4)
    random = np.random.default_rng(len(kind))
    for orientation in orientations(asked):
        margin = margin_on_grid(asked, space, orientation)
        for flat in random.integers(0, margin.size, 12):
            index = tuple(int(i) for i in np.unravel_index(int(flat), margin.shape))
            alone = min(
                float(np.reshape(r.multiple / r.wanted, -1)[0])
                for r in state_results(asked, space.narrowed_to(index), orientation)
            )
            assert margin[index] == pytest.approx(alone, rel=1e-12), (kind, orientation, index)
