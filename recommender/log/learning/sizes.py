"""Sizes: measured = nominal + offset + (scale - 1) x nominal (+ flare of the first layer), by kind of feature.

Offset, scale and flare are separate unknowns and are never cured by one number. Each is a sum of effects (of the
printer, the material, the axis, the pair), drawn around a prior, so two measurements help a little and twenty
decide. Conjugate Bayesian linear regression for a given scale of the noise (Gelman et al., Bayesian Data
Analysis, 3rd ed., 2013, section 14.2 and 14.8), reweighted for heavy tails, on a grid over that scale.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.log.learning import heavy_tails
from recommender.log.learning.counts import OWN
from recommender.log.steps import DEVIATION_STEP_MM, NOMINAL_STEP_MM

Array = NDArray[np.float64]
Effect = tuple[str, ...]

NOISE_MM = np.array([0.02, 0.03, 0.042, 0.06, 0.085, 0.12])  # scales of the noise that are weighed
NOISE_BELIEVED_MM, NOISE_LOG_SD = 0.045, 0.5  # estimate: a calliper on a printed edge
ROUNDS = 15
NINE_IN_TEN = 1.6449
NINE_IN_TEN_HEAVY = 1.8595  # of t8; standard table of Student's t, 95 % one-sided

HOLE_LOSS_MM, HOLE_CURVE_MM2 = 0.06, 1.0
"""Undersize of a hole of diameter d: 0.06 + 1.0/d mm (estimate, fitted to printed holes of 3 to 10 mm)."""
SLOT_LOSS_MM = 0.10  # slot and gap: straight edges, so the limit of a large hole (estimate)
FLARE_MM = (
    0.12  # both sides together, from conserved bead area at 0.05 mm of squeeze (mechanics, first layer)
)
SHRINKAGE, SHRINKAGE_SD = 0.004, 0.003  # where the knowledge base has none (estimate)

SD_MM = {"edge": 0.06, "edge of material": 0.04, "offset": 0.07, "offset in material": 0.04,
         "offset along axis": 0.03, "flare": 0.10, "flare of material": 0.05}  # fmt: skip
SD_SCALE = {"scale": 0.002, "scale of axis": 0.002, "scale of pair": 0.001}
"""Prior standard deviations of the effects; estimates."""
INWARD = ("hole", "slot", "gap", "insert")  # features that wide beads make smaller


@dataclass(frozen=True, slots=True)
class Feature:
    """What is measured: kind, axis ("" for none), first layer or above, nominal size in mm."""

    kind: str
    nominal: float
    axis: str = ""
    first_layer: bool = False

    @property
    def words(self) -> str:
        """The feature as people say it."""
        where = f" along {self.axis}" if self.axis else ""
        return f"{self.kind} {self.nominal:g} mm{where}{', first layer' if self.first_layer else ''}"


@dataclass(frozen=True, slots=True)
class Machine:
    """A printer in one log."""

    printer: str
    source: str = OWN


@dataclass(frozen=True, slots=True)
class Measured:
    """`count` measurements of one feature with the same deviation from nominal, mm."""

    machine: Machine
    material: str
    feature: Feature
    deviation: float
    count: float = 1.0


def effects_of(machine: Machine, material: str, feature: Feature) -> dict[Effect, float]:
    """The unknowns that act on a feature, with their coefficients."""
    where = (machine.source, machine.printer)
    outward = -1.0 if feature.kind in INWARD else 1.0
    effects: dict[Effect, float] = {
        ("edge", *where): outward,
        ("edge of material", material): outward,
        ("offset", *where, feature.kind): 1.0,
        ("offset in material", *where, feature.kind, material): 1.0,
        ("scale", *where): feature.nominal,
        ("scale of material", material): feature.nominal,
        ("scale of pair", *where, material): feature.nominal,
    }
    if feature.axis:
        effects[("offset along axis", *where, feature.kind, feature.axis)] = 1.0
        effects[("scale of axis", *where, feature.axis)] = feature.nominal
    if feature.first_layer:
        effects[("flare", *where)] = outward
        effects[("flare of material", *where, material)] = outward
    return effects


def believed_deviation(feature: Feature, shrinkage: float) -> float:
    """Deviation from nominal in mm that is expected before any measurement."""
    deviation = -shrinkage * feature.nominal
    if feature.kind in ("hole", "insert"):
        deviation -= HOLE_LOSS_MM + HOLE_CURVE_MM2 / max(feature.nominal, 1.0)
    elif feature.kind in ("slot", "gap"):
        deviation -= SLOT_LOSS_MM
    if feature.first_layer:
        deviation += -FLARE_MM if feature.kind in INWARD else FLARE_MM
    return deviation


@dataclass(frozen=True, slots=True)
class Believed:
    """Shrinkage of a material and its standard deviation, as shares."""

    shrinkage: float = SHRINKAGE
    sd: float = SHRINKAGE_SD


@dataclass(frozen=True, slots=True)
class Sizes:
    """What is known of the sizes one machine makes in one material."""

    machine: Machine
    material: str
    believed: Mapping[str, Believed]
    place: dict[Effect, int]
    mean: Array
    covariance: Array
    noise_mm: float
    entries: int

    def deviation(self, feature: Feature) -> tuple[float, float]:
        """Mean deviation from nominal of a feature as drawn, and the standard deviation of that mean, mm."""
        picked = self._picked(feature)
        shrinkage = _believed(self.believed, self.material).shrinkage
        mean = believed_deviation(feature, shrinkage) + float(picked @ self.mean)
        return mean, float(np.sqrt(picked @ self.covariance @ picked))

    def tolerance_mm(self, feature: Feature) -> float:
        """Half width that holds the next one printed with 90 %, mm."""
        _, sd = self.deviation(feature)
        return float(np.hypot(NINE_IN_TEN * sd, NINE_IN_TEN_HEAVY * self.noise_mm))

    def drawn_size(self, feature: Feature) -> float:
        """Size to draw, mm, so that the feature comes out at its nominal size."""
        drawn = feature.nominal
        for _ in range(20):
            off, _ = self.deviation(_with_nominal(feature, drawn))
            drawn = max(feature.nominal - off, 0.01)
        return drawn

    def effect(self, level: str, *which: str) -> float:
        """Mean of one unknown beyond what was believed; nought where nothing touches it."""
        index = self.place.get((level, *which))
        return float(self.mean[index]) if index is not None else 0.0

    def scale(self, axis: str = "") -> float:
        """Scale by which lengths come out (0.996: four in a thousand too short)."""
        where = (self.machine.source, self.machine.printer)
        learned = self.effect("scale", *where) + self.effect("scale of material", self.material)
        learned += self.effect("scale of pair", *where, self.material)
        learned += self.effect("scale of axis", *where, axis) if axis else 0.0
        return 1.0 - _believed(self.believed, self.material).shrinkage + learned

    def flare_mm(self) -> float:
        """How much wider the first layer comes out, mm, both sides together."""
        where = (self.machine.source, self.machine.printer)
        return (
            FLARE_MM + self.effect("flare", *where) + self.effect("flare of material", *where, self.material)
        )

    def variance_taken(self, measured: Feature, wanted: Iterable[Feature]) -> float:
        """Expected fall of the summed variance of the `wanted` features by one measurement, mm^2."""
        picked = self._picked(measured)
        along = self.covariance @ picked
        total = picked @ along + _information_scale(self.noise_mm)
        return float(sum((self._picked(feature) @ along) ** 2 for feature in wanted) / total)

    def _picked(self, feature: Feature) -> Array:
        picked = np.zeros(len(self.place))
        for effect, coefficient in effects_of(self.machine, self.material, feature).items():
            picked[self.place[effect]] = coefficient
        return picked


def _with_nominal(feature: Feature, nominal: float) -> Feature:
    return Feature(feature.kind, nominal, feature.axis, feature.first_layer)


def _information_scale(noise: float) -> float:
    """Variance of a normal value that tells as much as one entry."""
    return noise**2 / heavy_tails.INFORMATION


def _believed(believed: Mapping[str, Believed], material: str) -> Believed:
    return believed.get(material, Believed())


def _prior_sd(effect: Effect, believed: Mapping[str, Believed]) -> float:
    level = effect[0]
    if level == "scale of material":
        return _believed(believed, effect[1]).sd
    return SD_MM[level] if level in SD_MM else SD_SCALE[level]


def read_measured(connection: sqlite3.Connection, printer: str, material: str) -> list[Measured]:
    """Counts of measured sizes that bear on this printer or this material."""
    rows = connection.execute(
        "SELECT g.source, g.printer, g.material, s.class, s.nominal_class, s.value_class, sum(s.count) "
        "FROM summary AS s JOIN groups AS g ON g.id = s.group_id WHERE s.topic = 'size' "
        "AND (g.material = ? OR (g.printer = ? AND g.source = 'own')) "
        "GROUP BY g.source, g.printer, g.material, s.class, s.nominal_class, s.value_class",
        (material, printer),
    )
    return [_measured(*tuple(row)) for row in rows]


def _measured(
    source: str, printer: str, material: str, kind: str, nominal: int, deviation: int, count: int
) -> Measured:
    feature, axis, first_layer = kind.split("|")
    return Measured(
        Machine(printer, source),
        material,
        Feature(feature, nominal * NOMINAL_STEP_MM, axis, first_layer == "1"),
        deviation * DEVIATION_STEP_MM,
        float(count),
    )


def sizes_from(
    measured: list[Measured], machine: Machine, material: str, believed: Mapping[str, Believed] | None = None
) -> Sizes:
    """Posterior of all unknowns given the measurements."""
    believed = believed or {}
    table = _table(measured, machine, material, believed)
    own = sum(m.count for m in measured if m.machine == machine and m.material == material)
    mean, covariance, noise = _mixed(table)
    return Sizes(machine, material, believed, table.place, mean, covariance, noise, int(own))


def _every_kind() -> list[Feature]:
    kinds = ("outside", *INWARD)
    return [Feature(k, 1.0, a, first) for k in kinds for a in ("", "x", "y", "z") for first in (False, True)]


@dataclass(frozen=True, slots=True)
class _Table:
    """Designs (one row per distinct feature), and values with the design they belong to."""

    place: dict[Effect, int]
    design: Array
    row: NDArray[np.int64]
    value: Array
    count: Array
    prior_variance: Array


def _table(
    measured: list[Measured], machine: Machine, material: str, believed: Mapping[str, Believed]
) -> _Table:
    keys = list(dict.fromkeys((m.machine, m.material, m.feature) for m in measured))
    effects = [effects_of(*key) for key in keys]
    asked = [effects_of(machine, material, feature) for feature in _every_kind()]
    names = dict.fromkeys(name for some in (*asked, *effects) for name in some)
    place = {name: index for index, name in enumerate(names)}
    design = np.zeros((len(keys), len(place)))
    for row, some in enumerate(effects):
        design[row, [place[name] for name in some]] = list(some.values())
    expected = [believed_deviation(key[2], _believed(believed, key[1]).shrinkage) for key in keys]
    position = {key: index for index, key in enumerate(keys)}
    row_of = np.array([position[(m.machine, m.material, m.feature)] for m in measured], dtype=np.int64)
    deviation = np.array([m.deviation for m in measured], dtype=float)
    value = deviation - np.array(expected, dtype=float)[row_of] if len(measured) else deviation
    count = np.array([m.count for m in measured], dtype=float)
    prior = np.array([_prior_sd(name, believed) for name in place], dtype=float) ** 2
    return _Table(place, design, row_of, value, count, prior)


def _mixed(table: _Table) -> tuple[Array, Array, float]:
    """Mean and covariance over the grid of noise scales, and the mean scale."""
    found = [_at_scale(table, float(scale)) for scale in NOISE_MM]
    score = np.array([evidence for _, _, evidence in found])
    score -= np.log(NOISE_MM / NOISE_BELIEVED_MM) ** 2 / (2 * NOISE_LOG_SD**2)
    share = np.exp(score - score.max())
    share /= share.sum()
    means = np.array([m for m, _, _ in found])
    mean: Array = np.asarray(share @ means)
    between = (means - mean).T * share @ (means - mean)
    within = np.tensordot(share, np.array([c for _, c, _ in found]), axes=1)
    return mean, np.asarray(within + between), float(share @ NOISE_MM)


def _at_scale(table: _Table, noise: float) -> tuple[Array, Array, float]:
    """Mode, covariance there, and log evidence (Laplace) for one scale of the noise."""
    prior = np.diag(1.0 / table.prior_variance)
    mean: Array = np.zeros(len(table.place))
    size = len(table.design)
    for _ in range(ROUNDS):
        off = table.value - (table.design @ mean)[table.row]
        weights = table.count * heavy_tails.weight(off, noise, NOISE_BELIEVED_MM) / noise**2
        total = np.bincount(table.row, weights, size)
        drive = np.bincount(table.row, weights * table.value, size)
        mean = np.asarray(
            np.linalg.solve(prior + table.design.T * total @ table.design, table.design.T @ drive)
        )
    off = table.value - (table.design @ mean)[table.row]
    bend = np.bincount(
        table.row, table.count * heavy_tails.curvature(off, noise, NOISE_BELIEVED_MM) / noise**2, size
    )
    information = prior + table.design.T * np.maximum(bend, 0.0) @ table.design
    fit = float(table.count @ heavy_tails.log_density(off, noise, NOISE_BELIEVED_MM)) - 0.5 * float(
        mean @ prior @ mean
    )
    _, log_determinant = np.linalg.slogdet(information)
    return mean, np.asarray(np.linalg.inv(information)), fit - 0.5 * float(log_determinant)
