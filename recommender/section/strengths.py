"""What the plastic of a printed part bears in each direction, for a block of candidates and one load case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Interlayer bending strength of PLA over layer height h and nozzle diameter d, MPa: 79.9 - 62.8 h/d.
# Fit to 20 conditions of Kuznetsov et al. 2018, Polymers 10(3):313, Table 1 (one machine, PLA, h/d 0.15 to 1).
BOND_INTERCEPT, BOND_SLOPE = 79.9, 62.8
BOND_REFERENCE = 0.5  # h/d of ordinary prints, at which the interlayer ratios of the materials are stated
BOND_RANGE = (0.15, 1.0)

SHEAR_ACROSS = 0.66  # interlayer shear over interlayer tension: between 1/sqrt(3) and 0.75 (estimate)
SHEAR_ALONG = 1.0 / np.sqrt(3.0)  # von Mises, within the layers


def bond_factor(layer_over_nozzle: Array) -> Array:
    """Interlayer strength relative to that at half a nozzle's layer height.

    Linear in layer height over nozzle diameter (source above); held constant outside the measured range.
    """
    ratio = np.clip(layer_over_nozzle, *BOND_RANGE)
    return (BOND_INTERCEPT - BOND_SLOPE * ratio) / (BOND_INTERCEPT - BOND_SLOPE * BOND_REFERENCE)


@dataclass(frozen=True, slots=True)
class Strengths:
    """Strengths (MPa) and moduli (MPa) after derating, each broadcasting over the candidate grid.

    `along` is tension along the beads, `across` tension that pulls layers apart, `pressed` compression,
    `shear_within` shear in the plane of the layers, `shear_between` shear that slides layers on each other.
    `modulus` is for the load's time and temperature. `elongation` is the strain at break (1 = 100 %),
    `once_strain` and `repeat_strain` what may be asked of it once and again and again. `notch` is the notch
    sensitivity q, `relaxed` the share of an imposed strain's stress that stays.
    """

    along: Array
    across: Array
    pressed: Array
    modulus: Array
    modulus_across: Array
    poisson: Array
    once_strain: Array
    repeat_strain: Array
    notch: Array

    @property
    def shear_within(self) -> Array:
        """Shear strength in the plane of the layers, MPa."""
        return np.asarray(SHEAR_ALONG * self.along)

    @property
    def shear_between(self) -> Array:
        """Shear strength between layers, MPa; never above that within them."""
        return np.asarray(np.minimum(SHEAR_ACROSS * self.across, SHEAR_ALONG * self.along))

    @property
    def shear_modulus(self) -> Array:
        """G = E / (2 (1 + nu)), MPa."""
        return self.modulus / (2.0 * (1.0 + self.poisson))
