"""The interview: what is asked, in which order, and what comes out."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from test_duty_checks import SIZES

from recommender.duty.checks import MEMBER_ACTIONS, SELF_LOADED
from recommender.duty.choices import CHOICES, FORM_WORDS
from recommender.duty.forms import FORMS, form_class
from recommender.duty.interview import SHAPES, Interview
from recommender.duty.loads import Load
from recommender.duty.reading import duty_from
from recommender.duty.sheet import Contact, Duty, Limits, People, Place

DECISIVE = {
    "How hard?": "50 N",
    "How hard is it twisted?": "1 N·m",
    "How does the load come?": "static",
    "What is below": "floor",
    "What is the part called?": "tap key",
}


class Person:
    """Answers by the start of the question; an empty line where nothing is planned."""

    def __init__(self, **_: Any) -> None:
        self.answers: dict[str, list[str]] = {}
        self.heard: list[str] = []
        self.asked: list[str] = []

    def knows(self, answers: dict[str, str | list[str]]) -> Person:
        for start, answer in answers.items():
            self.answers[start] = [answer] if isinstance(answer, str) else list(answer)
        return self

    def say(self, text: str) -> None:
        self.heard.append(text)

    def read(self, prompt: str) -> str:
        assert len(self.asked) < 300, "the interview does not end"
        question = next(line for line in reversed(self.heard) if not line.startswith(" "))
        self.asked.append(question)
        for start, answers in self.answers.items():
            if question.startswith(start):
                return answers.pop(0) if len(answers) > 1 else answers[0]
        return ""


def person(**more: str | list[str]) -> Person:
    return Person().knows({**DECISIVE, **{key.replace("_", " "): value for key, value in more.items()}})


def sizes_of(kind: str) -> dict[str, str | list[str]]:
    flat = {**SIZES[kind], **SIZES[kind].get("section", {})}
    answers: dict[str, str | list[str]] = {
        f"{name}:": str(value) for name, value in flat.items() if name != "section"
    }
    return answers | {"Its cross-section?": flat.get("shape", "")}


def interviewed(who: Person) -> dict[str, Any]:
    return Interview(who.read, who.say).sheet()


@pytest.mark.parametrize("kind", FORMS)
def test_every_form_can_be_asked_for(kind: str) -> None:
    who = person().knows(
        {"What does the load": MEMBER_ACTIONS[kind][0], "Which of these": kind, **sizes_of(kind)}
    )
    duty = duty_from(interviewed(who))
    written = duty_from(
        {"part": "x", "form": {"kind": kind, **SIZES[kind]}, "loads": [
            {"action": MEMBER_ACTIONS[kind][0],
             **({"torque": "1 N·m"} if MEMBER_ACTIONS[kind][0] == "twist" else {"force": "50 N"})}]}
    )  # fmt: skip
    assert duty.form == written.form
    assert duty.part == "tap key" and duty.people.below == "floor"


def test_the_four_decisive_things_come_first() -> None:
    who = person().knows({"What does the load": "pull", "Which of these": "hook", **sizes_of("hook")})
    interviewed(who)
    order = ["What does the load", "How hard?", "Hottest the part's own surface", "Hottest air", "How does the load",
             "What is below", "The worst that can happen", "What is the part called?", "Which of these",
             "inner_radius", "Is it outdoors"]  # fmt: skip
    places = [
        next(i for i, question in enumerate(who.asked) if question.startswith(start)) for start in order
    ]
    assert places == sorted(places)


def test_a_bad_answer_is_asked_again_with_the_readers_message() -> None:
    who = person(How_hard=["50", "50 Nm", "-5 N", "", "5 kg"]).knows(
        {"How hard?": ["50", "50 Nm", "-5 N", "5 kg"], "What does the load": ["pul", "9", "", "push"],
         "Which of these": "column", "What is below": ["people below", "4"], **sizes_of("column")}
    )  # fmt: skip
    sheet = interviewed(who)
    assert sheet["loads"][0]["force"] == "5 kg" and sheet["people"]["below"] == "people"
    assert sheet["people"]["if_it_breaks"] == "serious_injury"  # the safe default over people
    said = "\n".join(who.heard)
    for words in (
        "loads[0].force: '50' has no unit.",
        "loads[0].force: '50 Nm' is a torque, not a force.",
        "loads[0].force: '-5 N' is outside the range allowed",
        "loads[0].action: pul is not one of the choices. Did you mean pull?",
        "loads[0].action: an answer is needed here.",
        "people.below: people_below is not one of the choices. Did you mean people?",
    ):
        assert words in said


def test_temperatures_that_contradict_are_asked_again() -> None:
    who = person().knows(
        {"What does the load": "pull", "Which of these": "hook", **sizes_of("hook"),
         "Hottest air": ["20 °C", "45 °C"], "And for most": ["30 °C", "25 °C"], "What warms it": "sun, motor",
         "Its colour?": "dark"}
    )  # fmt: skip
    place = interviewed(who)["place"]
    assert (place["peak_temperature"], place["usual_temperature"]) == ("45 °C", "25 °C")
    assert place["warmed_by"] == ["sun", "motor"] and place["colour"] == "dark"
    assert any(
        "place.peak_temperature: 20 °C lies below usual_temperature (30 °C)" in line for line in who.heard
    )


def test_sizes_that_cannot_be_built_are_asked_again() -> None:
    who = person().knows(
        {"What does the load": "bend", "Which of these": "lever", **sizes_of("lever"),
         "across_flats:": ["30 mm", "8 mm"]}
    )  # fmt: skip
    assert interviewed(who)["form"]["across_flats"] == "8 mm"
    assert any("across_flats (30 mm) must be smaller than hub_diameter (26 mm)" in line for line in who.heard)


def test_how_long_how_often_and_what_falls() -> None:
    base = {"What does the load": "bend", "Which of these": "beam", **sizes_of("beam")}
    lasting = interviewed(person().knows({**base, "How does the load come?": "2", "How long does": ""}))
    assert lasting["loads"] == [
        {"kind": "sustained", "action": "bend", "force": "50 N", "duration": "5 years", "at": "middle"}
    ]
    often = interviewed(
        person().knows(
            {**base, "How does the load come?": "cyclic", "How often": "5000", "Does it swing": "y"}
        )
    )
    assert often["loads"][0]["cycles"] == 5000 and often["loads"][0]["fully_reversed"] is True
    blow = interviewed(
        person().knows(
            {**base, "How does the load come?": "impact", "What mass": "0.5 kg", "From what": "20 cm"}
        )
    )
    assert blow["loads"] == [
        {"kind": "impact", "action": "bend", "mass": "0.5 kg", "drop": "20 cm", "at": "middle"}
    ]


def test_a_clip_needs_no_force() -> None:
    who = person().knows(
        {"What does the load": "bend", "How hard?": "", "Which of these": "snap_arm", **sizes_of("snap_arm"),
         "How does the load come?": "cyclic", "How often": "50"}
    )  # fmt: skip
    sheet = interviewed(who)
    assert "force" not in sheet["loads"][0]
    shown = [line for line in who.heard if "beam" in line and "a straight piece" in line]
    assert not shown  # forms that need a force are not offered


def test_further_loads_and_the_rest() -> None:
    who = person().knows(
        {"What does the load": "bend", "Which of these": "beam", **sizes_of("beam"),
         "Is there another load": ["yes", "no"], "Does food touch": "dry", "For animals only?": "yes",
         "Does it touch live": "low_voltage", "How many volts": "12", "Who gets": "sold", "Where?": "EU",
         "Plastics you have": "petg, asa", "Oils, cleaners": "dish soap", "Is it outdoors": "yes",
         "How far may it give": "2 mm", "Age of": "6"}
    )  # fmt: skip
    duty = duty_from(interviewed(who))
    assert len(duty.loads) == 2 and duty.place.water == "wet" and duty.place.chemicals == ("dish soap",)
    assert duty.contact.food == "dry" and duty.contact.animal_food and duty.contact.voltage_v == 12
    assert (duty.hand_over, duty.market, duty.filaments) == ("sold", "EU", ("petg", "asa"))
    assert duty.limits.deflection == 2 and duty.people.youngest_user_years == 6


def test_loads_that_do_not_fit_the_form_are_asked_again() -> None:
    # The torque of a press fit that was told as a bend is only found out when all is known.
    who = person().knows(
        {"What does the load": ["bend", "bend"], "Which of these": "beam", **sizes_of("beam"),
         "Where does it act": ["90 mm", "middle"]}
    )  # fmt: skip
    assert interviewed(who)["loads"][0]["at"] == "middle"
    assert any("90 mm lies beyond the span of 64 mm" in line for line in who.heard)


def choices_in(annotation: Any) -> set[str]:
    found: set[str] = set()
    for part in get_args(annotation):
        found |= {part} if isinstance(part, str) else choices_in(part)
    return found


def test_every_choice_of_every_field_is_explained() -> None:
    models = {
        "": Duty,
        "loads.": Load,
        "place.": Place,
        "contact.": Contact,
        "people.": People,
        "limits.": Limits,
    }
    fields = [
        (f"{group}{name}", info)
        for group, model in models.items()
        for name, info in model.model_fields.items()
    ]
    fields += [
        ("form." + name, info) for kind in FORMS for name, info in form_class(kind).model_fields.items()
    ]
    for path, info in fields:
        if path not in ("form.kind", "form.section", "loads.at"):
            assert choices_in(info.annotation) == set(CHOICES.get(path, {})), path
    assert set(SHAPES) == set(CHOICES["form.shape"])
    assert set(FORM_WORDS) == set(FORMS)


def test_explanations_fit_a_line() -> None:
    for key, choices in {**CHOICES, "form": FORM_WORDS}.items():
        width = max(map(len, choices))
        assert all(6 + width + len(words) < 90 for words in choices.values()), key


def test_forms_without_a_force_are_the_ones_bent_to_a_shape() -> None:
    assert set(SELF_LOADED) <= set(FORMS)
