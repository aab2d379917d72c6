"""A cut through the printed part as a composite section: skin of walls and closed layers, core of infill.

Areas and moments are exact polygon integrals. The torsional rigidity comes from Saint-Venant's warping
function on rectangular cells, weighted by how much of each is filled; it takes holes and several pieces.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.layer_volumes import inset
from recommender.geometry.mesh import Floats, Integers

CELLS = 6_400
SAMPLES = 4
LEAST_INSET_MM = 0.01  # stands for a border of no thickness
LEAST_SIDE_CELLS = 4
FEW_COORDINATES = 30


@dataclass(frozen=True)
class Moments:
    """Area in mm^2 and its moments about the origin: mm^3 (first) and mm^4 (second)."""

    area: float
    first_x: float
    first_y: float
    second_xx: float
    second_yy: float
    second_xy: float

    def __sub__(self, other: Moments) -> Moments:
        return Moments(*(a - b for a, b in zip(self._all(), other._all(), strict=True)))

    def _all(self) -> tuple[float, ...]:
        return (
            self.area,
            self.first_x,
            self.first_y,
            self.second_xx,
            self.second_yy,
            self.second_xy,
        )


def polygon_moments(rings: Iterable[Floats]) -> Moments:
    """Integrals of 1, x, y, x^2, y^2 and x y over rings (holes run clockwise), by Green's theorem.

    With c = x_i y_j - x_j y_i along each side: A = sum(c)/2, integral of x = sum((x_i + x_j) c)/6,
    of x^2 = sum((x_i^2 + x_i x_j + x_j^2) c)/12,
    of x y = sum((x_i y_j + 2 x_i y_i + 2 x_j y_j + x_j y_i) c)/24.
    """
    total = np.zeros(6)
    for ring in rings:
        x, y = ring.T
        u, v = np.roll(x, -1), np.roll(y, -1)
        cross = x * v - u * y
        total += [
            cross.sum() / 2,
            ((x + u) * cross).sum() / 6,
            ((y + v) * cross).sum() / 6,
            ((x * x + x * u + u * u) * cross).sum() / 12,
            ((y * y + y * v + v * v) * cross).sum() / 12,
            ((x * v + 2 * x * y + 2 * u * v + u * y) * cross).sum() / 24,
        ]
    return Moments(*(float(value) for value in total))


@dataclass(frozen=True)
class Stiffness:
    """Moduli in MPa: Young's and shear modulus of skin and core."""

    skin: float
    core: float
    skin_shear: float
    core_shear: float

    def __post_init__(self) -> None:
        values = (self.skin, self.core, self.skin_shear, self.core_shear)
        if not all(math.isfinite(value) and value >= 0 for value in values) or not self.skin > 0:
            raise InputError("stiffness", f"{self}", "Moduli are positive numbers in MPa.")


@dataclass(frozen=True)
class CompositeSection:
    """A section of skin and core.

    Attributes
    ----------
    outline, core : CrossSection
        In the plane's own x and y, mm. The skin is the outline without the core.
    stiffness : Stiffness
    axial_rigidity : float
        EA in N.
    centre : tuple of float
        Modulus-weighted centroid, mm.
    flexural_xx, flexural_yy, flexural_xy : float
        Integrals of E y^2, E x^2 and E x y about the centre, N mm^2: bending about the x axis, the y axis,
        and their coupling.
    skin_area, core_area : float
        mm^2.
    """

    outline: manifold3d.CrossSection
    core: manifold3d.CrossSection
    stiffness: Stiffness
    axial_rigidity: float
    centre: tuple[float, float]
    flexural_xx: float
    flexural_yy: float
    flexural_xy: float
    skin_area: float
    core_area: float

    def curvatures(self, moment_x: float, moment_y: float) -> tuple[float, float]:
        """Curvatures in 1/mm for the moments, integrals of sigma y and of sigma x, in N mm.

        The strain is then curvature_x * y + curvature_y * x from the centre.
        """
        matrix = np.array([[self.flexural_xx, self.flexural_xy], [self.flexural_xy, self.flexural_yy]])
        about_x, about_y = np.linalg.solve(matrix, [moment_x, moment_y])
        return float(about_x), float(about_y)

    def extreme_strains(self, axial: float, moment_x: float, moment_y: float, of_core: bool) -> Floats:
        """Lowest and highest strain of the skin's outline, or of the core; force in N, moments in N mm."""
        points = corners_of(self.core if of_core else self.outline)
        if not len(points):
            return np.zeros(2)
        about_x, about_y = self.curvatures(moment_x, moment_y)
        x, y = (points - np.array(self.centre)).T
        strain = axial / self.axial_rigidity + about_x * y + about_y * x
        return np.array([strain.min(), strain.max()])


