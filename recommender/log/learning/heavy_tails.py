"""Noise of an entry: sound scatter with Student's t, and now and then a slip, far wider.

A slip is a figure that is wrong rather than scattered: a digit too many, another unit, another part. It has a
component of its own with tails that fall so slowly (Cauchy) that a wild value moves the answer no further than
its weight allows, less the wilder it is, and does not make the sound entries look more scattered than they are.
With slips apart, the rest needs no more than mildly heavy tails: 8 degrees of freedom, in closed form.
Sources: Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 26.7 (26.7.4: Student's t for an even
number of degrees of freedom); Box and Tiao, Biometrika 55:119, 1968 (a wide component for bad values).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DEGREES = 8.0
AT_ZERO = 35.0 / (64.0 * np.sqrt(2.0))  # density of t8 at nought
INFORMATION = (DEGREES + 1.0) / (DEGREES + 3.0)
"""What one sound entry tells, as a multiple of 1 / scale^2 (Fisher information). The scale of t8 fitted to normal
noise is 0.901 of its standard deviation, for which the normal's own information gives nearly the same, 0.812."""
SLIP_SHARE = 0.02  # of all figures typed; estimate (grade C)
SLIP_SCALES = (
    20.0  # width of slips over the believed scale of sound ones: half lie within e^(20 x 0.09) = 6 times
)
OUTLIER_AT = (
    5.0  # scales off the middle, where a slip is about as likely; a sound entry lies there once in 950
)


@dataclass(frozen=True, slots=True)
class _Parts:
    """Densities of a sound entry and of a slip, each times its share; squares of the ratios to their widths."""

    sound: Array
    slip: Array
    sound_square: Array
    slip_square: Array


def _parts(deviation: Array, scale: Array | float, believed: Array | float) -> _Parts:
    wide = SLIP_SCALES * believed
    sound_square, slip_square = np.square(deviation / scale), np.square(deviation / wide)
    base = sound_square / DEGREES
    base += 1.0
    sound = np.sqrt(base)  # to become base to the power 4.5, in place: this is where learning spends its time
    base *= base
    base *= base
    sound *= base
    np.divide((1.0 - SLIP_SHARE) * AT_ZERO / scale, sound, out=sound)
    slip = SLIP_SHARE / (np.pi * wide * (1.0 + slip_square))
    return _Parts(sound, slip, sound_square, slip_square)


def log_density(deviation: Array, scale: Array | float, believed: Array | float) -> Array:
    """Logarithm of the density of a deviation: sound noise of this scale, slips by the `believed` one."""
    parts = _parts(deviation, scale, believed)
    result: Array = np.log(parts.sound + parts.slip)
    return result


def distribution(ratio: Array) -> Array:
    """Probability that t8 lies below `ratio`."""
    square = DEGREES / (DEGREES + ratio * ratio)
    share = np.sqrt(1.0 - square) * (1.0 + square * (1 / 2 + square * (3 / 8 + square * 5 / 16)))
    result: Array = 0.5 + 0.5 * np.sign(ratio) * share
    return result


def log_probability_above(deviation: Array, scale: Array | float, believed: Array | float) -> Array:
    """Logarithm of the probability that the noise, or a slip, exceeds `deviation`."""
    slip = 0.5 - np.arctan(deviation / (SLIP_SCALES * believed)) / np.pi
    tail: Array = np.log((1.0 - SLIP_SHARE) * distribution(-deviation / scale) + SLIP_SHARE * slip)
    return tail


def log_probability_below(deviation: Array, scale: Array | float) -> Array:
    """Logarithm of the probability that sound noise stays below `deviation`.

    Without slips: a part that broke in use did so at its duty's load, and nobody typed that figure anew.
    """
    tail: Array = np.log(np.maximum(distribution(deviation / scale), 1e-12))
    return tail


def soundness(deviation: Array, scale: Array | float, believed: Array | float) -> Array:
    """Probability that an entry with this deviation is no slip."""
    parts = _parts(deviation, scale, believed)
    result: Array = parts.sound / (parts.sound + parts.slip)
    return result


def weight(deviation: Array, scale: Array | float, believed: Array | float) -> Array:
    """Weight of a deviation in the mean, as a multiple of 1 / scale^2 (iteratively reweighted least squares)."""
    parts = _parts(deviation, scale, believed)
    result: Array = (parts.sound * _sound_pull(parts) + parts.slip * _slip_pull(parts, scale, believed)) / (
        parts.sound + parts.slip
    )
    return result


def _sound_pull(parts: _Parts) -> Array:
    pull: Array = (DEGREES + 1.0) / (DEGREES + parts.sound_square)
    return pull


def _slip_pull(parts: _Parts, scale: Array | float, believed: Array | float) -> Array:
    pull: Array = 2.0 / (1.0 + parts.slip_square) * np.square(scale / (SLIP_SCALES * believed))
    return pull


def curvature(deviation: Array, scale: Array | float, believed: Array | float) -> Array:
    """Minus the second derivative of `log_density`, as a multiple of 1 / scale^2; negative for wild values.

    Of a mixture: the mean of the parts' curvatures less the variance of their slopes.
    """
    parts = _parts(deviation, scale, believed)
    share = parts.sound / (parts.sound + parts.slip)
    sound, slip = _sound_pull(parts), _slip_pull(parts, scale, believed)
    bends = share * sound * (DEGREES - parts.sound_square) / (DEGREES + parts.sound_square)
    bends = bends + (1.0 - share) * slip * (1.0 - parts.slip_square) / (1.0 + parts.slip_square)
    result: Array = bends - share * (1.0 - share) * np.square(sound - slip) * parts.sound_square
    return result
