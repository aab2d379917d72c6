"""Pictures as SVG: layers with the small spots marked, a sheet of all the part, and how it should lie.

Every mark has its own shape and word besides its colour.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from html import escape

import manifold3d
import numpy as np

from recommender.geometry.check import CheckResult
from recommender.geometry.layers import Layers
from recommender.geometry.lie import Lie
from recommender.geometry.mesh import Floats, from_solid
from recommender.geometry.orientation import OVERHANG_LIMIT_DEG, rotation_to_up
from recommender.geometry.thin_features import Kind, Spot, ThinFeatures

PAPER, INK, QUIET, PART, EDGE = "#ffffff", "#22262a", "#68707a", "#dcd8cf", "#6b665c"
COLOURS = {Kind.VANISHES: "#b3261e", Kind.CLOSES: "#1d5c9e", Kind.ONE_LINE: "#8a5a00"}
WORDS = {
    Kind.VANISHES: "narrower than one line: vanishes",
    Kind.CLOSES: "gap narrower than one line: closes",
    Kind.ONE_LINE: "one to two lines: one line only",
}
MARK_RADIUS = 7.0
WORST_SHOWN = 4
MARKS_IN_A_LAYER = 12
SHEET_COLUMNS, SHEET_ROWS = 6, 4
DRAWN_FACETS = 4_000


def pictures_of(check: CheckResult, lies: Sequence[Lie]) -> dict[str, str]:
    """All pictures of a check by file name: the worst layers, the sheet of layers, the best orientations."""
    if check.layers is None or check.thin is None or check.solid is None:
        return {}
    name = check.model.mesh.name
    files = {
        f"layer_{layer + 1}.svg": layer_picture(check.layers, check.thin, layer)
        for layer in worst_layers(check.thin)
    }
    files["layers.svg"] = contact_sheet(check.layers, check.thin, name)
    if lies:
        files["orientations.svg"] = lie_picture(check.solid, lies, name)
    return files


def _document(width: float, height: float, title: str, body: Iterable[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" role="img" font-family="Verdana, sans-serif">'
        f"<title>{escape(title)}</title>"
        '<defs><pattern id="lean" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect width="5" height="5" fill="#e9c9a6"/>'
        f'<line x1="0" y1="0" x2="0" y2="5" stroke="{INK}" stroke-width="1.6"/></pattern></defs>'
        f'<rect width="{width:g}" height="{height:g}" fill="{PAPER}"/>' + "".join(body) + "</svg>\n"
    )


def _text(x: float, y: float, text: str, size: float = 12, colour: str = INK, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" fill="{colour}" text-anchor="{anchor}">'
        f"{escape(text)}</text>"
    )


class _View:
    """Maps the model's x and y (mm) into a frame of the picture, y upwards."""

    def __init__(self, low: Floats, high: Floats, frame: tuple[float, float, float, float]) -> None:
        left, top, width, height = frame
        size = np.maximum(high - low, 1e-6)
        self.scale = float(min(width / size[0], height / size[1]))
        middle = (low + high) / 2
        self.x0 = left + width / 2 - self.scale * float(middle[0])
        self.y0 = top + height / 2 + self.scale * float(middle[1])

    def at(self, x: float, y: float) -> tuple[float, float]:
        return self.x0 + self.scale * x, self.y0 - self.scale * y

    def path(self, section: manifold3d.CrossSection) -> str:
        parts = []
        for ring in section.to_polygons():
            points = (self.at(float(x), float(y)) for x, y in ring)
            parts.append("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z")
        return "".join(parts)


def _mark(kind: Kind, x: float, y: float, radius: float = MARK_RADIUS) -> str:
    """A cross for what vanishes, a square for what closes, a ring for a single line."""
    style = f'fill="none" stroke="{COLOURS[kind]}" stroke-width="2"'
    if kind is Kind.VANISHES:
        r = radius * 0.8
        lines = f"M{x - r:.1f} {y - r:.1f}l{2 * r:.1f} {2 * r:.1f}m0 {-2 * r:.1f}l{-2 * r:.1f} {2 * r:.1f}"
        return f'<path d="{lines}" {style}/>'
    if kind is Kind.CLOSES:
        side = 1.7 * radius
        corner = f'x="{x - side / 2:.1f}" y="{y - side / 2:.1f}"'
        return f'<rect {corner} width="{side:.1f}" height="{side:.1f}" {style}/>'
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" {style}/>'


