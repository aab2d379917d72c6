"""Straight beams: moments, shear forces and deflections, shear deformation included.

A load is a total force in N: the point force, or for a uniform load the line load times the span.
`load_at` is "middle", "end", "distance" (then `distance` from the first support or the root, in mm)
or "uniform". A cantilever is clamped at its root; its "end" is the free tip.

Linear theory: deflection below a tenth of the span and strain below 2 % (`valid_small_deflection`,
`valid_small_strain`). A printed beam "fixed at both ends" lies between simply supported and fixed:
compute both and report both (estimate).

Source: Roark's Formulas for Stress and Strain, 8th ed., Table 8.1; Gere and Goodno, Mechanics of
Materials, app. H. Shear terms by the unit-load method, derived here.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

Support: TypeAlias = Literal["cantilever", "simply_supported", "fixed_both_ends"]
LoadAt: TypeAlias = Literal["middle", "end", "distance", "uniform"]

SLENDER_RATIO = 8.0
"""Span over height above which shear deformation of a solid beam may be left out."""


class Coefficients(NamedTuple):
    """M / (F L), V / F, bending deflection E I / (F L^3) and shear deflection G A / (F L), all maxima."""

    moment: Computed
    shear: Computed
    bending: Computed
    shear_deflection: Computed


_UNIFORM: dict[str, Coefficients] = {
    "cantilever": Coefficients(1 / 2, 1.0, 1 / 8, 1 / 2),
    "simply_supported": Coefficients(1 / 8, 1 / 2, 5 / 384, 1 / 8),
    "fixed_both_ends": Coefficients(1 / 12, 1 / 2, 1 / 384, 1 / 8),
}


def _cantilever(a: Values) -> Coefficients:
    return Coefficients(a, 1.0, a**2 * (3 - a) / 6, a)


def _simply_supported(a: Values) -> Coefficients:
    near = np.minimum(a, 1 - a)
    return Coefficients(
        near * (1 - near),
        1 - near,
        near * (1 - near**2) ** 1.5 / (9 * np.sqrt(3)),
        near * (1 - near),
    )


def _fixed_both_ends(a: Values) -> Coefficients:
    near = np.minimum(a, 1 - a)
    far = 1 - near
    reaction = far**2 * (3 * near + far)
    return Coefficients(
        near * far**2,
        reaction,
        2 * far**3 * near**2 / (3 * (3 * far + near) ** 2),
        reaction**2 * near + (1 - reaction) ** 2 * far,
    )


_POINT = {
    "cantilever": _cantilever,
    "simply_supported": _simply_supported,
    "fixed_both_ends": _fixed_both_ends,
}


def load_position(*, load_at: LoadAt, span: Values, distance: Values | None = None) -> Computed:
    """Position of a point load as a fraction of the span (mm) from the root or the first support.

    Raises ValueError when `load_at` is "distance" without a distance, "uniform", or unknown.
    """
    if load_at == "middle":
        return 0.5
    if load_at == "end":
        return 1.0
    if load_at != "distance" or distance is None:
        raise ValueError(
            f"load_at={load_at!r} with distance={distance!r}: a point load sits in the middle, at the "
            "end, or at a given distance."
        )
    return distance / span


def coefficients(
    *, support: Support, load_at: LoadAt, span: Values, distance: Values | None = None
) -> Coefficients:
    """The four dimensionless beam coefficients of a case, for one look-up per load case.

    The shear deflection of an off-centre load between fixed ends uses the reactions of the
    shear-free beam: an upper bound, exact in the middle. Where the largest bending deflection is not
    under the load, adding both maxima errs to the safe side.
    """
    if support not in _POINT:
        raise ValueError(f"support={support!r}: known supports are {', '.join(_POINT)}.")
    if load_at == "uniform":
        return _UNIFORM[support]
    return _POINT[support](load_position(load_at=load_at, span=span, distance=distance))


def maximum_moment(
    *, support: Support, load_at: LoadAt, span: Values, force: Values, distance: Values | None = None
) -> Computed:
    """Largest bending moment in N mm; `span`, `distance` in mm, total `force` in N."""
    case = coefficients(support=support, load_at=load_at, span=span, distance=distance)
    return case.moment * force * span


def maximum_shear_force(
    *, support: Support, load_at: LoadAt, span: Values, force: Values, distance: Values | None = None
) -> Computed:
    """Largest shear force in N; `span`, `distance` in mm, total `force` in N."""
    return coefficients(support=support, load_at=load_at, span=span, distance=distance).shear * force


def bending_deflection(
    *,
    support: Support,
    load_at: LoadAt,
    span: Values,
    force: Values,
    flexural_rigidity: Values,
    distance: Values | None = None,
) -> Computed:
    """Largest deflection from bending alone, in mm (a cantilever's: at its tip).

    `flexural_rigidity` EI in N mm^2. Too small by 10 to 23 % for short or soft-core beams: add
    `shear_deflection` unless `valid_slender` holds and the core is solid.
    """
    case = coefficients(support=support, load_at=load_at, span=span, distance=distance)
    return case.bending * force * span**3 / flexural_rigidity


def shear_deflection(
    *,
    support: Support,
    load_at: LoadAt,
    span: Values,
    force: Values,
    shear_rigidity: Values,
    distance: Values | None = None,
) -> Computed:
    """Deflection from shear in mm; `shear_rigidity` GA (modulus times shear area) in N."""
    case = coefficients(support=support, load_at=load_at, span=span, distance=distance)
    return case.shear_deflection * force * span / shear_rigidity


def deflection(
    *,
    support: Support,
    load_at: LoadAt,
    span: Values,
    force: Values,
    flexural_rigidity: Values,
    shear_rigidity: Values,
    distance: Values | None = None,
) -> Computed:
    """Largest deflection, bending plus shear, in mm (Timoshenko beam).

    Within 5 % of three-dimensional finite elements down to span / height = 4 and a core of 1 % of
    the skin's modulus.
    """
    case = coefficients(support=support, load_at=load_at, span=span, distance=distance)
    return (
        force * span * (case.bending * span**2 / flexural_rigidity + case.shear_deflection / shear_rigidity)
    )


def deflection_under_load(
    *,
    support: Support,
    load_at: LoadAt,
    span: Values,
    force: Values,
    flexural_rigidity: Values,
    shear_rigidity: Values = np.inf,
    distance: Values | None = None,
) -> Computed:
    """Deflection at the point load itself in mm, for spring rates and impact; not for "uniform".

    Bending: a^3 / 3 (cantilever), a^2 b^2 / (3 L) (simply supported), a^3 b^3 / (3 L^3) (fixed),
    times F / EI, with b = L - a.
    """
    case = coefficients(support=support, load_at=load_at, span=span, distance=distance)
    a = load_position(load_at=load_at, span=span, distance=distance)
    power = {
        "cantilever": a**3,
        "simply_supported": (a * (1 - a)) ** 2,
        "fixed_both_ends": (a * (1 - a)) ** 3,
    }
    bending = power[support] / 3
    return force * span * (bending * span**2 / flexural_rigidity + case.shear_deflection / shear_rigidity)


def bending_stress(*, moment: Values, section_modulus: Values) -> Computed:
    """Stress at the extreme fibre of a homogeneous section in MPa; N mm over mm^3."""
    return moment / section_modulus


def peak_shear_stress(*, shear_force: Values, area: Values, peak_shear_factor: Values) -> Computed:
    """Largest transverse shear stress in MPa; N times the section's `peak_shear_factor` over mm^2."""
    return peak_shear_factor * shear_force / area


def valid_slender(*, span: Values, height: Values) -> Flags:
    """True where span / height is above 8, so that a solid beam needs no shear term."""
    return span / height > SLENDER_RATIO


def valid_small_deflection(*, deflection: Values, span: Values) -> Flags:
    """True where the deflection stays below a tenth of the span (linear theory)."""
    return deflection < span / 10


def valid_small_strain(*, strain: Values) -> Flags:
    """True where the strain stays below 2 % (linear elasticity)."""
    return np.abs(strain) < 0.02


def valid_load_position(*, support: Support, distance: Values, span: Values) -> Flags:
    """True where a point load acts on the beam: within the span, and for a cantilever up to its tip."""
    within = (distance > 0) & (distance < span)
    return within | (distance == span) if support == "cantilever" else within
