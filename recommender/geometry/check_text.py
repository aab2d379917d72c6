"""The check in words for people (80 columns) and in plain values for machines."""

from __future__ import annotations

import textwrap
from typing import Any

from recommender.geometry.check import CheckResult
from recommender.geometry.findings import Finding, problems_in
from recommender.geometry.units_guess import sizes_text

COLUMNS = 80


def as_text(result: CheckResult) -> str:
    """The whole result as text of at most 80 columns."""
    return "\n".join([*_heading(result), "", *_findings(result), "", _verdict(result)])


def _heading(result: CheckResult) -> list[str]:
    model, mesh = result.model, result.model.mesh
    unit = model.unit if model.unit_known else f"{model.unit} (taken; the file names none)"
    rows = [
        ("File", f"{mesh.name}, {model.form}, {len(mesh.triangles):,} triangles, unit {unit}"),
        ("Size", sizes_text(mesh)),
        ("Volume", f"{mesh.volume:,.4g} mm³, surface {mesh.surface_area:,.4g} mm²"),
    ]
    if result.layers is not None:
        rows.append(
            (
                "Layers",
                f"{len(result.layers):,} of {result.layers.layer_height:g} mm, "
                f"line width {result.settings.line_width:g} mm, nozzle {result.settings.nozzle:g} mm",
            )
        )
    return [line for name, text in rows for line in _wrapped(f"{name:<8}", text)]


def _findings(result: CheckResult) -> list[str]:
    if not result.findings:
        return ["Nothing to find fault with."]
    return [line for finding in result.findings for line in finding_lines(finding)]


def finding_lines(finding: Finding) -> list[str]:
    """One finding as wrapped lines: what, why, single cases, what helps."""
    lines = _wrapped(f"{finding.severity.upper():<8}", finding.summary)
    lines += _wrapped(" " * 8, finding.because)
    lines += [line for detail in finding.details for line in _wrapped(" " * 8 + "- ", detail)]
    return lines + _wrapped(" " * 8, finding.remedy)


def _wrapped(start: str, text: str) -> list[str]:
    return textwrap.wrap(
        text, COLUMNS, initial_indent=start, subsequent_indent=" " * 10 if start.endswith("- ") else " " * 8
    )


def _verdict(result: CheckResult) -> str:
    count = len(problems_in(result.findings))
    if count:
        return f"{count} problem{'s' if count > 1 else ''} found."
    return "No problem found."


def as_values(result: CheckResult) -> dict[str, Any]:
    """The whole result as plain values for JSON."""
    mesh = result.model.mesh
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
    return values
