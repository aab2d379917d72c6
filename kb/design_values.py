"""Choosing among rival facts: one :class:`~kb.schema.DesignValue` per property, with the reason in words.

The rule, the same for every number:

1. Facts set aside (superseded, wrong, of another process) never count.
2. A printed property comes before a moulded one; the name of the property says which it is.
3. The typical value comes from the most trusted facts that state one: measurements before compilations (a
   range in a review hides how it was tested), A before B, estimates (C) last. A trusted source that gives
   only a narrow range (high at most 1.25 low) stands for its middle; a wide one only bounds the typical value
   of the next: if that lies outside, the middle of the wide range stands (an estimate).
4. Low and high enclose every fact in use, whatever its grade: rivals widen the interval, they do not average
   away.
5. Where nothing gives a spread, a stated coefficient of variation is used (an estimate): SPREADS.

Low and high are meant to bound about nine in ten ordinary prints.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kb.schema import Curve, DesignValue, Fact, Grade, Material

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    from kb.loading import KnowledgeBase

# High over low up to which the middle of a range stands for its typical value; our own convention.
NARROW = 1.25

# Coefficient of variation where no fact gives a spread; estimates, in line with the scatter of coupons.
SPREADS: Mapping[str, float] = {
    "tensile_strength_printed_flat": 0.10,
    "tensile_modulus_printed_flat": 0.08,
    "flexural_strength": 0.10,
    "interlayer_ratio": 0.20,
    "fatigue_fraction": 0.30,
}
DEFAULT_SPREAD = 0.05
NINE_IN_TEN = (
    1.645  # standard deviations between the middle and the bound of the central 90 % of a normal law
)


@dataclass(frozen=True, slots=True)
class EngineValues:
    """All numbers the engine needs of one material; each a DesignValue, or None where nothing is known.

    Strength and modulus are those of a full, flat print loaded along the beads at 23 degC, dry. Factors and
    fractions are relative to those. Curves hold points (degC, low, typical, high) relative to 23 degC.
    """

    material: str
    name: str
    family: str
    filler: str
    crystallinity: str
    density_g_cm3: DesignValue
    strength_mpa: DesignValue
    modulus_mpa: DesignValue
    flexural_strength_mpa: DesignValue | None
    compressive_ratio: DesignValue
    interlayer_ratio: DesignValue
    interlayer_ratio_enclosed: DesignValue
    elongation_percent: DesignValue
    working_strain_once_percent: DesignValue
    working_strain_repeated_percent: DesignValue
    poisson_ratio: DesignValue
    glass_transition_c: DesignValue | None
    heat_deflection_045_c: DesignValue | None
    heat_deflection_180_c: DesignValue | None
    continuous_use_c: DesignValue
    softening_c: DesignValue
    cte_per_k: DesignValue
    cte_build_per_k: DesignValue
    shrinkage_percent: DesignValue
    notch_sensitivity: DesignValue
    impact_notched_kj_m2: DesignValue | None
    price_per_kg: DesignValue
    fatigue_fraction: DesignValue
    fatigue_slope: DesignValue
    sustained_1000_h_23_c: DesignValue
    sustained_1_year_23_c: DesignValue
    sustained_1000_h_40_c: DesignValue
    sustained_1_year_40_c: DesignValue
    conditioned_strength_factor: DesignValue
    conditioned_modulus_factor: DesignValue
    wet_strength_factor: DesignValue
    wet_modulus_factor: DesignValue
    weather_factor_season: DesignValue
    weather_factor_years: DesignValue
    nozzle_temperature_c: DesignValue
    bed_temperature_c: DesignValue
    chamber_need: str
    chamber_temperature_c: DesignValue | None
    abrasive: bool
    soft: bool
    max_flow_mm3_s: DesignValue
    drying_temperature_c: DesignValue
    drying_hours: DesignValue
    warp_tendency: str
    chemical_ratings: Mapping[str, str]
    uv_rating: str
    flame_class: str
    emissions_note: str
    food_base_polymer: str
    food_note: str
    strength_curve: tuple[tuple[float, float, float, float], ...]
    strength_curve_grade: Grade
    modulus_curve: tuple[tuple[float, float, float, float], ...]
    modulus_curve_grade: Grade

    def strength_at(self, temperature_c: ArrayLike, bound: str = "typical") -> NDArray[np.float64]:
        """Fraction of the 23 degC strength left at ``temperature_c`` (any shape).

        Piecewise linear between the points, 0 beyond the hottest one (nothing is known there), and never
        above 1: plastics gain strength in the cold, but they turn brittle too, so no credit is given.
        ``bound`` is low, typical or high.
        """
        import numpy as np

        return np.minimum(_along(self.strength_curve, temperature_c, bound), 1.0)

    def modulus_at(self, temperature_c: ArrayLike, bound: str = "typical") -> NDArray[np.float64]:
        """Fraction of the 23 degC modulus left at ``temperature_c``; 0 beyond the hottest point."""
        return _along(self.modulus_curve, temperature_c, bound)


def _along(
    points: tuple[tuple[float, float, float, float], ...], temperature_c: ArrayLike, bound: str
) -> NDArray[np.float64]:
    import numpy as np

    column = {"low": 1, "typical": 2, "high": 3}[bound]
    at = np.asarray(temperature_c, dtype=float)
    left: NDArray[np.float64] = np.interp(at, [p[0] for p in points], [p[column] for p in points], right=0.0)
    return left


# -- the choice among facts --------------------------------------------------------------------------------


def chosen(material: Material, *properties: str, unit: str = "", scale: float = 1.0) -> DesignValue | None:
    """Design value of the first of ``properties`` on which a fact in use says something; None when none does.

    ``unit`` limits the facts to that unit; the result is multiplied by ``scale``.
    """
    return _chosen(_facts_in_use(material), properties, unit, scale)


def _facts_in_use(material: Material) -> dict[str, list[Fact]]:
    facts: dict[str, list[Fact]] = {}
    for fact in material.facts:
        if not fact.set_aside:
            facts.setdefault(fact.property, []).append(fact)
    return facts


def _chosen(
    facts: Mapping[str, list[Fact]], properties: Sequence[str], unit: str = "", scale: float = 1.0
) -> DesignValue | None:
    for name in properties:
        rivals = [f for f in facts.get(name, ()) if not unit or f.unit == unit]
        if rivals:
            return scaled(combined(name, rivals), scale, "1/K" if scale == 1e-6 else rivals[0].unit)
    return None


def combined(name: str, rivals: Sequence[Fact]) -> DesignValue:
    """One design value from rival facts on the same property, by the rule at the top of this module."""
    low = min(v for f in rivals for v in (f.low, f.typical, f.high) if v is not None)
    high = max(v for f in rivals for v in (f.low, f.typical, f.high) if v is not None)
    typical, grade, because = _typical_of(rivals)
    typical = min(max(typical, low), high)  # a mean may leave its numbers by a rounding error
    if len(rivals) > 1:
        because += f"; low and high enclose all {len(rivals)} rival facts"
    if low == high:
        spread = NINE_IN_TEN * SPREADS.get(name, DEFAULT_SPREAD)
        low, high = sorted((typical * (1 - spread), typical * (1 + spread)))
        because += f"; no source gives a spread, so {spread:.0%} either way is assumed"
    sources = tuple(dict.fromkeys(f.source for f in sorted(rivals, key=lambda f: f.grade)))
    return DesignValue(name, low, typical, high, rivals[0].unit, grade, sources, because)


def _typical_of(rivals: Sequence[Fact]) -> tuple[float, Grade, str]:
    """(typical value, grade, reason)."""
    floor, ceiling = -float("inf"), float("inf")
    bounds: list[Fact] = []
    for rank in sorted({_rank(f) for f in rivals}):
        tier = [f for f in rivals if _rank(f) == rank]
        grade = tier[0].grade
        stated = [f.typical for f in tier if f.typical is not None]
        if stated:
            value = sum(stated) / len(stated)
            because = f"typical value of {_names(tier)} (grade {grade})"
        else:
            both = [(f.low, f.high) for f in tier if f.low is not None and f.high is not None]
            narrow = [(a, b) for a, b in both if b <= NARROW * a] if both else []
            if not narrow:
                bounds += tier
                floor = max([floor, *(f.low for f in tier if f.low is not None)])
                ceiling = min([ceiling, *(f.high for f in tier if f.high is not None)])
                continue
            value = sum(a + b for a, b in narrow) / (2 * len(narrow))
            because = f"middle of the narrow range of {_names(tier)} (grade {grade})"
        if not floor <= value <= ceiling and floor <= ceiling:
            return _drawn_into(value, floor, ceiling, bounds, because)
        return value, grade, because
    known = [v for f in rivals for v in (f.low, f.high) if v is not None]
    worst: Grade = max(f.grade for f in rivals)
    return (min(known) + max(known)) / 2, worst, f"middle of the range of {_names(rivals)} (grade {worst})"


def _drawn_into(
    value: float, floor: float, ceiling: float, bounds: Sequence[Fact], because: str
) -> tuple[float, Grade, str]:
    """A less trusted value outside a trusted range gives way to its middle, or to the one bound there is."""
    if floor > -float("inf") and ceiling < float("inf"):
        middle = (
            f"middle of the wide range of {_names(bounds)}, because {value:g} lies outside it ({because})"
        )
        return (floor + ceiling) / 2, "C", middle
    return min(max(value, floor), ceiling), "C", f"{because}, moved to the bound of {_names(bounds)}"


def _rank(fact: Fact) -> tuple[bool, bool, str]:
    """Order of preference: estimates last, measurements before compilations, then by grade."""
    return (fact.grade == "C", fact.basis != "measured", fact.grade)


def _names(facts: Sequence[Fact]) -> str:
    return ", ".join(dict.fromkeys(f.source for f in facts))


def scaled(value: DesignValue, factor: float, unit: str) -> DesignValue:
    """The value in another ``unit``."""
    if factor == 1.0:
        return value
    return DesignValue(
        value.name,
        value.low * factor,
        value.typical * factor,
        value.high * factor,
        unit,
        value.grade,
        value.sources,
        value.reason,
    )


def _from(
    base: DesignValue, name: str, reason: str, low: float, typical: float, high: float, grade: Grade = "C"
) -> DesignValue:
    """A value derived from ``base`` by an estimate; its sources are kept."""
    return DesignValue(name, low, typical, high, base.unit, grade, base.sources, reason)


# -- one material ------------------------------------------------------------------------------------------

# engine value -> (properties in order of preference, unit, scale to the engine's unit)
DIRECT: Mapping[str, tuple[tuple[str, ...], str, float]] = {
    "density_g_cm3": (("density",), "g/cm3", 1),
    "strength_mpa": (("tensile_strength_printed_flat",), "MPa", 1),
    "modulus_mpa": (("tensile_modulus_printed_flat",), "MPa", 1),
    "compressive_ratio": (("compressive_strength_ratio",), "", 1),
    "interlayer_ratio": (("interlayer_ratio",), "ratio", 1),
    "elongation_percent": (("elongation_at_break_printed_flat",), "%", 1),
    "poisson_ratio": (("poisson_ratio",), "ratio", 1),
    "continuous_use_c": (("continuous_use_temperature",), "degC", 1),
    "cte_per_k": (("thermal_expansion",), "1e-6/K", 1e-6),
    "shrinkage_percent": (("shrinkage",), "%", 1),
    "notch_sensitivity": (("notch_sensitivity",), "ratio", 1),
    "price_per_kg": (("price",), "USD/kg", 1),
    "fatigue_fraction": (("fatigue_fraction",), "ratio", 1),
    "fatigue_slope": (("fatigue_slope",), "1", 1),
    "sustained_1000_h_23_c": (("sustained_fraction_1000_h_23_c",), "ratio", 1),
    "sustained_1_year_23_c": (("sustained_fraction_1_year_23_c",), "ratio", 1),
    "conditioned_strength_factor": (("conditioned_strength_factor",), "ratio", 1),
    "conditioned_modulus_factor": (("conditioned_modulus_factor",), "ratio", 1),
    "wet_strength_factor": (("wet_strength_factor",), "ratio", 1),
    "wet_modulus_factor": (("wet_modulus_factor",), "ratio", 1),
    "weather_factor_season": (("weather_strength_factor_season",), "ratio", 1),
    "weather_factor_years": (("weather_strength_factor_years",), "ratio", 1),
    "nozzle_temperature_c": (("nozzle_temperature",), "degC", 1),
    "bed_temperature_c": (("bed_temperature",), "degC", 1),
    "max_flow_mm3_s": (("maximum_flow",), "mm3/s", 1),
    "drying_temperature_c": (("drying_temperature",), "degC", 1),
    "drying_hours": (("drying_time",), "h", 1),
}
OPTIONAL: Mapping[str, tuple[tuple[str, ...], str, float]] = {
    "flexural_strength_mpa": (("flexural_strength",), "MPa", 1),
    "glass_transition_c": (("glass_transition",), "degC", 1),
    "heat_deflection_045_c": (("deflection_temperature_0_45_mpa",), "degC", 1),
    "heat_deflection_180_c": (("deflection_temperature_1_80_mpa",), "degC", 1),
    "impact_notched_kj_m2": (("impact_notched_charpy",), "kJ/m2", 1),
    "chamber_temperature_c": (("chamber_temperature",), "degC", 1),
}
CLASSES = (
    "chamber_need",
    "abrasive",
    "feeding",
    "warp_tendency",
    "uv_rating",
    "flame_class",
    "food_base_polymer",
)
CHEMICALS = (
    "chemical_water",
    "chemical_alcohol",
    "chemical_oil_fuel",
    "chemical_acetone_ketone",
    "chemical_chlorinated",
    "chemical_weak_acid",
    "chemical_weak_base",
)
WARM_CHAMBER_GAIN = (
    1.0,
    1.1,
    1.25,
)  # estimate: share gained across layers in a warm chamber, no figure of its own
ONE_YEAR_AT_40_C = 0.75  # estimate: one-year fraction at 40 degC over 23 degC where no fact says
YIELD_SHARE, BREAK_SHARE, REPEATED_SHARE = 0.7, 0.5, 0.6  # resin maker's guideline on short-term strain


def missing_values(material: Material) -> list[str]:
    """Properties the engine cannot do without and on which no fact in use says anything."""
    facts = _facts_in_use(material)
    missing = ["/".join(names) for names, unit, _ in DIRECT.values() if _chosen(facts, names, unit) is None]
    missing += [name for name in (*CLASSES, *CHEMICALS, "yield_strain") if name not in facts]
    return missing + [
        name for name in ("relative_strength", "relative_modulus") if curve_of(material, name) is None
    ]


def curve_of(material: Material, property: str) -> Curve | None:
    """The best graded curve in use, or None."""
    curves = [c for c in material.curves if c.property == property and not c.set_aside]
    return min(curves, key=lambda curve: curve.grade) if curves else None


def engine_values(material: Material, knowledge: KnowledgeBase) -> EngineValues:
    """Everything the engine needs of ``material``, made once per knowledge base and kept.

    Raises
    ------
    ValueError
        A property has no fact at all (``partduty kb check`` reports this beforehand).
    """
    kept: dict[str, tuple[Material, EngineValues]] = knowledge.memory.setdefault("engine_values", {})
    if material.key not in kept or kept[material.key][0] is not material:
        prepare = getattr(knowledge.materials, "prepared", None)
        plain = prepare(material) if prepare else None
        kept[material.key] = (
            material,
            engine_values_of(material) if plain is None else values_from_list(plain),
        )
    return kept[material.key][1]


def values_as_list(values: EngineValues) -> list[Any]:
    """Engine values as plain data, in the order of the fields."""
    return [
        [v.name, v.low, v.typical, v.high, v.unit, v.grade, list(v.sources), v.reason]
        if isinstance(v, DesignValue)
        else v
        for v in (getattr(values, name) for name in values.__slots__)
    ]


def values_from_list(plain: Sequence[Any]) -> EngineValues:
    """The reverse of :func:`values_as_list`, after a way through JSON."""
    made: list[Any] = []
    for name, value in zip(EngineValues.__slots__, plain, strict=True):
        if not isinstance(value, list):
            made.append(value)
        elif name.endswith("_curve"):
            made.append(tuple(tuple(point) for point in value))
        else:
            label, low, typical, high, unit, grade, sources, reason = value
            made.append(DesignValue(label, low, typical, high, unit, grade, tuple(sources), reason))
    return EngineValues(*made)


def engine_values_of(material: Material) -> EngineValues:
    """As :func:`engine_values`, without a knowledge base to keep the result in."""
    facts = _facts_in_use(material)
    missing = missing_values(material)
    if missing:
        raise ValueError(f"material {material.key}: no fact in use gives {', '.join(missing)}")
    numbers: dict[str, Any] = {name: _chosen(facts, *how) for name, how in DIRECT.items()}
    numbers |= {name: _chosen(facts, *how) for name, how in OPTIONAL.items()}
    words = {name: _word(facts, name) for name in CLASSES}
    strength, modulus = curve_of(material, "relative_strength"), curve_of(material, "relative_modulus")
    assert strength is not None and modulus is not None  # missing_values has checked
    return EngineValues(
        material=material.key,
        name=material.name,
        family=material.family,
        filler=material.filler,
        crystallinity=material.crystallinity,
        **numbers,
        **_strains(numbers["elongation_percent"], _needed(facts, "yield_strain")),
        interlayer_ratio_enclosed=_enclosed(facts, numbers["interlayer_ratio"], words["chamber_need"]),
        softening_c=_softening(material, facts, numbers),
        cte_build_per_k=_build_expansion(material, facts, numbers["cte_per_k"]),
        **_warm_sustained(facts, numbers),
        chamber_need=words["chamber_need"],
        abrasive=words["abrasive"] == "yes",
        soft=words["feeding"] == "soft",
        warp_tendency=words["warp_tendency"],
        chemical_ratings={name.removeprefix("chemical_"): _word(facts, name) for name in CHEMICALS},
        uv_rating=words["uv_rating"],
        flame_class=words["flame_class"],
        emissions_note=material.text_of("emissions_note") or "",
        food_base_polymer=words["food_base_polymer"],
        food_note=" / ".join(
            text for name in ("food_contact_us", "food_contact_eu") if (text := material.text_of(name))
        ),
        strength_curve=strength.points,
        strength_curve_grade=strength.grade,
        modulus_curve=modulus.points,
        modulus_curve_grade=modulus.grade,
    )


def _needed(facts: Mapping[str, list[Fact]], name: str) -> DesignValue:
    value = _chosen(facts, (name,))
    assert value is not None  # missing_values has checked
    return value


def _word(facts: Mapping[str, list[Fact]], name: str) -> str:
    """Word of the best graded fact; between rivals of one grade the more cautious word."""
    rivals = facts[name]
    best = min(f.grade for f in rivals)
    words = [f.text or "" for f in rivals if f.grade == best]
    cautious = ("P", "L", "G", "required", "helps", "none", "high", "medium", "low", "poor", "fair", "good")
    order = {word: rank for rank, word in enumerate((*cautious, "yes", "no", "soft", "rigid", "HB"))}
    return min(words, key=lambda word: order.get(word, len(order)))


def _strains(elongation: DesignValue, yielding: DesignValue) -> dict[str, DesignValue]:
    """Strain usable once (the lower of 0.7 of yield and 0.5 of break) and repeatedly (times 0.6)."""
    reason = (
        f"lower of {YIELD_SHARE:g} of the yield strain and {BREAK_SHARE:g} of the strain at break "
        "(a resin maker's guideline for short-term strain)"
    )
    low, typical, high = (
        min(YIELD_SHARE * at_yield, BREAK_SHARE * at_break)
        for at_yield, at_break in (
            (yielding.low, elongation.low),
            (yielding.typical, elongation.typical),
            (yielding.high, elongation.high),
        )
    )
    once = _from(elongation, "working_strain_once", reason, low, typical, high)
    again = scaled(once, REPEATED_SHARE, once.unit)
    return {
        "working_strain_once_percent": once,
        "working_strain_repeated_percent": _renamed(
            again, "working_strain_repeated", f"{REPEATED_SHARE:g} for repeats times the "
        ),
    }


def _enclosed(facts: Mapping[str, list[Fact]], open_air: DesignValue, need: str) -> DesignValue:
    """Interlayer ratio in a warm chamber: its own fact, else the open-air one raised where warmth helps."""
    stated = _chosen(facts, ("interlayer_ratio_enclosed",))
    if stated is not None:
        return stated
    if need == "none":
        return _from(
            open_air,
            "interlayer_ratio_enclosed",
            f"as in open air, a chamber is not needed: {open_air.reason}",
            open_air.low,
            open_air.typical,
            open_air.high,
            open_air.grade,
        )
    if need == "required":
        reason = f"the value stands for printing in its chamber: {open_air.reason}"
        return _from(
            open_air, "interlayer_ratio_enclosed", reason, open_air.low, open_air.typical, open_air.high
        )
    low, typical, high = (
        min(value * gain, 1.0)
        for value, gain in zip(
            (open_air.low, open_air.typical, open_air.high), WARM_CHAMBER_GAIN, strict=True
        )
    )
    reason = f"open-air value times {WARM_CHAMBER_GAIN[1]:g}, an estimate of what a warm chamber gains"
    return _from(open_air, "interlayer_ratio_enclosed", reason, low, typical, high)


def _softening(
    material: Material, facts: Mapping[str, list[Fact]], numbers: Mapping[str, Any]
) -> DesignValue:
    """Temperature at which a loaded part gives way.

    Glassy prints: the lower of glass transition and deflection temperature under 0.45 MPa. Semi-crystalline
    prints: deflection temperature under 0.45 MPa; what they lose before it is in their curves (a polyamide
    reads 100 K less under 1.80 MPa). A stated softening temperature wins; without any, the long-use limit.
    """
    stated = _chosen(facts, ("softening_temperature",))
    if stated is not None:
        return stated
    glass, light = numbers["glass_transition_c"], numbers["heat_deflection_045_c"]
    if material.crystallinity == "semi-crystalline" and light is not None:
        return _renamed(light, "softening", "deflection temperature under 0.45 MPa: ")
    if material.crystallinity in ("amorphous", "slow-crystallising"):
        known = [value for value in (glass, light) if value is not None]
        if known:
            lower = min(known, key=lambda value: value.typical)
            what = "glass transition" if lower is glass else "deflection temperature under 0.45 MPa"
            return _renamed(lower, "softening", f"{what}, the lower of the two: ")
    use: DesignValue = numbers["continuous_use_c"]
    return _renamed(
        use, "softening", "no deflection temperature is known, so the long-use limit stands in: ", "C"
    )


def _renamed(value: DesignValue, name: str, prefix: str, grade: Grade | None = None) -> DesignValue:
    return DesignValue(
        name,
        value.low,
        value.typical,
        value.high,
        value.unit,
        grade or value.grade,
        value.sources,
        prefix + value.reason,
    )


def _build_expansion(
    material: Material, facts: Mapping[str, list[Fact]], in_plane: DesignValue
) -> DesignValue:
    """Thermal expansion in the build direction; fibre keeps only the plane still."""
    stated = _chosen(facts, ("thermal_expansion_build",), "1e-6/K", 1e-6)
    if stated is not None:
        return stated
    if not material.filler:
        return _renamed(in_plane, "thermal_expansion_build", "as in the plane, no fibre: ")
    reason = "fibre lies in the plane; printed fibre polyamide expands eleven times more upwards (faust_2021)"
    low, typical, high = (in_plane.typical * ratio for ratio in (2.0, 5.0, 11.0))
    return _from(in_plane, "thermal_expansion_build", reason, low, typical, high)


def _warm_sustained(facts: Mapping[str, list[Fact]], numbers: Mapping[str, Any]) -> dict[str, DesignValue]:
    """Fractions carried at 40 degC: stated, else scaled from 23 degC (estimates)."""
    cool: DesignValue = numbers["sustained_1_year_23_c"]
    year = _chosen(facts, ("sustained_fraction_1_year_40_c",)) or _from(
        cool,
        "sustained_fraction_1_year_40_c",
        f"value at 23 degC times {ONE_YEAR_AT_40_C:g}, an estimate",
        cool.low * ONE_YEAR_AT_40_C,
        cool.typical * ONE_YEAR_AT_40_C,
        cool.high * ONE_YEAR_AT_40_C,
    )
    hours: DesignValue = numbers["sustained_1000_h_23_c"]
    ratio = min(year.typical / cool.typical, 1.0)
    stated = _chosen(facts, ("sustained_fraction_1000_h_40_c",)) or _from(
        hours,
        "sustained_fraction_1000_h_40_c",
        f"value at 23 degC times {ratio:.2f}, the drop of the one-year value (an estimate)",
        hours.low * ratio,
        hours.typical * ratio,
        hours.high * ratio,
    )
    return {"sustained_1_year_40_c": year, "sustained_1000_h_40_c": stated}
