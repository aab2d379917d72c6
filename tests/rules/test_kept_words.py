"""The word index kept between processes is the one that would be made anew, and damage costs only time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kb import loading
from kb.loading import load_knowledge_base
from recommender.rules.book import _keeper
from recommender.rules.danger_words import Lexicon, lexicon_from, word_index
from recommender.rules.vocabulary import vocabulary_from


def lexicon(keep=None) -> Lexicon:  # type: ignore[no-untyped-def]
    knowledge = load_knowledge_base()
    words = knowledge.table("danger_words")
    vocabulary = vocabulary_from(knowledge.table("vocabulary"), [row["key"] for row in words])
    more = {} if keep is None else {"keep": keep}
    return lexicon_from(words, knowledge.table("text_words"), vocabulary, **more)


def plain(made: Lexicon) -> object:
    return (
        {k: [tuple(e) for e in v] for k, v in made.phrases.items()},
        {k: [tuple(e) for e in v] for k, v in made.prefixes.items()},
        {k: [tuple(e) for e in v] for k, v in made.suffixes.items()},
        made.near, made.lists, made.contexts, made.rows,
    )  # fmt: skip


def test_kept_and_fresh_are_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loading, "cache_folder", lambda: tmp_path)
    knowledge = load_knowledge_base()
    fresh = plain(lexicon())
    first = plain(lexicon(_keeper(knowledge)))
    files = list(tmp_path.glob("*words-*"))
    assert len(files) == 1
    assert plain(lexicon(_keeper(knowledge))) == first == fresh
    files[0].write_bytes(files[0].read_bytes()[:-40])  # cut short: made anew, not trusted
    assert plain(lexicon(_keeper(knowledge))) == fresh


def test_a_kept_index_is_really_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loading, "cache_folder", lambda: tmp_path)
    knowledge = load_knowledge_base()
    lexicon(_keeper(knowledge))

    def unwanted() -> object:
        raise AssertionError("made again")

    kept = _keeper(knowledge)(unwanted)
    tables = knowledge.table("danger_words"), knowledge.table("text_words")
    assert kept == json.loads(json.dumps(word_index(*tables)))
