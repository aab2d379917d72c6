"""What the record says of materials, in NumPy alone: a correction of strength and how sure it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.regression.record import Record

Array = NDArray[np.float64]
Test = Literal["tension", "bending", "compression"]

NEW_PRINT = ("study", "spool")  # offsets of a printer with its user, and of a spool, unknown for a new print
OF_THE_FILLED = "study_filled"  # what filled plastics differ by from maker to maker beyond others


@dataclass(frozen=True, slots=True)
class Kind:
    """A material as the record groups it: key and filler class ("" for none)."""

    material: str
    filler: str


def correction(
    record: Record,
    kinds: Sequence[Kind],
    *,
    across: bool,
    test: Test = "tension",
    bending_reserve: ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Mean and standard deviation of log(strength / mechanics) for a new print of every material.

    Parameters
    ----------
    record : Record
        The fitted model.
    kinds : sequence of Kind
        Materials; the first axis of the result.
    across : bool
        Whether the load pulls layers apart.
    test : {"tension", "bending", "compression"}
        What the part is under: pulled, bent as a solid bar is in a short test, or pressed.
    bending_reserve : array_like
        Of the section (section.printed.bending_reserve), along further axes. The engine leaves it at 0 and
        applies it to the section itself.

    Returns
    -------
    mean, standard deviation : arrays
        Shape (materials, ...), natural logarithm. The deviation holds the doubt about the coefficients, the
        offsets of an unseen printer and spool, and the scatter from bar to bar.
    """
    reserve = np.asarray(bending_reserve, dtype=float)
    steady = np.stack([_steady(record, kind, across, test) for kind in kinds])
    inputs = np.zeros((len(kinds), *reserve.shape, len(record.names)))
    inputs += steady.reshape(len(kinds), *([1] * reserve.ndim), len(record.names))
    place = record.place("bending_reserve")
    if place is not None:
        inputs[..., place] = reserve
    mean = inputs @ record.mean
    variance = np.einsum("...i,ij,...j->...", inputs, record.covariance, inputs)
    own = np.array([_own_variance(record, kind, across) for kind in kinds])
    variance += own.reshape(len(kinds), *([1] * reserve.ndim))
    scale = np.array([record.widening(kind.material, across, bool(kind.filler)) for kind in kinds])
    return mean, scale.reshape(len(kinds), *([1] * reserve.ndim)) * np.sqrt(variance)


@lru_cache(maxsize=256)
def strength_factors(record: Record, kinds: tuple[Kind, ...], test: Test) -> tuple[Array, Array, Array]:
    """Factors on strength along, across and pressed, one per material, for a part under `test`.

    A pulled part is pressed nowhere by that load, so its strength in compression is that of the pressed bars.
    Kept, since every block of candidates asks for the same.
    """
    pulled: Test = "bending" if test == "bending" else "tension"
    pressed: Test = "bending" if test == "bending" else "compression"
    wanted: tuple[tuple[bool, Test], ...] = ((False, pulled), (True, pulled), (False, pressed))
    along, across, squeezed = (
        np.exp([_steady(record, kind, way, like) @ record.mean for kind in kinds]) for way, like in wanted
    )
    return along, across, squeezed


@lru_cache(maxsize=512)
def plain_correction(record: Record, kind: Kind, across: bool, test: Test = "tension") -> tuple[float, float]:
    """Mean and standard deviation of :func:`correction` for one material without inputs of the section.

    Kept for each question asked, because a suggestion asks the same few for hundreds of candidates.
    """
    mean, log_sd = correction(record, [kind], across=across, test=test)
    return float(mean[0]), float(log_sd[0])


def group_levels(kind: Kind, across: bool) -> list[tuple[str, str]]:
    """The groups a material belongs to, as (group, level)."""
    levels = [("filler", kind.filler), ("material", kind.material)]
    if across:
        levels += [(f"{group}_across", level) for group, level in levels]
    return [(group, level) for group, level in levels if level]


def _steady(record: Record, kind: Kind, across: bool, test: Test) -> Array:
    """Inputs that do not depend on the section."""
    names = ["level", *(f"{group}:{level}" for group, level in group_levels(kind, across))]
    if across:
        names.append("across")
    if test != "tension":
        names.append(test)
    if test == "bending" and across:
        names.append("bending_across")
    inputs = np.zeros(len(record.names))
    for name in names:
        place = record.place(name)
        if place is not None:
            inputs[place] = 1.0
    return inputs


def _own_variance(record: Record, kind: Kind, across: bool) -> float:
    """Variance of what a new print adds: printer, spool, bar; and groups of which nothing has been seen."""
    s = record.spreads
    variance = s["noise_across" if across else "noise_along"] ** 2
    for name in _offsets(kind):
        variance += s[name] ** 2 + (s[f"{name}_across"] ** 2 if across else 0.0)
    for group, level in group_levels(kind, across):
        if record.place(f"{group}:{level}") is None:
            variance += s.get(group, 0.0) ** 2
    return float(variance)


def _offsets(kind: Kind) -> tuple[str, ...]:
    """The offsets that a new print of this kind brings."""
    return (*NEW_PRINT, OF_THE_FILLED) if kind.filler else NEW_PRINT


def joint_over_directions(record: Record, kind: Kind) -> tuple[Array, Array]:
    """Mean (2) and covariance (2, 2) of the offset of a new spool on a new printer, along and across the layers.

    Scatter from print to print and from bar to bar is left out. This is the prior that results of the spool
    are weighed against.
    """
    inputs = np.stack([_steady(record, kind, across, "tension") for across in (False, True)])
    s = record.spreads
    offsets = _offsets(kind)
    covariance = inputs @ record.covariance @ inputs.T + sum(s[name] ** 2 for name in offsets)
    covariance[1, 1] += sum(s[f"{name}_across"] ** 2 for name in offsets)
    return inputs @ record.mean, covariance


@dataclass(frozen=True, slots=True)
class RatioAcross:
    """Strength across over along the layers of a new spool: median and the bounds of nine in ten."""

    low: float
    typical: float
    high: float


def ratio_across(record: Record, kind: Kind, calculated: float) -> RatioAcross:
    """The ratio that bars show, from the `calculated` one of the knowledge base."""
    mean, covariance = joint_over_directions(record, kind)
    log_sd = record.widening(kind.material, True, bool(kind.filler)) * float(
        np.sqrt(covariance[0, 0] + covariance[1, 1] - 2.0 * covariance[0, 1])
    )
    typical = calculated * float(np.exp(mean[1] - mean[0]))
    bound = float(np.exp(1.645 * log_sd))
    return RatioAcross(typical / bound, typical, typical * bound)


def has_seen(record: Record, material: str, across: bool) -> bool:
    """Whether the fit holds bars of this material, loaded this way."""
    seen = record.seen.get(material)
    return seen is not None and (seen.across if across else seen.along) > 0


def bending_exponent_of(record: Record) -> float:
    """Share of the plastic reserve in bending that short tests show, at least 0."""
    return max(record.coefficient("bending_reserve"), 0.0)
