"""Turning what the field checks found into one message: field, value, what is allowed, what to do."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

SECTION_SHAPES = ("rectangle", "round", "tube")

Problem = tuple[str, str, str]


def first_problem(error: Any, sheet: type[BaseModel], content: dict[str, Any]) -> Problem:
    """Field, problem and remedy of the finding that helps most, with the number of further ones.

    Parameters
    ----------
    error : pydantic.ValidationError
    sheet : type
        Model the content was checked against; its field names are suggested for misspelt ones.
    content : dict
        What was checked.
    """
    findings = _innermost(error.errors(include_url=False))
    misspelt = [
        each for each in findings if each["type"] == "extra_forbidden" and _near(each, sheet, content)
    ]
    finding = misspelt[0] if misspelt else findings[0]
    field, problem, remedy = _worded(finding, sheet, content)
    rest = len({path_of(each["loc"]) for each in findings} - {path_of(finding["loc"])})
    more = f" ({rest} more to correct after this.)" if rest else ""
    return field, problem, remedy + more


def _innermost(findings: list[Any]) -> list[Any]:
    """`findings` without those of a list or group whose own entries have findings."""
    places = [each["loc"] for each in findings]
    return [
        each
        for each in findings
        if not any(place[: len(each["loc"])] == each["loc"] and place != each["loc"] for place in places)
    ]


def path_of(location: tuple[Any, ...]) -> str:
    """A location as the user wrote it: ``loads[0].force``."""
    path = ""
    for step in location:
        if isinstance(step, int):
            path += f"[{step}]"
        elif step not in SECTION_SHAPES and step != "[key]":
            path += f".{shown(step)}" if path else shown(step)
    return path or "duty sheet"


def shown(value: Any, longest: int = 50) -> str:
    """`value` on one line and not too long; words without quotes are field names."""
    text = value if isinstance(value, str) and value.replace("_", "").isalnum() else repr(value)
    if isinstance(value, dict):
        text = "one group of fields"
    text = {"True": "yes", "False": "no", "None": "nothing"}.get(text, text)
    return text if len(text) <= longest else text[: longest - 3] + "..."


def problem_of_one(finding: Any, field: str) -> Problem:
    """Field, problem and remedy of a finding about the one value of `field`."""
    kind, value = finding["type"], finding.get("input")
    if kind == "value_error":
        return field, *_split_message(str(finding["msg"]).removeprefix("Value error, "))
    if kind == "literal_error":
        return field, *_not_a_choice(value, str(finding["ctx"]["expected"]))
    return field, *_wrong_type(kind, value, finding.get("ctx", {}), field)


def _worded(finding: Any, sheet: type[BaseModel], content: dict[str, Any]) -> Problem:
    kind, where, value = finding["type"], finding["loc"], finding.get("input")
    field = path_of(where)
    if kind == "missing":
        return field, "this field is missing.", _how_to_add(where, sheet, content)
    if kind == "extra_forbidden":
        return field, "there is no such field here.", _which_instead(finding, sheet, content)
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        tag = value.get("shape") if isinstance(value, dict) else None
        problem = "shape is missing." if tag is None else f"shape {shown(tag)} is not known."
        return field, problem, f"Allowed shapes: {', '.join(SECTION_SHAPES)}."
    return problem_of_one(finding, field)


def _split_message(message: str) -> tuple[str, str]:
    problem, dot, remedy = message.partition(". ")
    return problem + dot.strip(), remedy


def _wrong_type(kind: str, value: Any, context: dict[str, Any], field: str) -> tuple[str, str]:
    text = shown(value)
    bounds = {
        "greater_than_equal": "ge", "greater_than": "gt", "less_than_equal": "le", "less_than": "lt",
    }  # fmt: skip
    words = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
    if kind in bounds:
        bound = bounds[kind]
        return f"{text} is out of range.", f"Allowed: {words[bound]} {context[bound]:g}."
    if kind in ("tuple_type", "list_type"):
        return f"{text} is not a list.", _as_a_list(value, field)
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f"{text} is not a group of fields.", "Write `name: value` lines, indented, below it."
    if kind.startswith("bool"):
        return f"{text} is neither yes nor no.", "Write yes or no."
    if kind.startswith("int"):
        return f"{text} is not a whole number.", "Write plain figures such as 5000, without unit or marks."
    if kind.startswith("float") or kind == "finite_number":
        return f"{text} is not a plain number.", "Write plain figures such as 12, without a unit."
    if kind == "string_type":
        return f"{text} is not text.", 'Write words; put figures in quotes ("12").'
    if kind in ("string_too_long", "too_long"):
        what = "characters" if kind == "string_too_long" else "entries"
        return f"this is too long (more than {context['max_length']} {what}).", "Shorten it."
    if kind in ("string_too_short", "too_short"):
        return (
            "this is empty.",
            "Write at least one entry." if kind == "too_short" else "Write a word or two.",
        )
    return f"{text} cannot be used here.", "README.md lists what each field takes."


def _as_a_list(value: Any, field: str) -> str:
    if field == "loads":
        return "Each load starts with a dash: `loads:` and below it `- {kind: static, force: 50 N}`."
    one = f"[{value}]" if isinstance(value, str) and len(value) < 40 and "\n" not in value else "[a, b]"
    return f"Write it in square brackets: {one}."


def _not_a_choice(value: Any, expected: str) -> tuple[str, str]:
    from difflib import get_close_matches

    choices = [choice.strip("'") for choice in expected.replace(" or ", ", ").split(", ")]
    word = value.strip().lower().replace(" ", "_").replace("-", "_") if isinstance(value, str) else ""
    near = get_close_matches(word, choices, 1, 0.6)
    if "none" in choices and (value is False or value is None or word in ("no", "nothing")):
        near = ["none"]
    meant = f" Did you mean {near[0]}?" if near else ""
    return f"{shown(value)} is not one of the choices.{meant}", f"Allowed: {', '.join(choices)}."


def _class_at(
    where: tuple[Any, ...], sheet: type[BaseModel], content: dict[str, Any]
) -> type[BaseModel] | None:
    """The model whose fields stand at `where` in the sheet."""
    from recommender.duty.forms import form_class
    from recommender.duty.loads import Load
    from recommender.duty.sections import Rectangle, Round, Tube

    if len(where) == 1:
        return sheet
    if "section" in where:
        shapes: dict[Any, type[BaseModel]] = {"rectangle": Rectangle, "round": Round, "tube": Tube}
        return next((shapes[step] for step in where if step in shapes), None)
    if where[0] == "form":
        return form_class(content["form"]["kind"])
    if where[0] == "loads":
        return Load
    return _group(sheet, str(where[0]))


def _near(finding: Any, sheet: type[BaseModel], content: dict[str, Any]) -> str | None:
    """The allowed field whose name is nearest to an unknown one."""
    from difflib import get_close_matches

    holder = _class_at(finding["loc"], sheet, content)
    written = str(finding["loc"][-1])[:60].lower()
    names = list(holder.model_fields) if holder else []
    return next(iter(get_close_matches(written, names, 1, 0.6)), None)


def _which_instead(finding: Any, sheet: type[BaseModel], content: dict[str, Any]) -> str:
    near = _near(finding, sheet, content)
    if near:
        return f"Did you mean {near}?"
    elsewhere = _group_with(str(finding["loc"][-1]), sheet)
    if elsewhere:
        return f"{elsewhere} is where it goes."
    holder = _class_at(finding["loc"], sheet, content)
    return f"Fields here: {', '.join(holder.model_fields)}." if holder else "README.md lists the fields."


def _group_with(name: str, sheet: type[BaseModel]) -> str | None:
    """Where a field of this name does exist: ``place.outdoors``."""
    if name in sheet.model_fields:
        return f"the top of the sheet ({name})"
    for group in sheet.model_fields:
        inner = _group(sheet, group)
        if inner and name in inner.model_fields:
            return f"{group}.{name}"
    return None


def _group(sheet: type[BaseModel], name: str) -> type[BaseModel] | None:
    field = sheet.model_fields.get(name)
    inner: Any = field.annotation if field else None
    return inner if isinstance(inner, type) and issubclass(inner, BaseModel) else None


def _how_to_add(where: tuple[Any, ...], sheet: type[BaseModel], content: dict[str, Any]) -> str:
    from recommender.duty.fields import Range

    top = {
        "part": "Add a line such as `part: shelf bracket`.",
        "form": "Add `form:` with kind and sizes; README.md shows each form.",
        "loads": "Add `loads:` with at least one load, such as `- {action: pull, force: 50 N}`.",
    }
    if len(where) == 1 and where[0] in top:
        return top[str(where[0])]
    holder = _class_at(where, sheet, content)
    name = str(where[-1])
    field = holder.model_fields.get(name) if holder else None
    if field is None:
        return "Add it; README.md shows an example."
    span = next((each for each in field.metadata if isinstance(each, Range)), None)
    example = f" as `{name}: {span.dimension.example}`" if span else ""
    return f"Add it{example}" + (f" ({field.description})." if field.description else ".")
