"""Entering, amending, voiding; the counts that learning reads stay in step."""

from __future__ import annotations

import sqlite3

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from synthetic_log import synthetic_print

from recommender.errors import InputError
from recommender.log import grammar, health, recording, summary
from recommender.log.records import Observation, Print

ENTRY = synthetic_print(id="paaaaaa")


def counts(log: sqlite3.Connection) -> list[tuple[object, ...]]:
    return sorted(tuple(row) for row in log.execute("SELECT * FROM summary"))


def test_the_same_entry_twice_is_one(log: sqlite3.Connection) -> None:
    seen = Observation(id="obbbbbb", print_id="paaaaaa", kind="mass", amount=55.0)
    assert recording.add_print(log, ENTRY)
    assert not recording.add_print(log, ENTRY)
    assert recording.add_observations(log, [seen, seen]) == 1
    assert recording.add_observations(log, [seen]) == 0
    assert recording.observations_of(log, "paaaaaa") == [seen]


def test_another_entry_under_the_same_id_is_refused(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    with pytest.raises(InputError, match="another entry has this id"):
        recording.add_print(log, synthetic_print(id="paaaaaa", part="other"))


def test_observations_are_entered_all_or_none(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    good = Observation(print_id="paaaaaa", kind="mass", amount=55.0)
    orphan = Observation(print_id="pzzzzzz", kind="mass", amount=55.0)
    with pytest.raises(InputError, match="no such print"):
        recording.add_observations(log, [good, orphan])
    assert recording.observations_of(log, "paaaaaa") == []
    assert counts(log) == []


def test_amending_keeps_the_former_value_and_moves_the_count(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    seen = grammar.observations_from({"broke": ["1000 N"]}, ENTRY)[0]
    recording.add_observations(log, [seen])
    assert [row[4] for row in counts(log) if row[0] == "broke"] == [230]  # 100 ln 10
    recording.amend(log, seen.id, {"load": "100"}, "typing error")
    after = recording.find_observation(log, seen.id)
    assert (after.load, after.multiple) == (100.0, 1.0)
    assert after.stress_mpa == pytest.approx(40.0)  # 8 MPa at 20 N
    assert [row[4] for row in counts(log) if row[0] == "broke"] == [0]
    change = log.execute("SELECT * FROM changes").fetchone()
    assert (change["action"], change["reason"]) == ("amended", "typing error")
    assert '"load": 1000.0' in change["before"]
    assert health.check(log) == []


def test_amending_the_spool_moves_everything_of_the_print(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    recording.add_observations(log, grammar.observations_from({"broke": ["90 N"]}, ENTRY))
    recording.amend(log, "paaaaaa", {"spool": "grey 4"}, "")
    query = "SELECT spool FROM summary JOIN groups ON groups.id = group_id WHERE topic = 'broke'"
    assert [row[0] for row in log.execute(query)] == ["grey 4"]
    assert health.check(log) == []


def test_what_must_not_be_amended(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    with pytest.raises(InputError, match="cannot be amended"):
        recording.amend(log, "paaaaaa", {"test_typical": 1.0}, "")


def test_voiding_and_restoring(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    seen = Observation(print_id="paaaaaa", kind="mass", amount=55.0)
    recording.add_observations(log, [seen])
    before = counts(log)
    assert recording.void(log, seen.id, "balance was wrong")
    assert not recording.void(log, seen.id, "again")
    assert counts(log) == []
    assert recording.void(log, seen.id, "it was right", restore=True)
    assert counts(log) == before
    recording.void(log, "paaaaaa", "another part")
    assert counts(log) == []
    actions = [row[0] for row in log.execute("SELECT action FROM changes ORDER BY rowid")]
    assert actions == ["voided", "restored", "voided"]


def test_ids_by_their_beginning(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    recording.add_print(log, synthetic_print(id="paaaabb"))
    assert recording.find_id(log, "paaaaa") == "paaaaaa"
    for text, words in (("paaaa", "several entries"), ("pz", "no such entry"), ("p", "no such entry")):
        with pytest.raises(InputError, match=words):
            recording.find_id(log, text)


def test_a_print_comes_back_as_it_was(log: sqlite3.Connection) -> None:
    recording.add_print(log, ENTRY)
    assert recording.find_print(log, "paaaaaa") == ENTRY


WRITTEN = st.sampled_from(
    [
        ("measured", "slot 14 = 13.92"), ("measured", "hole 5 = 4.8"), ("time", "100 min"), ("mass", "60 g"),
        ("event", "warped"), ("event", "first-time right"), ("held", "40 N for 5 min"), ("broke", "90 N"),
        ("service", "in use 9 days, still fine"), ("note", "a note"),
    ]
)  # fmt: skip


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["add", "void", "restore", "spool"]), WRITTEN, st.integers(0, 9)),
        max_size=12,
    )
)
def test_counts_stay_in_step_whatever_happens(
    log: sqlite3.Connection, steps: list[tuple[str, tuple[str, str], int]]
) -> None:
    entry: Print = synthetic_print()
    recording.add_print(log, entry)
    ids = [entry.id]
    for step, (name, text), number in steps:
        chosen = ids[number % len(ids)]
        if step == "add":
            seen = grammar.observations_from({name: [text]}, entry)[0]
            recording.add_observations(log, [seen])
            ids.append(seen.id)
        elif step == "spool":
            recording.amend(log, entry.id, {"spool": f"grey {number}"}, "")
        else:
            recording.void(log, chosen, "", restore=step == "restore")
    assert summary.out_of_step(log) == 0
    kept = counts(log)
    with_nothing_wrong = summary.classify_all(log)
    summary.rebuild(log)
    assert (counts(log), with_nothing_wrong) == (kept, 0)
