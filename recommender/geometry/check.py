"""The whole check of a model: read, judge, cut, look through every layer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import manifold3d

from recommender.geometry.crossing import crosses_mostly, crossing_findings
from recommender.geometry.findings import Finding, Severity, most_severe_first, problems_in
from recommender.geometry.layers import Layers, Progress, cut, silent, solid_of
from recommender.geometry.mesh import Mesh
from recommender.geometry.reading import ModelFile, read_model
from recommender.geometry.repair import repair
from recommender.geometry.solid import as_solid
from recommender.geometry.soundness import check_soundness
from recommender.geometry.thin_features import ThinFeatures, thin_features, thin_findings
from recommender.geometry.units_guess import question_of_unit

OVERLAPS = {"mesh.overlapping_bodies", "mesh.nested_bodies"}
BETWEEN_LAYERS_SHARE = 0.02


@dataclass(frozen=True)
class CheckSettings:
    """How the part is to be printed and what may be done to the file; lengths in mm."""

    layer_height: float = 0.2
    line_width: float = 0.45
    nozzle: float = 0.4
    unit: str | None = None
    repair: bool = False
    simplify_mm: float | None = None


@dataclass(frozen=True)
class CheckResult:
    """What the check found.

    Attributes
    ----------
    model : ModelFile
        As read, and repaired where that was asked for.
    settings : CheckSettings
    findings : tuple of Finding
        Most severe first.
    solid : Manifold or None
        The model as a solid, None when it has no clear inside.
    layers : Layers or None
    thin : ThinFeatures or None
        None without layers, and where the skin runs through itself in most of them.
    """

    model: ModelFile
    settings: CheckSettings
    findings: tuple[Finding, ...]
    solid: manifold3d.Manifold | None
    layers: Layers | None
    thin: ThinFeatures | None

    @property
    def fine(self) -> bool:
        """Whether no problem was found."""
        return not problems_in(self.findings)


def check_model(path: Path, settings: CheckSettings, progress: Progress = silent) -> CheckResult:
    """Read a model file and look at it as a careful maker would, layer by layer.

    Raises
    ------
    ModelFileError
        The file cannot be read as a model.
    InputError
        A setting is out of range.
    """
    progress("reading", 0, 1)
    model = read_model(path, settings.unit, settings.simplify_mm)
    findings = [Finding("reading.remark", Severity.NOTE, _sentence(remark)) for remark in model.remarks]
    if question := question_of_unit(model):
        findings.append(question)
    mesh, sound = _judged(model.mesh, settings.repair)
    model, findings = replace(model, mesh=mesh), [*findings, *sound]
    solid = as_solid(mesh)
    if solid is None or solid.volume() <= 0:
        findings.append(_no_layers())
        return CheckResult(model, settings, tuple(most_severe_first(findings)), None, None, None)
    layers = cut(solid_of(mesh), settings.layer_height, progress)
    known_overlap = bool({finding.rule for finding in findings} & OVERLAPS)
    crossing = crossing_findings(mesh, layers, known_overlap)
    findings += crossing
    if crosses_mostly(crossing):
        return CheckResult(model, settings, tuple(most_severe_first(findings)), solid, layers, None)
    thin = thin_features(layers, settings.line_width, progress)
    findings += thin_findings(thin, settings.nozzle)
    if not known_overlap and not crossing:
        findings += _between_layers(layers, solid.volume())
    return CheckResult(model, settings, tuple(most_severe_first(findings)), solid, layers, thin)


def _judged(mesh: Mesh, may_repair: bool) -> tuple[Mesh, list[Finding]]:
    found = check_soundness(mesh)
    if not may_repair or not found:
        return mesh, found
    repaired, done = repair(mesh)
    return (repaired, [*done, *check_soundness(repaired)]) if done else (mesh, found)


def _no_layers() -> Finding:
    return Finding(
        "layers.not_cut",
        Severity.PROBLEM,
        "The layers were not looked at.",
        "Without a clear inside and outside a layer has no outline.",
        "Repair the model first (--repair, or in the drawing).",
    )


def _between_layers(layers: Layers, volume: float) -> list[Finding]:
    difference = layers.volume / volume - 1
    if abs(difference) <= BETWEEN_LAYERS_SHARE:
        return []
    return [
        Finding(
            "layers.coarse",
            Severity.CAUTION,
            f"Layers of {layers.layer_height:g} mm are coarse for this part.",
            f"All layers together hold {100 * difference:+.1f} % of its volume more or less than drawn.",
            "Take thinner layers, or scale the part up.",
        )
    ]


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."
