"""Mass, filament and time of a build from its layers, taken apart so that each share can be checked by hand.

Layer by layer: laying walls, closed layers and infill at the speed that flow and acceleration allow, moves
without laying, waiting where a layer would be too quick. Formulas of single moves: `mechanics.print_time`.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from recommender.errors import InputError
from recommender.geometry.layer_volumes import LayerRegions
from recommender.geometry.mesh import Floats
from recommender.mechanics import print_time
from recommender.mechanics.beads import bead_area

MEAN_DISTANCE_OVER_DIAGONAL = 0.3687  # of two random points in a square: 0.52141 of its side
START_S = 240.0  # heating and levelling; estimate
LAYER_OVERHEAD_S = 1.5  # change of layer; estimate
FILAMENT_DIAMETER_MM = 1.75


@dataclass(frozen=True)
class Machine:
    """What the machine may do: speeds in mm/s, acceleration in mm/s^2, flow in mm^3/s, times in s."""

    wall_speed: float = 90.0
    closed_speed: float = 80.0
    infill_speed: float = 150.0
    travel_speed: float = 250.0
    acceleration: float = 4000.0
    maximum_flow: float = 12.0
    minimum_layer_time: float = 8.0
    layer_overhead: float = LAYER_OVERHEAD_S
    start_time: float = START_S

    def __post_init__(self) -> None:
        if not all(np.isfinite(value) and value >= 0 for value in asdict(self).values()):
            raise InputError("machine", f"{self}", "All speeds and times must be positive numbers.")


@dataclass(frozen=True)
class Settings:
    """Print settings: layer height and line width in mm, counts, infill as a fraction."""

    layer_height: float = 0.2
    line_width: float = 0.45
    walls: int = 3
    top: int = 4
    bottom: int = 4
    infill: float = 0.2

    def __post_init__(self) -> None:
        if not 0 <= self.infill <= 1:
            raise InputError("infill", f"{self.infill:g} is no fraction.", "Use 0 to 1 (20 % is 0.2).")


@dataclass(frozen=True)
class BuildEstimate:
    """What a build takes; times in s, volumes in mm^3.

    `waiting` is what layers wait for the minimum layer time. Mass needs a density (g/cm^3).
    """

    wall_volume: float
    closed_volume: float
    infill_volume: float
    start: float
    layer_changes: float
    walls: float
    closed: float
    infill: float
    travel: float
    waiting: float

    @property
    def volume(self) -> float:
        """All plastic, mm^3."""
        return self.wall_volume + self.closed_volume + self.infill_volume

    @property
    def total(self) -> float:
        """All time, s."""
        laying = self.walls + self.closed + self.infill
        return self.start + self.layer_changes + laying + self.travel + self.waiting

    def mass_g(self, density_g_cm3: float) -> float:
        """Mass in g."""
        return float(print_time.mass_g(volume=self.volume, density_g_cm3=density_g_cm3))

    @property
    def filament_m(self) -> float:
        """Length of filament of 1.75 mm, m."""
        length = print_time.filament_length_m(volume=self.volume, filament_diameter=FILAMENT_DIAMETER_MM)
        return float(length)

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {**asdict(self), "total": self.total, "filament_m": self.filament_m}


def build_estimate(regions: LayerRegions, settings: Settings, machine: Machine) -> BuildEstimate:
    """Volumes and times of a build from the regions of its layers.

    Mean lengths of moves: along walls the outline between its corners; across an area the mean chord
    pi A / P (Cauchy and Crofton, for convex outlines).
    """
    thickness = regions.layer_thickness
    inside = regions.closed + regions.core
    along = regions.outline_length / np.maximum(np.maximum(regions.corners, regions.loops), 1.0)
    chord = np.maximum(np.pi * inside / np.maximum(regions.outline_length, 1e-9), settings.line_width)
    volumes = [
        regions.walls * thickness,
        regions.closed * thickness,
        regions.core * thickness * settings.infill,
    ]
    lengths = (np.maximum(along, settings.line_width), chord, chord)
    speeds = (machine.wall_speed, machine.closed_speed, machine.infill_speed)
    laying = [
        volume / bead_area(line_width=settings.line_width, layer_height=settings.layer_height) / speed
        for volume, speed in zip(volumes, _speeds(lengths, speeds, settings, machine), strict=True)
    ]
    travel = _travel_time(regions, settings, machine)
    busy = sum(laying) + travel
    waiting = (
        print_time.clamped_layer_time(layer_time=busy, minimum_layer_time=machine.minimum_layer_time) - busy
    )
    wall_volume, closed_volume, infill_volume = (float(volume.sum()) for volume in volumes)
    walls, closed, infill = (float(time.sum()) for time in laying)
    return BuildEstimate(
        wall_volume,
        closed_volume,
        infill_volume,
        machine.start_time,
        machine.layer_overhead * len(thickness),
        walls,
        closed,
        infill,
        float(travel.sum()),
        float(np.sum(waiting)),
    )


def _speeds(
    lengths: tuple[Floats, ...], speeds: tuple[float, ...], settings: Settings, machine: Machine
) -> list[Floats]:
    """Mean speeds that flow and acceleration leave, mm/s."""
    fastest = print_time.flow_limited_speed(
        line_width=settings.line_width,
        layer_height=settings.layer_height,
        maximum_flow=machine.maximum_flow,
    )
    return [
        np.asarray(
            print_time.mean_speed(
                length=length, speed=np.minimum(speed, fastest), acceleration=machine.acceleration
            )
        )
        for length, speed in zip(lengths, speeds, strict=True)
    ]


def _travel_time(regions: LayerRegions, settings: Settings, machine: Machine) -> Floats:
    """One move to every wall of every loop and one to the inside of every loop, over the mean distance."""
    moves = regions.loops * (settings.walls + 1)
    distance = np.maximum(MEAN_DISTANCE_OVER_DIAGONAL * regions.diagonal, settings.line_width)
    one = print_time.segment_time(
        length=distance, speed=machine.travel_speed, acceleration=machine.acceleration
    )
    return np.asarray(moves * one)
