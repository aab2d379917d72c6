"""What the knowledge base may contain: the shapes of its records and the words and units they may use.

Records are plain frozen classes, cheap to make; the strict checks live in :mod:`kb.validation` and run when
the files are compiled, not each time they are used.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal, NamedTuple

Grade = Literal["A", "B", "C"]
Basis = Literal["measured", "compiled", "predicted", "estimate"]

GRADES: Mapping[str, str] = {
    "A": "seen in a paper, standard, regulation or handbook",
    "B": "secondary page, or a textbook figure recalled",
    "C": "own engineering estimate",
}
BASES: tuple[str, ...] = ("measured", "compiled", "predicted", "estimate")
CRYSTALLINITIES: tuple[str, ...] = ("amorphous", "slow-crystallising", "semi-crystalline", "elastomer")
ENCLOSURES: tuple[str, ...] = ("none", "passive", "heated")
RATINGS: Mapping[str, str] = {"G": "good", "L": "limited", "P": "poor"}


class Property(NamedTuple):
    """A property a fact may state: its meaning, the units allowed, and for classes the words allowed.

    ``least`` and ``most`` bound any credible number; they catch slips of the keyboard.
    """

    meaning: str
    units: tuple[str, ...]
    least: float = 0.0
    most: float = float("inf")
    words: tuple[str, ...] = ()

    @property
    def is_text(self) -> bool:
        """Whether a fact on this property is words (``text``, or one of ``words``) instead of numbers."""
        return self.units in (("text",), ("class",))


def _text(meaning: str) -> Property:
    return Property(meaning, ("text",))


def _class(meaning: str, *words: str) -> Property:
    return Property(meaning, ("class",), words=words)


def _number(meaning: str, units: str, least: float = 0.0, most: float = float("inf")) -> Property:
    return Property(meaning, tuple(units.split("|")), least, most)


def _factor(meaning: str, most: float = 1.0) -> Property:
    return Property(meaning, ("ratio",), 0.0, most)


def _rating(against: str) -> Property:
    return _class(f"resistance to {against} at 23 degC, unstressed: G good, L limited, P poor", *RATINGS)


PROPERTIES: Mapping[str, Property] = {
    # strength and stiffness
    "tensile_strength_printed_flat": _number(
        "tensile strength of a flat, full print along the beads", "MPa", 1, 400
    ),
    "tensile_strength_moulded": _number("tensile strength of a moulding", "MPa", 1, 400),
    "tensile_modulus_printed_flat": _number("tensile modulus of a flat, full print", "MPa", 1, 40000),
    "tensile_modulus_moulded": _number("tensile modulus of a moulding", "MPa", 1, 40000),
    "flexural_strength": _number("flexural strength", "MPa", 1, 500),
    "flexural_modulus": _number("flexural modulus", "MPa", 1, 40000),
    "compressive_strength_ratio": _factor("strength in compression over strength in tension", 3),
    "elongation_at_break_printed_flat": _number("strain at break of a flat, full print", "%", 0.05, 1500),
    "elongation_at_break_moulded": _number("strain at break of a moulding", "%", 0.05, 1500),
    "yield_strain": _number("strain at yield, or at break where the material breaks first", "%", 0.1, 500),
    "poisson_ratio": _factor("Poisson's ratio", 0.5),
    "stress_at_100_percent": _number("stress at 100 % strain", "MPa", 0.1, 100),
    "stress_at_300_percent": _number("stress at 300 % strain", "MPa", 0.1, 100),
    "interlayer_ratio": _factor("strength upright over strength flat, ordinary print in open air", 1.2),
    "interlayer_ratio_enclosed": _factor(
        "strength upright over strength flat, printed in a warm chamber", 1.2
    ),
    "interlayer_strength": _number("tensile strength across the layers", "MPa", 0.5, 200),
    "interlayer_note": _text("remark on strength across layers"),
    "print_to_mould_strength_loss": _number("strength lost by printing instead of moulding", "%", 0, 95),
    "storage_modulus_raster_ratio": _factor("storage modulus across the roads over along them"),
    "annealing_strength_gain": _number("strength gained by annealing", "%", -50, 200),
    "annealing_dimension_change": _number("change of size by annealing", "%", -50, 50),
    # toughness
    "impact_notched_charpy": _number("notched Charpy impact strength, 23 degC", "kJ/m2", 0.1, 200),
    "impact_notched_cold": _number("notched impact strength in the cold", "kJ/m2", 0.1, 200),
    "impact_notched_izod": _number("notched Izod impact strength, 23 degC", "J/m|kJ/m2", 0.1, 2000),
    "impact_notched": _number("notched impact strength, method not stated", "kJ/m2", 0.1, 200),
    "toughness_note": _text("remark on toughness"),
    "notch_sensitivity": _factor("q in K_f = 1 + q (K_t - 1)"),
    "hardness_shore_a": _number("Shore hardness, scale A", "Shore A", 1, 100),
    "hardness_shore_d": _number("Shore hardness, scale D", "Shore D", 1, 100),
    # long loads and repeats, as a fraction of the short-term strength
    "sustained_fraction_1000_h_23_c": _factor("load carried for 1000 h at 23 degC"),
    "sustained_fraction_1000_h_40_c": _factor("load carried for 1000 h at 40 degC"),
    "sustained_fraction_1_year_23_c": _factor("load carried for a year at 23 degC"),
    "sustained_fraction_1_year_40_c": _factor("load carried for a year at 40 degC"),
    "creep_note": _text("remark on creep"),
    "fatigue_fraction": _factor("peak stress from zero (R 0) survived 1e6 times"),
    "fatigue_slope": Property("Basquin exponent b in stress ~ cycles^b", ("1",), -1, 0),
    "fatigue_note": _text("remark on fatigue"),
    # temperature
    "glass_transition": _number("glass transition temperature", "degC", -150, 300),
    "glass_transition_wet": _number("glass transition temperature when wet", "degC", -150, 300),
    "melting_point": _number("melting temperature", "degC", 50, 450),
    "cold_crystallisation": _number("cold crystallisation temperature", "degC", 30, 300),
    "deflection_temperature_0_45_mpa": _number("deflection temperature under 0.45 MPa", "degC", 30, 350),
    "deflection_temperature_1_80_mpa": _number("deflection temperature under 1.80 MPa", "degC", 30, 350),
    "deflection_temperature_load_not_stated": _number(
        "deflection temperature, load not stated", "degC", 30, 350
    ),
    "continuous_use_temperature": _number("temperature of long use under light load", "degC", 20, 300),
    "softening_temperature": _number("temperature at which a loaded part gives way", "degC", 30, 350),
    "thermal_expansion": _number("linear thermal expansion in the plane", "1e-6/K", 1, 400),
    "thermal_expansion_build": _number("linear thermal expansion in the build direction", "1e-6/K", 1, 400),
    "thermal_conductivity": _number("thermal conductivity", "W/(m K)", 0.05, 20),
    # water, weather, chemicals, flame
    "water_uptake_24_h": _number("water taken up in 24 h", "%", 0, 15),
    "water_uptake_saturation": _number("water taken up at saturation", "%", 0, 15),
    "water_uptake_50_rh": _number("water taken up in normal room air", "%", 0, 15),
    "moisture_dimension_change": _number("change of size by moisture", "%", 0, 5),
    "wet_strength_factor": _factor("strength saturated with water over dry", 1.2),
    "wet_modulus_factor": _factor("modulus saturated with water over dry", 1.2),
    "conditioned_strength_factor": _factor("strength in room air over dry", 1.2),
    "conditioned_modulus_factor": _factor("modulus in room air over dry", 1.2),
    "weather_strength_factor_season": _factor("strength left after one season outdoors", 1.2),
    "weather_strength_factor_years": _factor("strength left after about five years outdoors", 1.2),
    "uv_retention": _factor("share of strength kept after a stated light exposure", 1.2),
    "uv_rating": _class("standing up to sun and weather", "good", "fair", "poor"),
    "uv_note": _text("remark on sun and weather"),
    "chemical_water": _rating("water"),
    "chemical_alcohol": _rating("alcohols"),
    "chemical_oil_fuel": _rating("oils and fuels"),
    "chemical_acetone_ketone": _rating("acetone and ketones"),
    "chemical_chlorinated": _rating("chlorinated solvents"),
    "chemical_weak_acid": _rating("weak acids"),
    "chemical_weak_base": _rating("weak alkalis"),
    "flame_class": _class("UL 94 class of the unmodified polymer", "HB", "V-2", "V-1", "V-0"),
    "limiting_oxygen_index": _number("limiting oxygen index", "% O2", 10, 100),
    # printing
    "density": _number("density", "g/cm3", 0.5, 3),
    "price": _number("rough retail price", "USD/kg|GBP/kg", 1, 3000),
    "nozzle_temperature": _number("nozzle temperature", "degC", 150, 500),
    "bed_temperature": _number("bed temperature", "degC", 15, 250),
    "bed_adhesion": _text("what the first layer sticks to"),
    "chamber_need": _class("whether warm surroundings are needed", "none", "helps", "required"),
    "chamber_temperature": _number("temperature of the surroundings while printing", "degC", 15, 250),
    "part_cooling": _text("part cooling fan"),
    "maximum_flow": _number("volume of plastic a usual hot end melts", "mm3/s", 0.2, 60),
    "abrasive": _class("whether it wears a brass nozzle", "yes", "no"),
    "feeding": _class("rigid strand, or soft and in need of a direct drive", "rigid", "soft"),
    "drying_temperature": _number("drying temperature", "degC", 30, 200),
    "drying_time": _number("drying time", "h", 0.5, 48),
    "shrinkage": _number("linear shrinkage", "%", 0, 10),
    "warp_tendency": _class("tendency to warp", "low", "medium", "high"),
    # people
    "emissions": _number("substance given off while printing", "ug/min styrene|ug/min caprolactam", 0, 1000),
    "emissions_note": _text("what printing gives off"),
    "food_base_polymer": _class("whether food law lists the base polymer", "listed", "unclear", "no"),
    "food_contact_us": _text("listing of the base polymer in the USA"),
    "food_contact_eu": _text("listing of the base polymer in the EU"),
    "food_migration_limit": _number("specific migration limit", "mg/kg", 0, 100),
    "typical_uses": _text("good uses"),
    "not_for_uses": _text("uses to avoid"),
}

CURVES: Mapping[str, str] = {
    "relative_strength": "tensile strength over its value at 23 degC",
    "relative_modulus": "tensile modulus over its value at 23 degC",
    "relative_modulus_derived": "flexural modulus at the deflection temperature over its value at 23 degC",
}


def as_mapping(record: Any) -> Any:
    """A record as plain mappings and lists, records inside it too, ready for JSON."""
    if hasattr(record, "_fields"):
        return {name: as_mapping(value) for name, value in zip(record._fields, record, strict=True)}
    if isinstance(record, list | tuple):
        return [as_mapping(part) for part in record]
    return record


class Source(NamedTuple):
    """An entry of the bibliography; ``seen`` says what of it was actually read."""

    key: str
    citation: str
    address: str
    kind: str
    seen: str


class Fact(NamedTuple):
    """One statement of one source on one property of one material.

    Numbers in ``unit``; an unknown number is None, never zero. ``set_aside`` is empty for a fact in use and
    otherwise says why it is kept but not used (superseded, wrong, another process).
    """

    property: str
    low: float | None
    typical: float | None
    high: float | None
    text: str | None
    unit: str
    condition: str
    source: str
    grade: Grade
    basis: Basis
    note: str = ""
    set_aside: str = ""


class Curve(NamedTuple):
    """A property against temperature; each point is (degC, low, typical, high) relative to 23 degC."""

    property: str
    points: tuple[tuple[float, float, float, float], ...]
    source: str
    grade: Grade
    basis: Basis
    note: str = ""
    set_aside: str = ""


class Material(NamedTuple):
    """A kind of feedstock with everything that is stated about it, rival statements side by side."""

    key: str
    name: str
    family: str
    filler: str
    crystallinity: str
    description: str
    good_at: str
    fails_by: str
    facts: Sequence[Fact]
    curves: Sequence[Curve]
    base: str = ""
    other_names: tuple[str, ...] = ()

    def facts_of(self, property: str) -> tuple[Fact, ...]:
        """Facts on one property in the order of the file, those set aside included."""
        return tuple(fact for fact in self.facts if fact.property == property)

    def text_of(self, property: str) -> str | None:
        """Words of the best graded fact in use on a property, or None."""
        facts = [f for f in self.facts if f.property == property and f.text and not f.set_aside]
        return min(facts, key=lambda fact: fact.grade).text if facts else None


class DesignValue(NamedTuple):
    """A number to calculate with: low and high bound about nine in ten ordinary prints.

    ``reason`` says in words how it was chosen among rival facts.
    """

    name: str
    low: float
    typical: float
    high: float
    unit: str
    grade: Grade
    sources: tuple[str, ...]
    reason: str

    @property
    def is_estimate(self) -> bool:
        """Whether the typical value is our own engineering estimate and must be shown as one."""
        return self.grade == "C"


class Speeds(NamedTuple):
    """Usual speeds of the head while it lays each kind of road, in mm/s."""

    outer_wall: float
    inner_wall: float
    infill: float
    top_bottom: float
    travel: float


class Printer(NamedTuple):
    """What a class of machine, or one machine of the user's, can do.

    Temperatures in degC, lengths in mm, ``flow_limit_mm3_s`` for the hot end with a 0.4 mm nozzle.
    """

    key: str
    name: str
    description: str
    nozzle_diameters_mm: tuple[float, ...]
    hot_end_limit_c: float
    bed_limit_c: float
    enclosure: str
    chamber_limit_c: float
    hardened_nozzle: bool
    direct_drive: bool
    build_volume_mm: tuple[float, float, float]
    speeds: Speeds
    acceleration_mm_s2: float
    flow_limit_mm3_s: float
    min_layer_time_s: float
    layer_heights_mm: tuple[float, float]
    hourly_cost: float
    currency: str
    sources: tuple[str, ...]
    grade: Grade
    note: str = ""


class PowerLaw(NamedTuple):
    """Relative property ``C rho^n`` of a lattice at relative density rho, for ideal walls."""

    coefficient: float
    exponent: float
    source: str
    grade: Grade
    note: str = ""


class Lattice(NamedTuple):
    """An infill pattern: its stiffness and strength against relative density.

    Each law gives the property of the lattice over the same property of the solid wall; for shear moduli, G
    over E of the solid. ``line_spacing_factor`` k gives the distance of parallel lines,
    spacing = k width / density.
    ``printed_penalty`` (low, typical, high) multiplies the laws for real printed walls.
    """

    key: str
    name: str
    description: str
    modulus_in_plane_weakest: PowerLaw
    modulus_in_plane_along: PowerLaw
    modulus_build: PowerLaw
    shear_modulus_in_plane: PowerLaw
    shear_modulus_out_of_plane: PowerLaw
    strength_in_plane_weakest: PowerLaw
    strength_in_plane_along: PowerLaw
    strength_build: PowerLaw
    shear_strength_out_of_plane: PowerLaw
    line_spacing_factor: float
    line_families: int
    density_range: tuple[float, float]
    printed_penalty: tuple[float, float, float]
    sources: tuple[str, ...]
    note: str = ""


class Column(NamedTuple):
    """What a column of a flat table may hold.

    ``kind``: text, number, whole, flag, texts (a list of words), numbers, any. ``allowed`` limits words.
    """

    kind: str = "text"
    required: bool = False
    allowed: tuple[str, ...] = ()


class TableSchema(NamedTuple):
    """A flat table read from ``kb/<name>.yaml`` and ``kb/<name>/*.yaml``: a list of rows.

    ``key`` names the column that identifies a row. A column called ``source`` or ``sources`` must cite
    keys of the bibliography. ``overlay`` says what the user's folder may do: ``replace`` rows with the same
    key, or
    only ``extend`` (rows that protect people cannot be edited away).
    """

    columns: Mapping[str, Column]
    key: str = "id"
    overlay: str = "replace"
    about: str = ""


def _columns(required: str, optional: str = "", **special: Column) -> dict[str, Column]:
    columns = {name: Column(required=True) for name in required.split()}
    columns |= {name: Column() for name in optional.split()}
    return columns | special


SIGNAL_WORDS: tuple[str, ...] = ("DANGER", "WARNING", "CAUTION", "NOTICE")  # ANSI Z535.4, worst first
_PROVENANCE: dict[str, Column] = {
    "sources": Column("texts", required=True),
    "grade": Column(required=True, allowed=("A", "B", "C")),
}

# One entry per flat table; whoever adds a table adds its schema here.
TABLES: dict[str, TableSchema] = {
    "design_factors": TableSchema(
        _columns(
            "id load_kind consequence requirement reason grade kind",
            factor=Column("number"),
            factor_high=Column("number"),
            sources=Column("texts", required=True),
            grade=Column(required=True, allowed=("A", "B", "C")),
            kind=Column(
                required=True,
                allowed=("anchor", "minimum", "refusal", "modifier", "test", "inspection"),
            ),
        ),
        overlay="extend",
        about="required factors of safety by load kind and consequence",
    ),
    "service_rules": TableSchema(
        _columns(
            "id reason",
            inspection_months=Column("whole", required=True),
            retirement_months=Column("whole", required=True),
            proof_factor=Column("number", required=True),
            proof_hold_min=Column("number", required=True),
            break_samples=Column("whole", required=True),
            sources=Column("texts", required=True),
            grade=Column(required=True, allowed=("A", "B", "C")),
        ),
        about="inspection, retirement and proof by what happens if the part breaks",
    ),
    "emission_classes": TableSchema(
        _columns(
            "id reason",
            level=Column(required=True, allowed=("lower", "high")),
            sources=Column("texts", required=True),
            grade=Column(required=True, allowed=("A", "B", "C")),
        ),
        about="what printing a family of plastics gives off, in two classes",
    ),
    "vocabulary": TableSchema(
        _columns(
            "key meaning home",
            "values_from",
            kind=Column(required=True, allowed=("flag", "number", "word", "words")),
            values=Column("texts"),
            otherwise=Column("any", required=True),
            worse=Column("any"),
        ),
        key="key",
        overlay="extend",
        about="what a trigger of a refusal or caution may name",
    ),
    "gates": TableSchema(
        _columns(
            "key group use trigger hazard result do_this ask next_step",
            "near not_for question",
            if_unknown=Column(required=True, allowed=("refuse", "pass")),
            signal=Column(required=True, allowed=SIGNAL_WORDS),
            **_PROVENANCE,
        ),
        key="key",
        overlay="extend",
        about="uses for which no settings are given",
    ),
    "cautions": TableSchema(
        _columns(
            "key topic trigger hazard result do_this ask",
            "",
            audience=Column(required=True, allowed=("user", "maker", "seller")),
            if_unknown=Column(required=True, allowed=("speak", "silent")),
            signal=Column(required=True, allowed=SIGNAL_WORDS),
            replaces=Column("texts", required=True),
            rank=Column("whole", required=True),
            **_PROVENANCE,
        ),
        key="key",
        overlay="extend",
        about="cautions for whoever prints, sells or uses a part",
    ),
    "danger_words": TableSchema(
        _columns(
            "key",
            "unless",
            kind=Column(required=True, allowed=("danger", "use", "fluid")),
            implies=Column("any", required=True),
            on_models=Column("flag"),
            beside=Column("texts"),
            harmless=Column("texts"),
            en=Column("texts", required=True),
            de=Column("texts"),
            fr=Column("texts"),
            es=Column("texts"),
        ),
        key="key",
        overlay="extend",
        about="words of free text and what they imply",
    ),
    "text_words": TableSchema(
        _columns("key", words=Column("texts", required=True)),
        key="key",
        overlay="extend",
        about="word lists for reading free text",
    ),
    "heat_exposures": TableSchema(
        _columns(
            "key warming group situation conditions",
            "",
            kind=Column(required=True, allowed=("air_level", "air_rise", "surface_rise", "level")),
            colour=Column(required=True, allowed=("any", "light", "dark")),
            value=Column("number", required=True),
            unit=Column(required=True, allowed=("K", "degC")),
            **_PROVENANCE,
        ),
        key="key",
        about="how much hotter than the air a part gets",
    ),
    "emissions": TableSchema(
        _columns("key material quantity value unit conditions", "", **_PROVENANCE),
        key="key",
        about="what printing gives off, as measured",
    ),
    "food_contact": TableSchema(
        _columns("key polymer eu_status us_cfr_21_section conditions", "", **_PROVENANCE),
        key="key",
        about="food law by polymer",
    ),
}