def corners_of(section: manifold3d.CrossSection) -> Floats:
    """All corners of a section, shape (n, 2)."""
    rings = section.to_polygons()
    return np.concatenate(rings) if rings else np.zeros((0, 2))


def core_of(
    outline: manifold3d.CrossSection,
    wall_thickness: float,
    closed_thickness: float,
    up: Floats,
) -> manifold3d.CrossSection:
    """The core of a cut: what lies deeper than the walls sideways and than the closed layers up and down.

    Parameters
    ----------
    wall_thickness, closed_thickness : float
        mm.
    up : ndarray of shape (3,)
        The build direction in the coordinates of the cut, whose own normal is z. Cut level, all borders are
        walls; cut upright, those above and below are closed layers. At a slant, faces that run along the
        normal have walls and closed layers alike, and the deeper of the two counts.
    """
    tilt = float(np.hypot(up[0], up[1]))  # sine of the angle between the normal and the build direction
    if tilt < 1e-6:
        return inset(outline, wall_thickness)
    upward = max(closed_thickness * tilt, wall_thickness * abs(float(up[2])))
    if max(upward, wall_thickness) <= 0:
        return outline
    sideways, upward = max(wall_thickness, LEAST_INSET_MM), max(upward, LEAST_INSET_MM)
    turn = math.degrees(math.atan2(up[0], up[1]))
    stretch = sideways / upward
    turned = outline.rotate(turn).scale((1.0, stretch))
    return inset(turned, sideways).scale((1.0, 1 / stretch)).rotate(-turn)


def composite_section(
    outline: manifold3d.CrossSection, core: manifold3d.CrossSection, stiffness: Stiffness
) -> CompositeSection:
    """Rigidities of a section from its outline and core."""
    whole, inner = polygon_moments(outline.to_polygons()), polygon_moments(core.to_polygons())
    if not whole.area > 0:
        raise InputError("--section", "the plane does not cut the part.", "Choose another place.")
    skin = whole - inner
    weighted = [
        stiffness.skin * s + stiffness.core * c for s, c in zip(skin._all(), inner._all(), strict=True)
    ]
    rigidity, first_x, first_y, second_xx, second_yy, second_xy = weighted
    x, y = first_x / rigidity, first_y / rigidity
    return CompositeSection(
        outline,
        core,
        stiffness,
        rigidity,
        (x, y),
        second_yy - rigidity * y * y,
        second_xx - rigidity * x * x,
        second_xy - rigidity * x * y,
        skin.area,
        inner.area,
    )


# Torsion


@dataclass(frozen=True)
class Torsion:
    """Torsional rigidity GJ in N mm^2, and the shear strain per twist (1/mm) that 1 % of the skin exceeds."""

    rigidity: float
    high_shear_per_twist: float


@dataclass(frozen=True)
class _Cells:
    """Filled cells: node numbers anticlockwise, modulus in MPa, middle from the centre and sides in mm."""

    node: Integers
    modulus: Floats
    x: Floats
    y: Floats
    width: Floats
    height: Floats


def torsion(section: CompositeSection, cells: int = CELLS) -> Torsion:
    """Torsional rigidity by Saint-Venant's warping function on about `cells` filled cells.

    Minimises the integral of G ((psi_x - y)^2 + (psi_y + x)^2) over bilinear cells, G weighted by the filled
    share of each cell. Compared with exact series and a finite-element section library in the tests.
    """
    grid = _filled_cells(section, cells)
    warping, load = _warping(grid)
    polar = grid.x**2 + grid.y**2 + (grid.width**2 + grid.height**2) / 12
    rigidity = float((grid.modulus * polar * grid.width * grid.height).sum() - load @ warping)
    return Torsion(rigidity, _high_shear(grid, warping))


def _filled_cells(section: CompositeSection, cells: int) -> _Cells:
    x0, y0, x1, y1 = section.outline.bounds()
    side = math.sqrt((section.skin_area + section.core_area) / cells)
    corners = np.concatenate([corners_of(section.outline), corners_of(section.core)])
    x, y = _grid_lines(corners[:, 0], x0, x1, side), _grid_lines(corners[:, 1], y0, y1, side)
    core = _filled_share(section.core, x, y)
    skin = _filled_share(section.outline, x, y) - core
    modulus = skin * section.stiffness.skin_shear + core * section.stiffness.core_shear
    row, column = np.nonzero(modulus > 0)
    first = row * len(x) + column
    raw = np.stack([first, first + 1, first + len(x) + 1, first + len(x)], axis=1)
    return _Cells(
        np.unique(raw, return_inverse=True)[1].reshape(-1, 4).astype(np.int64),
        modulus[row, column],
        ((x[:-1] + x[1:]) / 2 - section.centre[0])[column],
        ((y[:-1] + y[1:]) / 2 - section.centre[1])[row],
        np.diff(x)[column],
        np.diff(y)[row],
    )


