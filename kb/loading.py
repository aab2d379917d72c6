"""From files (ours, then the user's overlay) to a :class:`KnowledgeBase`.

The YAML files are compiled once to one JSON file in the user's cache directory; a later start reads that file
as long as names, sizes and times of all sources are unchanged. Facts are handed out with their sources, never
as bare numbers; :mod:`kb.design_values` chooses among rivals.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from kb.faults import KnowledgeBaseError
from kb.schema import Curve, Fact, Lattice, Material, PowerLaw, Printer, Source, Speeds

KB_FOLDER = Path(__file__).resolve().parent
# Raised by hand when the compiled form changes; the code's own files are part of the cache key as well.
COMPILED_FORMAT = 1

__all__ = ["KB_FOLDER", "KnowledgeBase", "KnowledgeBaseError", "load_knowledge_base"]

T = TypeVar("T")


class BuiltOnDemand(Mapping[str, T], Generic[T]):
    """A read-only mapping whose values are made at first use from their plain form."""

    def __init__(self, plain: Mapping[str, Any], build: Callable[[Any], T]) -> None:
        self._plain, self._build, self._made = plain, build, dict[str, T]()

    def __getitem__(self, key: str) -> T:
        if key not in self._made:
            self._made[key] = self._build(self._plain[key])
        return self._made[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._plain)

    def __len__(self) -> int:
        return len(self._plain)

    def __contains__(self, key: object) -> bool:
        return key in self._plain


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
    compiled = _read_cache(key)
    if compiled is None:
        compiled = _compile(folder, overlay)
        _write_cache(key, compiled)
    return knowledge_base_from(compiled)


def knowledge_base_from(compiled: Mapping[str, Any]) -> KnowledgeBase:
    """The knowledge base made of its compiled plain form."""
    return KnowledgeBase(
        materials=BuiltOnDemand(compiled["materials"], material_from),
        printers=BuiltOnDemand(compiled["printers"], printer_from),
        lattices=BuiltOnDemand(compiled["lattices"], lattice_from),
        sources=BuiltOnDemand(compiled["sources"], lambda plain: Source(**plain)),
        version=compiled["version"],
        overlay=compiled["overlay"],
        tables={name: tuple(rows) for name, rows in compiled["tables"].items()},
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
    words = {k: v for k, v in plain.items() if k not in ("facts", "curves", "other_names")}
    return Material(
        **words,
        facts=tuple(Fact(**{**FACT_DEFAULTS, **fact}) for fact in plain["facts"]),
        curves=tuple(
            Curve(**{**curve, "points": tuple(curve_point(p) for p in curve["points"])})
            for curve in plain.get("curves", ())
        ),
        other_names=tuple(plain.get("other_names", ())),
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
    text = json.dumps({k: v for k, v in compiled.items() if k not in ("version", "overlay")}, sort_keys=True)
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


def _cache_file(key: str) -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("partduty", appauthor=False) / f"knowledge-{key}.json"


def _read_cache(key: str) -> dict[str, Any] | None:
    """The compiled form kept under ``key``; None when there is none that can be trusted."""
    try:
        raw = _cache_file(key).read_bytes()
        digest, text = raw[:64], raw[65:]
        if hashlib.sha256(text).hexdigest().encode() != digest:
            return None
        compiled = json.loads(text)
    except (OSError, ValueError):
        return None
    return compiled if isinstance(compiled, dict) else None


def _write_cache(key: str, compiled: Mapping[str, Any]) -> None:
    """Keep the compiled form; a cache that cannot be written is done without."""
    import tempfile

    text = json.dumps(compiled, separators=(",", ":")).encode()
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
    except OSError:
        return


def _forget_old_caches(newest: Path, keep: int = 8) -> None:
    """Leave only the most recent compiled files, so that the folder does not grow without end."""
    files = sorted(
        newest.parent.glob("knowledge-*.json"), key=lambda path: path.stat().st_mtime, reverse=True
    )
    for path in files[keep:]:
        path.unlink(missing_ok=True)
