"""Levers with a hub: hub torque, handle root, polygonal socket, two-prong jaw. N, mm, MPa, N mm.

Layers must lie in the plane of the lever. Derived here (statics) unless a source is named.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values


def hub_torque(*, force: Values, arm: Values) -> Computed:
    """Torque at the hub in N mm: F L."""
    return force * arm


def handle_root_moment(*, force: Values, arm: Values, hub_offset: Values) -> Computed:
    """Bending moment where the handle meets the hub in N mm: F (L - a_hub)."""
    return force * (arm - hub_offset)


def handle_root_stress(
    *, force: Values, arm: Values, hub_offset: Values, handle_depth: Values, handle_thickness: Values
) -> Computed:
    """Bending stress at the root of a solid handle in MPa: 6 F (L - a_hub) / (t w^2), w in the plane."""
    moment = handle_root_moment(force=force, arm=arm, hub_offset=hub_offset)
    return 6 * moment / (handle_thickness * handle_depth**2)


def polygon_side(*, across_flats: Values, sides: Values) -> Computed:
    """Side in mm of a regular polygon with an even number of sides: AF tan(pi / n)."""
    return across_flats * np.tan(np.pi / sides)


def socket_corner_pressure(
    *, torque: Values, sides: Values, side_length: Values, socket_height: Values
) -> Computed:
    """Largest pressure on a flat of a polygonal socket in MPa: 12 T / (n H a^2).

    Triangular pressure on the leading half of each flat, T = n H p a^2 / 12. With play the contact
    moves to the corner: keep the clearance below 2 % of the width across flats (estimate).
    """
    return 12 * torque / (sides * socket_height * side_length**2)


def socket_hoop_stress(
    *,
    corner_pressure: Values,
    side_length: Values,
    socket_height: Values,
    sides: Values,
    ring_thickness: Values,
) -> Computed:
    """Hoop tension in the ring around a polygonal socket in MPa, N / (2 t_r H tan(pi / n)).

    N = H p a / 4 per flat. Upper bound (estimate); the corner's stress raiser (2 to 3) comes on top.
    """
    flat_force = socket_height * corner_pressure * side_length / 4
    return flat_force / (2 * ring_thickness * socket_height * np.tan(np.pi / sides))


def jaw_force(*, torque: Values, couple_arm: Values) -> Computed:
    """Force in N on each prong of a two-prong jaw: T over the couple's arm, AF / sqrt 3 by default use.

    The corners of a hexagon between two flats are AF / sqrt 3 apart.
    """
    return torque / couple_arm


def jaw_root_stress(*, force: Values, reach: Values, width: Values, thickness: Values) -> Computed:
    """Bending stress at the root of a prong in MPa: 6 F reach / (t w^2); the corner factor comes on top."""
    return 6 * force * reach / (thickness * width**2)


def valid_socket_clearance(*, clearance: Values, across_flats: Values) -> Flags:
    """True where the play is at most 2 % of the width across flats (estimate)."""
    return clearance <= 0.02 * across_flats
