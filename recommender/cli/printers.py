"""``printers``: capability classes and the user's own machines."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import typer

from kb.schema import as_mapping
from recommender.cli import app
from recommender.cli.knowledge import JsonOption, OverlayOption, knowledge_with
from recommender.cli.materials import all_values, known, why_not_printable
from recommender.cli.shell import errors_as_messages

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase
    from kb.schema import Printer

group = typer.Typer(invoke_without_command=True)
app.add_typer(group, name="printers")


@group.callback()
def list_command(context: typer.Context, overlay: OverlayOption = None, as_json: JsonOption = False) -> None:
    """List printer classes and your own printers. ``show`` prints one.

    Example: partduty printers show enclosed
    """
    if context.invoked_subcommand is not None:
        return
    with errors_as_messages():
        printers = list(knowledge_with(overlay).printers.values())
    if as_json:
        typer.echo(json.dumps([as_mapping(printer) for printer in printers], indent=2, ensure_ascii=False))
    else:
        typer.echo(list_text(printers))


@group.command("show")
def show_command(key: str, overlay: OverlayOption = None, as_json: JsonOption = False) -> None:
    """Print what one printer can do and which materials it cannot print, and why.

    Example: partduty printers show heated_chamber
    """
    with errors_as_messages():
        knowledge = knowledge_with(overlay)
        printer = known("printer", key, knowledge.printers)
    missing = unprintable(printer, knowledge)
    if as_json:
        record = {**as_mapping(printer), "not_printable": missing}
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False))
    else:
        typer.echo(show_text(printer, missing))


def unprintable(printer: Printer, knowledge: KnowledgeBase) -> dict[str, list[str]]:
    """Materials out of this printer's reach, each with what it would need."""
    reasons = {v.material: why_not_printable(v, printer) for v in all_values(knowledge)}
    return {material: why for material, why in reasons.items() if why}


def list_text(printers: list[Printer]) -> str:
    """The printers as a table of at most 80 columns."""
    from tabulate import tabulate

    rows = [
        (
            p.key,
            " ".join(f"{d:g}" for d in p.nozzle_diameters_mm),
            f"{p.hot_end_limit_c:g}",
            f"{p.bed_limit_c:g}",
            p.enclosure if p.enclosure != "heated" else f"heated {p.chamber_limit_c:g} °C",
            "x".join(f"{s:g}" for s in p.build_volume_mm),
            f"{p.flow_limit_mm3_s:g}",
        )
        for p in printers
    ]
    head = (
        ("printer", "nozzles", "nozzle", "bed", "enclosure", "volume", "flow"),
        ("", "mm", "°C", "°C", "", "mm", "mm3/s"),
    )
    align = ("left", "left", "right", "right", "left", "left", "right")
    table = tabulate([*head, *rows], tablefmt="plain", disable_numparse=True, colalign=align)
    note = (
        "Classes of our own naming; their limits are estimates. Your own machine goes\n"
        "into your overlay folder: printers/mine.yaml with `key: mine`,\n"
        "`base: open_medium` and whatever differs."
    )
    return f"{table}\n\n{note}"


def show_text(printer: Printer, missing: dict[str, list[str]]) -> str:
    """One printer in words."""
    speeds = printer.speeds
    mark = "estimate" if printer.grade == "C" else f"grade {printer.grade}"
    lines = [
        f"{printer.name} ({printer.key}) [{mark}]",
        f"  {printer.description}",
        f"  nozzles             {', '.join(f'{d:g}' for d in printer.nozzle_diameters_mm)} mm"
        f"{', hardened' if printer.hardened_nozzle else ', not hardened'}",
        f"  limits              nozzle {printer.hot_end_limit_c:g} °C, bed {printer.bed_limit_c:g} °C,"
        f" surroundings {printer.chamber_limit_c:g} °C",
        f"  enclosure           {printer.enclosure}",
        f"  feeder              {'on the head' if printer.direct_drive else 'remote: no soft strands'}",
        f"  build volume        {' x '.join(f'{s:g}' for s in printer.build_volume_mm)} mm",
        f"  layer heights       {printer.layer_heights_mm[0]:g} to {printer.layer_heights_mm[1]:g} mm",
        f"  speeds              outer wall {speeds.outer_wall:g}, inner wall {speeds.inner_wall:g}, infill"
        f" {speeds.infill:g},",
        f"                      top and bottom {speeds.top_bottom:g}, travel {speeds.travel:g} mm/s",
        f"  acceleration        {printer.acceleration_mm_s2:g} mm/s2",
        f"  flow limit          {printer.flow_limit_mm3_s:g} mm3/s",
        f"  shortest layer      {printer.min_layer_time_s:g} s",
        f"  running cost        {printer.hourly_cost:g} {printer.currency} per hour",
        f"  sources             {', '.join(printer.sources)}",
    ]
    if printer.note:
        lines.append(f"  note                {printer.note}")
    if missing:
        lines.append("  out of reach:")
        lines += [f"    {material:<10} needs {', '.join(why)}" for material, why in missing.items()]
    return "\n".join(lines)
