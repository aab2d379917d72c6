"""A model in other sizes: what scales, what does not, and the scaled meshes.

Geometry scales with the factor; beads, walls, screws and the nozzle do not. Each size is therefore cut and
judged anew instead of multiplied.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, replace
from typing import Any

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.build_estimate import Machine, Settings, build_estimate
from recommender.geometry.holes import Hole, find_holes, hardware_for
from recommender.geometry.layer_volumes import layer_regions
from recommender.geometry.layers import Progress, cut, silent, solid_of
from recommender.geometry.lie import Bed
from recommender.geometry.mesh import Floats, Mesh
from recommender.geometry.section import Stiffness
from recommender.geometry.thin_features import Kind, thin_features
from recommender.geometry.weakest_section import Force, Shell, Strengths, lever
from recommender.mechanics.lattice import foam_modulus, foam_shear_modulus

SMALLEST_FACTOR, LARGEST_FACTOR = 0.01, 100.0
SIZES_LIMIT = 30
POISSON = 0.35
INTERLAYER = 0.45  # strength across over along the layers; estimate
STATIONS = 30


@dataclass(frozen=True)
class SizeCompensation:
    """What prints of this machine taught about sizes: measured = scale * nominal + offset.

    Attributes
    ----------
    scale : tuple of float
        Along x, y and z.
    outer_offset : tuple of float
        mm added to outer sizes along x, y and z.
    hole_offset : float
        mm added to the diameter of holes (mostly negative).
    because : str
        Where it comes from, in one sentence.
    """

    scale: tuple[float, float, float] = (1.0, 1.0, 1.0)
    outer_offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    hole_offset: float = 0.0
    because: str = ""

    def __post_init__(self) -> None:
        numbers = (*self.scale, *self.outer_offset, self.hole_offset)
        if not all(math.isfinite(n) for n in numbers) or not all(0.8 < s < 1.25 for s in self.scale):
            raise InputError("--compensate", f"{self}", "Scales lie between 0.8 and 1.25.")


NO_COMPENSATION = SizeCompensation()
NEAR_MM, FAR_MM, HOLE_MM = 20.0, 100.0, 5.0


def compensation_from(deviation: Callable[[str, float, str], float], because: str) -> SizeCompensation:
    """Scales and offsets from a function that tells how far sizes come out from nominal.

    Parameters
    ----------
    deviation : callable
        (``outside`` or ``hole``, nominal size in mm, axis or "") -> measured less nominal, mm. It is taken as
        a straight line through two sizes.
    because : str
        Where it comes from.
    """
    scales, offsets = [], []
    for axis in "xyz":
        near, far = (deviation("outside", size, axis) for size in (NEAR_MM, FAR_MM))
        slope = (far - near) / (FAR_MM - NEAR_MM)
        scales.append(1 + slope)
        offsets.append(near - slope * NEAR_MM)
    x, y, z = scales
    ox, oy, oz = offsets
    return SizeCompensation((x, y, z), (ox, oy, oz), deviation("hole", HOLE_MM, ""), because)


@dataclass(frozen=True)
class Resized:
    """One size.

    Attributes
    ----------
    label : str
        What the size is called: the new measure or the factor.
    factors : tuple of float
        Asked for along x, y and z.
    drawn_factors : tuple of float
        Applied, with the compensation.
    extents : tuple of float
        mm, as asked for.
    volume : float
        Plastic to be laid at the given settings, mm^3.
    time_s : float
    law_load_factor : float
        Load at failure over that of the original if walls scaled too: section modulus over arm.
    load_factor : float or None
        The same by recomputing the weakest section with walls of unchanged thickness; None where the model
        cannot be cut so.
    vanishing, closing, one_line : int
        Spots that the nozzle cannot draw well at this size.
    notes : tuple of str
    """

    label: str
    factors: tuple[float, float, float]
    drawn_factors: tuple[float, float, float]
    extents: tuple[float, float, float]
    volume: float
    time_s: float
    law_load_factor: float
    load_factor: float | None
    vanishing: int
    closing: int
    one_line: int
    notes: tuple[str, ...]

    @property
    def prints(self) -> bool:
        """Whether nothing vanishes or closes at this size."""
        return not self.vanishing and not self.closing

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return asdict(self)


def sizes_asked(
    from_size: float | None, to_sizes: str | None, factor: str | None, axis: str
) -> list[tuple[str, tuple[float, float, float]]]:
    """Labels and factors from what the user wrote: a measure now and then, or factors.

    Raises
    ------
    InputError
        Neither or both ways are given, or a number is none.
    """
    if (from_size is None) != (to_sizes is None) or (factor is None) == (to_sizes is None):
        raise InputError("--to", "give either --from with --to, or --factor.", "Such as --from 14 --to 18.")
    if factor is not None:
        return [(f"x{text}", factors_for(_number(text, "--factor"), axis)) for text in _listed(factor)]
    if from_size is None or not (math.isfinite(from_size) and from_size > 0):
        raise InputError("--from", f"{from_size} mm is no size.", "Use a positive number in mm.")
    return [(text, factors_for(_number(text, "--to") / from_size, axis)) for text in _listed(str(to_sizes))]


def _listed(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _number(text: str, option: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(option, f"{text!r} is no number.", "Write 18, or 10,12,14 for a family.") from None


def factors_for(factor: float, axis: str) -> tuple[float, float, float]:
    """Factors along x, y and z for a factor on the axes named in `axis` (``xyz`` for all)."""
    if not SMALLEST_FACTOR <= factor <= LARGEST_FACTOR:
        raise InputError(
            "--factor", f"{factor:g} is out of range.", f"Use {SMALLEST_FACTOR:g} to {LARGEST_FACTOR:g}."
        )
    if not axis or set(axis) - set("xyz"):
        raise InputError("--axis", f"{axis!r} names no axis.", "Use x, y, z or several, such as xy.")
    x, y, z = (factor if name in axis else 1.0 for name in "xyz")
    return x, y, z


def family(
    mesh: Mesh,
    sizes: Iterable[tuple[str, tuple[float, float, float]]],
    settings: Settings,
    machine: Machine,
    compensation: SizeCompensation = NO_COMPENSATION,
    bed: Bed | None = None,
    progress: Progress = silent,
) -> list[Resized]:
    """Every size cut and judged anew; with a bed also whether it fits there as it lies.

    Parameters
    ----------
    sizes : iterable of (label, factors)
    """
    chosen = list(sizes)
    if not 0 < len(chosen) <= SIZES_LIMIT:
        raise InputError("--to", f"{len(chosen)} sizes.", f"Ask for 1 to {SIZES_LIMIT} at a time.")
    solid = solid_of(mesh)
    holes, original = find_holes(solid), _load(solid, settings)
    resized = []
    for done, (label, factors) in enumerate(chosen):
        size = _one_size(solid, holes, original, label, factors, settings, machine, compensation)
        resized.append(size if bed is None else replace(size, notes=(*size.notes, *_bed_notes(size, bed))))
        progress("judging sizes", done + 1, len(chosen))
    return resized


def _one_size(
    solid: manifold3d.Manifold,
    holes: list[Hole],
    original: float | None,
    label: str,
    factors: tuple[float, float, float],
    settings: Settings,
    machine: Machine,
    compensation: SizeCompensation,
) -> Resized:
    scaled = solid.scale(factors)
    layers = cut(scaled, settings.layer_height)
    regions = layer_regions(layers, settings.walls, settings.line_width, settings.top, settings.bottom)
    made = build_estimate(regions, settings, machine)
    thin = thin_features(layers, settings.line_width)
    load = _load(scaled, settings)
    x0, y0, z0, x1, y1, z1 = scaled.bounding_box()
    return Resized(
        label,
        factors,
        drawn_factors(factors, _extents(solid), compensation),
        (x1 - x0, y1 - y0, z1 - z0),
        made.volume,
        made.total,
        load_by_law(factors, _extents(solid)),
        load / original if load and original else None,
        len(thin.of(Kind.VANISHES)),
        len(thin.of(Kind.CLOSES)),
        len(thin.of(Kind.ONE_LINE)),
        tuple(hole_notes(holes, factors, compensation)),
    )


def _extents(solid: manifold3d.Manifold) -> Floats:
    box = np.array(solid.bounding_box())
    return np.asarray(box[3:] - box[:3])


def drawn_factors(
    factors: tuple[float, float, float], extents: Floats, compensation: SizeCompensation
) -> tuple[float, float, float]:
    """Factors to draw with, so that the printed part measures what was asked: (N - offset) / scale."""
    wanted = np.array(factors) * extents
    drawn = (wanted - np.array(compensation.outer_offset)) / np.array(compensation.scale)
    x, y, z = (float(value) for value in drawn / extents)
    return x, y, z


def load_by_law(factors: tuple[float, float, float], extents: Floats) -> float:
    """Load at failure over that of the original: section modulus b h^2 over the arm, the longest axis.

    The load is taken along the shorter of the two other axes (the weaker way).
    """
    shallow, wide, long = np.argsort(extents, kind="stable")
    return float(factors[wide] * factors[shallow] ** 2 / factors[long])


def _load(solid: manifold3d.Manifold, settings: Settings) -> float | None:
    """Load at failure of a bar held at one end of its longest axis, in units of strength 1 MPa; for ratios."""
    extents, box = _extents(solid), np.array(solid.bounding_box())
    shallow, _, long = (int(k) for k in np.argsort(extents, kind="stable"))
    axis, push = np.eye(3)[long], np.eye(3)[shallow]
    middle = (box[:3] + box[3:]) / 2
    at = middle + axis * extents[long] / 2
    shell = Shell(
        settings.walls * settings.line_width, (settings.top + settings.bottom) / 2 * settings.layer_height
    )
    try:
        found = lever(
            solid,
            axis,
            Force(_triple(push), _triple(at)),
            shell,
            _stiffness(settings.infill),
            _strengths(settings.infill),
            np.array([0.0, 0.0, 1.0]),
            STATIONS,
        )
    except InputError:
        return None
    return found.weakest.load_at_failure


def _triple(vector: Floats) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in vector)
    return x, y, z


def _stiffness(infill: float) -> Stiffness:
    """Relative moduli: the core as an open-cell foam (Gibson and Ashby, Cellular Solids, 2nd ed., ch. 5)."""
    shear = 1 / (2 * (1 + POISSON))
    core = float(foam_modulus(relative_density=infill, modulus=1.0))
    core_shear = float(foam_shear_modulus(relative_density=infill, modulus=1.0))
    return Stiffness(1.0, min(core, 1.0), shear, min(core_shear, shear))


def _strengths(infill: float) -> Strengths:
    """Relative strengths; the core fails at the strain of the skin."""
    return Strengths(1.0, INTERLAYER, 0.6 * INTERLAYER, 0.6, _stiffness(infill).core)


def hole_notes(
    holes: list[Hole], factors: tuple[float, float, float], compensation: SizeCompensation = NO_COMPENSATION
) -> list[str]:
    """What becomes of the holes: hardware that no longer fits, holes that turn oval."""
    notes = []
    for diameter in sorted({hole.diameter for hole in holes}):
        alike = [hole for hole in holes if hole.diameter == diameter]
        for first, second in sorted({_across(hole, factors) for hole in alike}):
            notes.append(_hole_note(diameter, first, second, compensation.hole_offset))
    return [note for note in notes if note]


def _across(hole: Hole, factors: tuple[float, float, float]) -> tuple[float, float]:
    first, second = (factor for factor, name in zip(factors, "xyz", strict=True) if name != hole.axis)
    return first, second


def _hole_note(diameter: float, first: float, second: float, offset: float) -> str:
    before = hardware_for(diameter)
    if abs(first - second) > 1e-9:
        return f"holes of {diameter:.3g} mm turn oval, {diameter * first:.3g} x {diameter * second:.3g} mm"
    after = diameter * first
    said = f"hole of {diameter:.3g} mm becomes {after:.3g} mm"
    if offset:
        said += f" (prints {after + offset:.3g} mm)"
    if before and hardware_for(after) != before:
        now = hardware_for(after)
        return f"{said}: {before} no longer" + (f", {now} now" if now else "; redraw it at its size")
    return ""


def _bed_notes(size: Resized, bed: Bed) -> list[str]:
    """Whether the box fits the bed as it lies, turned by 90 degrees at most."""
    x, y, z = size.extents
    fits = (x <= bed.width and y <= bed.depth) or (y <= bed.width and x <= bed.depth)
    if fits and z <= bed.height:
        return []
    return [f"does not fit the bed of {bed.width:g} x {bed.depth:g} x {bed.height:g} mm as it lies"]


def scaled_mesh(mesh: Mesh, resized: Resized) -> Mesh:
    """The mesh with the drawn factors, about the middle of its foot."""
    foot = mesh.bounds.mean(axis=0)
    foot[2] = mesh.bounds[0, 2]
    return mesh.scaled(resized.drawn_factors, foot)
