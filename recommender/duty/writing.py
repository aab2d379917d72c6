"""Writing a duty sheet as YAML with a short comment on each line; reading it back gives the same sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/°·%-]*(?<! )")
_READ_AS_SOMETHING_ELSE = re.compile(r"true|false|null|[-+.\d]*(?:[eE][-+]?\d+)?", re.IGNORECASE)
COMMENT_COLUMN = 36


def sheet_text(content: dict[str, Any], comments: dict[str, str] | None = None, heading: str = "") -> str:
    """The YAML text of a sheet.

    Parameters
    ----------
    content : dict
        The sheet as plain mappings, lists, words, figures and truth values.
    comments : dict of str to str, optional
        A comment for a field by its path without list positions ("loads.force").
    heading : str
        Lines of comment at the top.
    """
    lines = [f"# {line}".rstrip() for line in heading.splitlines()]
    lines += _mapping(content, "", 0, comments or {})
    return "\n".join(lines) + "\n"


def _mapping(content: dict[str, Any], path: str, indent: int, comments: dict[str, str]) -> Iterator[str]:
    for name, value in content.items():
        here = f"{path}.{name}" if path else name
        yield from _entry(scalar(name), value, here, indent, comments)


def _entry(name: str, value: Any, path: str, indent: int, comments: dict[str, str]) -> Iterator[str]:
    margin = " " * indent
    if isinstance(value, dict) and value:
        yield f"{margin}{name}:"
        yield from _mapping(value, path, indent + 2, comments)
    elif isinstance(value, list) and any(isinstance(item, dict) for item in value):
        yield f"{margin}{name}:"
        for item in value:
            yield from _list_item(item, path, indent + 2, comments)
    else:
        yield _commented(f"{margin}{name}: {_flow(value)}", comments.get(path, ""))


def _list_item(item: Any, path: str, indent: int, comments: dict[str, str]) -> Iterator[str]:
    margin = " " * indent
    if not isinstance(item, dict) or not item:
        yield f"{margin}- {_flow(item)}"
        return
    for index, line in enumerate(_mapping(item, path, indent + 2, comments)):
        yield f"{margin}- {line[indent + 2 :]}" if index == 0 else line


def _flow(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(_flow(item) for item in value)}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{scalar(name)}: {_flow(part)}" for name, part in value.items()) + "}"
    return scalar(value)


def _commented(line: str, comment: str) -> str:
    return f"{line.ljust(COMMENT_COLUMN)}  # {comment}" if comment else line


def scalar(value: Any) -> str:
    """One value as YAML that the sheet reader takes back as the same value."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    text = str(value)
    if _PLAIN.fullmatch(text) and not _READ_AS_SOMETHING_ELSE.fullmatch(text):
        return text
    return _quoted(text)


def _quoted(text: str) -> str:
    import yaml

    quoted: str = yaml.safe_dump(text, default_style='"', allow_unicode=True, width=10**9)
    return quoted.strip()
