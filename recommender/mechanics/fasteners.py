"""Screws and heat-set inserts in bosses, clamp force, bearing under heads. N, mm, MPa, N mm."""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

INSERT_KEYED_SHARE = 0.6
"""Share of an insert's cylinder that is keyed into the plastic; estimate."""

TIGHTENING_COEFFICIENT = 0.25
"""K in F = T / (K d) for screws in plastic; estimate, 0.2 to 0.3."""

STRIP_TO_DRIVE_RATIO = 3.0
"""Stripping over driving torque to ask for; handbooks print 3 to 5, estimate."""


def shear_from_tension(*, tensile_strength: Values) -> Computed:
    """Shear strength in MPa of an isotropic ductile solid, S / sqrt 3 (von Mises)."""
    return tensile_strength / np.sqrt(3)


def lying_boss_shear_strength(*, shear_strength: Values, interlayer_shear_strength: Values) -> Computed:
    """Mean shear strength in MPa around a screw whose axis lies in the layers: half on layer planes.

    tau = (tau_X + S_z) / 2. Derived here.
    """
    return (shear_strength + interlayer_shear_strength) / 2


def thread_pull_out(
    *, diameter: Values, engaged_length: Values, shear_strength: Values, keyed_share: Values = 1.0
) -> Computed:
    """Force in N that shears a thread out of its boss: k pi d L tau.

    Use the thread's outer diameter. Source: plastics design handbooks (thread-forming screws).
    """
    return keyed_share * np.pi * diameter * engaged_length * shear_strength


def ring_strength(
    *, ring_thickness: Values, thread_depth: Values, ring_strength: Values, infill_strength: Values
) -> Computed:
    """Mean shear strength in MPa met by a thread of `thread_depth` in a ring of solid walls.

    A ring at least as thick as the thread is deep carries it all; a thinner one its share, and the
    infill behind it the rest. Derived here.
    """
    share = np.minimum(ring_thickness / thread_depth, 1.0)
    return share * ring_strength + (1 - share) * infill_strength


def insert_pull_out(
    *,
    diameter: Values,
    length: Values,
    shear_strength: Values,
    keyed_share: Values = INSERT_KEYED_SHARE,
) -> Computed:
    """Force in N that pulls a heat-set insert out: k pi D L tau (estimate of k)."""
    return thread_pull_out(
        diameter=diameter, engaged_length=length, shear_strength=shear_strength, keyed_share=keyed_share
    )


def insert_torque_out(
    *,
    diameter: Values,
    length: Values,
    shear_strength: Values,
    keyed_share: Values = INSERT_KEYED_SHARE,
) -> Computed:
    """Torque in N mm that spins a heat-set insert: k pi D^2 L tau / 2 (estimate of k)."""
    force = insert_pull_out(
        diameter=diameter, length=length, shear_strength=shear_strength, keyed_share=keyed_share
    )
    return force * diameter / 2


def clamp_force(
    *, torque: Values, diameter: Values, coefficient: Values = TIGHTENING_COEFFICIENT
) -> Computed:
    """Clamp force in N of a screw tightened with `torque` (N mm): T / (K d)."""
    return torque / (coefficient * diameter)


def minimum_boss_diameter(*, insert_diameter: Values, wall: Values = 2.0) -> Computed:
    """Outer diameter in mm a boss should have: 2 D or D + 2 walls, whichever is more (estimate)."""
    return np.maximum(2 * insert_diameter, insert_diameter + 2 * wall)


def boss_axial_stress(*, force: Values, outer_diameter: Values, bore: Values) -> Computed:
    """Tension in MPa on the ring of a boss from a pull along its axis; peels layers of a standing boss."""
    return force / (np.pi / 4 * (outer_diameter**2 - bore**2))


def head_bearing_stress(*, force: Values, head_diameter: Values, hole_diameter: Values) -> Computed:
    """Pressure in MPa under a head or washer: F / (pi (D_w^2 - d^2) / 4)."""
    return force / (np.pi / 4 * (head_diameter**2 - hole_diameter**2))


def valid_drive_torque(*, drive_torque: Values, strip_torque: Values) -> Flags:
    """True where the thread strips at three times the driving torque or more."""
    return strip_torque >= STRIP_TO_DRIVE_RATIO * drive_torque
