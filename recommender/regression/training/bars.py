"""What the mechanics alone say of every measured bar, with settings that a source left out integrated over.

Each bar becomes a duty sheet of its own (a pulled, bent or pushed rectangle) and runs through the engine's
own limit states. What the source does not tell is an axis of the candidate grid: the figure is the weighted
mean of the logarithm over it, and its standard deviation goes into the interval.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.design_values import EngineValues
from kb.loading import KnowledgeBase
from recommender.candidates import Space
from recommender.duty.reading import duty_from
from recommender.duty.sheet import Duty
from recommender.evaluation import Problem, block_of, cases_of, state_results
from recommender.learned import NOTHING_LEARNED
from recommender.limit_states.form_model import Block
from recommender.limit_states.members import MEMBER
from recommender.regression.coupons import Coupons
from recommender.section.core import core_lift
from recommender.section.printed import PrintedSection, bending_reserve

Array = NDArray[np.float64]

# What people print when a paper is silent (estimates): value and weight. Nearly all strength studies print
# solid bars; where a load direction is stated the bar was made to test the plastic, so it is taken as solid.
WALLS_PRIOR = {1.0: 0.1, 2.0: 0.4, 3.0: 0.3, 4.0: 0.2}
SKIN_MM_PRIOR = {0.6: 0.25, 0.8: 0.5, 1.2: 0.25}
INFILL_PRIOR = {100.0: 0.85, 50.0: 0.10, 20.0: 0.05}
LOW_INFILL_PRIOR = {10.0: 0.3, 20.0: 0.5, 40.0: 0.2}
USUAL_LAYER_MM, USUAL_NOZZLE_MM = 0.2, 0.4
WIDTH_OVER_NOZZLE = 1.1
PATTERN_OF = {
    "": "grid", "cross": "lines", "rectilinear": "lines", "lines": "lines", "grid": "grid",
    "honeycomb": "honeycomb", "triangles": "triangles", "gyroid": "gyroid", "concentric": "concentric",
    "line": "lines", "triangle": "triangles", "tri_hexagon": "triangles", "cubic": "cubic", "octagonal": "concentric",
}  # fmt: skip

# Sections that a source does not give: ISO 527 type 1B and ISO 178 bars, an ASTM D695 block.
USUAL_SECTION = {"tension": (10.0, 4.0), "bending": (10.0, 4.0), "compression": (12.7, 12.7)}
SECTION_OF_STUDY = {"valencia_cuenca_abs": (10.0, 6.0)}  # body 150 x 20 x 6 mm: waist of half the width
LOW_INFILL_STUDIES = {"shell_texture_matplast"}  # its note: infill low, value not seen
UNNAMED_ANGLE_STUDIES = {"graphene_rsm2025"}  # a printing angle, but of the part or of the lines is not said

# Material of the tables -> material of the knowledge base, by polymer and filler class. Those missing here
# have no entry in the knowledge base and are not predicted.
MATERIAL_OF = {
    ("PLA", "none"): "pla", ("PLA", "carbon_fibre"): "pla_cf", ("PLA", "graphene"): "pla", ("PLA", "wood"): "pla",
    ("PETG", "none"): "petg", ("PETG", "carbon_fibre"): "petg_cf", ("ABS", "none"): "abs",
    ("ABS", "glass_fibre"): "abs_gf", ("ABS", "carbon_fibre"): "abs_cf", ("ASA", "none"): "asa",
    ("ASA", "glass_fibre"): "asa_gf", ("ASA", "carbon_fibre"): "asa_cf", ("PA", "none"): "pa6_66",
    ("PA66_PA6", "none"): "pa6_66", ("PA", "carbon_fibre"): "pa6_cf", ("PA6", "none"): "pa6",
    ("PA6", "carbon_fibre"): "pa6_cf", ("PA6", "glass_fibre"): "pa6_gf", ("PA12", "none"): "pa12",
    ("PA12", "carbon_fibre"): "pa12_cf", ("PET", "carbon_fibre"): "pet_cf", ("PET", "glass_fibre"): "pet_gf",
    ("PC", "none"): "pc", ("PEI", "none"): "pei", ("PEEK", "none"): "peek", ("PP", "none"): "pp",
    ("TPU", "none"): "tpu_95a", ("HIPS", "none"): "hips",
}  # fmt: skip

TEST_OF = {
    "tension": "tension", "bending_3_point": "bending", "bending_4_point": "bending", "compression": "compression",
}  # fmt: skip
BEAM_SLENDERNESS = 16.0  # span over thickness of ISO 178 and ASTM D790
BLOCK_SLENDERNESS = 2.0  # height over width of a compression block


@dataclass(frozen=True, slots=True)
class Bars:
    """What the mechanics say of the rows of the tables that they can say something of; one element per row.

    `index` is the row's number in the table, `log_mechanics` the mean logarithm of the nominal stress (MPa)
    at failure, `settings_log_sd` its standard deviation from what the source left out. `section_known` tells whether the
    source states the infill (or the section is a tube, all wall), `silent` that it states neither the infill nor that
    the bar was made to test one direction. The rest are the inputs of the regression: whether the load is across the layers, kind of test, layer height over nozzle,
    the section's skin fraction, core lift and reserve in bending (see prediction.py).
    """

    index: NDArray[np.int64]
    material: NDArray[np.str_]
    test: NDArray[np.str_]
    across: NDArray[np.bool_]
    section_known: NDArray[np.bool_]
    silent: NDArray[np.bool_]
    log_mechanics: Array
    settings_log_sd: Array
    layer_over_nozzle: Array
    skin_fraction: Array
    core_lift: Array
    bending_reserve: Array

    def __len__(self) -> int:
        return len(self.index)

    def where(self, keep: NDArray[Any]) -> Bars:
        """The bars for which `keep` (a mask or numbers) holds."""
        return Bars(**{f.name: getattr(self, f.name)[keep] for f in fields(self)})


def bars_of(coupons: Coupons, knowledge: KnowledgeBase, values: Mapping[str, EngineValues]) -> Bars:
    """The mechanics' figure for every row whose material the knowledge base holds."""
    found = [
        (i, row, key)
        for i, row in enumerate(coupons.rows())
        if (key := material_of(row)) in values and row["test"] in TEST_OF
    ]
    figures = [_figure(row, key, knowledge, values[key]) for _, row, key in found]
    columns = {name: np.array([figure[name] for figure in figures]) for name in figures[0]}
    return Bars(index=np.array([i for i, _, _ in found]), **columns)


