"""From files (ours, then the user's overlay) to a :class:`KnowledgeBase`.

The YAML files are compiled once to one file in the user's cache directory; a later start reads that file as
long as names, sizes and times of all sources are unchanged. Each of its lines is one entry as JSON, decoded
when it is first asked for. Facts are handed out with their sources, never as bare numbers;
:mod:`kb.design_values` chooses among rivals.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar, overload

from kb.faults import KnowledgeBaseError
from kb.schema import Curve, Fact, Lattice, Material, PowerLaw, Printer, Source, Speeds

KB_FOLDER = Path(__file__).resolve().parent
# Raised by hand when the compiled form changes; the code's own files are part of the cache key as well.
COMPILED_FORMAT = 2

__all__ = ["KB_FOLDER", "KnowledgeBase", "KnowledgeBaseError", "load_knowledge_base"]

T = TypeVar("T")


class BuiltOnDemand(Mapping[str, T], Generic[T]):
    """A read-only mapping whose values are made at first use from one line of JSON each."""

    def __init__(self, lines: Mapping[str, bytes], build: Callable[[Any], T]) -> None:
        self._lines, self._build, self._made = lines, build, dict[str, T]()

    def __getitem__(self, key: str) -> T:
        if key not in self._made:
            self._made[key] = self._build(json.loads(self._lines[key]))
        return self._made[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)

    def __contains__(self, key: object) -> bool:
        return key in self._lines


class ListedOnDemand(Sequence[T], Generic[T]):
    """A read-only sequence that is made at first use; equal to a sequence of the same items."""

    def __init__(self, make: Callable[[], tuple[T, ...]]) -> None:
        self._make, self._made = make, False
        self._items: tuple[T, ...] = ()

    def _all(self) -> tuple[T, ...]:
        if not self._made:
            self._items, self._made = self._make(), True
        return self._items

    @overload
    def __getitem__(self, index: int) -> T: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...
    def __getitem__(self, index: int | slice) -> T | tuple[T, ...]:
        return self._all()[index]

    def __len__(self) -> int:
        return len(self._all())

    def __iter__(self) -> Iterator[T]:
        return iter(self._all())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._all() == tuple(other)

    def __hash__(self) -> int:
        return hash(self._all())


class Materials(BuiltOnDemand[Material]):
    """The materials, with the engine values that were worked out when they were compiled."""

    def __init__(self, words: Mapping[str, bytes], facts: Mapping[str, bytes], values: Mapping[str, bytes]):
        super().__init__(words, lambda plain: _material(plain, facts[plain["key"]]))
        self._values = values

    def prepared(self, material: Material) -> list[Any] | None:
        """Plain engine values of ``material``, or None when it is not, or no longer, one of these."""
        known = material.key in self and self[material.key] is material
        return json.loads(self._values[material.key]) if known else None


@dataclass(frozen=True)
class KnowledgeBase:
    """Everything that is known, read-only.

    ``version`` is a hash of the content (12 hexadecimal digits); ``overlay`` names the user's folder, if any.
    """

    materials: Mapping[str, Material]
    printers: Mapping[str, Printer]
    lattices: Mapping[str, Lattice]
    sources: Mapping[str, Source]
    version: str
    overlay: str = ""
    tables: Mapping[str, tuple[Mapping[str, Any], ...]] = field(default_factory=dict, repr=False)
    memory: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    def table(self, name: str) -> tuple[Mapping[str, Any], ...]:
        """Rows of a flat table (``design_factors``, ``cautions``, ...) in the order of the files.

        Raises
        ------
        KeyError
            There is no table of that name.
        """
        return self.tables[name]


def load_knowledge_base(overlay: Path | None = None, folder: Path = KB_FOLDER) -> KnowledgeBase:
    """The knowledge base of ``folder``, extended and overridden by the user's ``overlay`` folder.

    Raises
    ------
    KnowledgeBaseError
        A file cannot be read or has faults; the error lists every one with file and field.
    """
    if overlay is not None and not overlay.is_dir():
        raise KnowledgeBaseError([f"{overlay}: the overlay must be an existing folder"])
    key = _freshness_key(folder, overlay)
    lines = _read_cache(key)
    if lines is None:
        lines = _lines_of(_compile(folder, overlay))
        _write_cache(key, lines)
    return _knowledge_base_from(lines)


PARTS = ("materials", "facts", "values", "printers", "lattices", "sources", "tables")


def _lines_of(compiled: Mapping[str, Any]) -> list[bytes]:
    """The compiled plain form as lines of JSON: the names of all entries, then one line for each."""
    apart = ("facts", "curves")
    parts: dict[str, dict[str, Any]] = {
        **{part: compiled[part] for part in ("values", "printers", "lattices", "sources", "tables")},
        "materials": {
            key: {name: value for name, value in plain.items() if name not in apart}
            for key, plain in compiled["materials"].items()
        },
        "facts": {
            key: {name: plain.get(name, []) for name in apart} for key, plain in compiled["materials"].items()
        },
    }
    names = {part: list(parts[part]) for part in PARTS}
    first = {"version": compiled["version"], "overlay": compiled["overlay"], "names": names}
    entries = [first, *(parts[part][name] for part in PARTS for name in names[part])]
    return [json.dumps(entry, separators=(",", ":")).encode() for entry in entries]


def _knowledge_base_from(lines: list[bytes]) -> KnowledgeBase:
    """The knowledge base made of the lines of its compiled form."""
    first = json.loads(lines[0])
    parts: dict[str, dict[str, bytes]] = {}
    start = 1
    for part in PARTS:
        names = first["names"][part]
        parts[part] = dict(zip(names, lines[start : start + len(names)], strict=True))
        start += len(names)
    return KnowledgeBase(
        materials=Materials(parts["materials"], parts["facts"], parts["values"]),
        printers=BuiltOnDemand(parts["printers"], printer_from),
        lattices=BuiltOnDemand(parts["lattices"], lattice_from),
        sources=BuiltOnDemand(parts["sources"], lambda plain: Source(**plain)),
        version=first["version"],
        overlay=first["overlay"],
        tables=BuiltOnDemand(parts["tables"], tuple),
    )


FACT_DEFAULTS: Mapping[str, Any] = {
    "low": None,
    "typical": None,
    "high": None,
    "text": None,
    "condition": "",
    "note": "",
    "set_aside": "",
}


def material_from(plain: Mapping[str, Any]) -> Material:
    """A material from the plain form of its file."""
    words = {name: value for name, value in plain.items() if name not in ("facts", "curves")}
    return _with_facts(words, _facts(plain["facts"]), _curves(plain.get("curves", ())))


def _material(words: Mapping[str, Any], line: bytes) -> Material:
    """A material whose facts and curves stay in their line of JSON until somebody looks at them."""
    return _with_facts(
        words,
        ListedOnDemand(lambda: _facts(json.loads(line)["facts"])),
        ListedOnDemand(lambda: _curves(json.loads(line)["curves"])),
    )


def _with_facts(words: Mapping[str, Any], facts: Sequence[Fact], curves: Sequence[Curve]) -> Material:
    return Material(
        **{**words, "other_names": tuple(words.get("other_names", ()))}, facts=facts, curves=curves
    )


def _facts(plain: Sequence[Mapping[str, Any]]) -> tuple[Fact, ...]:
    return tuple(Fact(**{**FACT_DEFAULTS, **fact}) for fact in plain)


def _curves(plain: Sequence[Mapping[str, Any]]) -> tuple[Curve, ...]:
    return tuple(
        Curve(**{**curve, "points": tuple(curve_point(point) for point in curve["points"])})
        for curve in plain
    )


def curve_point(point: list[float]) -> tuple[float, float, float, float]:
    """(degC, low, typical, high) from that or from (degC, typical)."""
    if len(point) == 2:
        return (point[0], point[1], point[1], point[1])
    temperature, low, typical, high = point
    return (temperature, low, typical, high)


def printer_from(plain: Mapping[str, Any]) -> Printer:
    """A printer from the plain form of its entry."""
    listed = ("nozzle_diameters_mm", "build_volume_mm", "layer_heights_mm", "sources")
    return Printer(
        **{
            **plain,
            **{name: tuple(plain[name]) for name in listed},
            "speeds": Speeds(**plain["speeds"]),
        }
    )


def lattice_from(plain: Mapping[str, Any]) -> Lattice:
    """A lattice from the plain form of its entry."""
    made = {name: PowerLaw(**value) for name, value in plain.items() if isinstance(value, dict)}
    listed = {name: tuple(plain[name]) for name in ("density_range", "printed_penalty", "sources")}
    return Lattice(**{**plain, **made, **listed})


# -- compiling and caching ---------------------------------------------------------------------------------


def _compile(folder: Path, overlay: Path | None) -> dict[str, Any]:
    from kb.validation import checked  # compiling is rare and needs YAML

    compiled, problems = checked(folder, overlay)
    if problems:
        raise KnowledgeBaseError(problems)
    return compiled


def content_version(compiled: Mapping[str, Any]) -> str:
    """Hash of the content, 12 hexadecimal digits, the same wherever and whenever it is compiled."""
    text = json.dumps(
        {k: v for k, v in compiled.items() if k not in ("version", "overlay", "values")}, sort_keys=True
    )
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _freshness_key(folder: Path, overlay: Path | None) -> str:
    """Hash of name, size and time of every file that could change the compiled form."""
    digest = hashlib.sha256(f"{COMPILED_FORMAT}".encode())
    for root in (folder, overlay):
        if root is not None:
            digest.update(os.fsencode(str(root)))
            for path, size, time in _stamps(str(root)):
                digest.update(f"{path}\0{size}\0{time}\0".encode("utf-8", "surrogateescape"))
    return digest.hexdigest()[:24]


def _stamps(root: str) -> list[tuple[str, int, int]]:
    stamps = []
    pending = [root]
    while pending:
        with os.scandir(pending.pop()) as entries:
            for entry in entries:
                if entry.is_dir():
                    if entry.name != "__pycache__":
                        pending.append(entry.path)
                elif entry.name.endswith((".yaml", ".py")):
                    stat = entry.stat()
                    stamps.append((entry.path, stat.st_size, stat.st_mtime_ns))
    return sorted(stamps)


def cache_folder() -> Path:
    """The user's cache folder of this program.

    On Linux the rule is one line (XDG base directory specification), so the library that knows all systems
    is not loaded there: that costs as much as reading the whole knowledge base.
    """
    system: str = sys.platform
    if system == "linux":
        named = os.environ.get("XDG_CACHE_HOME", "").strip()
        return (Path(named) if named else Path.home() / ".cache") / "partduty"
    from platformdirs import user_cache_path

    return user_cache_path("partduty", appauthor=False)


def _cache_file(key: str) -> Path:
    return cache_folder() / f"knowledge-{key}.lines"


def _read_cache(key: str) -> list[bytes] | None:
    """The lines kept under ``key``; None when there are none that can be trusted."""
    try:
        digest, _, text = _cache_file(key).read_bytes().partition(b"\n")
    except (OSError, RuntimeError):  # RuntimeError: no home directory is known
        return None
    return text.split(b"\n") if hashlib.sha256(text).hexdigest().encode() == digest else None


def _write_cache(key: str, lines: list[bytes]) -> None:
    """Keep the lines; a cache that cannot be written is done without."""
    import tempfile

    text = b"\n".join(lines)
    whole = hashlib.sha256(text).hexdigest().encode() + b"\n" + text
    try:
        target = _cache_file(key)
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=target.stem, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(whole)
            Path(temporary).replace(target)
        except OSError:
            Path(temporary).unlink(missing_ok=True)
            raise
        _forget_old_caches(target)
    except (OSError, RuntimeError):
        return


def kept(name: str, make: Callable[[], Any]) -> Any:
    """What ``make`` returns (plain JSON values), kept in the cache under ``name`` for the next process.

    The name must change with everything that the result depends on. A cache that is missing, damaged or not
    writable only costs the time to make it again.
    """
    lines = _read_cache(name)
    if lines is not None:
        try:
            return json.loads(lines[0])
        except ValueError:
            pass
    made = make()
    _write_cache(name, [json.dumps(made, ensure_ascii=False).encode()])
    return made


def _forget_old_caches(newest: Path, keep: int = 8) -> None:
    """Leave only the most recent compiled files, so that the folder does not grow without end."""
    files = sorted(
        newest.parent.glob("knowledge-*.lines"), key=lambda path: path.stat().st_mtime, reverse=True
    )
    for path in files[keep:]:
        path.unlink(missing_ok=True)
