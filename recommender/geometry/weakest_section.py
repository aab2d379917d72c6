"""Cuts along a lever or beam: where the printed part is weakest, and by which limit state.

The part is held at one end of an axis and loaded by a force at a point. At every station the real outline
gives the composite section; normal stress, shear and torsion are set against the strengths of skin and core.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.layers import Progress, silent
from recommender.geometry.mesh import Floats
from recommender.geometry.orientation import rotation_to_up
from recommender.geometry.section import (
    CompositeSection,
    Stiffness,
    composite_section,
    core_of,
    torsion,
)
from recommender.mechanics.anisotropy import tsai_hill_strength

STATIONS = 60
SHEAR_PEAK = 1.5  # largest over mean shear stress, solid rectangle
MARGIN_SHARE = 0.005
TORSION_CELLS = 1_600  # a quarter of the default: within 0.3 % of it, and there are many stations


@dataclass(frozen=True)
class Strengths:
    """Strengths of the printed skin in MPa, and the core's share of them.

    Attributes
    ----------
    along : float
        Tension in the plane of the layers.
    across : float
        Tension that pulls layers apart.
    between : float
        Shear between layers.
    within : float
        Shear in the plane of the layers.
    core_share : float
        Strength of the infill over that of the skin. Where nothing better is known take the ratio of the
        moduli: the walls of a lattice strain no more than the part around them.
    """

    along: float
    across: float
    between: float
    within: float
    core_share: float

    def __post_init__(self) -> None:
        values = tuple(asdict(self).values())
        if not all(math.isfinite(value) and value >= 0 for value in values) or not min(values[:4]) > 0:
            raise InputError("strengths", f"{self}", "Strengths are positive numbers in MPa.")


@dataclass(frozen=True)
class Shell:
    """Thickness of the walls and of the closed layers, mm."""

    walls: float
    closed: float


@dataclass(frozen=True)
class Force:
    """A force in N at a point in mm, both in the coordinates of the model."""

    vector: tuple[float, float, float]
    at: tuple[float, float, float]


@dataclass(frozen=True)
class Station:
    """One cut.

    Attributes
    ----------
    position : float
        Along the axis from the fixed end, mm.
    area, skin_area : float
        mm^2.
    flexural_rigidity : float
        The smaller principal one, N mm^2.
    stress, shear : float
        Largest normal stress in the skin and shear stress at the given force, MPa.
    load_at_failure : float
        Force in N at which the first limit state is reached.
    limit_state : str
        Which one, in words.
    """

    position: float
    area: float
    skin_area: float
    flexural_rigidity: float
    stress: float
    shear: float
    load_at_failure: float
    limit_state: str

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Lever:
    """All cuts of one part under one force, and the bending of the loaded point in mm."""

    axis: tuple[float, float, float]
    stations: tuple[Station, ...]
    deflection: float

    @property
    def weakest(self) -> Station:
        """The cut that fails first."""
        return min(self.stations, key=lambda station: station.load_at_failure)


def cut_across(
    solid: manifold3d.Manifold, axis: Floats, position: float, shell: Shell, stiffness: Stiffness, up: Floats
) -> CompositeSection:
    """The composite section at a position along an axis (mm from the low end of the part along it).

    Raises
    ------
    InputError
        The plane does not cut the part.
    """
    turned, rotation, low, high = _along_axis(solid, axis)
    if not 0 < position < high - low:
        raise InputError(
            "--section",
            f"{position:g} mm is outside the part.",
            f"Along this axis it reaches from 0 to {high - low:.4g} mm.",
        )
    outline = turned.slice(low + position)
    return composite_section(outline, core_of(outline, shell.walls, shell.closed, rotation @ up), stiffness)


def _along_axis(solid: manifold3d.Manifold, axis: Floats) -> tuple[manifold3d.Manifold, Floats, float, float]:
    """The solid turned so that the axis points up, the rotation, and where it begins and ends."""
    rotation = rotation_to_up(axis)
    turned = solid.transform(np.hstack([rotation, np.zeros((3, 1))]))
    box = turned.bounding_box()
    return turned, rotation, float(box[2]), float(box[5])


def lever(
    solid: manifold3d.Manifold,
    axis: Floats,
    force: Force,
    shell: Shell,
    stiffness: Stiffness,
    strengths: Strengths,
    up: Floats,
    stations: int = STATIONS,
    progress: Progress = silent,
) -> Lever:
    """Cut a part held at the low end of `axis` and loaded by `force` all along.

    Parameters
    ----------
    axis : ndarray of shape (3,)
        From the fixed end towards the load, in the coordinates of the model.
    up : ndarray of shape (3,)
        Build direction, in the coordinates of the model.
    stations : int
        Number of cuts between the fixed end and the load.

    Assumes plane sections (see `mechanics.beams` for stubby beams) and no stress concentration: a sharp inner
    corner fails earlier, which errs to the unsafe side.
    """
    turned, rotation, low, _ = _along_axis(solid, axis)
    vector, point, build = rotation @ force.vector, rotation @ force.at, rotation @ up
    reach = float(point[2]) - low
    if not reach > 0:
        raise InputError("--load-at", f"lies {reach:.4g} mm along the axis.", "Put it beyond the fixed end.")
    positions = reach * np.linspace(MARGIN_SHARE, 1 - MARGIN_SHARE, stations)
    found, flexibilities = [], []
    for k, position in enumerate(positions):
        outline = turned.slice(low + position)
        progress("cutting sections", k + 1, stations)
        if outline.area() <= 1e-6:
            continue
        section = composite_section(outline, core_of(outline, shell.walls, shell.closed, build), stiffness)
        found.append(_judged(section, float(position), low, vector, point, build, strengths))
        flexibilities.append((position, _flexibility(section, low + position, vector, point)))
    if not found:
        raise InputError("--section", "no plane along this axis cuts the part.", "Choose another axis.")
    x, y, z = (float(v) for v in np.asarray(axis) / np.linalg.norm(axis))
    return Lever((x, y, z), tuple(found), _deflection(flexibilities, vector))


def _section_forces(
    section: CompositeSection, height: float, vector: Floats, point: Floats
) -> tuple[Floats, float, float]:
    """Moment vector about the section's centre (N mm), axial force and shear force (N)."""
    arm = point - np.array([*section.centre, height])
    return np.cross(arm, vector), float(vector[2]), float(np.hypot(vector[0], vector[1]))