def _grid_lines(corners: Floats, low: float, high: float, side: float) -> Floats:
    """Lines no further apart than `side`, through the corners where these lie on few coordinates."""
    along = np.unique(np.round(corners, 6))
    fixed = along if len(along) <= FEW_COORDINATES else np.empty(0)
    lines = [low]
    for line in [*fixed[(fixed > low + side / 3) & (fixed < high - side / 3)], high]:
        if line - lines[-1] < side / 3:
            continue
        parts = max(math.ceil((line - lines[-1]) / side - 1e-9), 1)
        lines += np.linspace(lines[-1], line, parts + 1)[1:].tolist()
    if len(lines) < LEAST_SIDE_CELLS + 1:
        return np.linspace(low, high, LEAST_SIDE_CELLS + 1)
    return np.array(lines)


def _filled_share(section: manifold3d.CrossSection, x: Floats, y: Floats) -> Floats:
    """Share of each cell between the grid lines that the section fills, by samples in every cell."""
    import shapely

    if section.is_empty():
        return np.zeros((len(y) - 1, len(x) - 1))
    polygon = as_polygons(section)
    shapely.prepare(polygon)
    places = (np.arange(SAMPLES) + 0.5) / SAMPLES
    at_x = (x[:-1, None] + np.diff(x)[:, None] * places).ravel()
    at_y = (y[:-1, None] + np.diff(y)[:, None] * places).ravel()
    inside = shapely.contains_xy(polygon, *np.meshgrid(at_x, at_y))
    return np.asarray(inside.reshape(len(y) - 1, SAMPLES, len(x) - 1, SAMPLES).mean(axis=(1, 3)))


def as_polygons(section: manifold3d.CrossSection):  # type: ignore[no-untyped-def]
    """The section as a geometry of shapely."""
    import shapely

    polygons = []
    for piece in section.decompose():
        rings = sorted(piece.to_polygons(), key=lambda ring: -float(np.ptp(ring, axis=0).prod()))
        polygons.append(shapely.Polygon(rings[0], rings[1:]))
    return shapely.MultiPolygon(polygons)


ALONG_X = np.array([[2, -2, -1, 1], [-2, 2, 1, -1], [-1, 1, 2, -2], [1, -1, -2, 2]]) / 6
ALONG_Y = np.array([[2, 1, -1, -2], [1, 2, -2, -1], [-1, -2, 2, 1], [-2, -1, 1, 2]]) / 6
SIGN_X = np.array([-1, 1, 1, -1])
SIGN_Y = np.array([-1, -1, 1, 1])


def _warping(grid: _Cells) -> tuple[Floats, Floats]:
    """Warping function at the nodes and the load vector, integral of G (y N_x - x N_y)."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import spsolve

    n = int(grid.node.max()) + 1
    slender = (grid.height / grid.width)[:, None, None]
    entries = grid.modulus[:, None, None] * (ALONG_X * slender + ALONG_Y / slender)
    rows, columns = np.repeat(grid.node, 4, axis=1).ravel(), np.tile(grid.node, (1, 4)).ravel()
    matrix = coo_matrix((entries.ravel(), (rows, columns)), shape=(n, n)).tocsc()
    # N_x is SIGN_X (1 + SIGN_Y t) / (2 width) with t from -1 to 1 over the height, y = y_c + t height / 2
    height, width = grid.height[:, None], grid.width[:, None]
    by_x = SIGN_X * height * (grid.y[:, None] / 2 + SIGN_Y * height / 12)
    by_y = SIGN_Y * width * (grid.x[:, None] / 2 + SIGN_X * width / 12)
    load = np.bincount(grid.node.ravel(), ((by_x - by_y) * grid.modulus[:, None]).ravel(), minlength=n)
    tiny = 1e-9 * float(grid.modulus.max())
    matrix.setdiag(matrix.diagonal() + tiny)  # the warping is free by a constant in each piece
    return np.asarray(spsolve(matrix, load), dtype=np.float64), load.astype(np.float64)


def _high_shear(grid: _Cells, warping: Floats) -> float:
    """99th percentile by number of cells of the shear strain per twist in the middles of the skin's cells."""
    at_corners = warping[grid.node]
    strain_x = at_corners @ SIGN_X / (2 * grid.width) - grid.y
    strain_y = at_corners @ SIGN_Y / (2 * grid.height) + grid.x
    stiff = grid.modulus > 0.5 * grid.modulus.max()
    return float(np.percentile(np.hypot(strain_x, strain_y)[stiff], 99))