# Single layers


def worst_layers(thin: ThinFeatures, count: int = WORST_SHOWN) -> list[int]:
    """The layers with the largest area of spots, most severe kinds first, in order of height."""
    weight = {Kind.VANISHES: 100.0, Kind.CLOSES: 100.0, Kind.ONE_LINE: 1.0}
    bad: dict[int, float] = {}
    for spot in thin.spots:
        bad[spot.worst_layer] = bad.get(spot.worst_layer, 0.0) + weight[spot.kind] * spot.area
    return sorted(sorted(bad, key=lambda layer: (-bad[layer], layer))[:count])


def layer_picture(layers: Layers, thin: ThinFeatures, layer: int) -> str:
    """One layer with its spots marked and listed."""
    spots = [spot for spot in thin.spots if spot.first_layer <= layer <= spot.last_layer]
    marked = spots[:MARKS_IN_A_LAYER]
    low, high = _reach(layers)
    view = _View(low, high, (30, 56, 700, 420))
    body = [
        _text(30, 30, f"Layer {layer + 1} of {len(layers)}", 16),
        _text(730, 30, f"at {layers.z_of(layer) - layers.bottom:.4g} mm above the bed", 12, QUIET, "end"),
        _part(view, layers.outlines[layer]),
    ]
    places = _free_places(view, marked)
    body += [_box(view, spot) for spot in marked]
    for number, (spot, (x, y)) in enumerate(zip(marked, places, strict=True), 1):
        body += [_mark(spot.kind, x, y), _label(x, y - 10, str(number))]
    bottom = 500.0
    for number, spot in enumerate(marked, 1):
        row = f"{number}: {spot.width:.2f} x {spot.length:.3g} mm, {WORDS[spot.kind]}"
        body += [_mark(spot.kind, 40, bottom - 4, 5), _text(54, bottom, row)]
        bottom += 20
    if len(spots) > len(marked):
        body.append(_text(54, bottom, f"and {len(spots) - len(marked)} more in this layer", 12, QUIET))
        bottom += 20
    body.append(_scale_bar(view, 30, bottom + 12))
    return _document(760, bottom + 30, f"Layer {layer + 1}", body)


ALONG_SPOT = (0.5, 0.25, 0.75, 0.05, 0.95, 0.38, 0.62)
ROOM_FOR_MARK = 24.0
SMALL_ROOM = 9.0


def _free_places(view: _View, spots: Sequence[Spot]) -> list[tuple[float, float]]:
    """Where to put each mark along its spot so that marks and numbers keep clear of each other."""
    taken: list[tuple[float, float]] = []
    for spot in spots:
        free = (place for place in _places_along(view, spot) if _is_free(place, taken))
        taken.append(next(free, view.at(spot.place[0], spot.place[1])))
    return taken


def _places_along(view: _View, spot: Spot) -> list[tuple[float, float]]:
    low, high = np.array(spot.low), np.array(spot.high)
    middle, long_side = np.array(spot.place[:2]), int(np.argmax(high - low))
    places = [view.at(*middle)]
    for share in ALONG_SPOT:
        point = middle.copy()
        point[long_side] = low[long_side] + share * (high - low)[long_side]
        places.append(view.at(float(point[0]), float(point[1])))
    return places


def _is_free(place: tuple[float, float], taken: list[tuple[float, float]]) -> bool:
    return all(abs(place[0] - x) > ROOM_FOR_MARK or abs(place[1] - y) > ROOM_FOR_MARK for x, y in taken)


