"""``learned``, ``sizes`` and ``diagnose``: what the outcome log teaches."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Annotated, Any

import typer

from recommender.cli import app
from recommender.cli.log import EntryArgument, JsonOption, OverlayOption, StoreOption, opened, show
from recommender.cli.shell import errors_as_messages
from recommender.errors import InputError

Lengths = list[str] | None


@app.command("learned")
def learned_command(
    printer: Annotated[str | None, typer.Option(help="Only this printer.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what the log has changed: every factor before and after, and from which entries.

    Example: partduty learned
    """
    from recommender.log.learning import lessons

    with opened(store, to_read=True) as connection:
        found = [
            lesson for topic in lessons.WORDS for lesson in lessons.lessons_of(connection, topic, printer)
        ]
        chances = lessons.chances_of(connection, printer)
    values = {
        "factors": [lessons.as_mapping(lesson) for lesson in found],
        "first_time_right": [lessons.chance_mapping(key, chance) for key, chance in chances.items()],
    }
    show(values, lessons.as_text(found, chances), as_json)


@app.command("sizes")
def sizes_command(
    material: Annotated[str, typer.Option(help="Material, such as petg.")],
    printer: Annotated[str | None, typer.Option(help="Printer; else the one of your latest print.")] = None,
    slot: Annotated[Lengths, typer.Option(help="Slot width wanted: 14.")] = None,
    hole: Annotated[Lengths, typer.Option(help="Hole diameter wanted: 5.")] = None,
    outside: Annotated[Lengths, typer.Option(help="Outside size wanted: 60.")] = None,
    gap: Annotated[Lengths, typer.Option(help="Gap wanted: 0.4.")] = None,
    insert: Annotated[
        Lengths, typer.Option(help="Measured outside diameter of a threaded insert: 5.6.")
    ] = None,
    axis: Annotated[str, typer.Option(help="x, y or z, where it matters.")] = "",
    overlay: OverlayOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Tell what to draw so that sizes come out right on this printer, and what to measure next.

    Example: partduty sizes --printer bench --material petg --slot 14
    """
    from recommender.log.learning import size_advice

    with errors_as_messages():
        wanted = _features(
            {"slot": slot, "hole": hole, "outside": outside, "gap": gap, "insert": insert}, axis
        )
    sizes = _sizes(printer, material, overlay, store)
    advice = size_advice.advice_from(sizes, wanted or size_advice.DEFAULTS)
    show(size_advice.as_mapping(advice), size_advice.as_text(advice), as_json)


def _features(given: dict[str, Lengths], axis: str) -> list[Any]:
    from recommender import quantities
    from recommender.log.learning.sizes import Feature

    if axis not in ("", "x", "y", "z"):
        raise InputError("--axis", f"{axis!r} is no axis.", "Allowed: x, y, z.")
    features = []
    for kind, texts in given.items():
        for text in texts or []:
            with_unit = text if any(letter.isalpha() or letter == '"' for letter in text) else f"{text} mm"
            value = quantities.quantity(with_unit, quantities.LENGTH, f"--{kind}")
            if not 0.05 <= value <= 2000:
                raise InputError(f"--{kind}", f"{value:g} mm is outside 0.05 to 2000 mm.", "Check the unit.")
            features.append(Feature(kind, value, axis))
    return features


def _sizes(printer: str | None, material: str, overlay: Path | None, store: Path | None) -> Any:
    from kb.loading import load_knowledge_base
    from recommender.log.learning.lessons import latest_printer
    from recommender.log.learning.size_advice import shrinkage_believed
    from recommender.log.learning.sizes import Machine, read_measured, sizes_from
    from recommender.log.location import store_path
    from recommender.log.store import errors_explained, open_to_read
    from recommender.suggest import DEFAULT_PRINTER, material_key

    path = store_path(store)
    with errors_as_messages():
        knowledge = load_knowledge_base(overlay)
        key = material_key(material, knowledge, "--material")
        connection = open_to_read(path)
        measured = []
        if connection is not None:
            with closing(connection), errors_explained(path):
                printer = printer or latest_printer(connection)
                measured = read_measured(connection, printer or DEFAULT_PRINTER, key)
    believed = shrinkage_believed(knowledge, {key, *(item.material for item in measured)})
    return sizes_from(measured, Machine(printer or DEFAULT_PRINTER), key, believed)


@app.command("diagnose")
def diagnose_command(entry: EntryArgument, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Tell the most likely cause of a failure and the one thing to change first, with the numbers.

    Example: partduty diagnose p7k2
    """
    from recommender.log import recording
    from recommender.log.learning import diagnosis

    with opened(store, to_read=True) as connection:
        found = recording.find_id(connection, entry)
        if found.startswith("o"):
            found = recording.find_observation(connection, found).print_id
        verdict = diagnosis.diagnosed(connection, found)
    show(diagnosis.as_mapping(verdict), diagnosis.as_text(verdict), as_json)
