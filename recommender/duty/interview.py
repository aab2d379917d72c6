"""The duty sheet as a talk: the four decisive questions first, then the form, then the rest.

Pure: it gets a function that reads a line and one that shows text, and returns the sheet's content as the
person wrote it. Each answer is checked by the field types of the sheet, with the sheet reader's own message.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from recommender.duty.checks import MEMBER_ACTIONS, SELF_LOADED
from recommender.duty.choices import CHOICES, FORM_WORDS
from recommender.duty.fields import Range
from recommender.duty.forms import form_class
from recommender.duty.loads import Load
from recommender.duty.messages import problem_of_one
from recommender.duty.reading import check_text, duty_from
from recommender.duty.sections import Rectangle, Round, Tube
from recommender.duty.sheet import Contact, Duty, Limits, People, Place
from recommender.errors import DutySheetError

SHAPES: dict[str, type[BaseModel]] = {"rectangle": Rectangle, "round": Round, "tube": Tube}
SKIP = object()


@dataclass(frozen=True, slots=True)
class Question:
    """One question: where the answer goes, the words, the choices and what a bare enter means.

    `default` is what enter stands for; None means that an answer is needed and SKIP that enter leaves the
    field out of the sheet.
    """

    model: type[BaseModel]
    name: str
    path: str
    words: str
    why: str = ""
    default: Any = None
    default_words: str = ""
    choices: Mapping[str, str] = field(default_factory=dict)
    several: bool = False


class Interview:
    """A talk with `read` (shows a prompt, returns one line) and `say` (shows text)."""

    def __init__(self, read: Callable[[str], str], say: Callable[[str], None]) -> None:
        self.read, self.say = read, say

    def sheet(self) -> dict[str, Any]:
        """Ask everything; return the content of a sheet that the reader accepts."""
        self.say("First the four things that decide most.")
        load, place, people = self._four_decisive_things()
        content: dict[str, Any] = {"part": "", "purpose": "", "form": {}, "loads": [load]}
        self.say("\nNow the part itself.")
        content["part"] = self._ask(_plain(Duty, "part", "What is the part called?"))
        self._optional(content, _plain(Duty, "purpose", "What is it for? One or two sentences.",
                                       "Read for dangers, so say who uses it and where."))  # fmt: skip
        content["form"] = self._form(load)
        self._place_of_the_load(content["form"], load)
        self._further_loads(content)
        self.say("\nThe rest. Enter keeps what stands in brackets.")
        self._rest(content, place, people)
        self._settle(content)
        return {name: value for name, value in content.items() if value not in ("", {}, [])}

    # -- the four decisive things ---------------------------------------------------------------------

    def _four_decisive_things(self) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
        self.say("\n1. What pulls, and which way?")
        load = self._force_or_torque(
            _choice(Load, "action", "loads.action", "What does the load do to the part?")
        )
        self.say("\n2. How hot does the part's surface get?")
        place = self._heat()
        self.say("\n3. How long does the load last?")
        self._time(load)
        self.say("\n4. Who or what is below?")
        return load, place, self._people()

    def _force_or_torque(self, question: Question) -> dict[str, Any]:
        action = self._ask(question)
        load: dict[str, Any] = {"kind": "static", "action": action}
        if action == "twist":
            load["torque"] = self._ask(_plain(Load, "torque", "How hard is it twisted? (such as 1.5 N·m)",
                                              "Torque is the force of the hand times its distance from the axis."))  # fmt: skip
            return load
        only_bent = action in ("bend", "pull")
        force = self._ask(
            Question(
                Load, "force", "loads[0].force", "How hard? (such as 50 N, or 5 kg for a hung mass)",
                "A firm pull by hand is some 50 to 100 N."
                + (" Enter: no force is known, it is only snapped, folded or pressed on." if only_bent else ""),
                default=SKIP if only_bent else None,
                default_words="no force known",
            )
        )  # fmt: skip
        if force is not SKIP:
            load["force"] = force
        return load

    def _heat(self) -> dict[str, Any]:
        place: dict[str, Any] = {}
        self._optional(place, Question(
            Place, "surface_temperature", "place.surface_temperature",
            "Hottest the part's own surface gets, if you measured it? (such as 60 °C)",
            "The surface, not the air: sun, glass, motors and lamps warm a part far above the air.",
            default=SKIP, default_words="not measured"))  # fmt: skip
        place["peak_temperature"] = self._ask(_plain(
            Place, "peak_temperature", "Hottest air around it, on the hottest day?",
            "", "35 °C"))  # fmt: skip
        place["usual_temperature"] = self._ask(_plain(
            Place, "usual_temperature", "And for most of the time?",
            "Plastic under load gives way slowly, so the long hours count as well as the peak.",
            "23 °C"))  # fmt: skip
        if "surface_temperature" not in place:
            self._optional(
                place, _several(Place, "warmed_by", "place.warmed_by", "What warms it above the air?")
            )
            if place.get("warmed_by"):
                place["colour"] = self._ask(
                    _choice(Place, "colour", "place.colour", "Its colour?", "unknown")
                )
        return self._agreeing("place", place, self._heat)

    def _time(self, load: dict[str, Any]) -> None:
        kinds = {
            kind: words
            for kind, words in CHOICES["loads.kind"].items()
            if kind != "impact" or "torque" not in load
        }
        load["kind"] = self._ask(
            Question(Load, "kind", "loads[0].kind", "How does the load come?", choices=kinds)
        )
        if load["kind"] == "sustained":
            load["duration"] = self._ask(_plain(Load, "duration", "How long does it stay on, in all?",
                                                "Plastic creeps: what holds a minute may sag in a year.", "5 years"))  # fmt: skip
        elif load["kind"] == "cyclic":
            load["cycles"] = self._ask(_plain(Load, "cycles", "How often in its life? (such as 5000)",
                                              "Ten times a day for a year is about 3650.", "100000"))  # fmt: skip
            load["fully_reversed"] = self._ask(
                _yes_no(Load, "fully_reversed", "Does it swing to both sides?", "loads[0]")
            )
        elif load["kind"] == "impact":
            self._blow(load)

    def _blow(self, load: dict[str, Any]) -> None:
        mass = self._ask(Question(Load, "mass", "loads[0].mass", "What mass falls on it? (such as 0.5 kg)",
                                  "Enter keeps the force you gave as the force of the blow.",
                                  default=SKIP if "force" in load else None,
                                  default_words="keep the force"))  # fmt: skip
        if mass is SKIP:
            return
        load.pop("force", None)
        load.pop("torque", None)
        load["mass"] = mass
        load["drop"] = self._ask(_plain(Load, "drop", "From what height? (such as 200 mm)"))

    def _people(self) -> dict[str, Any]:
        people: dict[str, Any] = {
            "below": self._ask(
                _choice(People, "below", "people.below", "What is below the part or its load?")
            )
        }
        worst = "serious_injury" if people["below"] == "people" else "minor_injury"
        people["if_it_breaks"] = self._ask(
            _choice(
                People,
                "if_it_breaks",
                "people.if_it_breaks",
                "The worst that can happen when it breaks?",
                worst,
            )
        )
        people["holds_person"] = self._ask(
            _yes_no(People, "holds_person", "Does it carry the weight of a person?", "people")
        )
        return people

    # -- form and sizes -------------------------------------------------------------------------------

    def _form(self, load: dict[str, Any]) -> dict[str, Any]:
        amount_known = "force" in load or "torque" in load or "mass" in load
        kinds = {
            kind: words
            for kind, words in FORM_WORDS.items()
            if load["action"] in MEMBER_ACTIONS[kind] and (amount_known or kind in SELF_LOADED)
        }
        kind = self._ask(
            Question(Duty, "form", "form.kind", "Which of these is it most like?", choices=kinds)
        )
        return self._sizes(kind)

    def _sizes(self, kind: str) -> dict[str, Any]:
        form: dict[str, Any] = {"kind": kind}
        for name in form_class(kind).model_fields:
            if name == "section":
                form[name] = self._section()
            elif name != "kind" and not _belongs_to_another_outline(name, form):
                self._optional(form, _size(form_class(kind), name, "form"))
        return self._agreeing("form", form, lambda: self._sizes(kind))

    def _section(self) -> dict[str, Any]:
        shape = self._ask(
            Question(Rectangle, "shape", "form.section.shape", "Its cross-section?",
                     default="rectangle", choices=CHOICES["form.shape"])
        )  # fmt: skip
        section: dict[str, Any] = {"shape": shape}
        for name in SHAPES[shape].model_fields:
            if name != "shape":
                self._optional(section, _size(SHAPES[shape], name, "form.section"))
        return section

    def _place_of_the_load(self, form: dict[str, Any], load: dict[str, Any]) -> None:
        if form["kind"] not in ("bar", "beam", "plate") or load["action"] != "bend":
            return
        usual = "end" if form.get("support") == "cantilever" else "middle"
        load["at"] = self._ask(
            Question(Load, "at", "loads[0].at", "Where does it act: middle, end, spread, or a distance?",
                     "The worst place is the safe answer.", default=usual)
        )  # fmt: skip

    def _further_loads(self, content: dict[str, Any]) -> None:
        loads, kind = content["loads"], content["form"]["kind"]
        words = {act: CHOICES["loads.action"][act] for act in MEMBER_ACTIONS[kind]}
        while len(loads) < 20 and self._ask(
            Question(Limits, "more", "loads", "Is there another load, such as a jerk or gusts?",
                     default="no", choices={"no": "that is all", "yes": "describe one more"})
        ) == "yes":  # fmt: skip
            only = next(iter(words)) if len(words) == 1 else None
            question = Question(Load, "action", "loads.action", "What does it do to the part?",
                                default=only, choices=words)  # fmt: skip
            load = self._force_or_torque(question)
            self._time(load)
            self._place_of_the_load(content["form"], load)
            loads.append(load)

    # -- the rest -------------------------------------------------------------------------------------

    def _rest(self, content: dict[str, Any], place: dict[str, Any], people: dict[str, Any]) -> None:
        place["outdoors"] = self._ask(_yes_no(Place, "outdoors", "Is it outdoors, in sun and rain?", "place"))
        usual_water = "wet" if place["outdoors"] else "dry"
        place["water"] = self._ask(
            _choice(Place, "water", "place.water", "How wet does it get?", usual_water)
        )
        self._optional(place, _several(Place, "chemicals", "place.chemicals",
                                       "Oils, cleaners or fuels that touch it, by name?"))  # fmt: skip
        place["near_flame"] = self._ask(
            _yes_no(Place, "near_flame", "Is it near a flame or a hot stove?", "place")
        )
        contact = self._contact()
        people["youngest_user_years"] = self._ask(_plain(
            People, "youngest_user_years", "Age of the youngest who uses or reaches it, in years?", "", "18"))  # fmt: skip
        people["is_toy"] = self._ask(_yes_no(People, "is_toy", "Is it made for play?", "people"))
        content |= {"place": place, "contact": contact, "people": people, "limits": {}}
        self._optional(content["limits"], Question(
            Limits, "deflection", "limits.deflection", "How far may it give under the load? (such as 2 mm)",
            default=SKIP, default_words="no limit"))  # fmt: skip
        self._hand_over(content)
        self._print_wishes(content)

    def _contact(self) -> dict[str, Any]:
        contact: dict[str, Any] = {}
        contact["food"] = self._ask(_choice(Contact, "food", "contact.food", "Does food touch it?", "none"))
        if contact["food"] != "none":
            contact["animal_food"] = self._ask(
                _yes_no(Contact, "animal_food", "For animals only?", "contact")
            )
            contact["food_reuse"] = self._ask(
                _choice(
                    Contact, "food_reuse", "contact.food_reuse", "How often is it used with food?", "repeated"
                )
            )
        for name, words, default in (
            ("skin", "Does it touch skin?", "none"),
            ("electrical", "Does it touch live electrical parts?", "none"),
            ("battery", "Does it hold a battery?", "none"),
            ("fluid_under_pressure", "Does a gas or liquid press from inside?", "none"),
        ):
            contact[name] = self._ask(_choice(Contact, name, f"contact.{name}", words, default))
            if name == "electrical" and contact[name] != "none":
                contact["voltage_v"] = self._ask(
                    _plain(Contact, "voltage_v", "How many volts? (a plain figure)")
                )
        return contact

    def _hand_over(self, content: dict[str, Any]) -> None:
        content["hand_over"] = self._ask(
            _choice(Duty, "hand_over", "hand_over", "Who gets the part?", "self")
        )
        if content["hand_over"] != "self":
            content["market"] = self._ask(_choice(Duty, "market", "market", "Where?", "other"))

    def _print_wishes(self, content: dict[str, Any]) -> None:
        content["material_trust"] = self._ask(
            _choice(
                Duty, "material_trust", "material_trust", "How well do you know your plastic?", "known_type"
            )
        )
        self._optional(content, Question(
            Duty, "printer", "printer", "Your printer class or profile? (`partduty printers` lists them)",
            default=SKIP, default_words="an ordinary one"))  # fmt: skip
        self._optional(content, _several(Duty, "filaments", "filaments", "Plastics you have? (such as petg, asa)",
                                         "all that the printer can do"))  # fmt: skip
        content["favour"] = self._ask(
            _choice(Duty, "favour", "favour", "Among what is strong enough, what do you prefer?", "balanced")
        )

    # -- one question ---------------------------------------------------------------------------------

    def _optional(self, holder: dict[str, Any], question: Question) -> None:
        answer = self._ask(question)
        if answer is not SKIP:
            holder[question.name] = answer

    def _ask(self, question: Question) -> Any:
        self._show(question)
        while True:
            line = self.read(_prompt(question)).strip()
            if not line and question.default is not None:
                return SKIP if question.default is SKIP else _checked(question, question.default)
            try:
                return _checked(question, line)
            except DutySheetError as error:
                self.say(f"  {error}")

    def _show(self, question: Question) -> None:
        self.say(question.words)
        if question.why:
            self.say(f"  {question.why}")
        width = max(map(len, question.choices), default=0)
        for number, (choice, meaning) in enumerate(question.choices.items(), 1):
            self.say(f"  {number:>2} {choice.ljust(width)}  {meaning}")

    def _agreeing(
        self, name: str, part: dict[str, Any], again: Callable[[], dict[str, Any]]
    ) -> dict[str, Any]:
        """`part` if the sheet reader finds no fault in it; else its message, and the part asked again."""
        try:
            duty_from({**_filler(name, part), name: part})
        except DutySheetError as error:
            if error.field.startswith(name):
                self.say(f"  {error}\n  Once more, please.")
                return again()
        return part

    def _settle(self, content: dict[str, Any]) -> None:
        """Ask the loads again as long as the reader finds a fault between them and the rest."""
        while True:
            try:
                duty_from({name: value for name, value in content.items() if value not in ("", {}, [])})
                return
            except DutySheetError as error:
                self.say(f"  {error}\n  Please answer these again.")
                self._ask_again(content, error.field)

    def _ask_again(self, content: dict[str, Any], fault: str) -> None:
        if fault.startswith("place"):
            content["place"] |= self._heat()
        elif fault.startswith("contact"):
            content["contact"] = self._contact()
        elif fault.startswith("form"):
            content["form"] = self._sizes(content["form"]["kind"])
        else:
            words = {act: CHOICES["loads.action"][act] for act in MEMBER_ACTIONS[content["form"]["kind"]]}
            load = self._force_or_torque(
                Question(Load, "action", "loads.action", "What does the load do to the part?", choices=words)
            )
            self._time(load)
            self._place_of_the_load(content["form"], load)
            content["loads"] = [load]


def _filler(name: str, part: dict[str, Any]) -> dict[str, Any]:
    """A sheet without faults in which `part` alone is looked at."""
    action = MEMBER_ACTIONS[part["kind"] if name == "form" else "hook"][0]
    amount = {"torque": "1 N·m"} if action == "twist" else {"force": "1 N"}
    hook = {"kind": "hook", "inner_radius": "9 mm", "depth": "9 mm", "width": "9 mm", "shank_length": "9 mm"}
    return {"part": "x", "form": hook, "loads": [{"action": action, **amount}]}


def _belongs_to_another_outline(name: str, form: dict[str, Any]) -> bool:
    wanted = {"round": ("length", "width"), "rectangle": ("diameter",)}
    return name in wanted.get(form.get("outline", ""), ())


def _plain(
    model: type[BaseModel], name: str, words: str, why: str = "", default: str | None = None
) -> Question:
    usual: Any = SKIP if default is None and name == "purpose" else default
    return Question(model, name, _path(model, name), words, why, usual, "nothing" if usual is SKIP else "")


def _choice(model: type[BaseModel], name: str, key: str, words: str, default: str | None = None) -> Question:
    return Question(model, name, key.replace("loads.", "loads[0]."), words, "", default, choices=CHOICES[key])


def _several(
    model: type[BaseModel], name: str, path: str, words: str, default_words: str = "nothing"
) -> Question:
    return Question(model, name, path, words, "Several are parted by commas.", SKIP, default_words,
                    CHOICES.get(path, {}), several=True)  # fmt: skip


def _yes_no(model: type[BaseModel], name: str, words: str, group: str) -> Question:
    return Question(model, name, f"{group}.{name}", words, default="no")


def _size(model: type[BaseModel], name: str, group: str) -> Question:
    info = model.model_fields[name]
    words = f"{name}: {info.description}?"
    choices = CHOICES.get(f"form.{name}", {})
    if info.is_required():
        return Question(model, name, f"{group}.{name}", words, choices=choices)
    wanted = name in ("diameter", "length", "width")  # of a plate, where the outline decides
    if info.default is None:
        return Question(model, name, f"{group}.{name}", words, default=None if wanted else SKIP,
                        default_words="left out", choices=choices)  # fmt: skip
    usual = choices and info.default
    return Question(model, name, f"{group}.{name}", words, default=usual or SKIP,
                    default_words=_default_in_words(model, name), choices=choices)  # fmt: skip


def _default_in_words(model: type[BaseModel], name: str) -> str:
    info = model.model_fields[name]
    span = _range(info)
    if isinstance(info.default, bool):
        return "yes" if info.default else "no"
    return f"{info.default:g} {span.dimension.inner_symbol}" if span else f"{info.default}"


def _path(model: type[BaseModel], name: str) -> str:
    groups = {Place: "place.", People: "people.", Contact: "contact.", Limits: "limits.", Load: "loads[0]."}
    return f"{groups.get(model, '')}{name}"


def _prompt(question: Question) -> str:
    if question.default is None:
        return "> "
    return f"[{question.default_words if question.default is SKIP else question.default}] > "


def _checked(question: Question, line: str) -> Any:
    """The answer as it goes into the sheet; DutySheetError with the reader's message when it is not one."""
    check_text(line, question.path)
    if not line:
        raise DutySheetError(question.path, "an answer is needed here.", _what_helps(question))
    answer = _typed(question, line)
    if question.choices and not question.several:
        return _one_of(question, str(answer))
    return _field_value(question, answer)


