"""The lattice core: stiffness and strength against solid plastic, by pattern and density."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.schema import Lattice, PowerLaw

Array = NDArray[np.float64]

SPARSE_LIMIT = 0.5  # relative density up to which the computed power laws hold (kb/lattices)
SOLID_SHEAR = 2.0 * (1.0 + 0.35)  # E/G of the solid wall (nu = 0.35), turns G/E laws into G/G laws


@dataclass(frozen=True, slots=True)
class CoreRatios:
    """Core over solid, each an array that broadcasts over line width, infill density and pattern.

    `in_plane` is the Young's modulus along the part in the plane of the layers, `build` the one across the
    layers, `shear_in_plane` and `shear_build` the shear moduli within the layers' plane and out of it, each
    the distance of neighbouring infill lines; `density` the relative density, 0 to 1.
    """

    in_plane: Array
    build: Array
    shear_in_plane: Array
    shear_build: Array
    spacing_mm: Array
    density: Array


def core_lift(core_share: Array, core_ratio: Array) -> Array:
    """Change of the logarithm of a section's strength, to first order, if a sparse core counted twice.

    With the section's share s of core of ratio r counted as r (1 + b (1 - r)): b s r (1 - r) / ((1 - s) + s r),
    here for b = 1. Measured bars do not support b above 0; the comparison of models still tries it.
    """
    lift: Array = core_share * core_ratio * (1.0 - core_ratio) / (1.0 - core_share + core_share * core_ratio)
    return lift


def core_ratios(lattices: tuple[Lattice, ...], infill_percent: Array, line_width_mm: Array) -> CoreRatios:
    """Ratios for every density (second axis from last) and lattice (last axis).

    Up to half density a ratio is penalty x C rho^n (power laws from homogenisation, kb/lattices; the penalty
    for printed single lines is an estimate); from there to solid a straight line, an estimate that meets the
    solid at 100 %. The angle between part and lines is not known, so the mean of the laws along the lines and
    in the weakest direction is taken (an estimate).
    """
    density = np.clip(infill_percent / 100.0, 1e-4, 1.0)
    parts: dict[str, list[Array]] = {"in_plane": [], "build": [], "gxy": [], "gxz": [], "spacing": []}
    for lattice in lattices:
        penalty = lattice.printed_penalty[1]
        along = _ratio(lattice.modulus_in_plane_along, penalty, density)
        weakest = _ratio(lattice.modulus_in_plane_weakest, penalty, density)
        parts["in_plane"].append(0.5 * (along + weakest))
        parts["build"].append(_ratio(lattice.modulus_build, penalty, density))
        parts["gxy"].append(_ratio(lattice.shear_modulus_in_plane, penalty, density, SOLID_SHEAR))
        parts["gxz"].append(_ratio(lattice.shear_modulus_out_of_plane, penalty, density, SOLID_SHEAR))
        parts["spacing"].append(lattice.line_spacing_factor * line_width_mm / density)
    joined = {name: np.concatenate(np.broadcast_arrays(*arrays), axis=-1) for name, arrays in parts.items()}
    return CoreRatios(
        joined["in_plane"], joined["build"], joined["gxy"], joined["gxz"], joined["spacing"], density
    )


def _ratio(law: PowerLaw, penalty: float, density: Array, scale: float = 1.0) -> Array:
    """The sparse law joined to the solid by a straight line; never stiffer than plastic of equal mass."""
    coefficient = penalty * scale * law.coefficient
    sparse = np.minimum(coefficient * density**law.exponent, density)
    at_limit = min(coefficient * SPARSE_LIMIT**law.exponent, SPARSE_LIMIT)
    share = (density - SPARSE_LIMIT) / (1.0 - SPARSE_LIMIT)
    return np.where(density <= SPARSE_LIMIT, sparse, at_limit + (1.0 - at_limit) * share)