def _flexibility(section: CompositeSection, height: float, vector: Floats, point: Floats) -> float:
    """Twice the elastic energy of bending per length at the given force, N."""
    moment, _, _ = _section_forces(section, height, vector, point)
    about_x, about_y = section.curvatures(float(moment[0]), float(-moment[1]))
    return float(moment[0] * about_x - moment[1] * about_y)


def _deflection(flexibilities: list[tuple[float, float]], vector: Floats) -> float:
    """Movement of the loaded point along the force by Castigliano's theorem, integral of M^2 / EI over F."""
    positions, values = np.array(flexibilities).T
    size = float(np.linalg.norm(vector))
    return float(np.trapezoid(values, positions) / size) if size else 0.0


def _judged(
    section: CompositeSection,
    position: float,
    low: float,
    vector: Floats,
    point: Floats,
    build: Floats,
    strengths: Strengths,
) -> Station:
    moment, axial, shear_force = _section_forces(section, low + position, vector, point)
    bending = (float(moment[0]), float(-moment[1]))
    skin = section.stiffness.skin * section.extreme_strains(axial, *bending, of_core=False)
    core = section.stiffness.core * section.extreme_strains(axial, *bending, of_core=True)
    shear = _shear_stress(section, shear_force, float(moment[2]))
    across = abs(float(build[2]))  # cosine between the section's normal and the build direction
    pull = _normal_strength(strengths, across)
    share = strengths.between if across > math.sqrt(0.5) else strengths.within
    ways = {
        "the skin tears" if across < math.sqrt(0.5) else "layers part": float(skin[1]) / pull,
        "the skin is crushed": -float(skin[0]) / strengths.along,
        "the infill tears": float(core[1]) / max(pull * strengths.core_share, 1e-12),
        "it shears off": shear / share,
    }
    worst = max(ways, key=lambda way: ways[way])
    size = float(np.linalg.norm(vector))
    return Station(
        position,
        section.skin_area + section.core_area,
        section.skin_area,
        _least_rigidity(section),
        float(np.abs(skin).max()),
        shear,
        size / ways[worst] if ways[worst] > 0 else math.inf,
        worst,
    )


def _normal_strength(strengths: Strengths, across: float) -> float:
    """Strength of the skin for a pull along the section's normal, by Tsai-Hill."""
    angle = math.degrees(math.asin(min(across, 1.0)))
    return float(
        tsai_hill_strength(
            strength_along=strengths.along,
            strength_across=strengths.across,
            shear_strength=strengths.between,
            angle_deg=angle,
        )
    )


def _shear_stress(section: CompositeSection, shear_force: float, torque: float) -> float:
    """Shear force over the skin with the peak of a solid section, plus torsion, MPa."""
    direct = SHEAR_PEAK * shear_force / max(section.skin_area, 1e-12)
    if abs(torque) < 1e-6 * max(shear_force, 1e-12) * math.sqrt(section.skin_area + section.core_area):
        return direct
    twisting = torsion(section, TORSION_CELLS)
    twist = abs(torque) / twisting.rigidity
    return direct + section.stiffness.skin_shear * twist * twisting.high_shear_per_twist


def _least_rigidity(section: CompositeSection) -> float:
    mean = (section.flexural_xx + section.flexural_yy) / 2
    half = (section.flexural_xx - section.flexural_yy) / 2
    return mean - math.hypot(half, section.flexural_xy)
