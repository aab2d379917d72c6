"""Reading a duty sheet from a YAML or JSON file, with one clear message for whatever is wrong.

YAML is read by its plain "core" rules (version 1.2): only true, false, null and decimal figures are more
than words. So `1:30`, `2024-05-01`, `1_000` and `no` stay as written, and the field that takes them says
what it needs instead of seeing a figure or a date that nobody wrote.
"""

from __future__ import annotations

import json
import math
import re
import stat
from functools import cache
from pathlib import Path
from typing import Any

from recommender.duty.checks import MEMBER_ACTIONS, SELF_LOADED, action_of, check_together
from recommender.duty.sheet import Duty
from recommender.errors import DutySheetError

__all__ = ["MEMBER_ACTIONS", "SELF_LOADED", "action_of", "duty_from", "read_duty", "read_mapping"]

LARGEST_FILE = 200_000  # bytes; a duty sheet is a page, so a larger file is a mistake
DEEPEST = 12
MOST_NODES = 5_000
LARGEST_FIGURE = 10**30
# Signs that move a cursor, end a text or cannot be written as UTF-8; tab and line ends are text.
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
LONGEST_FIGURE = 300  # digits; Python itself refuses far longer ones


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
    if not text.strip():
        raise DutySheetError(path.name, "the file is empty.", _how_a_sheet_starts())
    content = _from_json(text, path.name) if path.suffix.lower() == ".json" else _from_yaml(text, path.name)
    if not isinstance(content, dict):
        kind = "a list" if isinstance(content, list) else "nothing" if content is None else "only a word"
        raise DutySheetError(
            path.name, f"the file holds {kind} where fields are wanted.", _how_a_sheet_starts()
        )
    return content


def _how_a_sheet_starts() -> str:
    return (
        "A duty sheet starts with lines such as `part: shelf bracket`, `form:` and `loads:`; "
        "`partduty ask` writes one."
    )


def _text_of(path: Path) -> str:
    try:
        return _decoded(_bytes_of(path), path.name)
    except FileNotFoundError:
        raise DutySheetError(
            shorten(str(path)), "there is no such file.", "Check the name, or write one with `partduty ask`."
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise DutySheetError(
            shorten(str(path)), f"the file cannot be read ({reason}).", "Check its name and rights."
        ) from None


def _bytes_of(path: Path) -> bytes:
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise DutySheetError(shorten(str(path)), "this is a folder.", "Name the duty sheet file inside it.")
    if not stat.S_ISREG(mode):
        raise DutySheetError(
            shorten(str(path)),
            "this is not an ordinary file.",
            "Save the duty sheet to a file and name that.",
        )
    with path.open("rb") as file:
        content = file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise DutySheetError(
            shorten(path.name),
            f"the file is larger than {LARGEST_FILE // 1000} kB.",
            "A duty sheet is about a page; is this the right file?",
        )
    return content


def _decoded(content: bytes, name: str) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise DutySheetError(name, "the file is saved as UTF-16.", "Save it again as UTF-8.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise DutySheetError(
            name,
            f"line {line}: byte {error.start} (0x{content[error.start]:02x}) is not UTF-8 text.",
            "Save the file as UTF-8 text; a model file is not a duty sheet.",
        ) from None


def shorten(text: str, longest: int = 200) -> str:
    """`text` on one line, cut in the middle when it is long."""
    line = " ".join(text.split())
    return line if len(line) <= longest else f"{line[: longest // 2]}...{line[-longest // 2 :]}"


def _from_json(text: str, name: str) -> Any:
    def refuse(constant: str) -> Any:
        raise DutySheetError(name, f"{constant} is not a usable number.", "Write plain figures.")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        fields = dict(pairs)
        if len(fields) < len(pairs):
            keys = [key for key, _ in pairs]
            _refuse_twice(next(key for key in keys if keys.count(key) > 1), name)
        return fields

    try:
        return json.loads(text, parse_constant=refuse, object_pairs_hook=once)
    except json.JSONDecodeError as error:
        raise DutySheetError(
            name,
            f"line {error.lineno}: this is not JSON ({error.msg.lower()}).",
            "Check commas, quotes and brackets near that line.",
        ) from None
    except RecursionError:
        raise _too_deep(name) from None
    except ValueError:
        raise DutySheetError(name, "a number has too many digits.", "Write plain figures.") from None


def _refuse_twice(key: str, name: str, line: int = 0) -> None:
    where = f"line {line}: " if line else ""
    raise DutySheetError(
        name, f"{where}{shorten(key, 60)!r} stands twice in one place.", "Keep one of the two."
    )


def _too_deep(name: str) -> DutySheetError:
    return DutySheetError(
        name, "the fields are nested too deep or are too many.", "A sheet is about a page; see README.md."
    )


@cache
def _core_loader() -> Any:
    """The fast YAML loader where it is built, with the core rules for what a plain word means."""
    import yaml

    base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

    class CoreLoader(base):  # type: ignore[misc]
        yaml_implicit_resolvers: dict[str, Any] = {}  # noqa: RUF012

    figure = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
    for tag, pattern, starts in (
        ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
        ("null", r"~|null|Null|NULL|", "~nN\0"),
        ("int", r"[-+]?\d+", "-+0123456789"),
        ("float", rf"{figure}|[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)", "-+0123456789."),
    ):
        first = [start if start != "\0" else "" for start in starts]
        CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(rf"^(?:{pattern})$"), first)
    return CoreLoader


