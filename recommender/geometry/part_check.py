"""Everything asked of one model at once: soundness, layers, build, orientation, strength along a lever."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.build_estimate import BuildEstimate, Machine, Settings, build_estimate
from recommender.geometry.check import CheckResult, CheckSettings, check_model
from recommender.geometry.findings import most_severe_first
from recommender.geometry.layer_volumes import layer_regions
from recommender.geometry.layers import Layers, Progress, silent
from recommender.geometry.lie import Bed, Lie, rank
from recommender.geometry.mesh import Floats, from_solid
from recommender.geometry.model_figures import disagreements
from recommender.geometry.section import CompositeSection, Stiffness, Torsion, torsion
from recommender.geometry.weakest_section import Force, Lever, Shell, Strengths, cut_across, lever

UP = np.array([0.0, 0.0, 1.0])
AXES = {
    sign + name: (1.0 if sign != "-" else -1.0) * np.eye(3)[k]
    for sign in ("", "+", "-")
    for k, name in enumerate("xyz")
}


@dataclass(frozen=True)
class Plastic:
    """The printed plastic: moduli of skin and core and strengths in MPa, density in g/cm^3."""

    name: str
    stiffness: Stiffness
    strengths: Strengths
    density: float


@dataclass(frozen=True)
class LeverQuestion:
    """How the part is held and pushed.

    Attributes
    ----------
    axis : ndarray of shape (3,), optional
        From the fixed end to the load; None takes the longest way of the box.
    position : float, optional
        mm along the axis: only this cut is looked at.
    force : float
        N.
    push : ndarray of shape (3,), optional
        Direction of the force; None pushes the weaker way across the axis.
    """

    axis: Floats | None = None
    position: float | None = None
    force: float = 10.0
    push: Floats | None = None


@dataclass(frozen=True)
class Questions:
    """All that is asked of a model.

    `orientations` 0 leaves that part out. `load` is the direction of the main pull; without one
    `load_along_longest` takes the longest way of the box, as for a bar, beam, column, lever or hook.
    """

    check: CheckSettings = field(default_factory=CheckSettings)
    settings: Settings = field(default_factory=Settings)
    machine: Machine = field(default_factory=Machine)
    bed: Bed | None = None
    orientations: int = 240
    load: Floats | None = None
    load_along_longest: bool = False
    lever: LeverQuestion | None = None
    plastic: Plastic | None = None
    form_sizes: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class CutAnswer:
    """One cut: where (mm along the axis), the section and its torsional rigidity."""

    position: float
    section: CompositeSection
    torsion: Torsion


@dataclass(frozen=True)
class PartReport:
    """The answers; None where the model has no clear inside or it was not asked."""

    questions: Questions
    check: CheckResult
    estimate: BuildEstimate | None = None
    lies: tuple[Lie, ...] = ()
    lever: Lever | None = None
    cut: CutAnswer | None = None


def examine(path: Path, questions: Questions, progress: Progress = silent) -> PartReport:
    """Answer all questions about a model file.

    Raises
    ------
    ModelFileError
        The file cannot be read as a model.
    InputError
        An option is out of range.
    """
    check = check_model(path, questions.check, progress)
    mesh = check.model.mesh
    differing = disagreements(questions.form_sizes, mesh)
    check = replace(check, findings=tuple(most_severe_first([*check.findings, *differing])))
    if check.solid is None or check.layers is None or check.thin is None:
        return PartReport(questions, check)
    if questions.load is None and questions.load_along_longest:
        questions = replace(questions, load=np.eye(3)[int(np.argmax(mesh.extents))])
    lies = _lies(check, check.solid, questions, progress) if questions.orientations else []
    answer = PartReport(questions, check, _estimate(check.layers, questions), tuple(lies))
    if questions.lever is None:
        return answer
    if questions.plastic is None:
        raise InputError("--section", "needs a plastic.", "Name it with --material, such as petg.")
    return _with_strength(answer, check.solid, questions.lever, questions.plastic, progress)


def _estimate(layers: Layers, questions: Questions) -> BuildEstimate:
    asked = questions.settings
    regions = layer_regions(layers, asked.walls, asked.line_width, asked.top, asked.bottom)
    return build_estimate(regions, asked, questions.machine)


def _lies(
    check: CheckResult, solid: manifold3d.Manifold, questions: Questions, progress: Progress
) -> list[Lie]:
    mesh = check.model.mesh
    return rank(
        mesh if mesh.closed else from_solid(solid, mesh.name),
        solid,
        questions.settings.layer_height,
        questions.orientations,
        questions.load,
        questions.bed,
        progress,
    )


def _with_strength(
    answer: PartReport,
    solid: manifold3d.Manifold,
    asked: LeverQuestion,
    plastic: Plastic,
    progress: Progress,
) -> PartReport:
    box = np.array(solid.bounding_box())
    extents, settings = box[3:] - box[:3], answer.questions.settings
    axis = (
        np.eye(3)[int(np.argmax(extents))] if asked.axis is None else asked.axis / np.linalg.norm(asked.axis)
    )
    shell = Shell(
        settings.walls * settings.line_width, settings.layer_height * (settings.top + settings.bottom) / 2
    )
    if asked.position is not None:
        section = cut_across(solid, axis, asked.position, shell, plastic.stiffness, UP)
        return replace(answer, cut=CutAnswer(asked.position, section, torsion(section)))
    force = _force(axis, asked, box)
    found = lever(solid, axis, force, shell, plastic.stiffness, plastic.strengths, UP, progress=progress)
    return replace(answer, lever=found)


def _force(axis: Floats, asked: LeverQuestion, box: Floats) -> Force:
    """The force at the free end of the part, in the middle of its box across the axis."""
    extents, middle = box[3:] - box[:3], (box[:3] + box[3:]) / 2
    if asked.push is None:
        across = extents + 1e9 * (np.abs(axis) > 0.5)
        push = -np.eye(3)[int(np.argmin(across))]
    else:
        push = asked.push / np.linalg.norm(asked.push)
    at = middle + axis * float(np.abs(axis) @ extents) / 2
    vector = asked.force * push
    return Force(tuple(float(v) for v in vector), tuple(float(v) for v in at))  # type: ignore[arg-type]


def direction_from(text: str, option: str) -> Floats:
    """A direction from ``x``, ``-z`` or ``1,0,0.5``.

    Raises
    ------
    InputError
        It is no direction.
    """
    if text.strip().lower() in AXES:
        return np.asarray(AXES[text.strip().lower()])
    try:
        vector = np.array([float(part) for part in text.split(",")])
    except ValueError:
        vector = np.zeros(0)
    if vector.shape != (3,) or not np.isfinite(vector).all() or not np.linalg.norm(vector) > 0:
        raise InputError(
            option, f"{text!r} is no direction.", "Write x, -z or three numbers such as 1,0,0.5."
        )
    return vector
