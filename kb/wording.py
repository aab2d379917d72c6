"""Words of the note in the reader's language: read from ``texts/<language>.yaml`` and checked as a whole.

A text has a dotted key (``stop.title``). English is the source. ``texts/rows/<language>.yaml`` holds the
translations of the cautions and gates (``K018.hazard``); their English stands with the rows themselves.
"""

from __future__ import annotations

import hashlib
import string
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

TEXTS = Path(__file__).resolve().parent / "texts"
SOURCE_LANGUAGE = "en"
LANGUAGES = ("en", "de", "fr", "es")
ROW_TEXTS: Mapping[str, tuple[str, ...]] = {
    "cautions": ("hazard", "result", "do_this"),
    "gates": ("use", "hazard", "result", "do_this", "next_step", "not_for"),
}
TRANSLATED_FROM = "translated_from.yaml"


class UnknownTextError(KeyError):
    """A text that the code asks for is not in the file of its language."""

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True, slots=True)
class Wording:
    """All texts of one language by key; ``reviewed_by`` is empty until a native expert's review is recorded."""

    language: str
    texts: Mapping[str, str]
    rows: Mapping[str, str]
    reviewed_by: str = ""

    @property
    def is_reviewed(self) -> bool:
        """Whether the words are the source, or someone recorded a review of the translation."""
        return self.language == SOURCE_LANGUAGE or bool(self.reviewed_by)

    def has(self, key: str) -> bool:
        """Whether there is a text of this key."""
        return key in self.texts

    def say(self, key: str, **values: object) -> str:
        """The text of `key` with its blanks filled.

        Raises
        ------
        UnknownTextError
            There is no such text, or a blank has no value.
        """
        try:
            return self.texts[key].format_map(values) if values else self.texts[key]
        except KeyError as error:
            raise UnknownTextError(f"kb/texts/{self.language}.yaml: no text for {key!r} ({error})") from None

    def row(self, key: str, field: str, english: str) -> str:
        """The text of a caution or refusal; a row of the user's own stays in the words they wrote (`english`)."""
        return self.rows.get(f"{key}.{field}", english)

    def expert(self, name: str) -> str:
        """Whom to ask; a name of the user's own stays as it is."""
        return self.texts.get(f"expert.{slug(name)}", name)


@cache
def wording(language: str, folder: Path = TEXTS) -> Wording:
    """The texts of `language`, one of LANGUAGES."""
    texts = flat_texts(folder / f"{language}.yaml")
    rows = {} if language == SOURCE_LANGUAGE else flat_texts(folder / "rows" / f"{language}.yaml")
    return Wording(language, texts, rows, _reviewer(folder, language))


def flat_texts(path: Path) -> dict[str, str]:
    """The file at `path` as dotted keys and texts."""
    return dict(_flattened(_read(path) or {}))


def _read(path: Path) -> Any:
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return yaml.load(path.read_bytes(), Loader=loader)


def _flattened(branch: Mapping[str, Any], prefix: str = "") -> Iterable[tuple[str, str]]:
    for key, value in branch.items():
        if isinstance(value, Mapping):
            yield from _flattened(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value


def _reviewer(folder: Path, language: str) -> str:
    path = folder / "reviews.yaml"
    reviews = (_read(path) or []) if path.exists() else []
    return next((str(review["by"]) for review in reviews if review["language"] == language), "")


def blanks(text: str) -> set[str]:
    """Names of the blanks in `text`: ``{"load"}`` for "Never go above {load}."."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def row_texts(tables: Mapping[str, Iterable[Mapping[str, Any]]]) -> tuple[dict[str, str], set[str]]:
    """English texts of the rows of `tables` by the key of their translation, and everyone they say to ask."""
    rows = [(row, fields) for name, fields in ROW_TEXTS.items() for row in tables[name]]
    texts = {f"{row['key']}.{field}": row[field] for row, fields in rows for field in fields if row[field]}
    experts = {name.strip() for row, _ in rows for name in row["ask"].replace(";", ",").split(",")}
    return texts, experts


def text_problems(
    folder: Path = TEXTS, rows: Mapping[str, str] | None = None, experts: Iterable[str] = ()
) -> list[str]:
    """Everything that is wrong with the texts, in all languages; an empty list when all is well.

    Parameters
    ----------
    folder : Path
        Folder with ``en.yaml`` and the translations.
    rows : mapping of key to English text, optional
        Texts of the cautions and gates ("K018.hazard"); every one needs a translation, and no translation may
        be left over.
    experts : iterable of str
        Words for whom to ask; each needs the key ``expert.<slug>`` in every language.
    """
    source = flat_texts(folder / f"{SOURCE_LANGUAGE}.yaml")
    needed = {f"expert.{slug(expert)}" for expert in experts}
    problems = [f"texts/en.yaml: {key} is missing" for key in sorted(needed - source.keys())]
    problems += _empty("texts/en.yaml", source)
    for language in LANGUAGES[1:]:
        problems += _compared(f"texts/{language}.yaml", source, flat_texts(folder / f"{language}.yaml"))
        if rows is not None:
            translated = flat_texts(folder / "rows" / f"{language}.yaml")
            problems += _compared(f"texts/rows/{language}.yaml", rows, translated)
    return problems + ([] if rows is None else _stale(folder, {**source, **rows}))


def _stale(folder: Path, source: Mapping[str, str]) -> list[str]:
    """Texts whose English is no longer the one that was translated."""
    translated = _read(folder / TRANSLATED_FROM) or {}
    return [
        f"texts/{TRANSLATED_FROM}: {key}: the English has changed; translate it anew, then run "
        "`python -m kb.wording`"
        for key, text in source.items()
        if translated.get(key) != digest(text)
    ]


def digest(text: str) -> str:
    """Short hash of a text, to notice that it changed."""
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def record_translated(folder: Path, rows: Mapping[str, str]) -> None:
    """Note that all translations belong to the English of today."""
    source = {**flat_texts(folder / f"{SOURCE_LANGUAGE}.yaml"), **rows}
    lines = [
        "# Hash of each English text as it was when it was last translated; written by `python -m kb.wording`."
    ]
    lines += [f"{key}: '{digest(text)}'" for key, text in sorted(source.items())]
    (folder / TRANSLATED_FROM).write_text("\n".join(lines) + "\n", encoding="utf-8")


def _compared(name: str, source: Mapping[str, str], translated: Mapping[str, str]) -> list[str]:
    problems = [f"{name}: {key} is missing" for key in source if key not in translated]
    problems += [f"{name}: {key} is not in the source" for key in translated if key not in source]
    problems += _empty(name, translated)
    problems += [
        f"{name}: {key} has other blanks than the source"
        for key in source
        if key in translated and blanks(str(source[key])) != blanks(str(translated[key]))
    ]
    return problems


def _empty(name: str, texts: Mapping[str, str]) -> list[str]:
    return [
        f"{name}: {key} is empty or not text"
        for key, text in texts.items()
        if not isinstance(text, str) or not text.strip(" \t\n")
    ]


def slug(words: str) -> str:
    """`words` as the last part of a key: "food-contact test lab" becomes "food_contact_test_lab"."""
    return "_".join("".join(c if c.isalnum() else " " for c in words.lower()).split())


def main() -> None:
    """Record that every translation has been brought up to date with the English."""
    from kb.loading import load_knowledge_base

    tables = load_knowledge_base().tables
    record_translated(TEXTS, row_texts({name: tables[name] for name in ROW_TEXTS})[0])


if __name__ == "__main__":
    main()
