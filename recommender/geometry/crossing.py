"""Skin that runs through itself or through another body: seen where layers count an area twice."""

from __future__ import annotations

import numpy as np

from recommender.geometry.findings import Finding, Severity
from recommender.geometry.layers import Layers
from recommender.geometry.mesh import Floats, Integers, Mesh

AREA_SHARE = 1e-4
LEAST_AREA_MM2 = 1e-3
TRIANGLES_AT_ONCE = 200_000
MOSTLY_SHARE = 0.5
CROSSES, CROSSES_MOSTLY = "mesh.crosses_itself", "mesh.crosses_itself_mostly"


def winding_areas(mesh: Mesh, heights: Floats) -> Floats:
    """Area of horizontal sections with every region counted as often as the skin winds round it.

    Parameters
    ----------
    heights : ndarray
        Heights of the planes in mm, increasing.

    Returns
    -------
    ndarray
        mm^2, sum over the cut triangles of half the cross product of the ends of their cut; for a skin
        that does not cross itself it is the plain area of the section.
    """
    total = np.zeros(len(heights))
    centre = mesh.bounds.mean(axis=0)
    for start in range(0, len(mesh.triangles), TRIANGLES_AT_ONCE):
        corners = mesh.vertices[mesh.triangles[start : start + TRIANGLES_AT_ONCE]]
        triangle, plane = _cut_pairs(corners[:, :, 2], heights)
        first, second = _ends(corners[triangle], heights[plane], centre)
        cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        total += np.bincount(plane, weights=cross / 2, minlength=len(heights))
    return total


def _cut_pairs(z: Floats, heights: Floats) -> tuple[Integers, Integers]:
    """All pairs of a triangle and a plane that cuts it."""
    lowest = np.searchsorted(heights, z.min(axis=1), side="left")
    count = np.searchsorted(heights, z.max(axis=1), side="left") - lowest
    triangle = np.repeat(np.arange(len(z)), count)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(count) - count, count)
    return triangle.astype(np.int64), (lowest[triangle] + within).astype(np.int64)


def _ends(corners: Floats, height: Floats, centre: Floats) -> tuple[Floats, Floats]:
    """Ends of the cut of each triangle, the inside of the body on the left of the way between them."""
    above = corners[:, :, 2] > height[:, None]
    alone_above = above.sum(axis=1) == 1
    alone = np.argmax(above == alone_above[:, None], axis=1)
    rows = np.arange(len(corners))
    tip, left, right = (corners[rows, (alone + k) % 3] for k in range(3))
    to_left, to_right = (_at_height(tip, other, height) - centre[:2] for other in (left, right))
    swap = ~alone_above[:, None]
    return np.where(swap, to_right, to_left), np.where(swap, to_left, to_right)


def _at_height(start: Floats, end: Floats, height: Floats) -> Floats:
    share = ((height - start[:, 2]) / (end[:, 2] - start[:, 2]))[:, None]
    return np.asarray(start[:, :2] + share * (end[:, :2] - start[:, :2]))


def crossing_findings(mesh: Mesh, layers: Layers, known_overlap: bool) -> list[Finding]:
    """The layers where the skin counts area twice or with the wrong sign.

    Parameters
    ----------
    known_overlap : bool
        Whether overlapping bodies have been reported already; then nothing is added.
    """
    heights = np.array([layers.z_of(k) for k in range(len(layers))])
    difference = np.abs(winding_areas(mesh, heights) - layers.areas)
    crossed = np.flatnonzero(difference > np.maximum(AREA_SHARE * layers.areas, LEAST_AREA_MM2))
    if known_overlap or not len(crossed):
        return []
    mostly = len(crossed) > MOSTLY_SHARE * len(layers)
    worst = int(crossed[np.argmax(difference[crossed])])
    return [
        Finding(
            CROSSES_MOSTLY if mostly else CROSSES,
            Severity.PROBLEM,
            f"The skin runs through itself in {len(crossed):,} of {len(layers):,} layers.",
            f"Between z {heights[crossed[0]]:.4g} and {heights[crossed[-1]]:.4g} mm an area of up to "
            f"{difference[worst]:.3g} mm² lies inside twice, or inside out.",
            "Mend it in the drawing: no automatic repair is safe here.",
            (float(mesh.bounds[:, 0].mean()), float(mesh.bounds[:, 1].mean()), float(heights[worst])),
        )
    ]


def crosses_mostly(findings: list[Finding]) -> bool:
    """Whether the skin runs through itself in most layers, so that volumes and sections mean nothing."""
    return any(finding.rule == CROSSES_MOSTLY for finding in findings)
