"""Groups of screws: eccentric shear, rows in tension, prying, wall brackets. N, mm, N mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values


def polar_second_moment(*, x: Sequence[Values], y: Sequence[Values]) -> Computed:
    """Sum of squared distances of the screws from their centroid in mm^2."""
    count = len(x)
    centre_x, centre_y = sum(x) / count, sum(y) / count
    return sum((xi - centre_x) ** 2 + (yi - centre_y) ** 2 for xi, yi in zip(x, y, strict=True))


def largest_shear_force(
    *, x: Sequence[Values], y: Sequence[Values], force: Values, eccentricity: Values
) -> Computed:
    """Largest shear force in N on a screw of a group loaded along -y at `eccentricity` in x.

    V_i = P / n and P e r_i / sum(r^2) added as vectors. Source: Shigley's Mechanical Engineering
    Design, ch. 8, elastic method.
    """
    count = len(x)
    centre_x, centre_y = sum(x) / count, sum(y) / count
    per_distance = force * eccentricity / polar_second_moment(x=x, y=y)
    forces = [
        np.hypot(per_distance * (yi - centre_y), force / count + per_distance * (xi - centre_x))
        for xi, yi in zip(x, y, strict=True)
    ]
    largest = forces[0]
    for shear in forces[1:]:
        largest = np.maximum(largest, shear)
    return largest


def row_tension(
    *, moment: Values, heights: Sequence[Values], screws_per_row: Values, row: int = -1
) -> Computed:
    """Tension in N of one screw in a row of a bracket that pivots about its lower edge (heel).

    F = M y_row / (n sum y^2) with `heights` of the rows above the heel (mm); the last row by default.
    """
    return moment * heights[row] / (screws_per_row * sum(y**2 for y in heights))


def single_row_tension(*, moment: Values, height: Values, screws: Values) -> Computed:
    """Tension in N of a screw if the top row alone holds the moment: M / (n y)."""
    return moment / (screws * height)


def heel_reaction(*, moment: Values, heights: Sequence[Values]) -> Computed:
    """Push of the wall on the heel in N, the sum of all screw tensions: M sum y / sum y^2."""
    return moment * sum(heights) / sum(y**2 for y in heights)


def shear_per_screw(*, force: Values, screws: Values) -> Computed:
    """Shear force in N on each of `screws` that share a load."""
    return force / screws


def prying_force(*, tension: Values, inner_distance: Values, edge_distance: Values) -> Computed:
    """Upper bound of the prying force in N at the edge of a flexible flange: Q = F b / a.

    b from the load to the screw, a from the screw to the edge. A thick flange has none. Source:
    statics of the T-stub.
    """
    return tension * inner_distance / edge_distance


def combined_utilisation(
    *, tension: Values, tension_capacity: Values, shear: Values, shear_capacity: Values
) -> Computed:
    """Share of a screw's capacity in use under tension and shear: hypot(F / F_u, V / V_u); fails at 1."""
    return np.hypot(tension / tension_capacity, shear / shear_capacity)


def valid_thick_flange(*, flange_thickness: Values, inner_distance: Values) -> Flags:
    """True where the flange is thicker than its lever arm, so that prying may be left out (estimate)."""
    return flange_thickness > inner_distance
