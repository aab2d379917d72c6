"""Read 3MF: a zip package with XML meshes, units and placements (3MF Core Specification 1.3).

The package is not trusted: sizes are counted while unpacking, document types and entities are refused,
components may not nest without end.
"""

from __future__ import annotations

import posixpath
import zipfile
import zlib
from array import array
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import BinaryIO
from xml.parsers import expat

import numpy as np

from recommender.errors import ModelFileError
from recommender.geometry.mesh import Floats, Indices
from recommender.geometry.reading import (
    LARGEST_COORDINATE,
    TRIANGLE_LIMIT,
    ModelFile,
    joined_within_tolerance,
    refuse_impossible,
    without_collapsed_said,
)

UNITS = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
OUR_UNIT = {
    "micron": "micron",
    "millimeter": "mm",
    "centimeter": "cm",
    "inch": "inch",
    "foot": "foot",
    "meter": "m",
}
ENTRIES_LIMIT = 2_000
PART_LIMIT_BYTES = 600_000_000
RATIO_LIMIT = 200
RATIO_FLOOR_BYTES = 5_000_000
DEPTH_LIMIT = 16
PLACEMENTS_LIMIT = 20_000
DEFAULT_MODEL = "3D/3dmodel.model"
MODEL_RELATION = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
ROW_TRANSFORM = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)

Reference = tuple[str, str, Floats]  # part of the package, object id, 4 x 3 transform of row vectors


@dataclass
class _Object:
    vertices: array[float] = field(default_factory=lambda: array("d"))
    triangles: array[int] = field(default_factory=lambda: array("q"))
    components: list[Reference] = field(default_factory=list)
    kind: str = "model"


@dataclass
class _Part:
    """One XML file of the package."""

    unit: str = "millimeter"
    objects: dict[str, _Object] = field(default_factory=dict)
    build: list[Reference] = field(default_factory=list)


class _Refused(Exception):
    """What is wrong with the package; becomes a ModelFileError."""


def read_three_mf(file: BinaryIO, name: str) -> ModelFile:
    """Read the build of a 3MF package as one mesh in mm.

    Raises
    ------
    ModelFileError
        The package is damaged, hostile, encrypted, too large, or holds no mesh.
    """
    try:
        with zipfile.ZipFile(file) as package:
            if len(package.infolist()) > ENTRIES_LIMIT:
                raise _Refused(f"the package has more than {ENTRIES_LIMIT:,} entries.")
            return _model(package, name)
    except _Refused as refused:
        raise ModelFileError(name, str(refused), "Export the 3MF file again.") from refused
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise ModelFileError(
            name, f"the 3MF package is damaged ({error}).", "Export or download it again."
        ) from error
    except (expat.ExpatError, ValueError, KeyError, IndexError, OverflowError, UnicodeError) as error:
        raise ModelFileError(name, f"the 3MF model is not valid ({error}).", "Export it again.") from error


def _model(package: zipfile.ZipFile, name: str) -> ModelFile:
    root = _model_path(package)
    reader = _Reader(package)
    part = reader.part(root)
    factor = UNITS[part.unit]
    build = part.build or [(root, key, _identity()) for key in part.objects]
    vertices, triangles = reader.assembled(build)
    if not len(triangles):
        raise _Refused("the package holds zero triangles.")
    vertices = vertices * factor
    refuse_impossible(vertices, name)
    mesh, remarks = without_collapsed_said(vertices, triangles, name)
    mesh, remarks = joined_within_tolerance(mesh, remarks)
    return ModelFile(mesh, "3MF", OUR_UNIT[part.unit], True, remarks)


def _identity() -> Floats:
    return np.array(ROW_TRANSFORM).reshape(4, 3)


def _model_path(package: zipfile.ZipFile) -> str:
    """Path of the main model by the package's relations, or the usual one."""
    found: list[str] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        if tag.endswith("Relationship") and attributes.get("Type") == MODEL_RELATION:
            found.append(attributes["Target"])

    if "_rels/.rels" in package.namelist():
        _parse(package, "_rels/.rels", start)
    path = found[0].lstrip("/") if found else DEFAULT_MODEL
    if path not in package.namelist():
        raise _Refused(f"the package has no model part {path!r}.")
    return path


