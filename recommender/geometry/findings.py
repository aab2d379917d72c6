"""What a check of a model can say: one finding, its weight and its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """How much a finding matters for the printed part."""

    PROBLEM = "problem"
    CAUTION = "caution"
    NOTE = "note"


@dataclass(frozen=True)
class Finding:
    """One thing found in a model.

    Attributes
    ----------
    rule : str
        Stable name of the check (``mesh.open_edges``).
    severity : Severity
        A problem means that the part will not print as drawn, a caution that it may not.
    summary, because, remedy : str
        What was found, how it shows in numbers, what helps.
    place : tuple of float, optional
        A point of the model near the finding, in mm.
    details : tuple of str
        Single cases, one line each.
    """

    rule: str
    severity: Severity
    summary: str
    because: str = ""
    remedy: str = ""
    place: tuple[float, float, float] | None = None
    details: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The finding as plain values for JSON."""
        return asdict(self)


def problems_in(findings: Iterable[Finding]) -> list[Finding]:
    """The findings that are problems."""
    return [finding for finding in findings if finding.severity is Severity.PROBLEM]


def most_severe_first(findings: Iterable[Finding]) -> list[Finding]:
    """Sort by severity, keeping the order within one severity."""
    order = list(Severity)
    return sorted(findings, key=lambda finding: order.index(finding.severity))
