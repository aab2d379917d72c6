"""Offset, scale and flare from measured sizes, and what follows for drawing and measuring."""

from __future__ import annotations

import math
import sqlite3

import numpy as np
import pytest
from synthetic_log import synthetic_print

from recommender.log import grammar, recording
from recommender.log.learning import size_advice
from recommender.log.learning.sizes import (
    SHRINKAGE,
    Believed,
    Feature,
    Machine,
    Measured,
    Sizes,
    believed_deviation,
    read_measured,
    sizes_from,
)

MACHINE = Machine("left one")
HOLE, SLOT = Feature("hole", 5.0), Feature("slot", 14.0)


def measured(feature: Feature, deviation: float, count: float = 1.0, machine: Machine = MACHINE) -> Measured:
    return Measured(machine, "petg", feature, deviation, count)


def sizes(*entries: Measured) -> Sizes:
    return sizes_from(list(entries), MACHINE, "petg")


def test_before_any_measurement() -> None:
    # By hand: a 5 mm hole is 0.06 + 1.0/5 = 0.26 mm small, and 0.4 % of 5 mm for shrinkage.
    assert sizes().deviation(HOLE)[0] == pytest.approx(-0.28)
    assert believed_deviation(Feature("outside", 100.0), 0.003) == pytest.approx(-0.3)
    assert sizes().entries == 0


def test_scale_and_offset_of_two_sizes() -> None:
    # Vector scale_offset of tests/validation: 20 -> 19.93 and 100 -> 99.55 give scale 0.99525 and offset 0.025, and
    # 50.214 mm must be drawn for 50. Many measurements, so that the prior no longer weighs: 0.005 mm.
    entries = [
        measured(Feature("outside", 20.0), -0.07, 5000),
        measured(Feature("outside", 100.0), -0.45, 5000),
    ]
    found = sizes(*entries)
    assert found.drawn_size(Feature("outside", 50.0)) == pytest.approx(50.214, abs=0.005)
    slope = (
        found.deviation(Feature("outside", 100.0))[0] - found.deviation(Feature("outside", 20.0))[0]
    ) / 80
    assert 1 + slope == pytest.approx(0.99525, abs=5e-5)


def test_two_measurements_help_a_little_and_twenty_decide() -> None:
    before, two, twenty = (sizes(*[measured(HOLE, -0.15)] * number).deviation(HOLE) for number in (0, 2, 20))
    assert before[1] > two[1] > twenty[1]
    assert before[0] < two[0] < twenty[0] == pytest.approx(-0.15, abs=0.01)


def test_offset_scale_and_flare_are_kept_apart() -> None:
    above, first = Feature("outside", 20.0), Feature("outside", 20.0, "", True)
    flared = sizes(*[measured(first, 0.45)] * 10, *[measured(above, -0.08)] * 10)
    assert flared.flare_mm() == pytest.approx(0.53, abs=0.05)
    assert flared.deviation(above)[0] == pytest.approx(-0.08, abs=0.02)
    assert flared.scale() == pytest.approx(sizes().scale(), abs=0.0005)
    # An offset alone: the same deviation at every size leaves the scale where it is believed.
    offset = [measured(Feature("outside", n), believed_deviation(Feature("outside", n), SHRINKAGE) + 0.1, 20)
              for n in (10.0, 40.0, 100.0)]  # fmt: skip
    assert sizes(*offset).scale() == pytest.approx(1 - SHRINKAGE, abs=0.0004)


def test_axes_printers_and_materials_are_told_apart_but_share() -> None:
    along_x = [measured(Feature("outside", 100.0, "x"), -0.9)] * 10
    found = sizes(*along_x)
    assert found.scale("x") < found.scale("y") < 1 - SHRINKAGE
    other = sizes_from(along_x, Machine("right one"), "petg")
    assert found.scale("x") < other.scale("x") < 1 - SHRINKAGE
    foreign = sizes_from(
        [measured(Feature("outside", 100.0, "x"), -0.9, 10, Machine("theirs", "friend"))], MACHINE, "petg"
    )
    assert found.scale("x") < foreign.scale("x") <= 1 - SHRINKAGE


def test_typing_errors_of_ten_times_hardly_count() -> None:
    sound = [measured(HOLE, -0.15)] * 20
    slipped = sizes(*sound, measured(HOLE, 43.5)).deviation(HOLE)
    assert slipped[0] == pytest.approx(sizes(*sound).deviation(HOLE)[0], abs=0.003)


