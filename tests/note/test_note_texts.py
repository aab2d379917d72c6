"""The words themselves: complete in four languages, easy to read, promising nothing."""

from __future__ import annotations

import re
import statistics
import string
import warnings
from pathlib import Path

import pytest
from note_cases import knowledge

from kb.validation import problems
from kb.wording import (
    LANGUAGES,
    ROW_TEXTS,
    TEXTS,
    blanks,
    flat_texts,
    record_translated,
    slug,
    text_problems,
    wording,
)
from kb.wording import row_texts as wording_of_rows

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import textstat


def row_texts() -> dict[str, str]:
    """English texts of the cautions and refusals by the key of their translation."""
    return wording_of_rows({name: knowledge().table(name) for name in ROW_TEXTS})[0]


def experts() -> set[str]:
    """Everyone whom a caution or refusal names as the one to ask."""
    return wording_of_rows({name: knowledge().table(name) for name in ROW_TEXTS})[1]


def test_nothing_is_missing_in_any_language() -> None:
    rows = row_texts()
    assert len(rows) > 450  # 107 cautions of three texts, 27 refusals of six
    assert text_problems(rows=rows, experts=experts()) == []
    assert problems() == []  # `partduty kb check` and the build look at the words as well


def copy_texts(folder: Path) -> None:
    for path in [*TEXTS.glob("*.yaml"), *TEXTS.glob("rows/*.yaml")]:
        target = folder / path.relative_to(TEXTS)
        target.parent.mkdir(exist_ok=True)
        target.write_bytes(path.read_bytes())


def test_a_missing_translation_is_found(tmp_path: Path) -> None:
    copy_texts(tmp_path)
    german = (tmp_path / "de.yaml").read_text(encoding="utf-8")
    german = german.replace("  hook: Ein Haken\n", "").replace("{contact}", "{kontakt}", 1)
    (tmp_path / "de.yaml").write_text(german + "surplus: x\n", encoding="utf-8")
    problems = text_problems(tmp_path, {**row_texts(), "K999.hazard": "New."}, {"rocket maker"})
    assert "texts/de.yaml: form.hook is missing" in problems
    assert "texts/de.yaml: surplus is not in the source" in problems
    assert any("has other blanks than the source" in problem for problem in problems)
    assert "texts/rows/fr.yaml: K999.hazard is missing" in problems
    assert "texts/en.yaml: expert.rocket_maker is missing" in problems


def test_every_text_is_used_by_the_code() -> None:
    """A text nobody asks for is work for translators without a reader."""
    code = "".join(path.read_text(encoding="utf-8") for path in Path("recommender/report/note").glob("*.py"))
    names = set(re.findall(r"[a-z_0-9]+", code))
    composed = {
        "expert",
        "measure",
        "pattern",
        "signal",
        "load",
        "purpose",
    }  # the last part comes from the knowledge base
    unused = [
        key
        for key in flat_texts(TEXTS / "en.yaml")
        if key.split(".")[0] not in composed and key.split(".")[-1] not in names
    ]
    allowed = {"language", "time.hours", "time.days", "time.months", "time.years"}
    letters = {key for key in unused if key.split(".")[0] in ("plastic", "orientation")}
    forms = {key for key in unused if key.startswith(("maker.chamber_", "maker.air_", "time."))}
    assert set(unused) - allowed - letters - forms == set()


# -- reading level -----------------------------------------------------------------------------------------


def filled(text: str) -> str:
    return text.format_map({name: "5" for _, name, _, _ in string.Formatter().parse(text) if name})


def english_lines() -> dict[str, str]:
    """Every line of English that a reader can meet, its blanks filled; labels and names are no sentences."""
    own = {key: filled(text) for key, text in flat_texts(TEXTS / "en.yaml").items()}
    lines = {
        key: text for key, text in own.items() if not key.startswith("expert.") and len(text.split()) > 3
    }
    return lines | {key: text for key, text in row_texts().items() if not key.endswith(".use")}  # a title


def test_english_reads_at_grade_eight_or_lower_and_six_on_average() -> None:
    grades = {key: textstat.flesch_kincaid_grade(text) for key, text in english_lines().items()}
    assert {key: grade for key, grade in grades.items() if grade > 8.0} == {}
    assert statistics.mean(grades.values()) <= 6.0


def test_the_measure_of_reading_level_can_fail() -> None:
    hard = "Notwithstanding contradictory documentation, unauthorised modification invalidates certification."
    assert textstat.flesch_kincaid_grade(hard) > 8.0


