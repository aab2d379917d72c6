"""The user's profile: who makes the parts, in which languages and units the notes are written."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kb.wording import LANGUAGES
from recommender.errors import InputError
from recommender.report.note.case import NOBODY, Maker
from recommender.report.note.layout import PAPERS

VARIABLE = "PARTDUTY_PROFILE"
LARGEST_FILE = 50_000  # bytes

TEMPLATE = """\
# Who makes the parts. Every line is optional; what is missing is named as missing on the note.
maker: ""          # name of the maker
address: ""        # postal address
contact: ""        # e-mail or web address
batch: ""          # batch number, unless the command gives one
date: ""           # day of making, unless the command gives one
languages: [en]    # of the readers: en, de, fr, es; one note is written for each
units: metric      # metric or us; the other unit follows in brackets
paper: a4          # a4 or letter
"""


class ProfileError(InputError):
    """The profile cannot be read or says something that is not possible."""


@dataclass(frozen=True, slots=True)
class Profile:
    """What the profile says; an empty text is a missing one."""

    maker: Maker = NOBODY
    batch: str = ""
    date: str = ""
    languages: tuple[str, ...] = ("en",)
    units: str = "metric"
    paper: str = "a4"


def profile_path(given: Path | None = None) -> Path:
    """Where the profile lies: as `given`, as PARTDUTY_PROFILE says, or in the user's configuration folder."""
    if given is not None:
        return given
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("partduty", appauthor=False) / "profile.yaml"


def read_profile(given: Path | None = None) -> Profile:
    """The user's profile; an empty one when none was ever written and none is named.

    Raises
    ------
    ProfileError
        The named file is missing, is not YAML, or holds an unknown field or value.
    """
    path = profile_path(given)
    if not path.exists() and given is None and not os.environ.get(VARIABLE):
        return Profile()
    return profile_from(_mapping_at(path), path.name)


def _mapping_at(path: Path) -> dict[str, Any]:
    import yaml

    try:
        if path.stat().st_size > LARGEST_FILE:
            raise ProfileError(path.name, "the file is too large for a profile.", "It is about ten lines.")
        content = yaml.safe_load(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise ProfileError(
            str(path), "there is no such profile.", "Write one with `partduty profile --write`."
        ) from None
    except (OSError, UnicodeDecodeError, yaml.YAMLError, RecursionError, ValueError) as error:
        first = " ".join(str(error).split())[:120]
        raise ProfileError(
            path.name, f"the profile cannot be read ({first}).", "It is YAML: see `partduty profile`."
        ) from None
    if content is None:
        return {}
    if not isinstance(content, dict):
        raise ProfileError(path.name, "the profile holds no fields.", "Write lines such as `maker: Ann Lee`.")
    return content


_FIELDS = ("maker", "address", "contact", "batch", "date", "languages", "units", "paper")


def profile_from(content: dict[str, Any], name: str = "profile") -> Profile:
    """The profile that `content` describes."""
    unknown = [str(key) for key in content if key not in _FIELDS]
    if unknown:
        raise ProfileError(
            f"{name}: {unknown[0]}", "there is no such field.", f"Known: {', '.join(_FIELDS)}."
        )
    texts = {
        key: _text(content, key, name)
        for key in ("maker", "address", "contact", "batch", "date", "units", "paper")
    }
    return Profile(
        Maker(texts["maker"], texts["address"], texts["contact"]),
        texts["batch"],
        texts["date"],
        _languages(content.get("languages"), name),
        _one_of(texts["units"] or "metric", ("metric", "us"), f"{name}: units"),
        _one_of(texts["paper"].lower() or "a4", tuple(PAPERS), f"{name}: paper"),
    )


def _text(content: dict[str, Any], key: str, name: str) -> str:
    value = content.get(key)
    if value is None:
        return ""
    if isinstance(value, (dict, list, bool)):
        raise ProfileError(f"{name}: {key}", f"{value!r}"[:60] + " is not text.", "Write it on one line.")
    return str(value)


def _languages(value: Any, name: str) -> tuple[str, ...]:
    listed = [value] if isinstance(value, str) else value or ["en"]
    if not isinstance(listed, list):
        raise ProfileError(f"{name}: languages", f"{value!r}"[:60] + " is not a list.", "Write [en, de].")
    return tuple(dict.fromkeys(_one_of(entry, LANGUAGES, f"{name}: languages") for entry in listed))


def _one_of(value: Any, allowed: tuple[str, ...], field: str) -> str:
    if value not in allowed:
        raise ProfileError(field, f"{value!r}"[:60] + " is not known.", f"Allowed: {', '.join(allowed)}.")
    return str(value)