def _parse(package: zipfile.ZipFile, path: str, start: Callable[[str, dict[str, str]], None]) -> None:
    """Feed a part to expat block by block, counting what really comes out of the package."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse_document_type
    parser.EntityDeclHandler = _refuse_document_type
    parser.StartElementHandler = start
    info = package.getinfo(path)
    if info.flag_bits & 1:
        raise _Refused("the package is encrypted.")
    read = 0
    with package.open(info) as stream:
        while block := stream.read(1 << 20):
            read += len(block)
            if read > PART_LIMIT_BYTES or read > max(RATIO_LIMIT * info.compress_size, RATIO_FLOOR_BYTES):
                raise _Refused(f"{path} unpacks to far more than its size promises: refused as a bomb.")
            parser.Parse(block, False)
    parser.Parse(b"", True)


def _refuse_document_type(*_: object) -> None:
    raise _Refused("the XML declares a document type or entities, which 3MF forbids.")


class _Reader:
    """Reads the parts of a package once each and puts their objects together."""

    def __init__(self, package: zipfile.ZipFile) -> None:
        self.package = package
        self.parts: dict[str, _Part] = {}
        self.triangles = self.vertices = self.placements = 0

    def part(self, path: str) -> _Part:
        if path not in self.parts:
            if path not in self.package.namelist():
                raise _Refused(f"the package has no part {path!r}.")
            handler = _ModelHandler(path)
            _parse(self.package, path, handler.start)
            if handler.part.unit not in UNITS:
                raise _Refused(f"the unit {handler.part.unit!r} is not one of 3MF.")
            self.parts[path] = handler.part
        return self.parts[path]

    def assembled(self, references: list[Reference]) -> tuple[Floats, Indices]:
        """Vertices and triangles of all references, transformed."""
        vertices: list[Floats] = [np.empty((0, 3))]
        triangles: list[Indices] = [np.empty((0, 3), dtype=np.int32)]
        self._collect(references, _identity(), vertices, triangles, 0)
        return np.concatenate(vertices), np.concatenate(triangles).astype(np.int32)

    def _collect(
        self,
        references: list[Reference],
        outer: Floats,
        vertices: list[Floats],
        triangles: list[Indices],
        depth: int,
    ) -> None:
        if depth > DEPTH_LIMIT:
            raise _Refused(f"components nest deeper than {DEPTH_LIMIT}.")
        for path, key, inner in references:
            part = self.part(path)
            if key not in part.objects:
                raise _Refused(f"object {key!r} does not exist.")
            item = part.objects[key]
            if item.kind not in ("model", "solidsupport", "surface"):
                continue
            transform = _combined(inner, outer)
            self._append(item, transform, vertices, triangles)
            self._collect(item.components, transform, vertices, triangles, depth + 1)

    def _append(
        self, item: _Object, transform: Floats, vertices: list[Floats], triangles: list[Indices]
    ) -> None:
        self.triangles += len(item.triangles) // 3
        self.placements += 1
        if self.triangles > TRIANGLE_LIMIT or self.placements > PLACEMENTS_LIMIT:
            raise _Refused(f"more than {TRIANGLE_LIMIT:,} triangles or {PLACEMENTS_LIMIT:,} objects in all.")
        points = np.frombuffer(item.vertices, dtype=np.float64).reshape(-1, 3) if item.vertices else None
        if points is None or not item.triangles:
            return
        rows = np.frombuffer(item.triangles, dtype=np.int64).reshape(-1, 3)
        if rows.min() < 0 or rows.max() >= len(points):
            raise _Refused("a triangle points at a vertex that does not exist.")
        if np.linalg.det(transform[:3]) < 0:
            rows = rows[:, ::-1]
        vertices.append(points @ transform[:3] + transform[3])
        triangles.append((rows + self.vertices).astype(np.int32))
        self.vertices += len(points)


def _combined(inner: Floats, outer: Floats) -> Floats:
    """First the inner, then the outer transform, both 4 x 3 for row vectors."""
    return np.vstack([inner[:3] @ outer[:3], inner[3] @ outer[:3] + outer[3]])


class _ModelHandler:
    """Collects one model part from the start tags of its XML."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.part = _Part()
        self.current: _Object | None = None
        self.handlers: dict[str, Callable[[dict[str, str]], None]] = {
            "vertex": self._vertex,
            "triangle": self._triangle,
            "model": self._model,
            "object": self._object,
            "component": self._component,
            "item": self._item,
        }

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        handler = self.handlers.get(tag.rpartition(" ")[2])
        if handler:
            handler(attributes)

    def _open_object(self) -> _Object:
        if self.current is None:
            raise _Refused("a mesh stands outside any object.")
        return self.current

    def _vertex(self, attributes: dict[str, str]) -> None:
        item = self._open_object()
        item.vertices.extend((float(attributes["x"]), float(attributes["y"]), float(attributes["z"])))

    def _triangle(self, attributes: dict[str, str]) -> None:
        item = self._open_object()
        item.triangles.extend((int(attributes["v1"]), int(attributes["v2"]), int(attributes["v3"])))
        if len(item.triangles) > 3 * TRIANGLE_LIMIT:
            raise _Refused(f"more than {TRIANGLE_LIMIT:,} triangles.")

    def _model(self, attributes: dict[str, str]) -> None:
        self.part.unit = attributes.get("unit", "millimeter")

    def _object(self, attributes: dict[str, str]) -> None:
        self.current = _Object(kind=attributes.get("type", "model"))
        self.part.objects[attributes["id"]] = self.current

    def _component(self, attributes: dict[str, str]) -> None:
        self._open_object().components.append(self._reference(attributes))

    def _item(self, attributes: dict[str, str]) -> None:
        self.part.build.append(self._reference(attributes))

    def _reference(self, attributes: dict[str, str]) -> Reference:
        elsewhere = [value for key, value in attributes.items() if key.endswith(" path")]
        path = posixpath.normpath(elsewhere[0].lstrip("/")) if elsewhere else self.path
        return path, attributes["objectid"], _transform(attributes.get("transform"))


def _transform(text: str | None) -> Floats:
    if text is None:
        return _identity()
    numbers = [float(word) for word in text.split()]
    if len(numbers) != 12 or not all(abs(number) <= LARGEST_COORDINATE for number in numbers):
        raise _Refused("a transform does not hold twelve sensible numbers.")
    return np.array(numbers).reshape(4, 3)
