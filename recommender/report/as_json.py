"""The machine-readable answer. Its keys are a contract, documented in README.md."""

from __future__ import annotations

import json
import math
from typing import Any

from recommender.answer import Answer, Option


def answer_as_mapping(answer: Answer) -> dict[str, Any]:
    """The answer as plain mappings, lists and numbers; numbers that are not finite become null."""
    content = {
        "part": answer.part,
        "verdict": answer.verdict,
        "choice": None if answer.choice is None else _option(answer.choice),
        "alternatives": [_option(option) for option in answer.alternatives],
        "what_if": [change._asdict() for change in answer.what_if],
        "reasons": list(answer.reasons),
        "cautions": [notice._asdict() for notice in answer.cautions],
        "refusals": [notice._asdict() for notice in answer.refusals],
        "assumptions": list(answer.assumptions),
        "nearest_changes": list(answer.nearest_changes),
        "home_tests": list(answer.home_tests),
        "because_logged": list(answer.because_logged),
        "sources": list(answer.sources),
        "surface_temperature_c": answer.surface_temperature_c,
        "candidates_evaluated": answer.candidates_evaluated,
        "knowledge_version": answer.knowledge_version,
        "model_version": answer.model_version,
    }
    finite: dict[str, Any] = _finite(content)
    return finite


def as_json(answer: Answer) -> str:
    """The answer as indented JSON text."""
    return json.dumps(answer_as_mapping(answer), ensure_ascii=False, indent=2, allow_nan=False)


def _option(option: Option) -> dict[str, Any]:
    return {
        **option._asdict(),
        "settings": option.settings._asdict(),
        "failure_load": option.failure_load._asdict(),
        "states": [state._asdict() for state in option.states],
        "chain": [factor._asdict() for factor in option.chain],
    }


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(part) for part in value]
    if isinstance(value, float):
        return float(f"{value:.6g}") if math.isfinite(value) else None
    return value
