"""Contracts of the whole room: keyword arguments, documented functions, predicates that refuse NaN."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

import recommender.mechanics as mechanics

TAKES_POSITIONAL = {"stacked_strips", "composite_neutral_radius"}


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    for info in pkgutil.iter_modules(mechanics.__path__):
        module = importlib.import_module(f"recommender.mechanics.{info.name}")
        for name, member in inspect.getmembers(module, inspect.isfunction):
            if member.__module__ == module.__name__ and not name.startswith("_"):
                yield f"{info.name}.{name}", member


FUNCTIONS = dict(public_functions())


def test_the_room_is_not_empty() -> None:
    assert len(FUNCTIONS) > 200


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_arguments_are_keywords_and_the_function_is_documented(name: str) -> None:
    function = FUNCTIONS[name]
    assert function.__doc__
    assert len(function.__doc__) > 25
    if name.split(".")[1] not in TAKES_POSITIONAL:
        kinds = {parameter.kind for parameter in inspect.signature(function).parameters.values()}
        assert kinds == {inspect.Parameter.KEYWORD_ONLY}


PREDICATES = {
    name: function
    for name, function in FUNCTIONS.items()
    if name.split(".")[1].startswith(("valid_", "is_", "closes"))
}


@pytest.mark.parametrize("name", sorted(PREDICATES))
def test_what_is_not_a_number_is_never_valid(name: str) -> None:
    required = [
        parameter.name
        for parameter in inspect.signature(PREDICATES[name]).parameters.values()
        if parameter.default is inspect.Parameter.empty and parameter.name != "support"
    ] or list(inspect.signature(PREDICATES[name]).parameters)
    arguments: dict[str, Any] = dict.fromkeys(required, np.array([np.nan, np.nan]))
    if name == "beams.valid_load_position":
        arguments["support"] = "cantilever"
    answer = PREDICATES[name](**arguments)
    assert answer.shape == (2,)
    assert answer.dtype == bool
    assert not answer.any()
