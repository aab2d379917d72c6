"""Creep, relaxation and temperature. Times in hours where the name says so, temperatures in degC.

Do not design within 10 K of the glass transition (estimate: `valid_below_glass_transition`).
Material constants are arguments; they live in the knowledge base with their sources.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

GAS_CONSTANT = 8.314462618
"""Molar gas constant in J / (mol K) (CODATA 2018, exact)."""

KELVIN_OFFSET = 273.15
"""Kelvin at 0 degC."""

WLF_C1, WLF_C2_K = 17.44, 51.6
"""Universal constants of Williams, Landel and Ferry, J. Am. Chem. Soc. 77, 1955."""

GLASS_TRANSITION_MARGIN_K = 10.0
"""Distance to keep from the glass transition; estimate."""


def creep_modulus(
    *, short_term_modulus: Values, time_h: Values, reference_time_h: Values, exponent: Values
) -> Computed:
    """Creep modulus in MPa, power law E0 (t / t0)^-n."""
    return short_term_modulus * (time_h / reference_time_h) ** (-exponent)


def relaxed_force(
    *, initial_force: Values, time_h: Values, reference_time_h: Values, exponent: Values
) -> Computed:
    """Clamp or press force in N left after `time_h`, power law F0 (t / t0)^-n."""
    return creep_modulus(
        short_term_modulus=initial_force, time_h=time_h, reference_time_h=reference_time_h, exponent=exponent
    )


def findley_strain(
    *, stress: Values, short_term_modulus: Values, amplitude: Values, exponent: Values, time_h: Values
) -> Computed:
    """Creep strain sigma / E0 + A t^n (t in hours); A belongs to this stress.

    Source: Findley, Lai and Onaran, Creep and Relaxation of Nonlinear Viscoelastic Materials, 1976.
    """
    return stress / short_term_modulus + amplitude * time_h**exponent


def isochronous_modulus(*, stress: Values, strain: Values) -> Computed:
    """Secant modulus sigma / eps in MPa at the time the strain was computed for."""
    return stress / strain


def wlf_log_shift(
    *,
    temperature: Values,
    glass_transition: Values,
    c1: Values = WLF_C1,
    c2_k: Values = WLF_C2_K,
) -> Computed:
    """log10 of the shift factor -C1 (T - Tg) / (C2 + T - Tg), at and above the glass transition.

    Negative when warmer: the same creep in less time. Holds for Tg <= T <= Tg + 100 K.
    """
    above = temperature - glass_transition
    return -c1 * above / (c2_k + above)


def arrhenius_log_shift(
    *, activation_energy_kj_mol: Values, temperature: Values, reference_temperature: Values
) -> Computed:
    """log10 of the shift factor (Ea / R) (1/T - 1/Tref) / ln 10 below the glass transition (degC in)."""
    difference = 1 / (temperature + KELVIN_OFFSET) - 1 / (reference_temperature + KELVIN_OFFSET)
    return activation_energy_kj_mol * 1000 / (GAS_CONSTANT * np.log(10)) * difference


def shifted_time_h(*, time_h: Values, log_shift: Values) -> Computed:
    """Hours at the reference temperature with the same effect: t / a_T."""
    return time_h * 10.0 ** (-log_shift)


def linear_derating(
    *,
    temperature: Values,
    glass_transition: Values,
    fraction_near_transition: Values,
    reference_temperature: Values = 23.0,
) -> Computed:
    """Share of a strength or modulus left at `temperature`: linear from 1 to a floor 5 K below Tg.

    No credit below the reference temperature; the floor is held above Tg - 5 K, where
    `valid_below_glass_transition` is false. Estimate, to be replaced by measured curves.
    """
    span = glass_transition - 5 - reference_temperature
    progress = np.clip((temperature - reference_temperature) / span, 0.0, 1.0)
    return 1 - (1 - fraction_near_transition) * progress


def valid_below_glass_transition(*, temperature: Values, glass_transition: Values) -> Flags:
    """True where at least 10 K lie between the service temperature and the glass transition."""
    return temperature <= glass_transition - GLASS_TRANSITION_MARGIN_K


def valid_wlf(*, temperature: Values, glass_transition: Values) -> Flags:
    """True between the glass transition and 100 K above it, where the WLF equation was fitted."""
    return (temperature >= glass_transition) & (temperature <= glass_transition + 100)
