"""Intervals and shrinkage against books, hand calculations and limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.regression.small_samples import (
    geometric_mean,
    kin,
    next_value,
    pooled_scatter,
    straight_line,
    t90,
)


@pytest.mark.parametrize(
    ("freedom", "table"), [(1, 6.314), (10, 1.812), (24, 1.711), (40, 1.684), (120, 1.658)]
)
def test_student_quantiles(freedom: int, table: float) -> None:
    # Montgomery, Design and Analysis of Experiments, 8th ed., table II, column 0.05 (three decimals).
    assert t90(freedom) == pytest.approx(table, abs=0.0006)


def test_no_freedom_no_interval() -> None:
    assert np.isnan(t90(0))
    assert np.isnan(geometric_mean([3.0]).low)
    assert geometric_mean([3.0]).value == pytest.approx(3.0)


def test_straight_line_by_hand() -> None:
    # x = 0, 1, 2, 4 and y = 1, 2, 4, 7: mean x 7/4, Sxx = 8.75, Sxy = 13.5, so slope 54/35 and
    # intercept 3.5 - 2.7 = 0.8; residuals 0.2, -12/35, 4/35, 1/35; squares 6/35 over two degrees of freedom.
    line = straight_line([0, 1, 2, 4], [1, 2, 4, 7])
    assert line.slope == pytest.approx(54 / 35)
    assert line.intercept == pytest.approx(0.8)
    assert line.residual_sd**2 == pytest.approx(3 / 35)
    assert line.covariance[1][1] == pytest.approx(3 / 35 / 8.75)
    assert line.covariance[0][1] == pytest.approx(-1.75 * 3 / 35 / 8.75)
    half = 2.920 * np.sqrt(3 / 35 * (1 / 4 + (4 - 1.75) ** 2 / 8.75))
    assert line.at(4).high - line.at(4).value == pytest.approx(half)


def test_two_points_are_no_fit() -> None:
    with pytest.raises(ValueError, match="three"):
        straight_line([0, 1], [0, 1])


def test_geometric_mean_by_hand() -> None:
    # 2 and 8: logs ln 4 -+ ln 2; sd = sqrt(2) ln 2, standard error ln 2, half width 6.314 ln 2.
    spread = geometric_mean([2, 8])
    assert spread.value == pytest.approx(4)
    assert spread.high == pytest.approx(4 * 2**6.314)
    # One further value: sd sqrt(1 + 1/2) = sqrt(3) ln 2.
    assert next_value([2, 8]).high == pytest.approx(4 * 2 ** (6.314 * np.sqrt(3)))


def test_pooled_scatter_by_hand() -> None:
    # Squares 2 + 0.5 over 1 + 1 degrees of freedom; a single number adds nothing.
    spread = pooled_scatter([np.array([1.0, 3.0]), np.array([5.0, 6.0]), np.array([99.0])])
    assert spread.value == pytest.approx(np.sqrt(2.5 / 2))
    assert spread.count == 4


def groups(seed: int, between: float, within: float, sizes: list[int]) -> dict[tuple[str, str], np.ndarray]:
    rng = np.random.default_rng(seed)
    return {
        ("c", f"m{i}"): rng.normal(0, between) + rng.normal(0, within, size) for i, size in enumerate(sizes)
    }


def test_equal_groups_collapse_to_the_class_mean() -> None:
    # Groups whose means differ less than their noise: nothing between them, everyone gets the common mean.
    data = {
        ("c", "a"): np.array([1.0, 3.0]),
        ("c", "b"): np.array([1.5, 2.5]),
        ("c", "d"): np.array([0.0, 4.0]),
    }
    found = kin(data)
    assert found.between == 0
    assert list(found.mean.values()) == pytest.approx([2.0] * 3)


def test_a_thin_group_borrows_more_than_a_full_one() -> None:
    # Equal distance from the rest: the group of one number is drawn further than the group of twenty.
    full = np.linspace(-0.3, 0.3, 20)
    data = {("c", "a"): full, ("c", "full"): full + 1, ("c", "thin"): np.array([-1.0]), ("c", "b"): full}
    found = kin(data)
    drawn_full = 1 - found.mean["c", "full"]
    drawn_thin = found.mean["c", "thin"] + 1
    assert drawn_thin > 3 * abs(drawn_full) > 0
    assert found.variance["c", "thin"] > found.variance["c", "full"]
    assert found.class_variance["c"] > found.variance["c", "thin"]


def test_variance_between_groups_is_found_again() -> None:
    # 60 groups of 5, drawn with 0.5 between and 0.2 within: the estimate has a standard error of about 10 %.
    found = kin(groups(3, 0.5, 0.2, [5] * 60))
    assert found.between == pytest.approx(0.5, rel=0.25)
    assert found.within == pytest.approx(0.2, rel=0.15)


@given(st.lists(st.floats(0.1, 100), min_size=2, max_size=8), st.floats(0.01, 100))
def test_a_change_of_unit_scales_the_interval(values: list[float], factor: float) -> None:
    plain, scaled = geometric_mean(values), geometric_mean([v * factor for v in values])
    assert plain.low <= plain.value * (1 + 1e-9)
    assert scaled.low == pytest.approx(plain.low * factor, rel=1e-6)
    assert scaled.high == pytest.approx(plain.high * factor, rel=1e-6)
