"""The rules of a knowledge base, parsed once: vocabulary, refusals, cautions, danger words, heat exposures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kb.loading import KnowledgeBase, kept
from recommender.errors import KnowledgeError
from recommender.rules import danger_words as danger_words_module
from recommender.rules.danger_words import Lexicon, lexicon_from
from recommender.rules.triggers import Tree, Variable, parse
from recommender.rules.vocabulary import vocabulary_from

SIGNALS: tuple[str, ...] = ("DANGER", "WARNING", "CAUTION", "NOTICE")  # ANSI Z535.4, worst first


@dataclass(frozen=True, slots=True)
class Rule:
    """A row of the refusals or cautions with its trigger (and that of its near miss) parsed."""

    row: Mapping[str, Any]
    trigger: Tree
    near: Tree

    @property
    def key(self) -> str:
        return str(self.row["key"])


@dataclass(frozen=True)
class RuleBook:
    """Every rule of a knowledge base, ready to evaluate."""

    vocabulary: Mapping[str, Variable]
    refusals: tuple[Rule, ...]
    cautions: tuple[Rule, ...]
    lexicon: Lexicon
    heat: tuple[Mapping[str, Any], ...]


def rule_book(knowledge: KnowledgeBase) -> RuleBook:
    """The rules of `knowledge`, made at first use and kept with it.

    Raises
    ------
    KnowledgeError
        A trigger names an unknown variable or value, or does not follow the grammar.
    """
    kept = knowledge.memory.get("rule_book")
    if isinstance(kept, RuleBook):
        return kept
    made = knowledge.memory["rule_book"] = _made(knowledge)
    return made


def _made(knowledge: KnowledgeBase) -> RuleBook:
    danger_words = knowledge.table("danger_words")
    vocabulary = vocabulary_from(knowledge.table("vocabulary"), [row["key"] for row in danger_words])
    return RuleBook(
        vocabulary=vocabulary,
        refusals=tuple(
            sorted((_rule(row, vocabulary) for row in knowledge.table("gates")), key=lambda r: r.key)
        ),
        cautions=tuple(_rule(row, vocabulary) for row in knowledge.table("cautions")),
        lexicon=lexicon_from(danger_words, knowledge.table("text_words"), vocabulary, _keeper(knowledge)),
        heat=knowledge.table("heat_exposures"),
    )


def _keeper(knowledge: KnowledgeBase) -> Callable[[Callable[[], Any]], Any]:
    """Keeps the word index for the next process, under a name that changes with the data and with the code."""
    code = Path(danger_words_module.__file__).stat()
    name = f"words-{knowledge.version}-{code.st_size}-{code.st_mtime_ns}"
    return lambda make: kept(name, make)


def _rule(row: Mapping[str, Any], vocabulary: Mapping[str, Variable]) -> Rule:
    try:
        return Rule(row, parse(row["trigger"], vocabulary), parse(row.get("near") or "", vocabulary))
    except KnowledgeError as error:
        raise KnowledgeError(f"{row['key']}: {error}") from None