@pytest.mark.parametrize("number", [1, 3, 10])
def test_intervals_and_tolerances_hold_what_they_claim(number: int) -> None:
    # 100 machines drawn from the prior; binomial, so 82 to 98 % is 2.7 standard errors.
    random = np.random.default_rng(number)
    mean_hits = next_hits = 0
    blank = sizes()
    spread = np.sqrt(np.diag(blank.covariance))
    for _ in range(100):
        unknowns = spread * random.standard_normal(len(spread))
        truth = believed_deviation(HOLE, SHRINKAGE) + float(blank._picked(HOLE) @ unknowns)
        values = truth + 0.05 * random.standard_normal(number + 1)
        found = sizes(*[measured(HOLE, round(value, 2)) for value in values[1:]])
        mean, sd = found.deviation(HOLE)
        mean_hits += abs(mean - truth) < 1.645 * sd
        next_hits += abs(values[0] - mean) < found.tolerance_mm(HOLE)
    assert 82 <= mean_hits <= 98
    assert 84 <= next_hits <= 100  # normal noise under heavy-tailed belief: a little wide


def test_the_expected_gain_of_a_measurement_is_what_it_gains() -> None:
    known = [measured(Feature("gap", 1.0), -0.1 + off) for off in (-0.08, -0.04, 0.0, 0.04, 0.08)] * 20
    start = sizes(*known)
    for following in (HOLE, SLOT, Feature("outside", 100.0, "x")):
        gain = start.variance_taken(following, [SLOT])
        after = sizes(*known, measured(following, start.deviation(following)[0]))
        actual = start.deviation(SLOT)[1] ** 2 - after.deviation(SLOT)[1] ** 2
        # A value right on the mean tells a little more than one of heavy-tailed noise does on average.
        assert actual == pytest.approx(gain, rel=0.25)


def test_what_to_measure_next_is_the_best_of_the_list() -> None:
    start = sizes(*[measured(Feature("outside", 20.0), -0.05)] * 10)
    advice = size_advice.advice_from(start, [Feature("hole", 5.0)])
    assert advice.next_measurements[0].feature.kind == "hole"
    assert advice.next_measurements[0].tolerance_after < advice.next_measurements[0].tolerance_before


def test_a_slot_of_14_comes_out_at_14() -> None:
    found = sizes(*[measured(SLOT, -0.12)] * 10)
    (drawn,) = size_advice.advice_from(found, [SLOT]).sizes
    deviation, _ = found.deviation(Feature("slot", drawn.draw))
    assert drawn.draw + deviation == pytest.approx(14.0, abs=1e-6)
    assert drawn.draw == pytest.approx(14.12, abs=0.02)


def test_fits_lie_in_order_and_reach_their_play() -> None:
    found = sizes(
        *[measured(Feature("hole", 8.0), -0.2)] * 30, *[measured(Feature("outside", 8.0), 0.0)] * 30
    )
    fits = {fit.name: fit for fit in size_advice.advice_from(found).fits}
    assert fits["press"].clearance < fits["snug"].clearance < fits["sliding"].clearance
    # Hole 0.2 small, pin at nominal: the middle of 0.10 to 0.35 is 0.225 of play, so 0.425 is drawn.
    assert fits["sliding"].clearance == pytest.approx(0.425, abs=0.02)
    blank = {fit.name: fit for fit in size_advice.advice_from(sizes()).fits}
    assert fits["sliding"].chance > blank["sliding"].chance


def test_an_insert_goes_by_its_measured_diameter() -> None:
    (drawn,) = size_advice.advice_from(sizes(), [Feature("insert", 5.6)]).sizes
    wanted = Feature("insert", 5.6 - size_advice.INSERT_BITE_MM)
    assert drawn.draw == pytest.approx(sizes().drawn_size(wanted))


def test_shrinkage_comes_from_the_knowledge_base() -> None:
    from kb.loading import load_knowledge_base

    believed = size_advice.shrinkage_believed(load_knowledge_base(), ["abs", "pla", "no such material"])
    assert set(believed) == {"abs", "pla"}
    assert 0.002 < believed["pla"].shrinkage < 0.005 < believed["abs"].shrinkage < 0.013
    wide = sizes_from([], MACHINE, "abs", {"abs": Believed(0.007, 0.002)})
    assert wide.scale() == pytest.approx(0.993)


def test_from_the_log(log: sqlite3.Connection) -> None:
    entry = synthetic_print()
    recording.add_print(log, entry)
    texts = {
        "measured": [
            "slot 14 = 13.92",
            "slot 14 = 13.92",
            "hole 5 = 4.8 along x",
            "outside 60=60.2 first layer",
        ]
    }
    recording.add_observations(log, grammar.observations_from(texts, entry))
    found = read_measured(log, "left one", "petg")
    assert {(m.feature.kind, m.feature.axis, m.feature.first_layer, m.count) for m in found} == {
        ("slot", "", False, 2.0), ("hole", "x", False, 1.0), ("outside", "", True, 1.0),
    }  # fmt: skip
    assert {round(m.deviation, 2) for m in found} == {-0.08, -0.2, 0.2}
    assert read_measured(log, "right one", "pla") == []
    text = size_advice.as_text(size_advice.advice_from(sizes_from(found, MACHINE, "petg")))
    assert max(len(line) for line in text.splitlines()) <= 80
    assert math.isfinite(size_advice.as_mapping(size_advice.advice_from(sizes()))["first_layer_flare_mm"])
