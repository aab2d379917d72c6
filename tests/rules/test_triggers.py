"""The trigger language: grammar, three-valued evaluation, faults."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.errors import KnowledgeError
from recommender.rules.triggers import Tree, Variable, evaluate, parse, unknown_variables, values_of

VOCABULARY = {
    "wet": Variable("wet", "flag", frozenset(), None, True, ""),
    "heat_c": Variable("heat_c", "number", frozenset(), None, "high", ""),
    "plastic": Variable("plastic", "word", frozenset({"PLA", "PC"}), None, None, ""),
    "uses": Variable("uses", "words", frozenset({"jig", "hook", "lever"}), frozenset(), None, ""),
}


@pytest.mark.parametrize(
    ("text", "facts", "held"),
    [
        ("wet = true", {"wet": True}, True),
        ("wet = true", {}, None),
        ("not wet = true", {}, None),
        ("not not wet = true", {"wet": True}, True),
        ("wet = true or heat_c > 40", {"heat_c": 41}, True),
        ("wet = true and heat_c > 40", {"heat_c": 40}, False),
        ("wet = true and heat_c > 40", {"heat_c": 41}, None),
        ("heat_c >= -5.5", {"heat_c": -5.5}, True),
        ("heat_c < 40", {"heat_c": 40}, False),
        ("heat_c <= 40", {"heat_c": 40}, True),
        ("plastic in {PLA, PC}", {"plastic": "PC"}, True),
        ("plastic != PLA", {"plastic": "PC"}, True),
        ("uses = jig", {"uses": frozenset({"jig", "hook"})}, True),
        ("uses != jig", {"uses": frozenset({"jig", "hook"})}, False),
        ("uses in {jig, lever}", {"uses": frozenset({"hook"})}, False),
        ("uses in {jig, lever}", {"uses": frozenset()}, False),
        ("wet = true or wet = false and heat_c > 1", {"wet": False, "heat_c": 2}, True),
        ("(wet = true or wet = false) and heat_c > 1", {"wet": True, "heat_c": 1}, False),
        ("", {}, False),
    ],
)
def test_meaning(text: str, facts: dict[str, Any], held: bool | None) -> None:
    assert evaluate(parse(text, VOCABULARY), facts) is held


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("dry = true", "no variable 'dry'"),
        ("plastic = POM", "'POM' is no value of plastic"),
        ("wet = 1", "'1' is no value of wet"),
        ("heat_c = warm", "'warm' is no value of heat_c"),
        ("plastic > 3", "no number"),
        ("wet = true and", "is missing at the end"),
        ("wet = true wet = true", "not expected"),
        ("(wet = true", "is missing"),
        ("uses in {}", "no value"),
        ("uses in {jig", "is missing"),
        ("uses in jig", "'{' is missing"),
        ("wet like true", "not an operator"),
        ("wet = true; heat_c > 1", "not understood"),
        ("(" * 30 + "wet = true" + ")" * 30, "too deep"),
        ("wet = true or " * 100 + "wet = true", "at most"),
    ],
)
def test_a_fault_names_what_is_wrong(text: str, says: str) -> None:
    with pytest.raises(KnowledgeError, match="trigger") as raised:
        parse(text, VOCABULARY)
    assert says in str(raised.value)


def test_unknown_variables_are_named_once() -> None:
    tree = parse("wet = true and (heat_c > 1 or heat_c < -1) and plastic = PC", VOCABULARY)
    assert unknown_variables(tree, {"plastic": "PC"}) == ("wet", "heat_c")
    assert dict(values_of(tree))["heat_c"] == {1.0, -1.0}


@given(
    st.text(
        alphabet=st.sampled_from(list("wet=heat_c<>!(){}, andornut1-.JjigPLC")) | st.characters(), max_size=60
    )
)
@settings(max_examples=400, deadline=None)
def test_any_text_is_parsed_or_refused_with_a_message(text: str) -> None:
    try:
        tree = parse(text, VOCABULARY)
    except KnowledgeError as error:
        assert "trigger" in str(error)
    else:
        assert evaluate(tree, {}) in (True, False, None)


# -- the logic as a whole: written, parsed and evaluated against an independent truth ---------------------------

LEAVES = ("wet = true", "heat_c > 40", "plastic = PC", "uses in {jig, hook}")
EXPRESSIONS = st.recursive(
    st.sampled_from(LEAVES),
    lambda inner: st.one_of(
        st.tuples(st.just("not"), inner), st.tuples(st.sampled_from(["and", "or"]), inner, inner)
    ),
    max_leaves=12,
)
TRUTHS = st.fixed_dictionaries({leaf: st.sampled_from([True, False, None]) for leaf in LEAVES})
STATED: dict[str, tuple[str, Any, Any]] = {
    "wet = true": ("wet", True, False),
    "heat_c > 40": ("heat_c", 41.0, 40.0),
    "plastic = PC": ("plastic", "PC", "PLA"),
    "uses in {jig, hook}": ("uses", frozenset({"hook"}), frozenset({"lever"})),
}


def written(expression: Any) -> str:
    if isinstance(expression, str):
        return expression
    if expression[0] == "not":
        return f"not ({written(expression[1])})"
    return f"({written(expression[1])}) {expression[0]} ({written(expression[2])})"


def possible(expression: Any, truths: dict[str, bool]) -> bool:
    if isinstance(expression, str):
        return truths[expression]
    if expression[0] == "not":
        return not possible(expression[1], truths)
    first, second = possible(expression[1], truths), possible(expression[2], truths)
    return (first and second) if expression[0] == "and" else (first or second)


def worlds(truths: dict[str, bool | None]) -> list[dict[str, bool]]:
    """Every way in which the unknown leaves may turn out."""
    ways: list[dict[str, bool]] = [{}]
    for leaf, truth in truths.items():
        ways = [
            {**way, leaf: value} for way in ways for value in ((True, False) if truth is None else (truth,))
        ]
    return ways


@given(EXPRESSIONS, TRUTHS)
@settings(max_examples=300, deadline=None)
def test_a_certain_answer_holds_in_every_possible_world(
    expression: Any, truths: dict[str, bool | None]
) -> None:
    facts = {
        STATED[leaf][0]: STATED[leaf][1 if truth else 2]
        for leaf, truth in truths.items()
        if truth is not None
    }
    tree: Tree = parse(written(expression), VOCABULARY)
    held = evaluate(tree, facts)
    outcomes = {possible(expression, way) for way in worlds(truths)}
    if held is not None:
        assert outcomes == {held}
    elif len(truths) and all(truth is not None for truth in truths.values()):
        raise AssertionError("nothing is unknown, so the answer must be certain")
