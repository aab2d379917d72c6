"""What the plastic of a printed part bears in each direction, for a block of candidates and one load case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.mechanics import anisotropy

Array = NDArray[np.float64]

BOND_RANGE = (0.15, 1.0)  # layer height over nozzle diameter of the fit; held constant outside it

SHEAR_ACROSS = 0.66  # interlayer shear over interlayer tension: between 1/sqrt(3) and 0.75 (estimate)
SHEAR_ALONG = 1.0 / np.sqrt(3.0)  # von Mises, within the layers


def bond_factor(layer_over_nozzle: Array) -> Array:
    """Interlayer strength relative to that at half a nozzle's layer height, where material ratios are stated."""
    ratio = np.clip(layer_over_nozzle, *BOND_RANGE)
    return np.asarray(anisotropy.layer_height_factor(layer_height=ratio, nozzle_diameter=1.0))


@dataclass(frozen=True, slots=True)
class Strengths:
    """Strengths (MPa) and moduli (MPa) after derating, each broadcasting over the candidate grid.

    `along` is tension along the beads, `across` tension that pulls layers apart, `pressed` compression,
    `shear_within` shear in the plane of the layers, `shear_between` shear that slides layers on each other.
    `modulus` is for the load's time and temperature. `once_strain` and `repeat_strain` are the strains (1 =
    100 %) that may be asked of it once and as often as the load comes, `lasting_strain` the one it may be held
    at for good. `notch` is the notch sensitivity q.
    """

    along: Array
    across: Array
    pressed: Array
    modulus: Array
    modulus_across: Array
    poisson: Array
    once_strain: Array
    repeat_strain: Array
    lasting_strain: Array
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
