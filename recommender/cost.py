"""Mass, filament, time and money of every candidate of a block."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.schema import Printer
from recommender.limit_states.form_model import Block, Envelope
from recommender.mechanics import print_time

Array = NDArray[np.float64]

START_S = 240.0  # heating and levelling (estimate)
LAYER_OVERHEAD_S = 1.5  # change of layer (estimate)
SUPPORT_DENSITY = 0.15  # plastic in a support over its volume (estimate); laid as fast as infill
FILAMENT_DIAMETER_MM = 1.75


@dataclass(frozen=True, slots=True)
class Volumes:
    """Plastic laid as walls, top and bottom layers, and infill, mm^3, on the candidate grid."""

    walls: Array
    layers: Array
    infill: Array

    @property
    def total(self) -> Array:
        """All plastic, mm^3."""
        return self.walls + self.layers + self.infill


@dataclass(frozen=True, slots=True)
class Cost:
    """What a candidate takes: g of the part, m of filament, s, money (both with support); on the candidate grid."""

    mass_g: Array
    filament_m: Array
    time_s: Array
    money: Array


def volumes_of(envelope: Envelope, block: Block) -> Volumes:
    """Volumes of walls, closed layers and infill for an envelope taken as a prism of its mean layer.

    What walls of thickness t leave of a layer of area A and outline P is A - P t + k t^2: k = 4 for a rectangle,
    P^2 / 4A (a perfect square) for a disc or a square, which are rounder than any rectangle of their outline.
    """
    area, outline = envelope.footprint, envelope.perimeter
    rounding = min(outline**2 / (4.0 * area), 4.0)
    meets_at = (outline - np.sqrt(max(outline**2 - 4.0 * rounding * area, 0.0))) / (2.0 * rounding)
    walls_mm = np.minimum(block.skins.walls_mm, meets_at)
    inner = np.maximum(area - outline * walls_mm + rounding * walls_mm**2, 0.0)
    closed_mm = np.minimum(block.skins.top_mm + block.skins.bottom_mm, envelope.height)
    walls = (area - inner) * envelope.height
    layers = inner * closed_mm
    infill = inner * (envelope.height - closed_mm) * block.core.density
    return Volumes(walls, layers, infill)


def cost_of(
    envelope: Envelope,
    block: Block,
    printer: Printer,
    density_g_cm3: Array,
    price_per_kg: Array,
    flow_mm3_s: Array,
    volumes: Volumes | None = None,
) -> Cost:
    """Cost of every candidate; material figures (arrays on the material axis) limit flow and set mass and price.

    Speeds are the printer's, held to the flow the material and hot end allow and slowed by acceleration over
    moves of the outline's mean length (estimate).
    """
    laid = volumes if volumes is not None else volumes_of(envelope, block)
    support = SUPPORT_DENSITY * envelope.support_mm3
    width, height = block.skins.line_width_mm, block.layer_height_mm
    flow = np.minimum(flow_mm3_s, printer.flow_limit_mm3_s)
    fastest = print_time.flow_limited_speed(line_width=width, layer_height=height, maximum_flow=flow)
    side = max(envelope.perimeter / 4.0, 1.0)
    across = max(np.sqrt(envelope.footprint) / 2.0, 1.0)

    def speed(nominal: float, length: float) -> Array:
        mean = print_time.mean_speed(length=length, speed=nominal, acceleration=printer.acceleration_mm_s2)
        return np.asarray(np.minimum(fastest, mean))

    speeds = printer.speeds
    layers = print_time.layer_count(height=envelope.height, layer_height=height)
    laying = print_time.build_time(
        volumes=(laid.walls, laid.layers, laid.infill + support),
        speeds=(
            speed(0.5 * (speeds.outer_wall + speeds.inner_wall), side),
            speed(speeds.top_bottom, across),
            speed(speeds.infill, across),
        ),
        line_width=width, layer_height=height, layers=layers, layer_overhead=LAYER_OVERHEAD_S, start_time=0.0,
    )  # fmt: skip
    time_s = START_S + np.maximum(laying, layers * printer.min_layer_time_s)
    mass = print_time.mass_g(volume=laid.total, density_g_cm3=density_g_cm3)
    used = laid.total + support
    filament = print_time.filament_length_m(volume=used, filament_diameter=FILAMENT_DIAMETER_MM)
    bought = print_time.mass_g(volume=used, density_g_cm3=density_g_cm3)
    money = bought / 1000.0 * price_per_kg + time_s / 3600.0 * printer.hourly_cost
    return Cost(mass, filament, time_s, money)
