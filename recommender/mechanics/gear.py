"""Spur gear teeth by Lewis. Module and face width in mm, torque in N mm, speed in m/s by name.

Source: Shigley's Mechanical Engineering Design, ch. 14 and Table 14-2 (20 degrees, full depth);
structure of the plastic derating after VDI 2736-2.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

LEWIS_TEETH = np.array([12, 15, 17, 20, 25, 30, 40, 60, 100])
LEWIS_FORM_FACTORS = np.array([0.245, 0.290, 0.303, 0.322, 0.340, 0.359, 0.389, 0.422, 0.447])
"""Lewis form factor Y, 20 degrees, full depth, load at the tip (Shigley Table 14-2)."""

PRINTED_TOOTH_DERATING = 0.6
"""Share of the strength that a printed tooth is given; estimate."""

BACKLASH_ALLOWANCE = 0.15
"""Backlash in mm to add per mesh; estimate from a mean profile deviation of 0.067 mm (Eng. Proc. 2025)."""


def lewis_form_factor(*, teeth: Values) -> Computed:
    """Lewis form factor Y, linear between the tabulated tooth numbers.

    Straight lines lie below the curve, which errs to the safe side; held at the ends where
    `valid_teeth` is false.
    """
    return np.interp(teeth, LEWIS_TEETH, LEWIS_FORM_FACTORS)


def tangential_force(*, torque: Values, teeth: Values, module: Values) -> Computed:
    """Tooth force in N: 2 T / (z m)."""
    return 2 * torque / (teeth * module)


def tooth_root_stress(
    *,
    tangential_force: Values,
    face_width: Values,
    module: Values,
    form_factor: Values,
    velocity_factor: Values = 1.0,
) -> Computed:
    """Bending stress at the tooth root in MPa: K_v F_t / (b m Y), one tooth in contact."""
    return velocity_factor * tangential_force / (face_width * module * form_factor)


def velocity_factor(*, pitch_line_speed_m_s: Values) -> Computed:
    """Dynamic factor of cut teeth, (6.1 + v) / 6.1 (Shigley, Eq. 14-4b)."""
    return (6.1 + pitch_line_speed_m_s) / 6.1


def allowable_torque(
    *,
    allowable_stress: Values,
    face_width: Values,
    module: Values,
    teeth: Values,
    form_factor: Values,
    velocity_factor: Values = 1.0,
    derating: Values = PRINTED_TOOTH_DERATING,
) -> Computed:
    """Torque in N mm that the tooth root may carry: derated S b m Y (z m / 2) / K_v."""
    force = derating * allowable_stress * face_width * module * form_factor / velocity_factor
    return force * teeth * module / 2


def valid_teeth(*, teeth: Values) -> Flags:
    """True for 12 to 100 teeth, the range of the table."""
    return (teeth >= 12) & (teeth <= 100)


def valid_speed(*, pitch_line_speed_m_s: Values) -> Flags:
    """True up to 2 m/s; faster teeth heat up (estimate)."""
    return pitch_line_speed_m_s <= 2
