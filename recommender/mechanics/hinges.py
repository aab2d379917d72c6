"""Living hinges and pinned knuckles. N, mm, MPa, angles in degrees where the name says so."""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values


def living_hinge_strain(*, thickness: Values, length: Values, angle_deg: Values) -> Computed:
    """Outer-fibre strain of a web bent evenly through `angle_deg` over its length: t theta / (2 L).

    Print it flat only, one or two lines thick. A printed web bends unevenly: this is the least strain.
    """
    return thickness * np.radians(angle_deg) / (2 * length)


def living_hinge_radius(*, length: Values, angle_deg: Values) -> Computed:
    """Bend radius of the web in mm: L / theta."""
    return length / np.radians(angle_deg)


def knuckle_bearing_stress(*, force: Values, pin_diameter: Values, width: Values) -> Computed:
    """Pressure of the pin in a knuckle in MPa: F / (d w)."""
    return force / (pin_diameter * width)


def knuckle_net_stress(*, force: Values, wall_thickness: Values, width: Values) -> Computed:
    """Tension in the two walls beside the pin in MPa: F / (2 t w)."""
    return force / (2 * wall_thickness * width)


def valid_living_hinge(*, thickness: Values, length: Values) -> Flags:
    """True where the web is at least five times as long as thick, so that bending theory holds (estimate)."""
    return length >= 5 * thickness
