"""The knowledge base as it would be without a study: what a held-out study must be predicted from.

The knowledge base and the law of the bond between layers were themselves written with some of these studies
at hand. A study is held out only when they do without it too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from kb.design_values import EngineValues, engine_values_of
from kb.loading import KnowledgeBase
from kb.schema import Fact, Material

# Fold of the coupons -> source keys of the knowledge base that state the same measurements.
SOURCES_OF_FOLD: Mapping[str, frozenset[str]] = {
    "carter2025": frozenset({"carter_2026"}),
    "cope2019": frozenset({"cope_2019"}),
    "valencia_cuenca_abs": frozenset({"abs_infill_table_2016"}),
    "babis2025": frozenset({"babis_2025"}),
    "belei2022": frozenset({"belei_2022"}),
    "tpu_nozzle2025": frozenset({"tpu_printed_2025"}),
    "pei_parts2018": frozenset({"pei_printed_2018"}),
    "pa_cf_raster2023": frozenset({"raster_pa_cf_2023"}),
    "perez2021": frozenset({"perez_2020"}),
    "kuznetsov2018": frozenset({"kuznetsov_2018"}),
    "supplier_a_sheets": frozenset({"supplier_a_sheets"}),
    "supplier_b_sheets": frozenset({"supplier_b_sheets"}),
}
# Materials that entered the knowledge base because of a fold: without it, their base polymer stands for them.
BORN_FROM: Mapping[str, Mapping[str, str]] = {
    "carter2025": {"abs_cf": "abs", "abs_gf": "abs", "asa_cf": "asa", "asa_gf": "asa", "pet_gf": "petg",
                   "pa6_66": "pa6"},
}  # fmt: skip
RATIO_BEFORE = {  # interlayer ratios before any of these measurements (estimates of the knowledge base)
    "": 0.6, "fibre": 0.4,
}  # fmt: skip
RESTORED = "superseded: measure"  # facts set aside for a measurement come back when it is left out


def values_without(folds: frozenset[str], knowledge: KnowledgeBase) -> dict[str, EngineValues]:
    """Engine values of every material with the facts that come from `folds` left out."""
    sources = frozenset[str]().union(*(SOURCES_OF_FOLD.get(fold, frozenset()) for fold in folds))
    born = {key: base for fold in folds for key, base in BORN_FROM.get(fold, {}).items()}
    values = {}
    for key, material in knowledge.materials.items():
        base = born.get(key)
        source = material if base is None else knowledge.materials[base]
        found = engine_values_of(_without(source, sources) if sources else source)
        if base is not None:
            own = engine_values_of(material)
            found = replace(found, material=key, family=own.family, filler=own.filler)
        values[key] = found
    return values


def _without(material: Material, sources: frozenset[str]) -> Material:
    gone = {f.property for f in material.facts if f.source in sources}
    kept = tuple(_restored(f, gone) for f in material.facts if f.source not in sources)
    for name in gone & {"interlayer_ratio"}:
        if not any(f.property == name and not f.set_aside for f in kept):
            kept = (*kept, *_estimate_of(material, name))
    return material._replace(facts=kept)


def _restored(fact: Fact, gone: set[str]) -> Fact:
    back = fact.property in gone and fact.set_aside.startswith(RESTORED)
    return fact._replace(set_aside="") if back else fact


def _estimate_of(material: Material, name: str) -> tuple[Fact, ...]:
    own = next(f for f in material.facts if f.property == name)
    value = RATIO_BEFORE["fibre" if "fibre" in material.filler else ""]
    return (own._replace(low=0.6 * value, typical=value, high=1.3 * value, source="estimate", grade="C",
                    basis="estimate", set_aside=""),)  # fmt: skip
