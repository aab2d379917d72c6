"""``suggest`` and ``assess``: the main job."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.cli import app
from recommender.cli.shell import errors_as_messages

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase
    from recommender.answer import Answer
    from recommender.duty.sheet import Duty
    from recommender.geometry.model_figures import ModelFigures
    from recommender.learned import Learned

SheetArgument = Annotated[Path, typer.Argument(help="Duty sheet (YAML or JSON).", show_default=False)]
JsonOption = Annotated[bool, typer.Option("--json", help="Machine-readable output.")]
ExplainOption = Annotated[bool, typer.Option("--explain", help="Every figure with its source.")]
OverlayOption = Annotated[
    Path | None,
    typer.Option("--overlay", envvar="PARTDUTY_OVERLAY", help="Folder with your own spools and printers."),
]


ModelOption = Annotated[
    Path | None,
    typer.Option("--model", help="Model file (STL, OBJ, 3MF): its volumes replace the form's own box."),
]


@app.command("suggest")
def suggest_command(
    sheet: SheetArgument,
    top: Annotated[int, typer.Option(min=1, max=20, help="How many alternatives to show.")] = 3,
    as_json: JsonOption = False,
    explain: ExplainOption = False,
    overlay: OverlayOption = None,
    model: ModelOption = None,
) -> None:
    """Suggest material, orientation and settings for the duty in SHEET, and say why.

    Example: partduty suggest datasets/examples/shed_shelf_bracket.yaml

    Exit code: 0 answered, 1 nothing suitable or refused, 2 the input is wrong.
    """
    with errors_as_messages():
        from kb.loading import load_knowledge_base
        from recommender.duty.reading import read_duty
        from recommender.suggest import suggest

        duty, knowledge = read_duty(sheet), load_knowledge_base(overlay)
        learned = _learned(duty, knowledge)
        figures, remarks = _figures(model, duty)
        answer = suggest(duty, knowledge, learned, top=top, figures=figures)
        _show(answer._replace(assumptions=(*remarks, *answer.assumptions)), as_json, explain)


@app.command("assess")
def assess_command(
    sheet: SheetArgument,
    settings: Annotated[
        list[str] | None,
        typer.Option("--set", help="A setting you have, such as walls=4; may be given again."),
    ] = None,
    as_json: JsonOption = False,
    explain: ExplainOption = False,
    overlay: OverlayOption = None,
    model: ModelOption = None,
) -> None:
    """Tell what the settings you already have would bear under the duty in SHEET.

    Example: partduty assess bar.yaml --set material=petg --set walls=4 --set infill_percent=35

    Exit code: 0 it bears the duty, 1 it does not or the use is refused, 2 the input is wrong.
    """
    with errors_as_messages():
        from kb.loading import load_knowledge_base
        from recommender.duty.reading import read_duty
        from recommender.suggest import assess

        given, duty = _settings_from(settings or []), read_duty(sheet)
        knowledge = load_knowledge_base(overlay)
        learned = _learned(duty, knowledge)
        figures, remarks = _figures(model, duty)
        answer = assess(duty, given, knowledge, learned, figures)
        _show(answer._replace(assumptions=(*remarks, *answer.assumptions)), as_json, explain)


def _learned(duty: Duty, knowledge: KnowledgeBase) -> Learned:
    """What the log teaches for this duty; where there is no log the database library is not even loaded."""
    from recommender.learned import NOTHING_LEARNED
    from recommender.log.location import store_path

    if not os.path.lexists(store_path()):
        return NOTHING_LEARNED
    from recommender.log.learning.lessons import learned_for
    from recommender.suggest import DEFAULT_PRINTER

    return learned_for(duty, knowledge.materials, printer=DEFAULT_PRINTER)


def _figures(model: Path | None, duty: Duty) -> tuple[ModelFigures | None, tuple[str, ...]]:
    """Figures of the model file, and where its sizes are not those of the duty sheet."""
    if model is None:
        return None, ()
    from recommender.geometry.model_figures import disagreements, form_sizes, model_figures
    from recommender.geometry.reading import read_model

    mesh = read_model(model).mesh
    found = disagreements(form_sizes(duty.form), mesh)
    remarks = tuple(f"Model and sheet differ: {f.summary} {f.because}".strip() for f in found)
    return model_figures(mesh), (f"Volumes, mass and time are those of {model.name}.", *remarks)


def _settings_from(texts: list[str]) -> dict[str, object]:
    from recommender.errors import InputError

    given: dict[str, object] = {}
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals or not value.strip():
            raise InputError(f"--set {text}", "this is not name=value.", "Write --set walls=4.")
        if name.strip() in given:
            raise InputError(f"--set {text}", f"{name.strip()!r} is given twice.", "Keep one of the two.")
        given[name.strip()] = value.strip()
    return given


def _show(answer: Answer, as_json: bool, explain: bool) -> None:
    if as_json:
        from recommender.report import as_json as json_report

        typer.echo(json_report.as_json(answer))
    else:
        from recommender.report import as_text as text_report

        typer.echo(text_report.as_text(answer, explain))
    raise typer.Exit(code=0 if answer.verdict == "suitable" else 1)
