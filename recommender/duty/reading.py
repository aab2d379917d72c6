"""Reading a duty sheet from a YAML or JSON file, with one clear message for whatever is wrong."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from recommender.duty.sheet import Duty
from recommender.errors import DutySheetError

LARGEST_FILE = 200_000  # bytes; a duty sheet is a page, so a larger file is a mistake
DEEPEST = 12
MOST_NODES = 5_000


def read_duty(path: Path) -> Duty:
    """Read and check the duty sheet at `path`.

    Raises
    ------
    DutySheetError
        The file cannot be read, is not YAML or JSON, or does not describe a possible duty.
    """
    return duty_from(read_mapping(path), str(path.name))


def read_mapping(path: Path) -> dict[str, Any]:
    """The sheet at `path` as plain mappings and lists, not yet checked against the fields."""
    text = _text_of(path)
    content = _from_json(text, path.name) if path.suffix.lower() == ".json" else _from_yaml(text, path.name)
    if not isinstance(content, dict):
        raise DutySheetError(
            path.name,
            "the file holds no fields.",
            "A duty sheet starts with lines such as `part: shelf bracket`, `form:` and `loads:`.",
        )
    return content


def _text_of(path: Path) -> str:
    try:
        if path.is_dir():
            raise DutySheetError(str(path), "this is a folder.", "Name the duty sheet file inside it.")
        if path.stat().st_size > LARGEST_FILE:
            raise DutySheetError(
                path.name,
                f"the file is larger than {LARGEST_FILE // 1000} kB.",
                "A duty sheet is about a page.",
            )
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise DutySheetError(
            str(path), "there is no such file.", "Check the name, or write one with `partduty ask`."
        ) from None
    except UnicodeDecodeError as error:
        raise DutySheetError(
            path.name, f"byte {error.start} is not UTF-8 text.", "Save the file as UTF-8."
        ) from None
    except (OSError, ValueError) as error:
        raise DutySheetError(
            str(path)[:200], f"the file cannot be read ({error}).", "Check its rights."
        ) from None


def _from_json(text: str, name: str) -> Any:
    def refuse(constant: str) -> Any:
        raise DutySheetError(name, f"{constant} is not a number.", "Write a plain figure.")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        seen: dict[str, Any] = {}
        for key, value in pairs:
            if key in seen:
                raise DutySheetError(name, f"{key!r} stands twice.", "Keep one of the two.")
            seen[key] = value
        return seen

    try:
        return json.loads(text, parse_constant=refuse, object_pairs_hook=once)
    except json.JSONDecodeError as error:
        raise DutySheetError(
            name, f"line {error.lineno}: not JSON ({error.msg}).", "Check commas and quotes."
        ) from None
    except (RecursionError, ValueError) as error:
        raise DutySheetError(name, f"not JSON ({error}).", "Check brackets and numbers.") from None


def _from_yaml(text: str, name: str) -> Any:
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        node = yaml.compose(text, Loader=loader)
        if node is None:
            return None
        _check_tree(node, name)
        return yaml.constructor.SafeConstructor().construct_document(node)
    except yaml.MarkedYAMLError as error:
        line = f"line {error.problem_mark.line + 1}: " if error.problem_mark else ""
        raise DutySheetError(
            name, f"{line}not YAML ({error.problem}).", "Check indents, colons and quotes near that line."
        ) from None
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        first = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise DutySheetError(name, f"not YAML ({first}).", "Check the file's text.") from None
    except RecursionError:
        raise DutySheetError(
            name, "the fields are nested too deep.", "Use the form shown in README.md."
        ) from None


def _check_tree(root: Any, name: str) -> None:
    """Refuse references, repeated keys and trees too deep or too long, before anything is built."""
    seen: set[int] = set()
    stack = [(root, 0)]
    while stack:
        node, depth = stack.pop()
        if id(node) in seen:
            raise DutySheetError(
                name, "references (& and *) are not used in duty sheets.", "Write the value out."
            )
        seen.add(id(node))
        if depth > DEEPEST or len(seen) > MOST_NODES:
            raise DutySheetError(
                name, "the fields are nested too deep or too many.", "A sheet is about a page."
            )
        if node.id == "mapping":
            keys = [key.value for key, _ in node.value if isinstance(key.value, str)]
            twice = next((key for key in keys if keys.count(key) > 1), None)
            if twice is not None:
                raise DutySheetError(name, f"{str(twice)[:60]!r} stands twice.", "Keep one of the two.")
            stack.extend((part, depth + 1) for pair in node.value for part in pair)
        elif node.id == "sequence":
            stack.extend((part, depth + 1) for part in node.value)


def duty_from(content: dict[str, Any], name: str = "duty sheet") -> Duty:
    """Check plain `content` against the fields of a duty sheet.

    Raises
    ------
    DutySheetError
        Naming the field as written, the value, what is allowed and what to do.
    """
    from pydantic import ValidationError

    from recommender.duty.forms import FORMS

    if not all(isinstance(key, str) for key in content):
        raise DutySheetError(
            name, "field names must be words.", "Start each line with a name such as `part:`."
        )
    _no_odd_numbers(content, name)
    try:
        duty = Duty.model_validate(content)
    except ValidationError as error:
        form_kind = content["form"].get("kind") if isinstance(content.get("form"), dict) else None
        inside_form = error.title in {FORMS[kind][1] for kind in FORMS} or error.title == form_kind
        raise DutySheetError(*_first_problem(error, "form" if inside_form else "")) from None
    _loads_fit_the_form(duty)
    return duty


def _no_odd_numbers(content: Any, name: str) -> None:
    if isinstance(content, float) and not math.isfinite(content):
        raise DutySheetError(name, f"{content} is not a usable number.", "Write a plain figure.")
    for part in (
        content.values() if isinstance(content, dict) else content if isinstance(content, list) else ()
    ):
        _no_odd_numbers(part, name)


def _first_problem(error: Any, prefix: str) -> tuple[str, str, str]:
    problems = error.errors(include_url=False)
    first = problems[0]
    field = _path_of(first["loc"], prefix)
    more = f" ({len(problems) - 1} more after this one.)" if len(problems) > 1 else ""
    message = str(first["msg"]).removeprefix("Value error, ")
    shown = f"{first.get('input')!r}"[:80]
    if first["type"] == "extra_forbidden":
        return field, "there is no such field.", "See the list of fields in README.md." + more
    if first["type"] == "missing":
        return field, "this field is missing.", "Add it; README.md shows an example." + more
    if first["type"] == "value_error":
        return field, message, more.strip()
    return field, f"{shown}: {message}.", more.strip()


def _path_of(location: tuple[Any, ...], prefix: str) -> str:
    path = prefix
    for step in location:
        if isinstance(step, int):
            path += f"[{step}]"
        elif step not in ("rectangle", "round", "tube"):
            path += f".{step}" if path else str(step)
    return path or "duty sheet"


MEMBER_ACTIONS: dict[str, tuple[str, ...]] = {
    "bar": ("pull", "push", "bend", "twist"),
    "beam": ("bend",),
    "column": ("push",),
    "shaft": ("twist",),
    "lever": ("bend",),
    "hook": ("pull",),
    "bracket": ("bend",),
    "plate": ("bend",),
    "lug": ("pull",),
    "snap_arm": ("bend",),
    "screw_boss": ("pull", "twist"),
    "insert_boss": ("pull", "twist"),
    "press_fit": ("pull", "twist"),
    "hinge_knuckle": ("pull",),
    "living_hinge": ("bend",),
    "gear": ("twist",),
}
SELF_LOADED = ("snap_arm", "living_hinge", "press_fit")


def action_of(duty: Duty, index: int) -> str:
    """The action of load case `index`: as written, or the first that the form knows."""
    return duty.loads[index].action or MEMBER_ACTIONS[duty.form.kind][0]


def _loads_fit_the_form(duty: Duty) -> None:
    kind = duty.form.kind
    for index, load in enumerate(duty.loads):
        field = f"loads[{index}]"
        allowed = MEMBER_ACTIONS[kind]
        if load.action is not None and load.action not in allowed:
            raise DutySheetError(
                f"{field}.action",
                f"{load.action!r} does not go with a {kind}.",
                f"Allowed: {', '.join(allowed)}.",
            )
        if kind in SELF_LOADED or load.kind == "impact":
            continue
        _has_its_amount(load, action_of(duty, index), kind, field)
        if isinstance(load.at, float) and kind == "beam" and load.at > duty.form.span:
            raise DutySheetError(
                f"{field}.at",
                f"{load.at:g} mm lies beyond the span of {duty.form.span:g} mm.",
                "Put it on the span.",
            )


def _has_its_amount(load: Any, action: str, kind: str, field: str) -> None:
    if action == "twist" and load.torque is None:
        raise DutySheetError(f"{field}.torque", "a twist needs its torque.", "Write torque: 1.5 N·m.")
    if action != "twist" and load.force is None and not (kind == "plate" and load.pressure is not None):
        raise DutySheetError(
            f"{field}.force", "this load needs its force.", "Write force: 50 N, or a mass: 5 kg."
        )