def _label(x: float, y: float, text: str) -> str:
    """A number above a mark, readable on any ground."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="11" text-anchor="middle" fill="{INK}" '
        f'stroke="{PAPER}" stroke-width="3" paint-order="stroke">{escape(text)}</text>'
    )


def _part(view: _View, section: manifold3d.CrossSection) -> str:
    return (
        f'<path d="{view.path(section)}" fill="{PART}" fill-rule="evenodd" '
        f'stroke="{EDGE}" stroke-width="0.8"/>'
    )


def _box(view: _View, spot: Spot) -> str:
    """A tinted rectangle round a spot."""
    x0, y1 = view.at(*spot.low)
    x1, y0 = view.at(*spot.high)
    return (
        f'<rect x="{x0 - 1:.1f}" y="{y0 - 1:.1f}" width="{x1 - x0 + 2:.1f}" height="{y1 - y0 + 2:.1f}" '
        f'fill="{COLOURS[spot.kind]}" fill-opacity="0.35"/>'
    )


def _scale_bar(view: _View, x: float, y: float) -> str:
    """A bar of a round number of mm."""
    length = next(mm for mm in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 10**7) if mm * view.scale > 40)
    pixels = length * view.scale
    bar = f"M{x:.1f} {y - 4:.1f}v4h{pixels:.1f}v-4"
    return f'<path d="{bar}" fill="none" stroke="{INK}"/>' + _text(x + pixels + 8, y + 1, f"{length} mm")


def _reach(layers: Layers) -> tuple[Floats, Floats]:
    """Rectangle round all layers."""
    boxes = np.array([layers.outlines[int(k)].bounds() for k in layers.distinct])
    boxes = boxes[np.isfinite(boxes).all(axis=1)]
    return boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)


# The sheet of the whole part


def contact_sheet(layers: Layers, thin: ThinFeatures, name: str) -> str:
    """Layers spread evenly over the height, the marked ones among them, each with its spots."""
    cell_w, cell_h, top = 150.0, 138.0, 92.0
    low, high = _reach(layers)
    chosen = _spread(layers, thin)
    body = [_text(24, 32, f"{name}: {len(layers)} layers of {layers.layer_height:g} mm", 16), *_legend(54)]
    for position, layer in enumerate(chosen):
        left = 24 + cell_w * (position % SHEET_COLUMNS)
        upper = top + cell_h * (position // SHEET_COLUMNS)
        view = _View(low, high, (left + 4, upper + 4, cell_w - 16, cell_h - 38))
        body += [_part(view, layers.outlines[layer]), *_small_marks(view, thin, layer)]
        height = layers.z_of(layer) - layers.bottom
        body.append(
            _text(
                left + cell_w / 2 - 4,
                upper + cell_h - 18,
                f"{layer + 1} · {height:.3g} mm",
                10,
                QUIET,
                "middle",
            )
        )
    rows = -(-len(chosen) // SHEET_COLUMNS)
    return _document(24 + cell_w * SHEET_COLUMNS + 12, top + cell_h * rows + 8, f"Layers of {name}", body)


def _spread(layers: Layers, thin: ThinFeatures) -> list[int]:
    room = SHEET_COLUMNS * SHEET_ROWS
    if len(layers) <= room:
        return list(range(len(layers)))
    marked = worst_layers(thin, room // 3)
    even = np.linspace(0, len(layers) - 1, room).round().astype(int).tolist()
    for layer in marked:
        if layer not in even:
            inner = even[1:-1]
            even.remove(min((k for k in inner if k not in marked), key=lambda k: abs(k - layer)))
            even.append(layer)
    return sorted(even)


def _legend(y: float) -> list[str]:
    body, x = [], 30.0
    for kind in (Kind.VANISHES, Kind.CLOSES, Kind.ONE_LINE):
        body += [_mark(kind, x, y - 4, 5), _text(x + 12, y, WORDS[kind], 11)]
        x += 40 + 6.7 * len(WORDS[kind])
    return body


def _small_marks(view: _View, thin: ThinFeatures, layer: int) -> list[str]:
    """Marks of a small picture, most severe first; where there is no room for another it is left out."""
    taken: list[tuple[float, float]] = []
    body = []
    for spot in thin.spots:
        x, y = view.at(spot.place[0], spot.place[1])
        crowded = any(abs(x - u) < SMALL_ROOM and abs(y - v) < SMALL_ROOM for u, v in taken)
        if spot.first_layer <= layer <= spot.last_layer and not crowded:
            taken.append((x, y))
            body.append(_mark(spot.kind, x, y, 4))
    return body


# How the part should lie


def lie_picture(solid: manifold3d.Manifold, lies: Sequence[Lie], name: str) -> str:
    """The best orientations side by side; facets that need support are hatched."""
    cell, body = 300.0, [_text(24, 32, f"How to lay {name}, best first", 16)]
    deepest = 0
    for position, lie in enumerate(lies):
        left = 24 + cell * position
        body += _drawn(solid, lie, (left, 50, cell - 24, 230))
        lines = [f"{position + 1}. {lie.height:.4g} mm high"]
        for reason in lie.reasons:
            lines += textwrap.wrap(reason, 40)
        body += [
            _text(left, 306 + 16 * row, line, 12 if row == 0 else 11, INK if row == 0 else QUIET)
            for row, line in enumerate(lines)
        ]
        deepest = max(deepest, len(lines))
    y = 306 + 16 * deepest + 12
    body += [
        f'<rect x="24" y="{y - 11:g}" width="22" height="13" fill="url(#lean)" stroke="{EDGE}"/>',
        _text(
            54,
            y,
            f"leans out more than {OVERHANG_LIMIT_DEG:g} degrees: needs support (drawn through the part)",
            11,
        ),
    ]
    return _document(24 + cell * max(len(lies), 1), y + 18, f"Orientations of {name}", body)


VIEW = np.array(
    [[0.866, -0.866, 0.0], [-0.42, -0.42, 0.81]]
)  # right and upward on paper, slightly from above
TOWARDS_EYE = np.array([0.55, 0.55, 0.62])
LIGHT = np.array([0.3, 0.5, 0.81])


def _drawn(solid: manifold3d.Manifold, lie: Lie, frame: tuple[float, float, float, float]) -> list[str]:
    """A shaded drawing, far facets first."""
    corners, normals = _facets(solid, rotation_to_up(lie.direction))
    flat = corners @ VIEW.T
    points = flat.reshape(-1, 2)
    bed = _bed_corners(corners) @ VIEW.T
    reach = np.concatenate([points, bed])
    view = _View(reach.min(axis=0), reach.max(axis=0), frame)
    bottom = corners[:, :, 2].min()
    leaning = normals[:, 2] < -np.sin(np.radians(OVERHANG_LIMIT_DEG))
    leaning &= corners[:, :, 2].mean(axis=1) > bottom + 0.1
    order = np.argsort(corners.mean(axis=1) @ TOWARDS_EYE, kind="stable")
    shade = 0.62 + 0.38 * np.clip(normals @ LIGHT, -0.4, 1)
    body = [f'<path d="{_polygon(view, bed)}" fill="#f3f3f1" stroke="#c9c9c4"/>']
    for k in order:
        if float(normals[k] @ TOWARDS_EYE) > 0:
            grey = [round(channel * float(shade[k])) for channel in (222, 218, 208)]
            fill = "#" + "".join(f"{channel:02x}" for channel in grey)
            path = _polygon(view, flat[k])
            body.append(f'<path d="{path}" fill="{fill}" stroke="{fill}" stroke-width="0.4"/>')
    through = "".join(_polygon(view, flat[k]) for k in np.flatnonzero(leaning))
    return [*body, f'<path d="{through}" fill="url(#lean)" fill-opacity="0.6"/>']


def _facets(solid: manifold3d.Manifold, rotation: Floats) -> tuple[Floats, Floats]:
    """Corners and unit normals of a drawing's worth of facets, turned."""
    box = np.array(solid.bounding_box())
    tolerance = 0.002 * float(np.linalg.norm(box[3:] - box[:3]))
    while solid.num_tri() > DRAWN_FACETS and tolerance < 1e6:
        solid = solid.simplify(tolerance)
        tolerance *= 2
    mesh = from_solid(solid).rotated(rotation)
    areas = np.maximum(mesh.areas, 1e-30)
    return mesh.vertices[mesh.triangles], mesh.area_vectors / areas[:, None]


def _bed_corners(corners: Floats) -> Floats:
    low, high = corners.reshape(-1, 3).min(axis=0), corners.reshape(-1, 3).max(axis=0)
    margin = 0.08 * float((high - low)[:2].max())
    x0, y0, x1, y1 = low[0] - margin, low[1] - margin, high[0] + margin, high[1] + margin
    return np.array([[x0, y0, low[2]], [x1, y0, low[2]], [x1, y1, low[2]], [x0, y1, low[2]]])


def _polygon(view: _View, points: Floats) -> str:
    return "M" + "L".join("{:.1f} {:.1f}".format(*view.at(float(x), float(y))) for x, y in points) + "Z"