# Scales of readability: at or above 60 reads as plain or easy (Fernandez-Huerta for Spanish, Kandel-Moles is the
# French form of Flesch); the first Wiener Sachtextformel gives a school grade. Means over all lines, our target.
@pytest.mark.parametrize(("language", "formula", "least", "most"), [
    ("es", "fernandez_huerta", 60.0, 200.0),
    ("de", "wiener_sachtextformel", -10.0, 8.0),
    ("fr", "flesch_reading_ease", 60.0, 200.0),
])  # fmt: skip
def test_translations_read_easily_on_average(language: str, formula: str, least: float, most: float) -> None:
    texts = [
        *flat_texts(TEXTS / f"{language}.yaml").values(),
        *flat_texts(TEXTS / "rows" / f"{language}.yaml").values(),
    ]
    sentences = " ".join(
        filled(text) for text in texts if len(text.split()) > 3 and text.rstrip().endswith(".")
    )
    textstat.set_lang(language)
    try:
        measure = getattr(textstat, formula)
        level = measure(sentences, 1) if formula == "wiener_sachtextformel" else measure(sentences)
    finally:
        textstat.set_lang("en_US")
    assert least <= level <= most


# -- what may not be said ----------------------------------------------------------------------------------

PROMISES = {
    "en": r"\b(safe|safely|proof|approved|certified|guaranteed|unbreakable|waterproof|fireproof)\b",
    "de": r"\b(sicher|sicheres|zertifiziert|garantiert|wasserdicht|feuerfest|lebensmittelecht)\b",
    "fr": r"\b(sûre?s?|certifiée?s?|garantie?s?|étanches?|incassables?)\b",
    "es": r"\b(seguras?|seguros?|certificad[oa]s?|garantizad[oa]s?|irrompibles?)\b",
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_of_the_note_promises_safety(language: str) -> None:
    texts = flat_texts(TEXTS / f"{language}.yaml")
    named = {key: text for key, text in texts.items() if not key.startswith(("expert.", "closing.not_"))}
    assert {k: t for k, t in named.items() if re.search(PROMISES[language], t.lower())} == {}


def test_signal_words_are_those_of_the_standard() -> None:
    # ANSI Z535.4 and its usual translations; four different words in each language.
    english = flat_texts(TEXTS / "en.yaml")
    assert [english[f"signal.{word}"] for word in ("DANGER", "WARNING", "CAUTION", "NOTICE")] == [
        "DANGER", "WARNING", "CAUTION", "NOTICE",
    ]  # fmt: skip
    for language in LANGUAGES:
        words = [
            text for key, text in flat_texts(TEXTS / f"{language}.yaml").items() if key.startswith("signal.")
        ]
        assert len(set(words)) == 4 and all(word.isupper() for word in words)


# -- access ------------------------------------------------------------------------------------------------


def test_a_missing_key_or_blank_is_named() -> None:
    german = wording("de")
    with pytest.raises(KeyError, match=r"kb/texts/de\.yaml: no text for 'no\.such'"):
        german.say("no.such")
    with pytest.raises(KeyError, match=r"fit\.load"):
        german.say("fit.load", weight="3 kg")


def test_rows_of_the_users_own_stay_in_their_words() -> None:
    assert wording("de").row("K999", "hazard", "Eigene Gefahr.") == "Eigene Gefahr."
    assert wording("de").expert("rocket maker") == "rocket maker"
    assert wording("de").expert("doctor") == "Arzt"


def test_figures_agree_in_all_languages() -> None:
    def figures(text: str) -> list[str]:
        return sorted(re.findall(r"\d+(?:\.\d+)?", re.sub(r"(?<=\d),(?=\d)", ".", text)))

    english = {**flat_texts(TEXTS / "en.yaml"), **row_texts()}
    for language in LANGUAGES[1:]:
        translated = {
            **flat_texts(TEXTS / f"{language}.yaml"),
            **flat_texts(TEXTS / "rows" / f"{language}.yaml"),
        }
        assert [key for key, text in english.items() if figures(text) != figures(translated[key])] == []


def test_a_translation_of_older_english_is_found(tmp_path: Path) -> None:
    copy_texts(tmp_path)
    rows = {**row_texts(), "K018.hazard": "A load over people can fall."}
    assert [problem.split(": ")[1] for problem in text_problems(tmp_path, rows)] == ["K018.hazard"]
    record_translated(tmp_path, rows)
    assert text_problems(tmp_path, rows) == []


def test_translations_are_unreviewed_until_a_review_is_recorded(tmp_path: Path) -> None:
    assert wording("en").is_reviewed
    assert not any(wording(language).is_reviewed for language in LANGUAGES[1:])
    (tmp_path / "rows").mkdir()
    for name in ("de.yaml", "rows/de.yaml"):
        (tmp_path / name).write_bytes((TEXTS / name).read_bytes())
    (tmp_path / "reviews.yaml").write_text(
        "- {language: de, by: 'A. Muster, Fachübersetzerin', date: 2027-01-31}\n", encoding="utf-8"
    )
    assert wording("de", tmp_path).is_reviewed


def test_keys_of_experts() -> None:
    assert slug("food-contact test lab") == "food_contact_test_lab"
    assert blanks("Never go above {load} or {load}.") == {"load"}