def material_of(row: Mapping[str, Any]) -> str:
    """Key of the row's material in the knowledge base, or "" where there is none."""
    if row["spool"] == "shore_70a":
        return "tpu_85a"
    return MATERIAL_OF.get((row["material"], row["filler"]), "")


def is_across(row: Mapping[str, Any]) -> bool:
    """Whether the layers are pulled apart; a bar of unknown orientation is taken to lie flat."""
    return bool(row["load_direction"] == "across" or row["orientation"] == "upright")


def _figure(
    row: Mapping[str, Any], material: str, knowledge: KnowledgeBase, values: EngineValues
) -> dict[str, Any]:
    test, across = TEST_OF[row["test"]], is_across(row)
    orientations = _orientations(row, test, across)
    space, weights = _space(row, material, knowledge)
    parts = [_through_engine(row, test, o, space, knowledge, values) for o in orientations]
    means = [_moments(part["log_stress"], weights) for part in parts]
    log_mean = float(np.mean([m for m, _ in means]))
    spread = float(np.sqrt(np.mean([v + (m - log_mean) ** 2 for m, v in means])))
    drier, water_sd = _water(row, values)
    features = {
        name: float(np.mean([_moments(part[name], weights)[0] for part in parts]))
        for name in ("skin_fraction", "core_lift", "bending_reserve")
    }
    return {
        "material": material,
        "test": test,
        "across": across,
        "section_known": bool(np.isfinite(row["infill_percent"]) or row["section_shape"] == "tube"),
        "silent": bool(np.isnan(row["infill_percent"]) and row["load_direction"] == ""),
        "log_mechanics": log_mean + drier,
        "settings_log_sd": float(np.hypot(spread, water_sd)),
        "layer_over_nozzle": float(space.layer_height_mm[0] / space.nozzle_mm),
        **features,
    }


def _water(row: Mapping[str, Any], values: EngineValues) -> tuple[float, float]:
    """Logarithm of what the bar bears over one kept in room air, and its standard deviation.

    Where a source is silent the bar may be as dry as it left the printer or in balance with the room: even chances.
    """
    left = min(values.conditioned_strength_factor.typical, 1.0)
    told = row["moisture"]
    dry = 0.0 if "conditioned" in told else 1.0 if "dry" in told else 0.5
    return -dry * float(np.log(left)), 0.5 * abs(float(np.log(left))) if dry == 0.5 else 0.0


def _moments(values: Array, weights: Array) -> tuple[float, float]:
    full = np.broadcast_to(values, weights.shape)
    mean = float(np.sum(full * weights))
    return mean, float(np.sum((full - mean) ** 2 * weights))


def _orientations(row: Mapping[str, Any], test: str, across: bool) -> tuple[str, ...]:
    if across:
        return ("upright",)
    if row["orientation"]:
        return (str(row["orientation"]),)
    unnamed = test == "compression" or row["study"] in UNNAMED_ANGLE_STUDIES
    return ("flat", "upright") if unnamed else ("flat",)


