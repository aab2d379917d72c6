"""Mass, filament length, flow and time of a build. Volumes in mm^3, speeds in mm/s, times in s.

Derived here from geometry and kinematics; the travel factor and the overheads are inputs that a
printer's log corrects.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from recommender.mechanics.beads import bead_area
from recommender.mechanics.broadcasting import Computed, Flags, Values

TRAVEL_FACTOR = 1.15
"""Time with travel moves over time while extruding; estimate, 1.1 to 1.3."""


def mass_g(*, volume: Values, density_g_cm3: Values) -> Computed:
    """Mass in g of `volume` (mm^3)."""
    return volume * density_g_cm3 / 1000


def filament_length_m(*, volume: Values, filament_diameter: Values = 1.75) -> Computed:
    """Length of filament in m that holds `volume` (mm^3): 4 V / (pi d^2)."""
    return 4 * volume / (np.pi * filament_diameter**2) / 1000


def volumetric_flow(*, line_width: Values, layer_height: Values, speed: Values) -> Computed:
    """Flow in mm^3/s of a stadium bead at `speed`."""
    return bead_area(line_width=line_width, layer_height=layer_height) * speed


def rectangular_flow(*, line_width: Values, layer_height: Values, speed: Values) -> Computed:
    """Flow in mm^3/s if the bead were a full rectangle w h: 5 to 10 % above the stadium."""
    return line_width * layer_height * speed


def flow_limited_speed(*, line_width: Values, layer_height: Values, maximum_flow: Values) -> Computed:
    """Highest speed in mm/s that the hot end can feed: Q_max / A."""
    return maximum_flow / bead_area(line_width=line_width, layer_height=layer_height)


def segment_time(*, length: Values, speed: Values, acceleration: Values) -> Computed:
    """Time in s of a straight move from rest to rest with trapezoidal speed.

    With v' = min(v, sqrt(L a)) it is L / v' + v' / a, which is L/v + v/a for long moves and
    2 sqrt(L / a) for moves too short to reach v.
    """
    reached = np.minimum(speed, np.sqrt(length * acceleration))
    return length / reached + reached / acceleration


def mean_speed(*, length: Values, speed: Values, acceleration: Values) -> Computed:
    """Mean speed in mm/s of such a move."""
    return length / segment_time(length=length, speed=speed, acceleration=acceleration)


def full_speed_length(*, speed: Values, acceleration: Values) -> Computed:
    """Shortest move in mm that reaches its speed: v^2 / a."""
    return speed**2 / acceleration


def extrusion_time(*, volume: Values, line_width: Values, layer_height: Values, speed: Values) -> Computed:
    """Time in s to lay `volume` (mm^3) of stadium beads at `speed`: V / (A v)."""
    return volume / volumetric_flow(line_width=line_width, layer_height=layer_height, speed=speed)


def build_time(
    *,
    volumes: Sequence[Values],
    speeds: Sequence[Values],
    line_width: Values,
    layer_height: Values,
    layers: Values,
    layer_overhead: Values,
    start_time: Values,
    travel_factor: Values = TRAVEL_FACTOR,
) -> Computed:
    """Time in s of a whole build from volumes (mm^3) laid at their speeds (mm/s).

    t = start + layers * overhead + travel factor * sum(V_i / v_i) / A. Give the speeds after flow
    limit and acceleration (`flow_limited_speed`, `mean_speed`).
    """
    weighted = sum(volume / speed for volume, speed in zip(volumes, speeds, strict=True))
    area = bead_area(line_width=line_width, layer_height=layer_height)
    return start_time + layers * layer_overhead + travel_factor * (weighted / area)


def clamped_layer_time(*, layer_time: Values, minimum_layer_time: Values) -> Computed:
    """Time in s a layer takes when it may not be faster than `minimum_layer_time`."""
    return np.maximum(layer_time, minimum_layer_time)


def layer_count(*, height: Values, layer_height: Values) -> Computed:
    """Number of layers that reach `height`; a rest of a hundredth of a layer does not count."""
    return np.ceil(height / layer_height - 0.01)


def cost(
    *, mass_g: Values, price_per_kg: Values, time_s: Values, price_per_hour: Values, fixed: Values = 0.0
) -> Computed:
    """Cost of a build in the currency of the prices: material by mass, machine by time, and a fixed part."""
    return mass_g * (price_per_kg / 1000) + time_s * (price_per_hour / 3600) + fixed


def valid_flow(*, line_width: Values, layer_height: Values, speed: Values, maximum_flow: Values) -> Flags:
    """True where the hot end can feed the bead at `speed`."""
    return volumetric_flow(line_width=line_width, layer_height=layer_height, speed=speed) <= maximum_flow
