"""Fatigue: Basquin's law, Goodman's mean stress, Miner's sum. Stresses in MPa.

Keep below 5 Hz to avoid self-heating (estimate). Across layers use that direction's strength.
"""

from __future__ import annotations

from collections.abc import Sequence

from recommender.mechanics.broadcasting import Computed, Flags, Values


def basquin_life(*, stress_amplitude: Values, coefficient: Values, exponent: Values) -> Computed:
    """Cycles to failure, (sigma_a / sigma_f')^(1 / b), b negative (Basquin, 1910)."""
    return (stress_amplitude / coefficient) ** (1 / exponent)


def basquin_amplitude(*, cycles: Values, coefficient: Values, exponent: Values) -> Computed:
    """Stress amplitude in MPa survived for `cycles`: sigma_f' N^b."""
    return coefficient * cycles**exponent


def goodman_amplitude(
    *, stress_amplitude: Values, mean_stress: Values, ultimate_strength: Values
) -> Computed:
    """Fully reversed amplitude in MPa with the same life: sigma_a / (1 - sigma_m / S_u) (Goodman).

    A compressive mean gives no credit when passed as zero. Use S_u at service temperature.
    """
    return stress_amplitude / (1 - mean_stress / ultimate_strength)


def miner_damage(*, cycles: Sequence[Values], lives: Sequence[Values]) -> Computed:
    """Damage sum n_i / N_i; failure is expected at 1 (Palmgren, Miner)."""
    return sum(n / life for n, life in zip(cycles, lives, strict=True))


def valid_goodman(*, mean_stress: Values, ultimate_strength: Values) -> Flags:
    """True where the mean stress lies between zero and the strength."""
    return (mean_stress >= 0) & (mean_stress < ultimate_strength)


def valid_frequency(*, frequency_hz: Values) -> Flags:
    """True below 5 Hz, where a polymer does not heat itself (estimate)."""
    return frequency_hz < 5