def _space(row: Mapping[str, Any], material: str, knowledge: KnowledgeBase) -> tuple[Space, Array]:
    """The grid of what the row may have been printed with, and the weight of every element."""
    nozzle = _or(row["nozzle_mm"], USUAL_NOZZLE_MM)
    layer = _or(row["layer_height_mm"], USUAL_LAYER_MM)
    walls = {row["walls"]: 1.0} if row["walls"] > 0 else WALLS_PRIOR
    layers = row["top_bottom_layers"]
    skins = {layers: 1.0} if layers > 0 else {max(round(mm / layer), 1): w for mm, w in SKIN_MM_PRIOR.items()}
    infill = _infill_prior(row)
    space = Space(
        materials=(material,),
        lattices=(knowledge.lattices[PATTERN_OF.get(row["pattern"], "grid")],),
        nozzle_mm=nozzle,
        layer_height_mm=np.array([layer]),
        line_width_mm=np.array([_or(row["line_width_mm"], WIDTH_OVER_NOZZLE * nozzle)]),
        walls=np.array(list(walls)),
        top_layers=np.array(list(skins), dtype=float),
        bottom_layers=np.array(list(skins), dtype=float),
        infill_percent=np.array(list(infill)),
    )
    weights = np.ones(1)
    for name, prior in (("walls", walls), ("skins", skins), ("infill", infill)):
        weights = weights * space.on_axis(name, np.array(list(prior.values())))
    weights = np.broadcast_to(weights, space.shape)
    return space, weights / np.sum(weights)


def _or(value: float, usual: float) -> float:
    return float(value) if np.isfinite(value) else usual


def _infill_prior(row: Mapping[str, Any]) -> dict[float, float]:
    if np.isfinite(row["infill_percent"]):
        return {max(float(row["infill_percent"]), 0.0): 1.0}
    if row["study"] in LOW_INFILL_STUDIES:
        return LOW_INFILL_PRIOR
    return {100.0: 1.0} if row["load_direction"] else INFILL_PRIOR


def _sizes(row: Mapping[str, Any], test: str) -> tuple[float, float]:
    width, thickness = SECTION_OF_STUDY.get(row["study"], USUAL_SECTION[test])
    return _or(row["width_mm"], width), _or(row["thickness_mm"], thickness)


@cache
def sheet_of(test: str, width: float, thickness: float, span: float) -> Duty:
    """Duty sheet of a bar under test: 1 N, moments long, at room temperature; lengths in mm."""
    section = {"shape": "rectangle", "width": f"{width} mm", "thickness": f"{thickness} mm"}
    form: dict[str, Any] = {"kind": "bar", "length": f"{span} mm", "section": section}
    if test == "bending":
        form = {"kind": "beam", "span": f"{span} mm", "support": "simply_supported", "section": section}
    action = {"tension": "pull", "bending": "bend", "compression": "push"}[test]
    load = {"kind": "static", "action": action, "force": "1 N"}
    return duty_from({"part": "bar under test", "form": form, "loads": [load]}, "bar under test")


def nominal_stress(test: str, width: float, thickness: float, span: float) -> float:
    """Stress that a laboratory reports for a force of 1 N, MPa: over the gross section."""
    if test == "bending":
        return 1.5 * span / (width * thickness**2)
    return 1.0 / (width * thickness)


def _through_engine(
    row: Mapping[str, Any],
    test: str,
    orientation: str,
    space: Space,
    knowledge: KnowledgeBase,
    values: EngineValues,
) -> dict[str, Array]:
    width, thickness = _sizes(row, test)
    usual = {"bending": BEAM_SLENDERNESS * thickness, "compression": BLOCK_SLENDERNESS * width}
    span = _or(row["span_mm"], usual.get(test, 80.0))
    duty = sheet_of(test, width, thickness, span)
    problem = Problem(duty, knowledge, knowledge.printers["open_medium"], {values.material: values},
                      23.0, 23.0, NOTHING_LEARNED)  # fmt: skip
    space = replace(space, materials=(values.material,))
    loads = [
        r.multiple for r in state_results(problem, space, orientation) if not r.state.is_limit_on_movement
    ]
    lowest = loads[0]
    for load in loads[1:]:
        lowest = np.minimum(lowest, load)
    block, (case,) = block_of(space, orientation), cases_of(problem, space, orientation)
    section = MEMBER.critical_section(duty.form, case.demand, case.lie, block)
    return {
        "log_stress": np.log(lowest * nominal_stress(test, width, thickness, span)),
        **_features(section, block, block.core_along(case.lie), test),
    }


def _features(section: PrintedSection, block: Block, core: Array, test: str) -> dict[str, Array]:
    share = np.asarray(section.core_area / section.area)
    return {
        "skin_fraction": 1.0 - share,
        "core_lift": core_lift(share, core),
        "bending_reserve": bending_reserve(section, core) if test == "bending" else np.zeros(1),
    }
