"""The ranking of build orientations with reasons, and whether the part fits the bed.

The score is an estimate of minutes: layers and support cost time, a small foot costs a surcharge, and laying
a loaded part weakly is a last resort. Its weights are estimates and are shown as such; the figures behind it
are geometry.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.layers import Layers, Progress, cut, silent
from recommender.geometry.mesh import Floats, Mesh
from recommender.geometry.orientation import (
    OVERHANG_LIMIT_DEG,
    Orientations,
    directions_to_try,
    evaluate,
    first_best,
    rotation_to_up,
)

LAYER_OVERHEAD_S = 1.5  # estimate
SUPPORT_FILL = 0.2  # share of the support volume that is laid; estimate
SUPPORT_FLOW_MM3_S = 5.0  # estimate
ACROSS_LAYERS = 0.45  # strength across over along the layers, typical of unfilled plastics: 0.35 to 0.5
SHEAR_OF_LAYERS = 0.6  # shear strength of the layer plane over strength along the layers; estimate
STEADY_TILT_DEG = 10.0  # estimate: a part that tips at less needs a brim
SMALL_FOOT_MINUTES = 60.0  # surcharge for a part without any foot; estimate
WEAK_SHARE = 0.75  # below this share of its strength a loaded part is laid so only if nothing else will do
WEAK_MINUTES = 10_000.0
LOOKED_AT_CLOSELY = 12
CLOSE_LAYERS = 150
SUPPORT_TOLERANCE_MM = 0.02
SHOWN = 3


@dataclass(frozen=True)
class Lie:
    """One orientation looked at closely.

    Attributes
    ----------
    direction : tuple of float
        What points up, in the coordinates of the model.
    height : float
        mm.
    overhang_area : float
        mm^2 of surface that needs support.
    support_volume : float
        mm^3 between the part and what is below it, by layers.
    contact_area : float
        mm^2 on the bed.
    tipping_angle_deg : float
        Tilt at which the part falls over on its foot.
    strength_share : float or None
        Strength along the load over strength along the layers; None without a load direction.
    minutes : float
        The score: estimated minutes with surcharges; for comparing only.
    turn_deg : float or None
        Turn about the vertical that fits the bed; None when it does not fit.
    fitting_scale : float or None
        Largest scale at which it fits the bed; None without a bed.
    reasons : tuple of str
    """

    direction: tuple[float, float, float]
    height: float
    overhang_area: float
    support_volume: float
    contact_area: float
    tipping_angle_deg: float
    strength_share: float | None
    minutes: float
    turn_deg: float | None
    fitting_scale: float | None
    reasons: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Bed:
    """Build volume in mm."""

    width: float
    depth: float
    height: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(side) and side > 0 for side in (self.width, self.depth, self.height)):
            raise InputError("--bed", f"{self} is no build volume.", "Give three sizes in mm: 220,220,250.")


def strength_share(up: Floats, load: Floats) -> Floats:
    """Strength along a load direction over the strength along the layers, for each up direction.

    Tsai-Hill for a bar pulled at an angle to the layers: with c the cosine between load and up,
    1 / share^2 = c^4 / z^2 - c^2 s^2 + c^2 s^2 / t^2 + s^4, s^2 = 1 - c^2; z = `ACROSS_LAYERS`,
    t = `SHEAR_OF_LAYERS`. Source: Jones, Mechanics of Composite Materials, 2nd ed., section 2.9.3.
    """
    c2 = np.clip(up @ (load / np.linalg.norm(load)), -1, 1) ** 2
    s2 = 1 - c2
    inverse = c2**2 / ACROSS_LAYERS**2 - c2 * s2 + c2 * s2 / SHEAR_OF_LAYERS**2 + s2**2
    return np.asarray(np.minimum(1 / np.sqrt(inverse), 1.0))


def rank(
    mesh: Mesh,
    solid: manifold3d.Manifold,
    layer_height: float,
    count: int = 240,
    load: Floats | None = None,
    bed: Bed | None = None,
    progress: Progress = silent,
) -> list[Lie]:
    """The best orientations, best first, each with figures and reasons.

    Parameters
    ----------
    load : ndarray of shape (3,), optional
        Direction of the main pull or of the fibres in bending, in the coordinates of the model.
    bed : Bed, optional
        The machine's build volume; orientations that fit go first.
    """
    progress("turning the part", 0, 1)
    table = evaluate(mesh, directions_to_try(mesh, count))
    close = first_best(_rough_minutes(table, layer_height, load), table.directions, LOOKED_AT_CLOSELY)
    lies = []
    for done, k in enumerate(close):
        lies.append(_looked_at(mesh, solid, table, int(k), layer_height, load, bed))
        progress("looking at orientations", done + 1, len(close))
    lies.sort(key=lambda lie: (bed is not None and lie.turn_deg is None, lie.minutes))
    return [_with_reasons(lie, lies, bed) for lie in lies[:SHOWN]]


def _rough_minutes(table: Orientations, layer_height: float, load: Floats | None) -> Floats:
    share = np.ones(len(table)) if load is None else strength_share(table.directions, load)
    foot = table.contact_area / np.maximum(table.contact_area + table.height**2 / 100, 1e-12)
    return _minutes(table.height, layer_height, table.support_volume, foot, share)


def _minutes(height: Floats, layer_height: float, support: Floats, foot: Floats, share: Floats) -> Floats:
    seconds = height / layer_height * LAYER_OVERHEAD_S + support * SUPPORT_FILL / SUPPORT_FLOW_MM3_S
    return np.asarray(seconds / 60 + SMALL_FOOT_MINUTES * (1 - foot) + WEAK_MINUTES * (share < WEAK_SHARE))


def _looked_at(
    mesh: Mesh,
    solid: manifold3d.Manifold,
    table: Orientations,
    k: int,
    layer_height: float,
    load: Floats | None,
    bed: Bed | None,
) -> Lie:
    rotation = rotation_to_up(table.directions[k])
    layers = cut(
        solid.transform(np.hstack([rotation, np.zeros((3, 1))])),
        max(layer_height, table.height[k] / CLOSE_LAYERS),
    )
    support = support_volume(layers)
    tilt = tipping_angle(layers, rotation @ mesh.centre_of_mass)
    share = None if load is None else float(strength_share(table.directions[k], load))
    foot = np.array(min(tilt / STEADY_TILT_DEG, 1.0))
    minutes = _minutes(table.height[k], layer_height, np.array(support), foot, np.array(share or 1.0))
    turn, scale = (None, None) if bed is None else bed_fit(layers, bed)
    x, y, z = (float(v) for v in table.directions[k])
    return Lie(
        (x, y, z),
        float(table.height[k]),
        float(table.overhang_area[k]),
        support,
        float(table.contact_area[k]),
        tilt,
        share,
        float(minutes),
        turn,
        scale,
        (),
    )


def support_volume(layers: Layers, limit_deg: float = OVERHANG_LIMIT_DEG) -> float:
    """Volume of support by layers, mm^3; it stands on the bed or on the part below it.

    From the top down: what a layer has beyond the layer below it, grown by the overhang that holds itself,
    needs support; support goes on below until the part is in its way.
    """
    reach = layers.layer_height * math.tan(math.radians(limit_deg)) + 0.02
    support, total = manifold3d.CrossSection(), 0.0
    for k in range(len(layers) - 1, 0, -1):
        above, here = layers.outlines[k], layers.outlines[k - 1]
        if above is not here:
            support = (support + _hanging(above, here, reach)).simplify(SUPPORT_TOLERANCE_MM)
        support = support - here
        total += support.area() * layers.layer_height
    return float(total)


def _hanging(
    above: manifold3d.CrossSection, here: manifold3d.CrossSection, reach: float
) -> manifold3d.CrossSection:
    """The part of a layer over nothing: whole from the edge of the layer below, once it reaches too far."""
    too_far = above - here.offset(reach, manifold3d.JoinType.Miter, 2.0)
    if too_far.is_empty():
        return too_far
    return (too_far.offset(reach, manifold3d.JoinType.Miter, 2.0) ^ above) - here


def tipping_angle(layers: Layers, centre_of_mass: Floats) -> float:
    """Tilt in degrees at which the part falls over an edge of its foot; 0 when it does not stand."""
    import shapely

    points = [point for ring in layers.outlines[0].to_polygons() for point in ring]
    foot = shapely.MultiPoint(points).convex_hull
    middle = shapely.Point(centre_of_mass[:2])
    if foot.geom_type != "Polygon" or not foot.contains(middle):
        return 0.0
    margin = foot.exterior.distance(middle)
    return math.degrees(math.atan2(margin, max(float(centre_of_mass[2]) - layers.bottom, 1e-9)))


def bed_fit(layers: Layers, bed: Bed) -> tuple[float | None, float]:
    """Turn about the vertical in degrees that fits the bed (None if none does), and the largest scale."""
    import shapely

    points = [point for outline in layers.outlines for ring in outline.to_polygons() for point in ring]
    hull = np.array(shapely.MultiPoint(np.array(points)).convex_hull.exterior.coords)
    turns = np.radians(np.arange(0.0, 180.0, 1.0))
    x = np.outer(np.cos(turns), hull[:, 0]) - np.outer(np.sin(turns), hull[:, 1])
    y = np.outer(np.sin(turns), hull[:, 0]) + np.outer(np.cos(turns), hull[:, 1])
    fit = np.minimum(bed.width / np.ptp(x, axis=1), bed.depth / np.ptp(y, axis=1))
    best = int(np.argmax(fit + 1e-9 * (turns == 0)))
    if fit[0] >= 1:
        best = 0
    scale = float(min(fit[best], bed.height / layers.height))
    return (float(np.degrees(turns[best])) if scale >= 1 else None), scale


# Words


def _with_reasons(lie: Lie, all_lies: list[Lie], bed: Bed | None) -> Lie:
    reasons = [*_geometry_reasons(lie, all_lies), *_load_reasons(lie), *_bed_reasons(lie, bed)]
    return Lie(**{**asdict(lie), "reasons": tuple(reasons)})


def _geometry_reasons(lie: Lie, all_lies: list[Lie]) -> list[str]:
    least = min(other.support_volume for other in all_lies)
    reasons = []
    if lie.support_volume < 1.0:
        reasons.append("needs no support")
    elif lie.support_volume <= least * 1.001:
        reasons.append(f"least support of all ({lie.support_volume:,.0f} mm³)")
    else:
        reasons.append(f"needs {lie.support_volume:,.0f} mm³ of support")
    if lie.height <= min(other.height for other in all_lies) * 1.001:
        reasons.append("lowest, so the fewest layers")
    if lie.tipping_angle_deg < STEADY_TILT_DEG:
        reasons.append(f"stands badly: tips at {lie.tipping_angle_deg:.0f} degrees; give it a brim")
    return reasons


def _load_reasons(lie: Lie) -> list[str]:
    if lie.strength_share is None:
        return []
    percent = 100 * lie.strength_share
    if percent >= 95:
        return ["the load runs along the layers"]
    return [f"the load pulls layers apart: about {percent:.0f} % of the strength along them (estimate)"]


def _bed_reasons(lie: Lie, bed: Bed | None) -> list[str]:
    if bed is None or lie.fitting_scale is None:
        return []
    if lie.turn_deg is None:
        return [f"does not fit the bed; it would at a scale of {lie.fitting_scale:.2f}"]
    return [] if lie.turn_deg == 0 else [f"fits the bed when turned by {lie.turn_deg:.0f} degrees"]
