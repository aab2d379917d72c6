"""Short texts read into observations."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from synthetic_log import synthetic_print

from recommender.errors import InputError, PartdutyError
from recommender.log import grammar
from recommender.log.classes import lesson_of
from recommender.log.records import Observation

ENTRY = synthetic_print(id="paaaaaa")


def read(name: str, text: str) -> Observation:
    return grammar.observations_from({name: [text]}, ENTRY)[0]


@pytest.mark.parametrize(
    ("text", "feature", "nominal", "measured", "axis", "first", "assumed"),
    [
        ("slot=13.92", "slot", 14.0, 13.92, None, False, True),
        ("slot 14 = 13.92", "slot", 14.0, 13.92, None, False, False),
        ("hole 5 mm = 4,83 mm along x", "hole", 5.0, 4.83, "x", False, False),
        ("outside 60 = 59.8 first layer", "outside", 60.0, 59.8, None, True, False),
        ("outside 60=59.8 along y, first layer", "outside", 60.0, 59.8, "y", True, False),
        ("gap 0.3 = 0.2", "gap", 0.3, 0.2, None, False, False),
        ("insert 5.6=5.5", "insert", 5.6, 5.5, None, False, False),
        ("width=9.93", "outside", 10.0, 9.93, None, False, False),  # from the sheet: 10 mm
        ("depth=9.93", "outside", 10.0, 9.93, None, False, False),  # from the sheet: 1 cm
        ("height 1 in = 25.3", "outside", 25.4, 25.3, "z", False, False),
    ],
)
def test_sizes(
    text: str, feature: str, nominal: float, measured: float, axis: str | None, first: bool, assumed: bool
) -> None:
    seen = read("measured", text)
    found = (
        seen.feature,
        seen.nominal_mm,
        seen.measured_mm,
        seen.axis,
        seen.first_layer,
        seen.nominal_assumed,
    )
    assert found == (feature, pytest.approx(nominal), pytest.approx(measured), axis, first, assumed)


def test_loads() -> None:
    held = read("held", "40 N for 5 min")
    # 40 N of the 100 N predicted; 8 MPa at 20 N is 16 MPa at 40 N.
    assert (held.load, held.duration_s, held.multiple) == (40.0, 300.0, 0.4)
    assert held.stress_mpa == pytest.approx(16.0)
    broke = read("broke", "210 N, across layers, at the root")
    assert (broke.load, broke.how, broke.place, broke.multiple) == (
        210.0,
        "across layers",
        "at the root",
        2.1,
    )
    assert read("broke", "4 kg").load == pytest.approx(4 * 9.80665)
    assert read("broke", "12,5 N").load == 12.5


def test_time_mass_service_event() -> None:
    assert read("time", "2 h 20 min").amount == pytest.approx(140.0)
    assert read("time", "90 min").amount == pytest.approx(90.0)
    assert read("mass", "38 g").amount == 38.0
    assert read("event", "Warped").words == "warped"
    service = read("service", "in use 200 days, hottest 35 °C, still fine")
    assert (service.duration_s, service.hottest_c, service.outcome) == (200 * 86400.0, 35.0, "still fine")
    assert service.multiple == pytest.approx(0.2)  # the duty's 20 N of the 100 N predicted
    failed = read("service", "broke across layers after 5000 cycles, at a hole")
    expected = ("broke", "across layers", "at a hole")
    assert (failed.outcome, failed.how, failed.place) == expected
    assert read("service", "sagged, after 3 weeks").duration_s == pytest.approx(21 * 86400)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("measured", "slot", "cannot be read"),
        ("measured", "wheel 5 = 4.9", "no kind of size"),
        ("measured", "slot = 13.75", "the nominal size of slot = 13.75 mm is not given"),
        ("measured", "slot 14 = 13.9 along w", "'w' is not understood"),
        ("measured", "slot 14 = 0", "Check the figure"),
        ("held", "40 for 5 min", "has no unit"),
        ("held", "40 mm for 5 min", "not a force"),
        ("broke", "-3 N", "is no load"),
        ("time", "a while", "is not a time"),
        ("time", "20 g", "not a time"),
        ("mass", "38 mm", "not a mass"),
        ("event", "exploded", "Allowed: first-time right, warped"),
        ("service", "in use 200 days", "does not say how it went"),
        ("service", "still fine, purple", "'purple' is not understood"),
    ],
)
def test_clear_errors(name: str, text: str, words: str) -> None:
    with pytest.raises(PartdutyError, match=words):
        read(name, text)


@given(st.sampled_from(sorted(grammar.READERS)), st.text(max_size=40))
def test_any_text_is_read_or_refused(name: str, text: str) -> None:
    try:
        seen = read(name, text)
    except PartdutyError:
        return
    assert seen.kind in ("size", "time", "mass", "event", "held", "broke", "service", "note", "photo")


def test_remarks() -> None:
    for name, text, words in (
        ("measured", "slot=13.92", "nominal taken as 14 mm"),
        ("measured", "slot 14 = 139.2", "far from nominal"),
        ("mass", "500 g", "10 times the prediction"),
    ):
        assert any(words in remark for remark in grammar.remarks(ENTRY, read(name, text)))
    assert grammar.remarks(ENTRY, read("mass", "51 g")) == []


def test_a_bend_at_failure_is_kept_and_teaches_no_strength() -> None:
    clip = synthetic_print(load_unit="mm", applied=0.8, test_typical=2.4)
    seen = grammar.observations_from({"broke": ["2 mm"]}, clip)[0]
    assert seen.multiple == pytest.approx(2 / 2.4)
    assert lesson_of(clip, seen).topic is None
    assert "tells of strain" in grammar.remarks(clip, seen)[0]
    assert lesson_of(ENTRY, read("broke", "90 N")).topic == "broke"


def test_an_empty_note_is_refused() -> None:
    with pytest.raises(InputError, match="needs words"):
        read("note", "  ")
