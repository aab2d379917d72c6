"""``log``: the outcome log. Heavy imports happen inside the commands."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from recommender.cli import app
from recommender.cli.shell import errors_as_messages
from recommender.errors import InputError, PartdutyError

log = typer.Typer(
    name="log",
    help="Outcome log: what was printed and what came of it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
app.add_typer(log)

StoreOption = Annotated[
    Path | None, typer.Option("--store", help="Log file; else PARTDUTY_STORE, else your data folder.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Machine-readable output.")]
OverlayOption = Annotated[
    Path | None,
    typer.Option("--overlay", envvar="PARTDUTY_OVERLAY", help="Folder with your own spools and printers."),
]
ReasonOption = Annotated[str, typer.Option(help="Why; kept in the history.")]
EntryArgument = Annotated[str, typer.Argument(help="Id of a print or an entry; its beginning is enough.")]
Texts = list[str] | None


@contextmanager
def opened(store: Path | None, to_read: bool = False) -> Iterator[sqlite3.Connection]:
    """The log, opened and closed, with errors as messages."""
    from recommender.log.location import store_path
    from recommender.log.store import errors_explained, open_store, open_to_read

    path = store_path(store)
    with errors_as_messages():
        connection = open_to_read(path) if to_read else open_store(path)
        if connection is None:
            raise InputError(
                str(path), "there is no log yet.", "Enter a print with `partduty log print SHEET`."
            )
        with closing(connection), errors_explained(path):
            yield connection


def show(values: Any, text: str, as_json: bool) -> None:
    """Print `text`, or `values` as JSON."""
    typer.echo(json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False) if as_json else text)


@log.command("print")
def print_command(
    sheet: Annotated[Path, typer.Argument(help="Duty sheet the part was printed for.")],
    as_: Annotated[
        str | None, typer.Option("--as", help='"suggested", or the label of an alternative ("fastest").')
    ] = None,
    set_: Annotated[Texts, typer.Option("--set", help="A setting as used: walls=4. May be repeated.")] = None,
    spool: Annotated[str, typer.Option(help="Your name for the spool.")] = "",
    printer: Annotated[str | None, typer.Option(help="Printer, if not the one in the sheet.")] = None,
    note: Annotated[str, typer.Option(help="Any words.")] = "",
    entry_id: Annotated[
        str | None, typer.Option("--id", help="Id to enter it under, for repeatable scripts.")
    ] = None,
    overlay: OverlayOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Enter a print with the settings used and what was predicted for it.

    Example: partduty log print hook.yaml --as suggested --spool "grey 3"
    """
    with errors_as_messages():
        entry = _print_entry(
            sheet, as_, set_ or [], printer, overlay, store, spool=spool, note=note, id=entry_id
        )
    with opened(store) as connection:
        from recommender.log.recording import add_print

        add_print(connection, entry)
    show(
        entry.model_dump(),
        f"Logged print {entry.id}: {entry.part}, {entry.material}.\n"
        f'Next: partduty log observe {entry.id} --time "2 h 20 min" --mass "38 g"',
        as_json,
    )


def _print_entry(
    sheet: Path,
    as_: str | None,
    set_: list[str],
    printer: str | None,
    overlay: Path | None,
    store: Path | None,
    **given: Any,
) -> Any:
    from pydantic import ValidationError

    from kb.loading import load_knowledge_base
    from recommender.duty.reading import duty_from, read_mapping
    from recommender.log.learning.lessons import learned_for
    from recommender.log.prediction import print_from, printer_name
    from recommender.log.records import first_refusal

    if as_ and set_:
        raise InputError("--as", "it cannot be combined with --set.", "Use one of the two.")
    content = read_mapping(sheet)
    if printer is not None:
        content["printer"] = printer
    duty, knowledge = duty_from(content, sheet.name), load_knowledge_base(overlay)
    settings = dict(_setting(text) for text in set_) if set_ else None
    learned = learned_for(duty, knowledge.materials, store, printer_name(duty))
    fields = {name: value for name, value in given.items() if value not in ("", None)}
    try:
        return print_from(duty, content, settings, knowledge, learned, label=as_ or "suggested", **fields)
    except ValidationError as error:
        field, why = first_refusal(error)
        if field == "id":
            raise InputError(
                "--id", f"{why}.", "Correct it, or leave --id out, and a fresh one is made."
            ) from None
        raise InputError(field, f"{why}.", "Shorten or correct it.") from None