def _from_yaml(text: str, name: str) -> Any:
    import yaml

    try:
        _check_events(text, name)
        node = yaml.compose(text, Loader=_core_loader())
        return None if node is None else _value_of(node, name)
    except yaml.MarkedYAMLError as error:
        raise DutySheetError(name, *_yaml_problem(error)) from None
    except yaml.YAMLError as error:
        first = shorten(str(error).splitlines()[0] if str(error) else type(error).__name__, 100)
        raise DutySheetError(name, f"this is not YAML ({first}).", "Save it as plain text.") from None


def _check_events(text: str, name: str) -> None:
    """Refuse references, tags and trees too deep or too long, before anything is built."""
    import yaml

    depth = nodes = documents = 0
    event: Any
    for event in yaml.parse(text, Loader=_core_loader()):
        documents += isinstance(event, yaml.DocumentStartEvent)
        depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
        nodes += isinstance(event, yaml.NodeEvent)
        line = event.start_mark.line + 1
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise DutySheetError(
                name,
                f"line {line}: references (& and *) are not used in duty sheets.",
                "Write the value out, or in quotes if it starts with & or *.",
            )
        if (getattr(event, "tag", None) or "!") != "!":
            raise DutySheetError(
                name, f"line {line}: tags (!...) are not used in duty sheets.", "Leave it out, or use quotes."
            )
        if documents > 1:
            raise DutySheetError(
                name, f"line {line}: a second sheet starts here (---).", "Keep one sheet in a file."
            )
        if depth > DEEPEST or nodes > MOST_NODES:
            raise _too_deep(name)


def _yaml_problem(error: Any) -> tuple[str, str]:
    mark = error.problem_mark or error.context_mark
    line = f"line {mark.line + 1}: " if mark else ""
    problem = str(error.problem or error.context)
    hints = {
        "tab character": "Indent with spaces, not tabs.",
        "mapping values are not allowed": "Put text that holds a colon in quotes, and check the indents.",
        "cannot start any token": "Indent with spaces, not tabs; put text that starts with @, % in quotes.",
        "could not find expected ':'": "Write `name: value`, with a space after the colon.",
        "did not find expected": "Check quotes, brackets and indents near that line.",
    }
    hint = next((words for sign, words in hints.items() if sign in problem or sign in repr(problem)), None)
    return (
        f"{line}this is not YAML ({shorten(problem, 100)}).",
        hint or "Check indents, colons and quotes there.",
    )


def _value_of(node: Any, name: str) -> Any:
    if node.id == "sequence":
        return [_value_of(part, name) for part in node.value]
    if node.id == "scalar":
        return _scalar(node.tag.rpartition(":")[2], node.value, name, node.start_mark.line + 1)
    fields: dict[str, Any] = {}
    for key, value in node.value:
        line = key.start_mark.line + 1
        if key.id != "scalar":
            raise DutySheetError(
                name, f"line {line}: a field name is a word.", "Check colons, braces and indents there."
            )
        if key.value in fields:
            _refuse_twice(key.value, name, line)
        fields[key.value] = _value_of(value, name)
    return fields


def _scalar(kind: str, text: str, name: str, line: int) -> Any:
    if kind == "bool":
        return text.lower() == "true"
    if kind == "null":
        return None
    if kind in ("int", "float") and len(text) > LONGEST_FIGURE:
        raise DutySheetError(name, f"line {line}: a number has too many digits.", "Write plain figures.")
    if kind == "int":
        return int(text)
    return float(text.replace(".inf", "inf").replace(".nan", "nan")) if kind == "float" else text


def duty_from(content: dict[str, Any], name: str = "duty sheet") -> Duty:
    """Check plain `content` against the fields of a duty sheet.

    Raises
    ------
    DutySheetError
        Naming the field as written, the value, what is allowed and what to do.
    """
    from pydantic import ValidationError

    _plain_figures_and_words(content, name)
    try:
        duty = Duty.model_validate(content)
    except ValidationError as error:
        from recommender.duty.messages import first_problem

        raise DutySheetError(*first_problem(error, Duty, content)) from None
    check_together(duty)
    return duty


def check_text(text: str, field: str) -> None:
    """Refuse text with signs that are none, and a part's name over several lines."""
    found = _NO_TEXT.search(text)
    if found:
        raise DutySheetError(
            field, f"the sign {found[0]!a} is not text.", "Write letters, figures and common signs."
        )
    if field == "part" and len(text.splitlines()) > 1:
        raise DutySheetError(field, "the name goes over several lines.", "Write a short name on one line.")


def _plain_figures_and_words(content: Any, name: str) -> None:
    """Refuse numbers that are not finite, field names that are no words, and trees too deep."""
    stack: list[tuple[Any, str, int]] = [(content, "", 0)]
    while stack:
        value, path, depth = stack.pop()
        if depth > DEEPEST or len(stack) > MOST_NODES:
            raise _too_deep(name)
        if isinstance(value, float) and not math.isfinite(value):
            raise DutySheetError(path, f"{value} is not a usable number.", "Write a plain figure.")
        if isinstance(value, int) and abs(value) > LARGEST_FIGURE:
            raise DutySheetError(path, "this number has too many digits.", "Write a plain figure.")
        if isinstance(value, str):
            check_text(value, path)
        if isinstance(value, dict):
            for key, part in value.items():
                if not isinstance(key, str) or not key.strip() or _NO_TEXT.search(key):
                    raise DutySheetError(
                        path or name,
                        f"{ascii(key)[:60]} cannot be a field name.",
                        "Start each line with a word: `part:`.",
                    )
                stack.append((part, f"{path}.{shorten(key, 60)}" if path else shorten(key, 60), depth + 1))
        elif isinstance(value, list):
            stack.extend((part, f"{path}[{index}]", depth + 1) for index, part in enumerate(value))
