"""The answers about a model in words for people (80 columns) and in plain values for machines."""

from __future__ import annotations

import math
import textwrap
from typing import Any

from recommender.geometry.build_estimate import BuildEstimate
from recommender.geometry.check import CheckResult
from recommender.geometry.findings import Finding, problems_in
from recommender.geometry.lie import Lie
from recommender.geometry.part_check import CutAnswer, PartReport
from recommender.geometry.units_guess import sizes_text
from recommender.geometry.weakest_section import Lever

COLUMNS = 80
STATIONS_SHOWN = 9


def as_text(report: PartReport) -> str:
    """The whole report as text of at most 80 columns."""
    blocks = [
        _heading(report),
        _findings(report.check),
        _build(report),
        _lies(report.lies, report.questions.load is not None),
        _lever(report),
        _cut(report.cut),
        [_verdict(report.check)],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _heading(report: PartReport) -> list[str]:
    result = report.check
    model, mesh = result.model, result.model.mesh
    unit = model.unit if model.unit_known else f"{model.unit} (taken; the file names none)"
    rows = [
        ("File", f"{mesh.name}, {model.form}, {len(mesh.triangles):,} triangles, unit {unit}"),
        ("Size", sizes_text(mesh)),
        ("Volume", f"{amount(mesh.volume)} mm³, surface {amount(mesh.surface_area)} mm²"),
    ]
    if result.layers is not None:
        rows.append(
            (
                "Layers",
                f"{len(result.layers):,} of {result.layers.layer_height:g} mm, "
                f"line width {result.settings.line_width:g} mm, nozzle {result.settings.nozzle:g} mm",
            )
        )
    return [line for name, text in rows for line in _row(name, text)]


def amount(value: float) -> str:
    """Four figures without exponents: ``0.1234``, ``26,411``."""
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def _row(name: str, text: str) -> list[str]:
    return _wrapped(f"{name:<8}", text)


def _findings(result: CheckResult) -> list[str]:
    if not result.findings:
        return ["Nothing to find fault with."]
    return [line for finding in result.findings for line in finding_lines(finding)]


def finding_lines(finding: Finding) -> list[str]:
    """One finding as wrapped lines: what, why, single cases, what helps."""
    lines = _row(finding.severity.upper(), finding.summary)
    lines += _wrapped(" " * 8, finding.because)
    lines += [line for detail in finding.details for line in _wrapped(" " * 8 + "- ", detail)]
    return lines + _wrapped(" " * 8, finding.remedy)


def _wrapped(start: str, text: str) -> list[str]:
    hanging = " " * (10 if start.endswith("- ") else 8)
    return textwrap.wrap(text, COLUMNS, initial_indent=start, subsequent_indent=hanging)


# Build


def _build(report: PartReport) -> list[str]:
    made = report.estimate
    if made is None:
        return []
    asked = report.questions.settings
    settings = (
        f"as it lies, {asked.walls} walls, {asked.top} + {asked.bottom} closed layers, "
        f"{100 * asked.infill:.0f} % infill"
    )
    plastic = f"{made.volume / 1000:.3g} cm³, {made.filament_m:.3g} m of filament of 1.75 mm"
    if report.questions.plastic is not None:
        chosen = report.questions.plastic
        plastic += f", {made.mass_g(chosen.density):.3g} g of {chosen.name}"
    return [
        *_row("Build", settings),
        *_row("", plastic),
        *_row("", f"about {duration(made.total)} (estimate): {_time_parts(made)}"),
    ]


def _time_parts(made: BuildEstimate) -> str:
    parts = {
        "walls": made.walls,
        "closed layers": made.closed,
        "infill": made.infill,
        "travel": made.travel,
        "layer changes": made.layer_changes,
        "waiting for slow layers": made.waiting,
        "start": made.start,
    }
    return ", ".join(f"{name} {duration(seconds)}" for name, seconds in parts.items() if seconds >= 0.5)


def duration(seconds: float) -> str:
    """Seconds in words: ``48 s``, ``12 min``, ``3 h 05 min``."""
    if seconds < 60:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


# Orientation


def _lies(lies: tuple[Lie, ...], loaded: bool) -> list[str]:
    lines = []
    for place, lie in enumerate(lies, 1):
        how = f"{place}. with {up_words(lie.direction)} up: {lie.height:.4g} mm high, {_standing(lie)}"
        lines += _row("Lie" if place == 1 else "", how)
        lines += [line for reason in lie.reasons for line in _wrapped(" " * 8 + "- ", reason)]
    if lines and not loaded:
        lines += _wrapped(" " * 8, "Not regarding any load: name its direction with --load or --sheet.")
    return lines


def _standing(lie: Lie) -> str:
    return f"{lie.contact_area:,.0f} mm² on the bed"


def up_words(direction: tuple[float, float, float]) -> str:
    """A direction in words: ``+z``, or its three parts."""
    for axis, part in zip("xyz", direction, strict=True):
        if abs(part) > 1 - 1e-6:
            return f"{'+' if part > 0 else '-'}{axis}"
    return "({:.2f}, {:.2f}, {:.2f})".format(*(part + 0.0 for part in direction))


# Strength


def _lever(report: PartReport) -> list[str]:
    found, plastic = report.lever, report.questions.plastic
    if found is None or plastic is None:
        return []
    weakest = found.weakest
    asked = report.questions.lever
    force = asked.force if asked else 0.0
    lines = _row(
        "Section",
        f"weakest {weakest.position:.4g} mm from the fixed end along {up_words(found.axis)}: at "
        f"{_load(weakest.load_at_failure)} {weakest.limit_state} (typical {plastic.name} at 23 °C, short "
        "load, no factor of safety, no notch: an estimate)",
    )
    lines += _row("", f"under {force:g} N the loaded end gives {found.deflection:.3g} mm")
    lines += ["", *(" " * 8 + line for line in _station_table(found))]
    return lines


def _load(newton: float) -> str:
    return f"{newton:,.0f} N" if math.isfinite(newton) else "no load"


def _station_table(found: Lever) -> list[str]:
    from tabulate import tabulate

    step = max(1, len(found.stations) // STATIONS_SHOWN)
    shown = sorted({*found.stations[::step], found.weakest}, key=lambda station: station.position)
    rows = [
        [
            f"{s.position:.1f}",
            f"{s.area:.1f}",
            f"{s.skin_area:.1f}",
            f"{s.stress:.2f}",
            _load(s.load_at_failure),
            s.limit_state + (" <" if s is found.weakest else ""),
        ]
        for s in shown
    ]
    heads = ["mm", "area mm²", "skin mm²", "MPa", "fails at", "because"]
    return tabulate(rows, heads, tablefmt="plain", disable_numparse=True).splitlines()


def _cut(answer: CutAnswer | None) -> list[str]:
    if answer is None:
        return []
    section = answer.section
    return [
        *_row("Section", f"at {answer.position:g} mm: {section.skin_area + section.core_area:.4g} mm², "
              f"of which skin {section.skin_area:.4g} mm²"),
        *_row("", f"EA {amount(section.axial_rigidity)} N; EI {amount(section.flexural_xx)} and "
              f"{amount(section.flexural_yy)} N mm², coupling {amount(round(section.flexural_xy, 3))} N mm²; "
              f"GJ {amount(answer.torsion.rigidity)} N mm²"),
    ]  # fmt: skip


def _verdict(result: CheckResult) -> str:
    count = len(problems_in(result.findings))
    if count:
        return f"{count} problem{'s' if count > 1 else ''} found."
    return "No problem found."


# Values


def as_values(report: PartReport) -> dict[str, Any]:
    """The whole report as plain values for JSON."""
    result, mesh = report.check, report.check.model.mesh
    values: dict[str, Any] = {
        "file": mesh.name,
        "form": result.model.form,
        "unit": result.model.unit,
        "unit_known": result.model.unit_known,
        "triangles": len(mesh.triangles),
        "size_mm": mesh.extents.tolist(),
        "volume_mm3": mesh.volume,
        "surface_mm2": mesh.surface_area,
        "fine": result.fine,
        "findings": [finding.as_dict() for finding in result.findings],
    }
    if result.layers is not None:
        values["layers"] = {"count": len(result.layers), "height_mm": result.layers.layer_height}
    if result.thin is not None:
        values["spots"] = [spot.as_dict() for spot in result.thin.spots]
    if report.estimate is not None:
        values["build"] = report.estimate.as_dict()
    values["orientations"] = [lie.as_dict() for lie in report.lies]
    if report.lever is not None:
        values["lever"] = _lever_values(report.lever)
    if report.cut is not None:
        values["section"] = _cut_values(report.cut)
    return values


def _lever_values(found: Lever) -> dict[str, Any]:
    stations = [station.as_dict() for station in found.stations]
    for station in stations:
        if not math.isfinite(station["load_at_failure"]):
            station["load_at_failure"] = None
    return {"axis": found.axis, "deflection_mm": found.deflection, "stations": stations}


def _cut_values(answer: CutAnswer) -> dict[str, Any]:
    section = answer.section
    return {
        "position_mm": answer.position,
        "area_mm2": section.skin_area + section.core_area,
        "skin_area_mm2": section.skin_area,
        "axial_rigidity_N": section.axial_rigidity,
        "flexural_xx_Nmm2": section.flexural_xx,
        "flexural_yy_Nmm2": section.flexural_yy,
        "flexural_xy_Nmm2": section.flexural_xy,
        "torsional_rigidity_Nmm2": answer.torsion.rigidity,
    }
