"""The figures that a suggestion takes from a model instead of from the form's box.

For each of three orientations the model is cut once; small tables of the volume that is left inside any wall
thickness and any closed thickness answer for every candidate by interpolation.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import manifold3d
import numpy as np
import numpy.typing as npt

from recommender.geometry.findings import Finding, Severity
from recommender.geometry.layer_volumes import inset, outline_figures
from recommender.geometry.layers import Layers, Progress, cut, silent, solid_of
from recommender.geometry.mesh import Floats, Mesh
from recommender.geometry.orientation import rotation_to_up
from recommender.geometry.solid import united

ORIENTATIONS = ("flat", "edge", "upright")
LAYERS_CUT = 100
LEAST_CUT_MM = 0.2
WALL_THICKNESSES_MM = np.array([0.0, 0.4, 0.8, 1.2, 1.6, 2.0, 2.8, 3.6, 4.8])
CLOSED_THICKEST_MM = 3.2
TABLE_TOLERANCE_MM = 0.01
AGREE_SHARE = 0.05
AGREE_MM = 0.5


@dataclass(frozen=True)
class RegionVolumes:
    """Volumes in mm^3 for each candidate: walls, closed layers, and the core before infill density."""

    walls: Floats
    closed: Floats
    core: Floats


@dataclass(frozen=True)
class OrientationFigures:
    """One orientation of the model, from its layers.

    Attributes
    ----------
    up : tuple of float
        Direction of the model that points up.
    height : float
        mm.
    footprint : float
        Mean area of the layers, mm^2.
    outline_length : float
        Mean length of the outlines of a layer, mm.
    wall_thicknesses, closed_thicknesses : ndarray
        Axes of the tables, mm.
    inside : ndarray of shape (walls,)
        Volume further from the outlines than each wall thickness, mm^3.
    core : ndarray of shape (walls, closed)
        Of that the volume that also has that much material above and below it, mm^3.
    """

    up: tuple[float, float, float]
    height: float
    footprint: float
    outline_length: float
    wall_thicknesses: Floats
    closed_thicknesses: Floats
    inside: Floats
    core: Floats

    def volumes(self, walls_mm: npt.ArrayLike, closed_mm: npt.ArrayLike) -> RegionVolumes:
        """Volumes of walls, closed layers and core, broadcast over candidates.

        Parameters
        ----------
        walls_mm : array_like
            Number of walls times line width, mm.
        closed_mm : array_like
            Number of top (or bottom) layers times layer height, mm; the mean where the two differ.
        """
        walls, closed = np.broadcast_arrays(np.asarray(walls_mm, float), np.asarray(closed_mm, float))
        inside = np.interp(walls, self.wall_thicknesses, self.inside)
        core = _bilinear(self.wall_thicknesses, self.closed_thicknesses, self.core, walls, closed)
        return RegionVolumes(self.inside[0] - inside, inside - core, core)


@dataclass(frozen=True)
class ModelFigures:
    """All that a suggestion needs of a model.

    Attributes
    ----------
    volume, surface_area : float
        mm^3, mm^2.
    extents : tuple of float
        Bounding box along x, y, z of the file, mm.
    orientations : dict
        ``flat`` (smallest extent up), ``edge`` (middle extent up) and ``upright`` (largest extent up).
    """

    volume: float
    surface_area: float
    extents: tuple[float, float, float]
    orientations: dict[str, OrientationFigures]


def model_figures(
    mesh: Mesh, walls_mm: npt.ArrayLike | None = None, progress: Progress = silent
) -> ModelFigures:
    """Figures of a sound model in three orientations.

    Parameters
    ----------
    walls_mm : array_like, optional
        Wall thicknesses that the candidates use, in mm: the tables are exact at these.

    Overlapping bodies count once.

    Raises
    ------
    ModelFileError
        The model has no clear inside.
    """
    solid = united(solid_of(mesh))
    walls = WALL_THICKNESSES_MM if walls_mm is None else np.unique([0.0, *np.ravel(walls_mm)])
    by_size = np.argsort(mesh.extents, kind="stable")
    orientations = {}
    for done, (name, axis) in enumerate(zip(ORIENTATIONS, by_size, strict=True)):
        orientations[name] = orientation_figures(solid, np.eye(3)[axis], walls)
        progress("measuring the model", done + 1, len(ORIENTATIONS))
    x, y, z = (float(size) for size in mesh.extents)
    return ModelFigures(float(solid.volume()), float(solid.surface_area()), (x, y, z), orientations)


def orientation_figures(
    solid: manifold3d.Manifold, up: Floats, walls_mm: Floats = WALL_THICKNESSES_MM
) -> OrientationFigures:
    """Tables of one orientation; `up` is the direction of the model that points up."""
    turned = solid.transform(np.hstack([rotation_to_up(up), np.zeros((3, 1))]))
    box = turned.bounding_box()
    height = float(box[5] - box[2])
    layers = cut(turned, max(height / LAYERS_CUT, LEAST_CUT_MM))
    steps = max(1, math.ceil(CLOSED_THICKEST_MM / layers.layer_height))
    inside, core = _tables(layers, walls_mm, steps)
    correction = float(solid.volume()) / max(float(inside[0]), 1e-30)  # what lies between the cuts
    lengths = layers.by_distinct({int(k): outline_figures(layers.outlines[k])[0] for k in layers.distinct})
    x, y, z = (float(v) for v in up)
    return OrientationFigures(
        (x, y, z),
        height,
        float(solid.volume()) / height,
        float(lengths.mean()),
        walls_mm,
        np.arange(steps + 1, dtype=np.float64) * layers.layer_height,
        inside * correction,
        core * correction,
    )


def _tables(layers: Layers, walls_mm: Floats, steps: int) -> tuple[Floats, Floats]:
    """Volume inside each wall thickness, and of that the volume covered by 0, 1, ... layers on both sides."""
    outlines = {int(k): layers.outlines[k].simplify(TABLE_TOLERANCE_MM) for k in layers.distinct}
    insets = {k: [inset(outline, thickness) for thickness in walls_mm] for k, outline in outlines.items()}
    core = np.zeros((len(walls_mm), steps + 1))
    known: dict[tuple[int, ...], Floats] = {}
    for k in range(len(layers)):
        window = layers.same_as[max(k - steps, 0) : k + steps + 1]
        case = (min(k, steps), *(window - layers.same_as[k]).tolist(), int(layers.same_as[k]))
        if case not in known:
            known[case] = _covered_areas(layers, outlines, insets, k, steps)
        core += known[case] * layers.thicknesses[k]
    return core[:, 0].copy(), core


def _covered_areas(
    layers: Layers,
    outlines: dict[int, manifold3d.CrossSection],
    insets: dict[int, list[manifold3d.CrossSection]],
    k: int,
    steps: int,
) -> Floats:
    """Area of layer k inside each wall thickness and covered by 0, 1, ... layers above and below."""
    own = int(layers.same_as[k])
    areas = np.zeros((len(insets[own]), steps + 1))
    areas[:, 0] = [section.area() for section in insets[own]]
    cover, seen = outlines[own], {own}
    for step in range(1, steps + 1):
        if k - step < 0 or k + step >= len(layers):
            break
        fresh = {int(layers.same_as[k - step]), int(layers.same_as[k + step])} - seen
        for other in fresh:
            cover = cover ^ outlines[other]
        seen |= fresh
        areas[:, step] = (
            [(section ^ cover).area() for section in insets[own]] if fresh else areas[:, step - 1]
        )
        if not areas[0, step]:
            break
    return areas


def _bilinear(first: Floats, second: Floats, table: Floats, x: Floats, y: Floats) -> Floats:
    """Bilinear interpolation in a table, held at its edges."""
    i = np.clip(np.searchsorted(first, x, side="right") - 1, 0, len(first) - 2)
    j = np.clip(np.searchsorted(second, y, side="right") - 1, 0, len(second) - 2)
    u = np.clip((x - first[i]) / (first[i + 1] - first[i]), 0, 1)
    v = np.clip((y - second[j]) / (second[j + 1] - second[j]), 0, 1)
    low = table[i, j] * (1 - v) + table[i, j + 1] * v
    high = table[i + 1, j] * (1 - v) + table[i + 1, j + 1] * v
    return np.asarray(low * (1 - u) + high * u)


OVERALL = frozenset({"length", "width", "thickness", "diameter", "outer_diameter", "shank_length"})


def form_sizes(form: object) -> dict[str, float]:
    """Sizes of a form of a duty sheet in mm by name; those of its section are named ``section.width``."""
    sizes: dict[str, float] = {}
    for name, value in vars(form).items():
        if isinstance(value, float) and value > 0:
            sizes[name] = value
        elif name == "section":
            sizes |= {f"section.{inner}": size for inner, size in form_sizes(value).items()}
    return sizes


def disagreements(form_sizes: Mapping[str, float], mesh: Mesh) -> list[Finding]:
    """Where the sizes of a form are not those of the model.

    Parameters
    ----------
    form_sizes : mapping of str to float
        Sizes of the form in mm by their names on the duty sheet. None may exceed the diagonal of the model's
        box; those that name an overall size (`OVERALL`) are also compared with its nearest extent.
    """
    found = []
    diagonal = float(np.linalg.norm(mesh.extents))
    for name, size in form_sizes.items():
        nearest = float(mesh.extents[np.argmin(np.abs(mesh.extents - size))])
        differs = abs(nearest - size) > max(AGREE_SHARE * size, AGREE_MM)
        overall = name.rpartition(".")[2] in OVERALL
        if size > diagonal * (1 + AGREE_SHARE) or (overall and differs):
            found.append(_disagreement(name, size, nearest, diagonal, mesh))
    return found


def _disagreement(name: str, size: float, nearest: float, diagonal: float, mesh: Mesh) -> Finding:
    impossible = size > diagonal * (1 + AGREE_SHARE)
    box = " x ".join(f"{extent:.4g}" for extent in mesh.extents)
    return Finding(
        "model.disagrees",
        Severity.PROBLEM if impossible else Severity.CAUTION,
        f"{name} is {size:.4g} mm on the sheet, but the model measures {box} mm.",
        "Nothing that long fits in the model."
        if impossible
        else f"The nearest overall size is {nearest:.4g} mm; {name} may be a size inside the part.",
        "Check the unit of the file (--units) and the size on the sheet.",
    )