def _setting(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise InputError("--set", f"{text!r} is no setting.", "Write it such as walls=4.")
    return name.strip(), value.strip()


@log.command("observe")
def observe_command(
    entry: EntryArgument,
    measured: Annotated[Texts, typer.Option(help='"slot=13.92", "hole 5 = 4.83 along x".')] = None,
    time: Annotated[Texts, typer.Option(help='Print time: "2 h 20 min".')] = None,
    mass: Annotated[Texts, typer.Option(help='"38 g".')] = None,
    event: Annotated[Texts, typer.Option(help='"warped", "strings", "first-time right" ...')] = None,
    held: Annotated[Texts, typer.Option(help='"40 N for 5 min".')] = None,
    broke: Annotated[
        Texts,
        typer.Option(
            help='"210 N, across layers, at the root"; along layers: they came apart; across: cut through.'
        ),
    ] = None,
    service: Annotated[Texts, typer.Option(help='"in use 200 days, hottest 35 °C, still fine".')] = None,
    note: Annotated[Texts, typer.Option(help="Any words.")] = None,
    photo: Annotated[Texts, typer.Option(help="Path of a photo.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Enter what was measured, weighed, tested or seen of a print. Every option may be repeated.

    Example: partduty log observe p7k2 --measured "slot=13.92" --held "40 N for 5 min" --mass "38 g"
    """
    texts = {"measured": measured, "time": time, "mass": mass, "event": event, "held": held, "broke": broke,
             "service": service, "note": note, "photo": photo}  # fmt: skip
    _observe(entry, {name: written for name, written in texts.items() if written}, store, as_json)


def _observe(entry: str, texts: dict[str, list[str]], store: Path | None, as_json: bool) -> None:
    from recommender.log import grammar, recording
    from recommender.log.listing import observation_words

    with opened(store) as connection:
        if not texts:
            raise InputError("log observe", "nothing to enter.", 'Add for example --mass "38 g"; see --help.')
        found = recording.find_print(connection, recording.find_id(connection, entry))
        seen = grammar.observations_from(texts, found)
        recording.add_observations(connection, seen)
    lines = [f"  {item.id}  {observation_words(found, item)}" for item in seen]
    lines += [f"  note: {remark}" for item in seen for remark in grammar.remarks(found, item)]
    text = "\n".join([f"Logged for {found.id} ({found.part}):", *lines])
    show({"print": found.id, "observations": [item.model_dump() for item in seen]}, text, as_json)


QUESTIONS = {
    "event": "How did the print come out? (first-time right, warped, strings, poor adhesion, layer split, "
    "under-extruded, clogged)",
    "time": "How long did it take? (2 h 20 min)",
    "mass": "What does it weigh? (38 g)",
    "measured": "A size you measured? (slot 14 = 13.92)",
    "held": "A load it held? (40 N for 5 min)",
    "broke": "A load it broke at, and how? (210 N, across layers)",
    "service": "How is it in use? (in use 200 days, hottest 35 °C, still fine)",
    "note": "Anything else?",
}


@log.command("ask")
def ask_command(entry: EntryArgument, store: StoreOption = None) -> None:
    """Enter the same by answering short questions; press Enter to leave one out.

    Example: partduty log ask p7k2
    """
    from recommender.log import grammar, recording

    with opened(store, to_read=True) as connection:
        found = recording.find_print(connection, recording.find_id(connection, entry))
    texts: dict[str, list[str]] = {}
    typer.echo(f"{found.part}, {found.material}. Press Enter to leave a question out.")
    for name, question in QUESTIONS.items():
        answer = _asked(name, question, found, grammar)
        if answer:
            texts[name] = [answer]
    if texts:
        _observe(found.id, texts, store, as_json=False)
    else:
        typer.echo("Nothing entered.")


def _asked(name: str, question: str, found: Any, grammar: Any) -> str:
    while True:
        answer: str = typer.prompt(question, default="", show_default=False).strip()
        try:
            if answer:
                grammar.observations_from({name: [answer]}, found)
            return answer
        except PartdutyError as error:
            typer.echo(f"  {error}")


@log.command("list")
def list_command(
    material: Annotated[str | None, typer.Option(help="Only this material.")] = None,
    printer: Annotated[str | None, typer.Option(help="Only this printer.")] = None,
    limit: Annotated[int, typer.Option(min=1, help="How many.")] = 20,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the latest prints.

    Example: partduty log list --material petg
    """
    from recommender.log.listing import list_text, recent_prints

    with opened(store, to_read=True) as connection:
        rows = recent_prints(connection, material, printer, limit)
    show(rows, list_text(rows), as_json)


@log.command("show")
def show_command(entry: EntryArgument, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Show one print: settings, predictions, what was seen, and the history of changes.

    Example: partduty log show p7k2
    """
    from recommender.log import recording
    from recommender.log.listing import shown, shown_text

    with opened(store, to_read=True) as connection:
        found = recording.find_id(connection, entry)
        if found.startswith("o"):
            found = recording.find_observation(connection, found).print_id
        values = shown(connection, found) if as_json else None
        text = "" if as_json else shown_text(connection, found)
    show(values, text, as_json)


@log.command("amend")
def amend_command(
    entry: EntryArgument,
    set_: Annotated[list[str], typer.Option("--set", help="measured_mm=13.92, spool=grey 3 ...")],
    reason: ReasonOption = "",
    store: StoreOption = None,
) -> None:
    """Correct an entry; what stood there before stays in the history.

    Example: partduty log amend o3f8 --set measured_mm=13.92 --reason "typing error"
    """
    from pydantic import ValidationError

    from recommender.log import recording
    from recommender.log.records import first_refusal

    with opened(store) as connection:
        found = recording.find_id(connection, entry)
        try:
            recording.amend(connection, found, dict(_setting(text) for text in set_), reason)
        except ValidationError as error:
            field, why = first_refusal(error)
            raise InputError(field or found, f"{why}.", "Nothing was changed.") from None
    typer.echo(f"Amended {found}; the former values are in `partduty log show`.")


@log.command("void")
def void_command(
    entry: EntryArgument,
    reason: ReasonOption = "",
    undo: Annotated[bool, typer.Option(help="Put a voided entry back.")] = False,
    store: StoreOption = None,
) -> None:
    """Take an entry out of all learning without deleting it; its effect is taken back exactly.

    Example: partduty log void o3f8 --reason "calliper slipped"
    """
    from recommender.log import recording

    with opened(store) as connection:
        found = recording.find_id(connection, entry)
        changed = recording.void(connection, found, reason, restore=undo)
    done = "put back" if undo else "voided"
    typer.echo(f"{found} is {done}." if changed else f"{found} was {done} already; nothing changed.")


@log.command("export")
def export_command(
    target: Annotated[Path, typer.Argument(help="File to write: .json (everything) or .csv (one table).")],
    anonymous: Annotated[bool, typer.Option(help="Leave out free text, paths and names.")] = False,
    force: Annotated[bool, typer.Option(help="Overwrite the file.")] = False,
    store: StoreOption = None,
) -> None:
    """Write the log to a file.

    Example: partduty log export outcomes.csv --anonymous
    """
    from recommender.log import exchange

    with errors_as_messages():
        if target.suffix.lower() not in (".json", ".csv"):
            raise InputError(str(target), "the name must end in .json or .csv.", "Rename the target.")
        if target.exists() and not force:
            raise InputError(str(target), "this file exists.", "Use --force to overwrite it.")
    with opened(store, to_read=True) as connection:
        content = exchange.exported(connection, anonymous)
        is_csv = target.suffix.lower() == ".csv"
        text = exchange.as_csv(content) if is_csv else exchange.as_json(content)
        partial = target.with_name(target.name + ".part")
        partial.write_bytes(text.encode("utf-8"))
        partial.replace(target)
    left = " The history of changes is only in JSON." if is_csv else ""
    typer.echo(f"Wrote {len(content['prints'])} prints and {len(content['observations'])} entries.{left}")


@log.command("import")
def import_command(
    file: Annotated[Path, typer.Argument(help="Log file in JSON or CSV.")],
    source: Annotated[str | None, typer.Option(help="Name for the log it comes from.")] = None,
    mine: Annotated[bool, typer.Option(help="These are my own entries, from another machine.")] = False,
    leave_out_refused: Annotated[bool, typer.Option(help="Take in the rest where some are refused.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take in a log, all of it or nothing; the same file twice changes nothing.

    Example: partduty log import friend.json --source "friend"
    """
    from recommender.log import exchange

    with errors_as_messages():
        intake = exchange.read_log_file(file)
    with opened(store) as connection:
        exchange.take_in(connection, intake, "own" if mine else source, leave_out_refused)
    refused = [{"where": r.where, "field": r.field, "why": r.why} for r in intake.refused]
    values = {"added": intake.added, "already_here": intake.already_here, "refused": refused}
    show(values, _intake_text(intake, leave_out_refused), as_json)
    raise typer.Exit(code=2 if intake.refused and not leave_out_refused else 0)


MOST_SHOWN = 20


def _intake_text(intake: Any, leave_out: bool) -> str:
    lines = [
        f"Taken in: {intake.added}. Already here: {intake.already_here}. Refused: {len(intake.refused)}."
    ]
    lines += [f"  {refusal.where}, {refusal.field}: {refusal.why}" for refusal in intake.refused[:MOST_SHOWN]]
    if len(intake.refused) > MOST_SHOWN:
        lines.append(f"  ... and {len(intake.refused) - MOST_SHOWN} more.")
    if intake.refused and not leave_out:
        lines.append("Nothing was taken in. Correct these, or use --leave-out-refused.")
    return "\n".join(lines)


@log.command("check")
def check_command(
    repair: Annotated[bool, typer.Option(help="Compute the counts that learning reads anew.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Check that the log is sound, and say what to do where it is not. Exit code 1 where a fault is found.

    Example: partduty log check
    """
    from recommender.log import health

    with opened(store, to_read=not repair) as connection:
        repaired = health.repair(connection) if repair else 0
        findings = health.check(connection)
    lines = [f"{finding.problem}.\n  {finding.remedy}" for finding in findings]
    if repair:
        lines.insert(0, f"Put right: {repaired}.")
    if not findings:
        lines.append("The log is sound.")
    show(
        {"findings": [finding.problem for finding in findings], "repaired": repaired},
        "\n".join(lines),
        as_json,
    )
    raise typer.Exit(code=1 if findings else 0)


@log.command("backup")
def backup_command(
    target: Annotated[Path, typer.Argument(help="File to copy the log to.")],
    force: Annotated[bool, typer.Option(help="Overwrite the file.")] = False,
    store: StoreOption = None,
) -> None:
    """Copy the log, also while it is in use.

    Example: partduty log backup outcomes-copy.db
    """
    from recommender.log.store import backup_to

    with errors_as_messages():
        if target.exists() and not force:
            raise InputError(str(target), "this file exists.", "Use --force to overwrite it.")
    with opened(store, to_read=True) as connection:
        backup_to(connection, target)
    typer.echo(f"Copied the log to {target}.")
