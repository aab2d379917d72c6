"""What the nozzle cannot draw: features narrower than a line, of one to two lines, gaps that close.

A feature is narrower than d where no circle of diameter d fits: the outline minus its opening (inset by d/2,
then grown back). A gap is the same thing of what lies outside. Corners are grown back with mitres, so that
square corners are not taken for thin features.

Limits: one line to show at all, two lines to bear load, gaps of at least one line (estimates of the trade:
see `SOURCE`).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Any

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.findings import Finding, Severity
from recommender.geometry.layers import Layers, Progress, pieces, silent

SOURCE = "estimate: one bead is the least that can be laid, and beads nearer than their width merge"
LIMIT_TOLERANCE_MM = 0.003
GROWN_BACK_MM = 0.004
MITRE_LIMIT = 4.0
ARC_SEGMENTS = 32
SPOTS_LIMIT = 2_000
SHORTEST_LINES = 0.5
LEAST_AREA_LINES = 0.1
SHOWN = 5
NOZZLES_MM = (0.8, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1)
LEAST_LINE_TO_NOZZLE = 0.9  # estimate: a narrower line than this is not laid evenly


class Kind(StrEnum):
    """How a place is too small."""

    VANISHES = "vanishes"
    CLOSES = "closes"
    ONE_LINE = "one_line"


@dataclass(frozen=True)
class Spot:
    """One place that is too small, followed through the layers.

    Attributes
    ----------
    kind : Kind
    first_layer, last_layer : int
        From 0.
    worst_layer : int
        The layer where it covers the largest area.
    place : tuple of float
        Middle of it in the worst layer, model coordinates in mm.
    low, high : tuple of float
        Bounding rectangle in the worst layer, mm.
    area : float
        Area in the worst layer, mm^2.
    width : float
        Diameter of the largest circle that fits in it there, mm.
    """

    kind: Kind
    first_layer: int
    last_layer: int
    worst_layer: int
    place: tuple[float, float, float]
    low: tuple[float, float]
    high: tuple[float, float]
    area: float
    width: float

    @property
    def length(self) -> float:
        """Longer side of the bounding rectangle in mm."""
        return max(self.high[0] - self.low[0], self.high[1] - self.low[1])

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {**asdict(self), "kind": str(self.kind), "length": self.length}


@dataclass(frozen=True)
class ThinFeatures:
    """All spots of a model at one line width, largest first, and whether the list was cut off."""

    line_width: float
    layer_height: float
    spots: tuple[Spot, ...]
    more: bool

    def of(self, kind: Kind) -> tuple[Spot, ...]:
        """The spots of one kind."""
        return tuple(spot for spot in self.spots if spot.kind is kind)


def opening_residue(section: manifold3d.CrossSection, width: float) -> manifold3d.CrossSection:
    """The part of a section that is narrower than `width` mm."""
    inset = width / 2 - LIMIT_TOLERANCE_MM / 2
    core = section.offset(-inset, manifold3d.JoinType.Round, 2.0, ARC_SEGMENTS)
    opened = core.offset(inset + GROWN_BACK_MM, manifold3d.JoinType.Miter, MITRE_LIMIT)
    return section - opened


def closing_residue(section: manifold3d.CrossSection, width: float) -> manifold3d.CrossSection:
    """The part of what lies outside a section that is narrower than `width` mm."""
    growth = width / 2 - LIMIT_TOLERANCE_MM / 2
    grown = section.offset(growth, manifold3d.JoinType.Round, 2.0, ARC_SEGMENTS)
    closed = grown.offset(-growth - GROWN_BACK_MM, manifold3d.JoinType.Miter, MITRE_LIMIT)
    return closed - section


def residues(section: manifold3d.CrossSection, line_width: float) -> dict[Kind, manifold3d.CrossSection]:
    """What is too small in one layer, by kind."""
    vanishing = opening_residue(section, line_width)
    return {
        Kind.VANISHES: vanishing,
        Kind.ONE_LINE: opening_residue(section, 2 * line_width) - vanishing,
        Kind.CLOSES: closing_residue(section, line_width),
    }


def thin_features(layers: Layers, line_width: float, progress: Progress = silent) -> ThinFeatures:
    """Find what is too small in any layer, joined to spots that run through layers.

    Raises
    ------
    InputError
        The line width is not between 0.05 and 5 mm.
    """
    if not 0.05 <= line_width <= 5:
        raise InputError("--line-width", f"{line_width:g} mm is no line width.", "Use 0.05 to 5 mm.")
    tracks = {kind: _Tracks(kind, layers) for kind in Kind}
    runs = [*layers.distinct.tolist(), len(layers)]
    for k, (first, after) in enumerate(itertools.pairwise(runs)):
        for kind, residue in residues(layers.outlines[first], line_width).items():
            tracks[kind].add(first, after - 1, _large_enough(residue, line_width))
        progress("looking for thin features", k + 1, len(runs) - 1)
        if sum(len(track.spots) for track in tracks.values()) > SPOTS_LIMIT:
            break
    spots = [_measured(spot, piece) for track in tracks.values() for spot, piece in track.all()]
    spots.sort(key=lambda spot: (list(Kind).index(spot.kind), -round(spot.area, 3), spot.place))
    return ThinFeatures(line_width, layers.layer_height, tuple(spots), len(spots) > SPOTS_LIMIT)


def _large_enough(residue: manifold3d.CrossSection, line_width: float) -> Iterator[manifold3d.CrossSection]:
    for piece in pieces(residue):
        x0, y0, x1, y1 = piece.bounds()
        if max(x1 - x0, y1 - y0) >= SHORTEST_LINES * line_width and (
            piece.area() >= LEAST_AREA_LINES * line_width**2
        ):
            yield piece


class _Tracks:
    """Spots of one kind; a piece joins the spot whose rectangle it touches in the layer below."""

    def __init__(self, kind: Kind, layers: Layers) -> None:
        self.kind, self.layers = kind, layers
        self.spots: list[Spot] = []
        self.worst: list[manifold3d.CrossSection] = []
        self.rectangles: list[tuple[float, float, float, float]] = []

    def add(self, first: int, last: int, found: Iterator[manifold3d.CrossSection]) -> None:
        below = [k for k, spot in enumerate(self.spots) if spot.last_layer == first - 1]
        for piece in found:
            rectangle = tuple(piece.bounds())
            match = next((k for k in below if _touch(rectangle, self.rectangles[k])), None)
            fresh = self._spot(piece, rectangle, first, last)
            if match is None:
                self.spots.append(fresh)
                self.worst.append(piece)
                self.rectangles.append(rectangle)
            else:
                self._join(match, fresh, piece, rectangle)

    def _spot(
        self,
        piece: manifold3d.CrossSection,
        rectangle: tuple[float, float, float, float],
        first: int,
        last: int,
    ) -> Spot:
        x0, y0, x1, y1 = rectangle
        place = ((x0 + x1) / 2, (y0 + y1) / 2, self.layers.z_of(first))
        return Spot(self.kind, first, last, first, place, (x0, y0), (x1, y1), piece.area(), 0.0)

    def _join(
        self,
        k: int,
        fresh: Spot,
        piece: manifold3d.CrossSection,
        rectangle: tuple[float, float, float, float],
    ) -> None:
        old = self.spots[k]
        self.rectangles[k] = rectangle
        if fresh.area > old.area * (1 + 1e-9):
            self.worst[k] = piece
            self.spots[k] = replace(fresh, first_layer=old.first_layer)
        else:
            self.spots[k] = replace(old, last_layer=fresh.last_layer)

    def all(self) -> list[tuple[Spot, manifold3d.CrossSection]]:
        return list(zip(self.spots, self.worst, strict=True))


def _touch(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def _measured(spot: Spot, piece: manifold3d.CrossSection) -> Spot:
    """The spot with the diameter of the largest circle inside it, and a place that lies in it."""
    import shapely

    rings = sorted(piece.to_polygons(), key=lambda ring: -float(np.ptp(ring, axis=0).prod()))
    polygon = shapely.Polygon(rings[0], rings[1:])
    if not polygon.is_valid or polygon.area <= 0:
        return replace(spot, width=2 * spot.area / max(spot.length, 1e-9))
    radius = shapely.maximum_inscribed_circle(polygon, tolerance=0.002)
    middle = shapely.Point(spot.place[:2])
    x, y = spot.place[:2] if polygon.contains(middle) else radius.coords[0]
    return replace(spot, width=float(2 * radius.length), place=(float(x), float(y), spot.place[2]))


# Words


def thin_findings(thin: ThinFeatures, nozzle: float) -> list[Finding]:
    """One finding for each kind of spot that was found, with what helps."""
    words = {Kind.VANISHES: _vanishing, Kind.CLOSES: _closing, Kind.ONE_LINE: _one_line}
    found = [(say, thin.of(kind)) for kind, say in words.items()]
    return [say(thin, spots, nozzle) for say, spots in found if spots]


def _vanishing(thin: ThinFeatures, spots: tuple[Spot, ...], nozzle: float) -> Finding:
    narrowest = min(spot.width for spot in spots)
    return Finding(
        "layers.vanishing_features",
        Severity.PROBLEM,
        f"{_places(len(spots))} narrower than one line of {thin.line_width:g} mm will vanish.",
        f"{_widths(spots)}.",
        _remedy_for_width(thin.line_width, narrowest, nozzle, "show"),
        spots[0].place,
        _listed(thin, spots),
    )


def _one_line(thin: ThinFeatures, spots: tuple[Spot, ...], nozzle: float) -> Finding:
    narrowest = min(spot.width for spot in spots)
    return Finding(
        "layers.one_line_features",
        Severity.CAUTION,
        f"{_places(len(spots))} between one and two lines wide: one line only, and little strength.",
        f"{_widths(spots)}.",
        _remedy_for_width(2 * thin.line_width, narrowest, nozzle, "get two lines"),
        spots[0].place,
        _listed(thin, spots),
    )


def _closing(thin: ThinFeatures, spots: tuple[Spot, ...], nozzle: float) -> Finding:
    narrowest = min(spot.width for spot in spots)
    apart = thin.line_width - narrowest
    return Finding(
        "layers.closing_gaps",
        Severity.PROBLEM,
        f"{_gaps(len(spots))} narrower than one line of {thin.line_width:g} mm will close.",
        f"{_widths(spots)}.",
        f"Move the sides apart by {apart:.2f} mm, or scale by {thin.line_width / max(narrowest, 1e-3):.2f}"
        f"{_finer_for_gap(narrowest, nozzle)}.",
        spots[0].place,
        _listed(thin, spots),
    )


def _finer_for_gap(narrowest: float, nozzle: float) -> str:
    if narrowest >= LEAST_LINE_TO_NOZZLE * nozzle:
        return f", or take a line of {narrowest:.2f} mm"
    return f", or take a nozzle of {_nozzle_for(narrowest):g} mm or less"


def _nozzle_for(width: float) -> float:
    fitting = [size for size in NOZZLES_MM if LEAST_LINE_TO_NOZZLE * size <= width]
    return max(fitting) if fitting else NOZZLES_MM[-1]


def _remedy_for_width(wanted: float, narrowest: float, nozzle: float, purpose: str) -> str:
    line = narrowest / (2 if purpose == "get two lines" else 1)
    scale = wanted / max(narrowest, 1e-3)
    if line >= LEAST_LINE_TO_NOZZLE * nozzle:
        finer = f"a line of {line:.2f} mm (your nozzle of {nozzle:g} mm can lay it)"
    else:
        finer = f"a nozzle of {_nozzle_for(line):g} mm or less with a line of {line:.2f} mm"
    return f"To {purpose}: {finer}, or thicken by {wanted - narrowest:.2f} mm, or scale by {scale:.2f}."


def _places(count: int) -> str:
    return "1 place" if count == 1 else f"{count:,} places"


def _gaps(count: int) -> str:
    return "1 gap" if count == 1 else f"{count:,} gaps"


def _widths(spots: tuple[Spot, ...]) -> str:
    widths = [spot.width for spot in spots]
    low, high = min(widths), max(widths)
    return f"Width {low:.2f} mm" if high - low < 0.005 else f"Widths {low:.2f} to {high:.2f} mm"


def _listed(thin: ThinFeatures, spots: tuple[Spot, ...]) -> tuple[str, ...]:
    left = len(spots) - SHOWN
    more = (f"and {left:,} more",) if left > 0 else ()
    return (*(_said(thin, spot) for spot in spots[:SHOWN]), *more)


def _said(thin: ThinFeatures, spot: Spot) -> str:
    x, y, _ = spot.place
    layers = f"layer {spot.first_layer + 1}"
    if spot.last_layer > spot.first_layer:
        layers = f"layers {spot.first_layer + 1} to {spot.last_layer + 1}"
    low, high = spot.first_layer * thin.layer_height, (spot.last_layer + 1) * thin.layer_height
    size = f"{spot.width:.2f} x {spot.length:.3g} mm"
    return f"{size} at x {x:.4g}, y {y:.4g}; {layers} (height {low:.4g} to {high:.4g} mm)"
