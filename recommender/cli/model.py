"""``check`` and ``resize``: commands on model files. Heavy imports happen inside the commands."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from recommender.cli import app
from recommender.cli.knowledge import JsonOption, OverlayOption, knowledge_with
from recommender.cli.progress import progress_line
from recommender.cli.shell import errors_as_messages
from recommender.errors import InputError

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase
    from kb.schema import Printer
    from recommender.duty.sheet import Duty
    from recommender.geometry.mesh import Mesh
    from recommender.geometry.part_check import LeverQuestion, PartReport, Plastic
    from recommender.geometry.resizing import Resized, SizeCompensation

DEFAULT_PRINTER = "open_medium"
LINE_OVER_NOZZLE = 1.125  # estimate: 0.45 mm at a nozzle of 0.4 mm
SLENDER_FORMS = ("bar", "beam", "column", "lever", "hook")  # pulled or bent along their longest way

ModelArgument = Annotated[Path, typer.Argument(help="STL, OBJ or 3MF file.", show_default=False)]
LayerHeightOption = Annotated[float, typer.Option(help="Layer height in mm.")]
NozzleOption = Annotated[float | None, typer.Option(help="Nozzle diameter in mm; else the printer's.")]
LineWidthOption = Annotated[
    float | None, typer.Option(help=f"Line width in mm; else {LINE_OVER_NOZZLE:g} times the nozzle.")
]
UnitsOption = Annotated[str | None, typer.Option(help="Unit of the file: mm, cm, m, inch, foot, micron.")]
WallsOption = Annotated[int, typer.Option(min=0, max=50, help="Number of walls.")]
ClosedOption = Annotated[int, typer.Option(min=0, max=100, help="Closed layers above and below.")]
InfillOption = Annotated[float, typer.Option(min=0, max=100, help="Infill in per cent.")]
PrinterOption = Annotated[str | None, typer.Option(help="Printer class or your own printer.")]


def _print(values: Any, text: str, as_json: bool) -> None:
    typer.echo(json.dumps(values, indent=2, allow_nan=False, ensure_ascii=False) if as_json else text)


@app.command("check")
def check_command(
    model: ModelArgument,
    layer_height: LayerHeightOption = 0.2,
    line_width: LineWidthOption = None,
    nozzle: NozzleOption = None,
    units: UnitsOption = None,
    walls: WallsOption = 3,
    closed_layers: ClosedOption = 4,
    infill: InfillOption = 20.0,
    repair: Annotated[bool, typer.Option("--repair", help="Repair what can be repaired safely.")] = False,
    repaired: Annotated[
        Path | None, typer.Option(help="Write the repaired model to this .stl or .3mf file.")
    ] = None,
    simplify: Annotated[
        float | None, typer.Option(min=0.001, help="Let vertices of a huge file move by so many mm.")
    ] = None,
    sheet: Annotated[Path | None, typer.Option(help="Duty sheet whose sizes must agree.")] = None,
    printer: PrinterOption = None,
    orientations: Annotated[int, typer.Option(help="How many orientations to try; 0 for none.")] = 240,
    load: Annotated[str | None, typer.Option(help="Direction of the main pull: x, -z or 1,0,0.5.")] = None,
    section: Annotated[
        str | None,
        typer.Option(help="Strength along an axis: auto, x, -y ...; x=35 for one cut at 35 mm."),
    ] = None,
    force: Annotated[float, typer.Option(min=0.001, help="Force at the free end in N.")] = 10.0,
    push: Annotated[str | None, typer.Option(help="Direction of the force: -z or 0,1,0.")] = None,
    material: Annotated[str | None, typer.Option(help="Plastic, for mass and strength.")] = None,
    pictures: Annotated[Path | None, typer.Option(help="Folder for pictures (SVG).")] = None,
    as_json: JsonOption = False,
    overlay: OverlayOption = None,
) -> None:
    """Look through every layer of MODEL: is it sound, will it print, how should it lie?

    Example: partduty check bracket.stl --load x --section auto --force 40 --material petg

    Exit code: 0 no problem found, 1 problems found, 2 the file or an option is wrong.
    """
    with errors_as_messages():
        from recommender.duty.reading import read_duty
        from recommender.geometry import check_text
        from recommender.geometry.build_estimate import Settings
        from recommender.geometry.check import CheckSettings
        from recommender.geometry.lie import Bed
        from recommender.geometry.model_figures import form_sizes
        from recommender.geometry.part_check import Questions, direction_from, examine
        from recommender.geometry.printed_plastic import machine_from

        knowledge = knowledge_with(overlay)
        duty = None if sheet is None else read_duty(sheet)
        chosen = _printer(printer, duty, knowledge)
        nozzle = _nozzle(nozzle, duty, chosen)
        width = line_width or round(LINE_OVER_NOZZLE * nozzle, 3)
        settings = Settings(layer_height, width, walls, closed_layers, closed_layers, infill / 100)
        questions = Questions(
            check=CheckSettings(layer_height, width, nozzle, units, repair or repaired is not None, simplify),
            settings=settings,
            machine=machine_from(chosen),
            bed=Bed(*chosen.build_volume_mm) if printer or (duty and duty.printer) else None,
            orientations=orientations,
            load=None if load is None else direction_from(load, "--load"),
            load_along_longest=duty is not None and duty.form.kind in SLENDER_FORMS,
            lever=None if section is None else _lever_question(section, force, push),
            plastic=_plastic(material, knowledge, settings),
            form_sizes={} if duty is None else form_sizes(duty.form),
        )
        report = examine(model, questions, progress_line())
        _print(check_text.as_values(report), check_text.as_text(report), as_json)
        if pictures is not None:
            _write_pictures(report, pictures)
        if repaired is not None:
            _write_repaired(report, repaired)
    raise typer.Exit(code=0 if report.check.fine else 1)


def _lever_question(section: str, force: float, push: str | None) -> LeverQuestion:
    from recommender.geometry.part_check import LeverQuestion, direction_from

    axis, equals, place = section.partition("=")
    try:
        position = float(place) if equals else None
    except ValueError:
        raise InputError("--section", f"{place!r} is no place in mm.", "Write x=35.") from None
    return LeverQuestion(
        None if axis == "auto" else direction_from(axis, "--section"),
        position,
        force,
        None if push is None else direction_from(push, "--push"),
    )


def _plastic(material: str | None, knowledge: KnowledgeBase, settings: Any) -> Plastic | None:
    from recommender.geometry.printed_plastic import plastic_from

    return None if material is None else plastic_from(material, knowledge, settings)


def _printer(key: str | None, duty: Duty | None, knowledge: KnowledgeBase) -> Printer:
    key = key or (duty.printer if duty else None) or DEFAULT_PRINTER
    if key not in knowledge.printers:
        known = ", ".join(sorted(knowledge.printers))
        raise InputError("--printer", f"{key!r} is not known.", f"Known: {known}.")
    return knowledge.printers[key]


def _nozzle(given: float | None, duty: Duty | None, printer: Printer) -> float:
    nozzle = given or (duty.nozzle if duty else None) or printer.nozzle_diameters_mm[0]
    if not 0.05 <= nozzle <= 3:
        raise InputError("--nozzle", f"{nozzle:g} mm is no nozzle.", "Use 0.05 to 3 mm.")
    return nozzle


def _write_repaired(report: PartReport, path: Path) -> None:
    """Write the model as it was repaired; not where it is still no solid."""
    from recommender.errors import ModelFileError
    from recommender.geometry.writing import write_model

    if report.check.solid is None:
        raise ModelFileError(str(path), "was not written: the model is still no solid.", "Mend the drawing.")
    write_model(report.check.model.mesh, path)
    typer.echo(f"wrote {path}", err=True)


def _write_pictures(report: PartReport, folder: Path) -> None:
    """Write the worst layers, the sheet of layers and the best orientations; name them on standard error."""
    from recommender.geometry.pictures import pictures_of
    from recommender.geometry.writing import write_whole

    for name, svg in pictures_of(report.check, report.lies).items():
        write_whole(folder / name, svg.encode())
        typer.echo(f"wrote {folder / name}", err=True)


@app.command("resize")
def resize_command(
    model: ModelArgument,
    from_size: Annotated[float | None, typer.Option("--from", help="A measure of the model, mm.")] = None,
    to_sizes: Annotated[
        str | None, typer.Option("--to", help="What that measure is to be: 18, or a family 10,12,14.")
    ] = None,
    factor: Annotated[str | None, typer.Option("--factor", help="Factor instead: 1.2, or 1.2,1.5.")] = None,
    axis: Annotated[str, typer.Option(help="Axes to scale: xyz, or some of them.")] = "xyz",
    layer_height: LayerHeightOption = 0.2,
    line_width: LineWidthOption = None,
    nozzle: NozzleOption = None,
    walls: WallsOption = 3,
    closed_layers: ClosedOption = 4,
    infill: InfillOption = 20.0,
    units: UnitsOption = None,
    printer: PrinterOption = None,
    material: Annotated[str | None, typer.Option(help="Plastic, for the mass.")] = None,
    compensate: Annotated[
        str | None,
        typer.Option(
            help="Measured over nominal size along x,y,z: 0.996,0.997,1; or: learned (from your log)."
        ),
    ] = None,
    write: Annotated[Path | None, typer.Option(help="Folder for the scaled files.")] = None,
    form: Annotated[str, typer.Option("--format", help="3mf (with its unit) or stl.")] = "3mf",
    as_json: JsonOption = False,
    overlay: OverlayOption = None,
) -> None:
    """Scale MODEL, and say what else changes: thin walls, gaps, holes, mass, time, load.

    Example: partduty resize clip.stl --from 14 --to 10,12,14,18,22 --write out

    Exit code: 0 every size prints, 1 some size has features that vanish or close, 2 the input is wrong.
    """
    with errors_as_messages():
        from recommender.geometry import resize_text
        from recommender.geometry.build_estimate import Settings
        from recommender.geometry.lie import Bed
        from recommender.geometry.printed_plastic import machine_from
        from recommender.geometry.reading import read_model
        from recommender.geometry.resizing import family, sizes_asked

        knowledge = knowledge_with(overlay)
        chosen = _printer(printer, None, knowledge)
        width = line_width or round(LINE_OVER_NOZZLE * _nozzle(nozzle, None, chosen), 3)
        settings = Settings(layer_height, width, walls, closed_layers, closed_layers, infill / 100)
        plastic = _plastic(material, knowledge, settings)
        asked = sizes_asked(from_size, to_sizes, factor, axis)
        mesh = read_model(model, units).mesh
        learned = _compensation(compensate, printer, material, knowledge)
        bed = Bed(*chosen.build_volume_mm) if printer else None
        resized = family(mesh, asked, settings, machine_from(chosen), learned, bed, progress_line())
        if write is not None:
            _write_sizes(mesh, resized, write, form)
        text = resize_text.as_text(mesh.name, resized, plastic, learned)
        _print(resize_text.as_values(mesh.name, resized, plastic), text, as_json)
    raise typer.Exit(code=0 if all(size.prints for size in resized) else 1)


def _compensation(
    text: str | None, printer: str | None, material: str | None, knowledge: KnowledgeBase
) -> SizeCompensation:
    from recommender.geometry.resizing import NO_COMPENSATION, SizeCompensation

    if text is None:
        return NO_COMPENSATION
    if text == "learned":
        return _learned_compensation(printer, material, knowledge)
    try:
        x, y, z = (float(part) for part in text.split(","))
    except ValueError:
        raise InputError(
            "--compensate", f"{text!r} is not three numbers.", "Write 0.996,0.997,1 or learned."
        ) from None
    return SizeCompensation((x, y, z), because="given with --compensate")


def _learned_compensation(
    printer: str | None, material: str | None, knowledge: KnowledgeBase
) -> SizeCompensation:
    """What the outcome log and the shrinkage of the plastic say of sizes, as scales and offsets."""
    from contextlib import closing

    from recommender.geometry.resizing import compensation_from
    from recommender.log.learning.lessons import latest_printer
    from recommender.log.learning.size_advice import shrinkage_believed
    from recommender.log.learning.sizes import Feature, Machine, read_measured, sizes_from
    from recommender.log.location import store_path
    from recommender.log.store import errors_explained, open_to_read
    from recommender.suggest import material_key

    if material is None:
        raise InputError("--compensate learned", "needs a plastic.", "Name it with --material, such as petg.")
    path, key, measured = store_path(None), material_key(material, knowledge, "--material"), []
    connection = open_to_read(path)
    if connection is not None:
        with closing(connection), errors_explained(path):
            printer = printer or latest_printer(connection)
            measured = read_measured(connection, printer or DEFAULT_PRINTER, key)
    believed = shrinkage_believed(knowledge, {key, *(item.material for item in measured)})
    sizes = sizes_from(measured, Machine(printer or DEFAULT_PRINTER), key, believed)
    said = f"{sizes.entries} measured sizes" if sizes.entries else "shrinkage only: nothing measured yet"
    return compensation_from(
        lambda kind, nominal, axis: sizes.deviation(Feature(kind, nominal, axis))[0],
        f"learned from {said}" if sizes.entries else said,
    )


def _write_sizes(mesh: Mesh, resized: list[Resized], folder: Path, form: str) -> None:
    """Write every size; all contents are made before the first file appears."""
    from recommender.geometry.resizing import scaled_mesh
    from recommender.geometry.writing import WRITERS, write_whole

    if form not in WRITERS:
        raise InputError("--format", f"{form!r} cannot be written.", f"Use {' or '.join(WRITERS)}.")
    stem = Path(mesh.name).stem
    files = {f"{stem}_{size.label}.{form}": WRITERS[form](scaled_mesh(mesh, size)) for size in resized}
    for name, content in files.items():
        write_whole(folder / name, content)
        typer.echo(f"wrote {folder / name}", err=True)