def _what_helps(question: Question) -> str:
    if question.choices:
        return f"Write one of: {', '.join(question.choices)}, or its number."
    return "Ctrl-C leaves without writing anything."


def _typed(question: Question, line: str) -> Any:
    if question.several:
        return [_by_number(question, part.strip()) for part in line.split(",") if part.strip()]
    return _by_number(question, line)


def _by_number(question: Question, word: str) -> str:
    names = list(question.choices)
    if names and word.isdecimal() and 0 < int(word[:4]) <= len(names):
        return names[int(word) - 1]
    return word.lower().replace(" ", "_") if names and word not in names else word


def _one_of(question: Question, answer: str) -> str:
    if answer in question.choices:
        return answer
    expected = " or ".join(f"'{choice}'" for choice in question.choices)
    finding = {"type": "literal_error", "input": answer, "ctx": {"expected": expected}}
    raise DutySheetError(*problem_of_one(finding, question.path))


def _field_value(question: Question, answer: Any) -> Any:
    info = question.model.model_fields[question.name]
    kind: Any = Annotated[info.annotation, info]
    adapter: TypeAdapter[Any] = TypeAdapter(kind)
    try:
        value = adapter.validate_python(int(answer) if _is_a_count(info, answer) else answer)
    except ValidationError as error:
        finding = error.errors(include_url=False)[0]
        raise DutySheetError(*problem_of_one(finding, question.path)) from None
    # Quantities stay as written, with their unit; truth values and plain figures are taken as read.
    plain = isinstance(value, bool | int) or info.annotation in (float, float | None)
    return (
        (value if not isinstance(value, float) or value % 1 else int(value))
        if plain and not _range(info)
        else answer
    )


def _is_a_count(info: FieldInfo, answer: Any) -> bool:
    """Whether a field takes one of several counts, such as the sides of a socket, and this is a count."""
    counts = get_origin(info.annotation) is Literal and all(
        isinstance(n, int) for n in get_args(info.annotation)
    )
    return counts and isinstance(answer, str) and answer.isdecimal() and len(answer) < 9


def _range(info: FieldInfo) -> Range | None:
    return next((each for each in info.metadata if isinstance(each, Range)), None)
