"""What to draw so that a size comes out right, which tolerance holds, which clearance fits, what to measure next."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from recommender.log.learning.sizes import NINE_IN_TEN, Believed, Feature, Sizes

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase

FITS: dict[str, tuple[float, float]] = {
    "sliding": (0.10, 0.35),
    "snug": (0.00, 0.15),
    "press": (-0.15, 0.00),
}
"""Free play between a hole and its pin as they come out, mm on the diameter, from least to most; estimates
(grade C) around the shop figures of 0.2 to 0.3 mm for sliding and 0.1 to 0.15 mm for a press fit."""
INSERT_BITE_MM = 0.3  # a hole for a heat-set insert is this much smaller than the insert; estimate
PIN_MM = 8.0
DEFAULTS = (
    Feature("outside", 20.0),
    Feature("outside", 100.0, "x"),
    Feature("hole", 5.0),
    Feature("slot", 14.0),
    Feature("gap", 0.4),
)
TO_MEASURE = (
    Feature("outside", 100.0, "x"), Feature("outside", 100.0, "y"), Feature("outside", 50.0, "z"),
    Feature("outside", 20.0), Feature("hole", 3.0), Feature("hole", 5.0), Feature("hole", 10.0),
    Feature("slot", 14.0), Feature("gap", 0.4), Feature("insert", 5.6),
    Feature("outside", 20.0, "", True), Feature("hole", 5.0, "", True),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Drawn:
    """One size: what comes out when drawn at nominal, what to draw, and the tolerance (90 %) then, mm."""

    feature: Feature
    comes_out: float
    draw: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class Fit:
    """Clearance to draw between hole and pin for one kind of fit, mm, and the chance that it turns out so."""

    name: str
    clearance: float
    chance: float


@dataclass(frozen=True, slots=True)
class NextMeasurement:
    """What to measure next, and by how much it narrows the tolerance of the sizes asked for, mm."""

    feature: Feature
    tolerance_before: float
    tolerance_after: float


@dataclass(frozen=True, slots=True)
class Advice:
    """Everything `partduty sizes` says."""

    printer: str
    material: str
    entries: int
    scale: dict[str, float]
    flare_mm: float
    sizes: tuple[Drawn, ...]
    fits: tuple[Fit, ...]
    next_measurements: tuple[NextMeasurement, ...]


def shrinkage_believed(knowledge: KnowledgeBase, materials: Iterable[str]) -> dict[str, Believed]:
    """Shrinkage of the `materials` from the knowledge base; those it does not know are left out."""
    from kb.design_values import chosen

    found = {}
    for key in materials:
        if key in knowledge.materials:
            value = chosen(knowledge.materials[key], "shrinkage", unit="%")
            if value is not None:
                sd = max(value.high - value.low, 0.2) / (2 * NINE_IN_TEN) / 100
                found[key] = Believed(value.typical / 100, sd)
    return found


def advice_from(sizes: Sizes, features: Sequence[Feature] = DEFAULTS) -> Advice:
    """Advice for these features."""
    return Advice(
        printer=sizes.machine.printer,
        material=sizes.material,
        entries=sizes.entries,
        scale={axis: 1.0 / sizes.scale(axis) for axis in ("x", "y", "z")},
        flare_mm=sizes.flare_mm(),
        sizes=tuple(_drawn(sizes, feature) for feature in features),
        fits=tuple(_fit(sizes, name) for name in FITS),
        next_measurements=_next_measurements(sizes, features),
    )


def _drawn(sizes: Sizes, feature: Feature) -> Drawn:
    wanted = feature
    if feature.kind == "insert":
        wanted = Feature("insert", feature.nominal - INSERT_BITE_MM, feature.axis, feature.first_layer)
    off, _ = sizes.deviation(wanted)
    return Drawn(feature, wanted.nominal + off, sizes.drawn_size(wanted), sizes.tolerance_mm(wanted))


def _fit(sizes: Sizes, name: str) -> Fit:
    """Clearance that brings the play to the middle of its range."""
    hole, pin = Feature("hole", PIN_MM), Feature("outside", PIN_MM)
    least, most = FITS[name]
    play = sizes.deviation(hole)[0] - sizes.deviation(pin)[0]
    half = math.hypot(sizes.tolerance_mm(hole), sizes.tolerance_mm(pin))
    middle = (least + most) / 2
    spread = half / NINE_IN_TEN
    chance = math.erf((most - middle) / spread / math.sqrt(2))
    return Fit(name, middle - play, chance)


def _next_measurements(sizes: Sizes, features: Sequence[Feature]) -> tuple[NextMeasurement, ...]:
    before = sum(sizes.deviation(feature)[1] ** 2 for feature in features)
    taken = [(sizes.variance_taken(candidate, features), candidate) for candidate in TO_MEASURE]
    best = sorted(taken, key=lambda pair: -pair[0])[:3]
    noise = sizes.noise_mm
    return tuple(
        NextMeasurement(
            candidate,
            _tolerance(before, len(features), noise),
            _tolerance(before - fall, len(features), noise),
        )
        for fall, candidate in best
    )


def _tolerance(summed_variance: float, number: int, noise: float) -> float:
    """Tolerance of one size on average, from the summed variance of the means of `number` sizes."""
    variance = max(summed_variance, 0.0) / number
    return math.hypot(NINE_IN_TEN * math.sqrt(variance), 2.1318 * noise)


def as_mapping(advice: Advice) -> dict[str, Any]:
    """`advice` as plain mappings for JSON; lengths in mm."""
    return {
        "printer": advice.printer,
        "material": advice.material,
        "entries": advice.entries,
        "scale_to_apply": advice.scale,
        "first_layer_flare_mm": advice.flare_mm,
        "sizes": [_drawn_mapping(drawn) for drawn in advice.sizes],
        "fits": [{"fit": f.name, "clearance_mm": f.clearance, "chance": f.chance} for f in advice.fits],
        "measure_next": [_next_mapping(following) for following in advice.next_measurements],
    }


def _drawn_mapping(drawn: Drawn) -> dict[str, Any]:
    return {
        "feature": drawn.feature.kind,
        "axis": drawn.feature.axis,
        "nominal_mm": drawn.feature.nominal,
        "comes_out_mm": drawn.comes_out,
        "draw_mm": drawn.draw,
        "tolerance_mm": drawn.tolerance,
    }


def _next_mapping(following: NextMeasurement) -> dict[str, Any]:
    return {
        "what": following.feature.words,
        "tolerance_before_mm": following.tolerance_before,
        "tolerance_after_mm": following.tolerance_after,
    }


MEANINGS: Mapping[str, str] = {
    "sliding": "moves freely",
    "snug": "goes in by hand, no play to feel",
    "press": "goes in by force and stays",
}


def as_text(advice: Advice) -> str:
    """`advice` in plain words, at most 80 columns."""
    from tabulate import tabulate

    source = f"from {advice.entries} measured sizes" if advice.entries else "estimate: nothing measured yet"
    sizes = [
        [d.feature.words, f"{d.comes_out:.2f}", f"{d.draw:.2f}", f"± {d.tolerance:.2f}"] for d in advice.sizes
    ]
    fits = [[f.name, MEANINGS[f.name], f"{f.clearance:.2f}", f"{f.chance:.0%}"] for f in advice.fits]
    scales = ", ".join(f"{axis} {100 * value:.2f} %" for axis, value in advice.scale.items())
    best = advice.next_measurements[0]
    return "\n".join(
        [
            f"{advice.material} on {advice.printer} ({source}; lengths in mm)",
            "",
            tabulate(sizes, headers=["wanted", "comes out", "draw it", "holds 90 %"], disable_numparse=True),
            "",
            f"Scale that makes lengths right: {scales}.",
            "The drawn sizes above hold scale and offset already; do not apply both.",
            f"The first layer comes out {advice.flare_mm:+.2f} wider; cure it there alone.",
            "",
            f"Clearance to draw between a hole and its pin of {PIN_MM:g} mm:",
            tabulate(
                fits, headers=["fit", "what it does", "clearance", "turns out so"], disable_numparse=True
            ),
            "",
            f"Measure next: {best.feature.words}.",
            "The tolerance of the sizes above then falls on average from "
            f"± {best.tolerance_before:.3f} to ± {best.tolerance_after:.3f}.",
        ]
    )
