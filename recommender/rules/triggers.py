"""Triggers: the small language in which a rule says when it speaks, and its three-valued evaluation.

A trigger is text such as ``load_kinds = cyclic and (consequence >= 2 or not proof_tested = true)``. It is parsed
once to a tree of tuples. Evaluation follows Kleene's strong three-valued logic: a fact that nobody stated is
unknown (None), and a trigger that hangs on it is unknown too, never false.

Grammar::

    trigger    = and_part { "or" and_part }
    and_part   = not_part { "and" not_part }
    not_part   = "not" not_part | "(" trigger ")" | comparison
    comparison = variable ( "=" | "!=" | "<" | "<=" | ">" | ">=" ) value
               | variable "in" "{" value { "," value } "}"

On a variable that holds several words, ``=`` asks whether it holds that word and ``in`` whether it holds any.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from recommender.errors import KnowledgeError

Tree = tuple[Any, ...]
Facts = Mapping[str, Any]

LONGEST = 1000  # characters; a longer trigger is a mistake
DEEPEST = 20
_TOKEN = re.compile(r"(<=|>=|!=|[=<>(){},]|-?\d+(?:\.\d+)?(?![A-Za-z_0-9])|[A-Za-z_][A-Za-z_0-9]*)")
_NUMBER = re.compile(r"-?\d")
_ORDER = ("<", "<=", ">", ">=")


@dataclass(frozen=True, slots=True)
class Variable:
    """What one variable of the vocabulary may hold.

    ``kind`` is flag, number, word or words; ``otherwise`` is the value that holds when nobody stated one (None:
    it stays unknown); ``worse`` says which of two conflicting statements wins.
    """

    key: str
    kind: str
    values: frozenset[str]
    otherwise: Any
    worse: Any
    meaning: str


def parse(text: str, vocabulary: Mapping[str, Variable]) -> Tree:
    """The tree of a trigger; the empty trigger gives ``("never",)``.

    Raises
    ------
    KnowledgeError
        The text does not follow the grammar, or names a variable or value that the vocabulary does not have.
    """
    if not text.strip():
        return ("never",)
    if len(text) > LONGEST:
        raise KnowledgeError(f"trigger: {len(text)} characters; at most {LONGEST} are allowed.")
    reader = _Reader(text, vocabulary)
    tree = reader.trigger(0)
    reader.end()
    return tree


class _Reader:
    """Recursive descent over the tokens of one trigger."""

    def __init__(self, text: str, vocabulary: Mapping[str, Variable]) -> None:
        self.text, self.vocabulary, self.place = text, vocabulary, 0
        self.tokens = _tokens(text)

    def trigger(self, depth: int) -> Tree:
        if depth > DEEPEST:
            raise self._fault("brackets are nested too deep")
        return self._chain("or", lambda: self._chain("and", lambda: self._negation(depth)))

    def end(self) -> None:
        if self.place < len(self.tokens):
            raise self._fault(f"{self.tokens[self.place]!r} is not expected here")

    def _chain(self, word: str, part: Any) -> Tree:
        parts = [part()]
        while self._peek() == word:
            self.place += 1
            parts.append(part())
        return parts[0] if len(parts) == 1 else (word, *parts)

    def _negation(self, depth: int) -> Tree:
        turned = 0
        while self._peek() == "not":
            self.place += 1
            turned += 1
        tree = self._bracket(depth) if self._peek() == "(" else self._comparison()
        return ("not", tree) if turned % 2 else tree

    def _bracket(self, depth: int) -> Tree:
        self._take("(")
        tree = self.trigger(depth + 1)
        self._take(")")
        return tree

    def _comparison(self) -> Tree:
        name = self._next("a variable")
        variable = self.vocabulary.get(name)
        if variable is None:
            raise self._fault(f"there is no variable {name!r} in the vocabulary")
        operator = self._next("=, !=, <, <=, >, >= or in")
        if operator == "in":
            return ("in", name, self._values(variable))
        if operator not in ("=", "!=", *_ORDER):
            raise self._fault(f"{operator!r} is not an operator")
        if operator in _ORDER and variable.kind != "number":
            raise self._fault(f"{name} is no number, so {operator} makes no sense")
        value = self._value(variable, self._next("a value"))
        return (_OPERATOR[operator, variable.kind], name, value)

    def _values(self, variable: Variable) -> frozenset[Any]:
        self._take("{")
        values = [self._value(variable, self._next("a value"))]
        while self._peek() == ",":
            self.place += 1
            values.append(self._value(variable, self._next("a value")))
        self._take("}")
        return frozenset(values)

    def _value(self, variable: Variable, token: str) -> Any:
        if variable.kind == "flag" and token in ("true", "false"):
            return token == "true"
        if variable.kind == "number" and _NUMBER.match(token):
            return float(token)
        if variable.kind in ("word", "words") and token in variable.values:
            return token
        raise self._fault(f"{token!r} is no value of {variable.key}")

    def _peek(self) -> str:
        return self.tokens[self.place] if self.place < len(self.tokens) else ""

    def _next(self, wanted: str) -> str:
        token = self._peek()
        if not token:
            raise self._fault(f"{wanted} is missing at the end")
        self.place += 1
        return token

    def _take(self, wanted: str) -> None:
        if self._next(repr(wanted)) != wanted:
            raise self._fault(f"{wanted!r} is missing")

    def _fault(self, what: str) -> KnowledgeError:
        return KnowledgeError(f"trigger {self.text[:120]!r}: {what}.")


_OPERATOR: dict[tuple[str, str], str] = {(sign, "number"): sign for sign in _ORDER}
_OPERATOR |= {("=", kind): "=" for kind in ("flag", "number", "word")}
_OPERATOR |= {("!=", kind): "!=" for kind in ("flag", "number", "word")}
_OPERATOR |= {("=", "words"): "holds", ("!=", "words"): "lacks"}


def _tokens(text: str) -> list[str]:
    tokens = _TOKEN.findall(text)
    if sum(map(len, tokens)) != len("".join(text.split())):
        raise KnowledgeError(f"trigger {text[:120]!r}: a sign in it is not understood.")
    return tokens


def evaluate(tree: Tree, facts: Facts) -> bool | None:
    """Whether the trigger holds: True, False, or None when it hangs on a fact that nobody stated."""
    kind = tree[0]
    if kind == "and":
        return _all(tree, facts)
    if kind == "or":
        return _any(tree, facts)
    if kind == "not":
        held = evaluate(tree[1], facts)
        return None if held is None else not held
    if kind == "never":
        return False
    return _compare(kind, facts.get(tree[1]), tree[2])


def _all(tree: Tree, facts: Facts) -> bool | None:
    result: bool | None = True
    for part in tree[1:]:
        held = evaluate(part, facts)
        if held is False:
            return False
        if held is None:
            result = None
    return result


def _any(tree: Tree, facts: Facts) -> bool | None:
    result: bool | None = False
    for part in tree[1:]:
        held = evaluate(part, facts)
        if held is True:
            return True
        if held is None:
            result = None
    return result


def _compare(kind: str, fact: Any, value: Any) -> bool | None:
    if fact is None:
        return None
    if kind == "=":
        return bool(fact == value)
    if kind == "in":
        return not value.isdisjoint(fact) if isinstance(fact, frozenset) else fact in value
    if kind == "holds":
        return value in fact
    if kind == "!=":
        return bool(fact != value)
    if kind == "lacks":
        return value not in fact
    if kind == "<":
        return bool(fact < value)
    if kind == "<=":
        return bool(fact <= value)
    if kind == ">":
        return bool(fact > value)
    return bool(fact >= value)


def variables_of(tree: Tree) -> Iterator[str]:
    """Names of the variables that a trigger reads, in their order."""
    if tree[0] in ("and", "or", "not"):
        for part in tree[1:]:
            yield from variables_of(part)
    elif tree[0] != "never":
        yield tree[1]


def unknown_variables(tree: Tree, facts: Facts) -> tuple[str, ...]:
    """The variables of a trigger that nobody stated, each once."""
    return tuple(dict.fromkeys(name for name in variables_of(tree) if facts.get(name) is None))


def values_of(tree: Tree) -> Iterator[tuple[str, frozenset[Any]]]:
    """(variable, values that a trigger names for it), one pair for each variable."""
    named: dict[str, frozenset[Any]] = {}
    for name, value in _leaves(tree):
        values = value if isinstance(value, frozenset) else frozenset({value})
        named[name] = named.get(name, frozenset()) | values
    yield from named.items()


def _leaves(tree: Tree) -> Iterator[tuple[str, Any]]:
    if tree[0] in ("and", "or", "not"):
        for part in tree[1:]:
            yield from _leaves(part)
    elif tree[0] != "never":
        yield tree[1], tree[2]
