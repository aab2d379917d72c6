"""Cut a solid into layers: the outline polygons at the middle of every layer."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import manifold3d
import numpy as np

from recommender.errors import InputError, ModelFileError
from recommender.geometry.mesh import Floats, Integers, Mesh
from recommender.geometry.solid import as_solid

LAYER_LIMIT = 6_000
OUTLINE_TOLERANCE_MM = 0.002
EQUAL_AREA_SHARE = 1e-7
Progress = Callable[[str, int, int], None]


def silent(_what: str, _done: int, _total: int) -> None:
    """Show no progress."""


@dataclass(frozen=True)
class Layers:
    """The layers of one solid in one orientation.

    Attributes
    ----------
    layer_height : float
        mm.
    bottom : float
        Height of the bed below the part in the coordinates of the model, mm.
    height : float
        Height of the part, mm.
    outlines : tuple of CrossSection
        Outline of each layer at its middle; equal neighbours are one and the same object.
    areas : ndarray of shape (n,)
        Area of each layer in mm^2, before the outlines were simplified by `OUTLINE_TOLERANCE_MM`.
    same_as : ndarray of shape (n,)
        For each layer the first of the run of equal layers that it belongs to.
    """

    layer_height: float
    bottom: float
    height: float
    outlines: tuple[manifold3d.CrossSection, ...]
    areas: Floats
    same_as: Integers

    def __len__(self) -> int:
        return len(self.outlines)

    @cached_property
    def volume(self) -> float:
        """Volume of all layers in mm^3; the last one is cut off at the top of the part."""
        return float(self.areas @ self.thicknesses)

    @cached_property
    def thicknesses(self) -> Floats:
        """How much of each layer lies below the top of the part, mm."""
        tops = np.minimum(self.layer_height * np.arange(1, len(self) + 1), self.height)
        return np.asarray(np.diff(tops, prepend=0.0))

    @cached_property
    def distinct(self) -> Integers:
        """Numbers of the layers that differ from the one below."""
        return np.unique(self.same_as)

    def z_of(self, layer: int) -> float:
        """Height of the middle of a layer in the coordinates of the model, mm."""
        return float(self.bottom + self.layer_height * layer + self.thicknesses[layer] / 2)

    def by_distinct(self, values: dict[int, float]) -> Floats:
        """Values known for the distinct layers, spread over all layers."""
        return np.array([values[int(k)] for k in self.same_as])


def solid_of(mesh: Mesh) -> manifold3d.Manifold:
    """The mesh as a solid, right side out.

    Raises
    ------
    ModelFileError
        It is not closed, or inside out.
    """
    solid = as_solid(mesh)
    if solid is None or solid.volume() <= 0:
        raise ModelFileError(
            mesh.name,
            "has no clear inside, so it cannot be cut into layers.",
            "See the findings; repair it in the drawing or with --repair.",
        )
    return solid


def cut(solid: manifold3d.Manifold, layer_height: float, progress: Progress = silent) -> Layers:
    """Cut a solid at the middle of each layer, from its lowest point upwards along z.

    Overlapping bodies are united in each layer.

    Raises
    ------
    InputError
        The layer height is no positive number, or would make more than `LAYER_LIMIT` layers.
    """
    box = solid.bounding_box()
    bottom, height = float(box[2]), float(box[5] - box[2])
    middles, layer_height = _middles(height, layer_height)
    outlines: list[manifold3d.CrossSection] = []
    areas, same_as = np.empty(len(middles)), np.empty(len(middles), dtype=np.int64)
    for k, middle in enumerate(middles):
        section = solid.slice(bottom + middle)
        areas[k], same_as[k] = section.area(), k
        outline = section.simplify(OUTLINE_TOLERANCE_MM)
        if k and _equal(outline, areas[k], outlines[-1], areas[same_as[k - 1]]):
            areas[k], same_as[k], outline = areas[k - 1], same_as[k - 1], outlines[-1]
        outlines.append(outline)
        progress("cutting layers", k + 1, len(middles))
    return Layers(layer_height, bottom, height, tuple(outlines), areas, same_as)


def _middles(height: float, layer_height: float) -> tuple[Floats, float]:
    if not (math.isfinite(layer_height) and layer_height > 0):
        raise InputError("--layer-height", f"{layer_height:g} mm is no layer height.", "Use 0.05 to 0.6 mm.")
    count = max(1, math.ceil(height / layer_height - 1e-6))
    if count > LAYER_LIMIT:
        raise InputError(
            "--layer-height",
            f"{height:.4g} mm in layers of {layer_height:g} mm makes {count:,} layers.",
            f"At most {LAYER_LIMIT:,} are cut; check the unit (--units) or take thicker layers.",
        )
    edges = np.minimum(layer_height * np.arange(count + 1), height)
    return (edges[1:] + edges[:-1]) / 2, layer_height


def _equal(
    one: manifold3d.CrossSection, one_area: float, other: manifold3d.CrossSection, other_area: float
) -> bool:
    """Whether two outlines are the same but for rounding: neither covers what the other does not."""
    if abs(one_area - other_area) > EQUAL_AREA_SHARE * max(one_area, other_area):
        return False
    return bool((one - other).area() <= 10 * EQUAL_AREA_SHARE * one_area)


def pieces(section: manifold3d.CrossSection) -> Iterator[manifold3d.CrossSection]:
    """The connected pieces of a section, each with its holes."""
    yield from () if section.is_empty() else section.decompose()
