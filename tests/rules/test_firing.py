"""Every refusal and every caution fires for one sheet and stays silent for another."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from firing_table import cases, caution_fires, caution_keys, knowledge, refusal_keys, sheet

from recommender.duty.reading import read_duty
from recommender.rules.book import rule_book
from recommender.rules.cautions import cautions_for
from recommender.rules.refusals import excluded_materials, near_misses, read_as, refused_uses
from recommender.rules.vocabulary import FILLERS, PLASTICS

TABLE = cases()


def test_the_table_holds_every_rule() -> None:
    book = rule_book(knowledge())
    assert set(TABLE["refusals"]) == {rule.key for rule in book.refusals}
    assert set(TABLE["cautions"]) == {rule.key for rule in book.cautions}
    assert (len(book.refusals), len(book.cautions)) == (27, 107)


@pytest.mark.parametrize(("key", "case"), TABLE["refusals"].items())
def test_refusal(key: str, case: dict[str, Any]) -> None:
    assert key in refusal_keys(case["fires"])
    assert key not in refusal_keys(case["silent"])


@pytest.mark.parametrize(("key", "case"), TABLE["cautions"].items())
def test_caution(key: str, case: dict[str, Any]) -> None:
    assert caution_fires(key, case)
    assert key not in caution_keys(case, "silent")


def test_the_plain_sheet_is_not_refused() -> None:
    assert refused_uses(sheet({}), knowledge()) == ()


# Just below, at and just above each limit that a number of the sheet meets.
LIMITS: list[tuple[str, dict[str, Any], bool]] = [
    ("G10", {"contact.electrical": "low_voltage", "contact.voltage_v": 49.9}, False),
    ("G10", {"contact.electrical": "low_voltage", "contact.voltage_v": 50}, False),
    ("G10", {"contact.electrical": "low_voltage", "contact.voltage_v": 50.1}, True),
    ("G03", {"people.below": "people", "loads": [{"action": "pull", "force": "9.9 N"}]}, False),
    ("G03", {"people.below": "people", "loads": [{"action": "pull", "force": "10 N"}]}, False),
    ("G03", {"people.below": "people", "loads": [{"action": "pull", "force": "10.1 N"}]}, True),
    ("G11", {"contact.battery": "lithium", "facts": {"power_w": 14.9}}, False),
    ("G11", {"contact.battery": "lithium", "facts": {"power_w": 15}}, False),
    ("G11", {"contact.battery": "lithium", "facts": {"power_w": 15.1}}, True),
    ("G13", {"uses": ["dummy"], "people.youngest_user_years": 2.9}, True),
    ("G13", {"uses": ["dummy"], "people.youngest_user_years": 3}, False),
    ("G13", {"uses": ["dummy"], "people.youngest_user_years": 3.1}, False),
]
WATER = {"contact.fluid_under_pressure": "water", "facts": {"mains_water": False}}
LIMITS += [
    ("G08", {**WATER, "place.peak_temperature": "39.9 °C"}, False),
    ("G08", {**WATER, "place.peak_temperature": "40 °C"}, False),
    ("G08", {**WATER, "place.peak_temperature": "40.1 °C"}, True),
]


@pytest.mark.parametrize(("key", "changes", "refused"), LIMITS)
def test_refusal_at_its_limit(key: str, changes: dict[str, Any], refused: bool) -> None:
    assert (key in refusal_keys(changes)) is refused


@pytest.mark.parametrize(
    ("margin", "speaks"), [(14.9, True), (15, False), (15.1, False)], ids=["below", "at", "above"]
)
def test_softening_margin_at_its_limit(margin: float, speaks: bool) -> None:
    case = {"fires": {"facts": {"softening_margin_k": margin}}}
    assert ("K039" in caution_keys(case, "fires")) is speaks


# -- unknown is never safe ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "key", "asks"),
    [
        ({"contact.battery": "lithium"}, "G11", "power"),
        ({"contact.fluid_under_pressure": "water"}, "G08", "mains"),
        ({"part": "impeller"}, "G21", "spin"),
    ],
)
def test_a_missing_fact_refuses_and_asks(changes: dict[str, Any], key: str, asks: str) -> None:
    notice = next(n for n in refused_uses(sheet(changes), knowledge()) if n.key == key)
    assert asks in notice.because


def test_consequence_left_out_is_minor_injury_but_unknown_refuses() -> None:
    assert not refusal_keys({"people": {}})
    assert "K027" in caution_keys({"fires": {"people": {}}}, "fires")
    assert refusal_keys({"people": {"if_it_breaks": "unknown"}}) == {"G25"}


def test_a_load_above_people_with_the_consequence_left_out_is_refused() -> None:
    assert refusal_keys({"people": {"below": "people"}}) == {"G03"}


def test_a_statement_never_takes_away_a_danger() -> None:
    assert "G10" in refusal_keys({"contact.electrical": "mains", "facts": {"mains": False, "voltage_v": 5.0}})
    assert "G01" in refusal_keys({"people.holds_person": True, "facts": {"load_person": False}})
    assert "G05" in refusal_keys({"part": "brake lever", "facts": {"uses": ["bag_hook"]}})


# -- what a refusal says -----------------------------------------------------------------------------------------


def test_a_refusal_gives_reason_expert_and_next_step() -> None:
    (notice,) = refused_uses(sheet({"part": "Brake stop for a bike"}), knowledge())
    assert (notice.key, notice.signal) == ("G05", "WARNING")
    assert "brake stop" in notice.because
    assert "mechanic" in notice.ask and "cable guide" in notice.next_step
    assert all(source in knowledge().sources for source in notice.sources)


def test_a_material_may_be_excluded_without_refusing_the_sheet() -> None:
    duty = sheet({"contact.food": "dry", "market": "EU"})
    assert refused_uses(duty, knowledge()) == ()
    assert set(excluded_materials(duty, knowledge(), knowledge().materials)) == {"pc", "pc_abs"}


def test_near_misses_say_why_they_are_no_refusal() -> None:
    misses = {miss.key: miss for miss in near_misses(sheet({"part": "brake cable guide"}), knowledge())}
    assert misses["G05"].not_for == "Not for brakes, steering, wheels, seats or belts."
    assert "another thing" in misses["G05"].because


# -- cautions in order and once ----------------------------------------------------------------------------------


def test_worst_first_and_each_once() -> None:
    changes = {"loads": [{"kind": "sustained", "action": "pull", "force": "5 N"}], "contact.food": "hot"}
    notices = cautions_for(sheet(changes), "pla", {"orientation": "upright"}, knowledge())
    ranks = [("DANGER", "WARNING", "CAUTION", "NOTICE").index(n.signal) for n in notices]
    keys = [n.key for n in notices]
    assert ranks == sorted(ranks) and len(set(keys)) == len(keys)
    assert "K020" in keys and "K021" not in keys  # the stronger one of two about a steady load


def test_audiences_part_the_cautions() -> None:
    duty = sheet({"hand_over": "sold", "market": "EU", "loads": "sustained"})
    every = cautions_for(duty, "abs", None, knowledge())
    parts = [cautions_for(duty, "abs", None, knowledge(), who) for who in ("user", "maker", "seller")]
    assert sorted(n.key for n in every) == sorted(n.key for part in parts for n in part)
    assert all(parts)


# -- materials of the user's own ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("base", "filler", "key"),
    [("", "", "K070"), ("abs", "", "K070"), ("", "glitter", "K055"), ("", "metal", "K055")],
)
def test_an_own_material_is_known_by_its_base_or_family(base: str, filler: str, key: str) -> None:
    own = knowledge().materials["abs"]._replace(key="house_brand", base=base, filler=filler)
    extended = replace(knowledge(), materials={**knowledge().materials, "house_brand": own}, memory={})
    notices = cautions_for(sheet({"contact.electrical": "low_voltage"}), "house_brand", None, extended)
    assert key in {notice.key for notice in notices}


def test_a_blend_counts_as_each_of_its_parts() -> None:
    keys = {n.key for n in cautions_for(sheet({"place.outdoors": True}), "pc_abs", None, knowledge())}
    assert {"K070", "K064"} <= keys


def test_the_words_for_plastics_are_those_of_the_vocabulary() -> None:
    vocabulary = rule_book(knowledge()).vocabulary
    assert vocabulary["material"].values == PLASTICS
    assert vocabulary["filler"].values == FILLERS


def test_a_word_read_as_harmless_is_shown() -> None:
    (line,) = read_as(sheet({"part": "helmet hook"}), knowledge())
    assert line == "Read as harmless: the part is a hook beside “helmet”, not the thing itself."


HOOK = {
    "form": {
        "kind": "hook",
        "inner_radius": "10 mm",
        "depth": "8 mm",
        "width": "10 mm",
        "shank_length": "20 mm",
    }
}


def test_a_hook_that_does_not_say_what_is_below_warns_of_heads() -> None:
    silent_on_below = {**HOOK, "people": {"if_it_breaks": "nuisance"}}
    over_floor = {**HOOK, "people": {"if_it_breaks": "nuisance", "below": "floor"}}
    assert refusal_keys(silent_on_below) == refusal_keys(over_floor) == set()
    assert "K018" in caution_keys({"fires": silent_on_below}, "fires")
    assert "K018" not in caution_keys({"fires": over_floor}, "fires")
    assert refusal_keys({**HOOK, "people": {"below": "people"}}) == {"G03"}


# -- the shipped examples ----------------------------------------------------------------------------------------

EXAMPLES = Path(__file__).resolve().parents[2] / "datasets" / "examples"
ABOUT = yaml.safe_load((EXAMPLES / "about.yaml").read_text(encoding="utf-8"))
SHEETS = sorted(path.name for path in EXAMPLES.iterdir() if path.name != "about.yaml")


@pytest.mark.parametrize("name", SHEETS)
def test_examples_are_refused_where_they_must_be_and_only_there(name: str) -> None:
    refused = refused_uses(read_duty(EXAMPLES / name), knowledge())
    assert bool(refused) is (name in ABOUT["must_be_refused"])
