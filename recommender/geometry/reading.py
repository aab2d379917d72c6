"""Read a model file: STL (binary and text), OBJ and 3MF, told apart by their content.

Every reader is bounded: sizes and counts are checked before memory is asked for, and whatever is wrong with a
file is one `ModelFileError`. STL and OBJ carry no unit; 3MF does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from recommender.errors import ModelFileError
from recommender.geometry.mesh import (
    Floats,
    Indices,
    Mesh,
    collapsed,
    open_edge_count,
    weld,
    weld_within,
)

MILLIMETRES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "foot": 304.8, "micron": 0.001}

TRIANGLE_LIMIT = 2_000_000
SIMPLIFIED_LIMIT = 10_000_000
TEXT_LIMIT_BYTES = 700_000_000
HEADER, FACET = 84, 50
FACET_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
TOKENS_PER_FACET = 21
LONGEST_TOKEN = 64
BLOCK = 4_000_000
LARGEST_COORDINATE = 1e7
WELD_TOLERANCE = 1e-6  # of the diagonal: 0.1 µm for a part of 100 mm


@dataclass(frozen=True)
class ModelFile:
    """A model as read.

    Attributes
    ----------
    mesh : Mesh
        In mm.
    form : str
        ``binary STL``, ``text STL``, ``OBJ`` or ``3MF``.
    unit : str
        Unit the coordinates were read in.
    unit_known : bool
        Whether the file or the user stated that unit; otherwise mm was taken.
    remarks : tuple of str
        What was done on the way (welded with a tolerance, facets dropped).
    """

    mesh: Mesh
    form: str
    unit: str
    unit_known: bool
    remarks: tuple[str, ...] = ()


def read_model(path: Path, unit: str | None = None, simplify_mm: float | None = None) -> ModelFile:
    """Read a model file and weld its corners.

    Parameters
    ----------
    path : Path
        STL, OBJ or 3MF; the content decides, not the name.
    unit : str, optional
        Unit of the coordinates, a key of `MILLIMETRES`; overrides what the file says.
    simplify_mm : float, optional
        Consent to move vertices by up to this much so that a very large file fits in memory.

    Raises
    ------
    ModelFileError
        The file is missing, is no model, or is damaged or too large.
    """
    if unit is not None and unit not in MILLIMETRES:
        raise ModelFileError("--units", f"{unit!r} is not known.", f"Choose from {', '.join(MILLIMETRES)}.")
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise ModelFileError(str(path), "this is no ordinary file.", "Name an STL, OBJ or 3MF file.")
        with path.open("rb") as file:
            model = _by_content(file, path, size, simplify_mm)
    except OSError as error:
        raise ModelFileError(
            str(path), f"cannot be read ({error.strerror or error}).", "Check the path."
        ) from error
    return _in_millimetres(model, unit, str(path))


def _by_content(file: BinaryIO, path: Path, size: int, simplify_mm: float | None) -> ModelFile:
    start = file.read(4096)
    file.seek(0)
    name = path.name
    if size == 0:
        raise ModelFileError(name, "the file is empty.", "Export the model again.")
    if start[:4] == b"PK\x03\x04":
        from recommender.geometry.three_mf import read_three_mf

        return read_three_mf(file, name)
    if is_binary_stl(start, size):
        return _read_binary_stl(file, name, size, simplify_mm)
    if size > TEXT_LIMIT_BYTES:
        raise ModelFileError(
            name,
            f"{size / 1e9:.1f} GB is more than a text model may have ({TEXT_LIMIT_BYTES / 1e9:.1f} GB), "
            "and the size fits no binary STL.",
            "Export a binary STL with coarser triangles.",
        )
    if _looks_like_text_stl(start):
        return _read_text_stl(file, name)
    if _looks_like_obj(start, path):
        from recommender.geometry.obj import read_obj

        return read_obj(file, name)
    raise ModelFileError(name, *_why_no_model(start, size))


def is_binary_stl(start: bytes, size: int) -> bool:
    """Whether the count field agrees with the size; a header that starts with ``solid`` proves nothing."""
    return len(start) >= HEADER and size == HEADER + FACET * _count_field(start)


def _count_field(start: bytes) -> int:
    return int.from_bytes(start[80:84], "little")


def _is_text(start: bytes) -> bool:
    return b"\0" not in start and sum(byte < 9 or 13 < byte < 32 for byte in start) == 0


def _looks_like_text_stl(start: bytes) -> bool:
    words = start.lower().split(None, 1)
    return bool(words) and words[0] == b"solid" and _is_text(start)


def _looks_like_obj(start: bytes, path: Path) -> bool:
    if not _is_text(start):
        return False
    first_words = {line.split(None, 1)[0] for line in start.splitlines() if line.strip()}
    return path.suffix.lower() == ".obj" or (b"v" in first_words and b"solid" not in first_words)


def _why_no_model(start: bytes, size: int) -> tuple[str, str]:
    if _is_text(start) or len(start) < HEADER:
        return "this is not an STL, OBJ or 3MF file.", "Export the model as a binary STL or 3MF."
    count = _count_field(start)
    expected = HEADER + FACET * count
    return (
        f"as a binary STL its count field says {count:,} triangles, which makes {expected:,} bytes, but the "
        f"file has {size:,}: it is cut short, padded or not a model.",
        "Export or download the file again.",
    )


# Binary STL


def _read_binary_stl(file: BinaryIO, name: str, size: int, simplify_mm: float | None) -> ModelFile:
    count = (size - HEADER) // FACET
    if count == 0:
        raise ModelFileError(name, "the file holds zero triangles.", "Export the model again as a solid.")
    if count > TRIANGLE_LIMIT:
        return _read_simplified(file, name, count, simplify_mm)
    records = np.fromfile(file, dtype=FACET_RECORD, count=count, offset=HEADER)
    if len(records) < count:
        raise ModelFileError(name, "the file ended early.", "Export or download the file again.")
    corners = np.ascontiguousarray(records["corners"].reshape(-1, 3))
    del records
    mesh, remarks = welded(corners, name)
    return ModelFile(mesh, "binary STL", "mm", False, remarks)


def _read_simplified(file: BinaryIO, name: str, count: int, simplify_mm: float | None) -> ModelFile:
    if simplify_mm is None or count > SIMPLIFIED_LIMIT:
        raise ModelFileError(
            name,
            f"{count:,} triangles are more than the {TRIANGLE_LIMIT:,} that fit in 1.5 GB of memory.",
            "Export it coarser, or allow vertices to move with --simplify 0.02 (mm; up to "
            f"{SIMPLIFIED_LIMIT:,} triangles).",
        )
    kept = []
    file.seek(HEADER)
    for start in range(0, count, 500_000):
        records = np.fromfile(file, dtype=FACET_RECORD, count=min(500_000, count - start))
        corners = records["corners"].reshape(-1, 3)
        refuse_impossible(corners, name)
        snapped = np.round(corners / np.float32(simplify_mm)).astype(np.float32)
        first, second, third = snapped[0::3], snapped[1::3], snapped[2::3]
        same = (first == second).all(1) | (second == third).all(1) | (third == first).all(1)
        kept.append(snapped.reshape(-1, 9)[~same])
        if sum(map(len, kept)) > TRIANGLE_LIMIT:
            raise ModelFileError(
                name,
                f"still more than {TRIANGLE_LIMIT:,} triangles after simplifying to {simplify_mm:g} mm.",
                "Allow a larger --simplify, or export it coarser.",
            )
    snapped = np.concatenate(kept).reshape(-1, 3) * np.float32(simplify_mm)
    mesh, remarks = welded(snapped, name)
    told = f"simplified from {count:,} to {len(mesh.triangles):,} triangles, as allowed: vertices moved by "
    return ModelFile(mesh, "binary STL", "mm", False, (*remarks, f"{told}up to {0.87 * simplify_mm:g} mm"))


# Text STL


def _blocks(file: BinaryIO, end: bytes) -> Iterator[bytes]:
    """The file in lower case in blocks that end after the word `end`."""
    rest = b""
    while chunk := file.read(BLOCK):
        rest += chunk.lower()
        cut = rest.rfind(end)
        if cut < 0:
            if len(rest) > 4 * BLOCK:
                break
            continue
        yield rest[: cut + len(end)]
        rest = rest[cut + len(end) :]
    yield rest


def _read_text_stl(file: BinaryIO, name: str) -> ModelFile:
    parts, count, last = [], 0, b""
    for block in _blocks(file, b"endfacet"):
        last = block
        tokens = _facet_tokens(block)
        if not tokens:
            continue
        parts.append(_corners_of(tokens, name, count))
        count += len(parts[-1]) // 3
        if count > TRIANGLE_LIMIT:
            raise ModelFileError(
                name, f"more than {TRIANGLE_LIMIT:,} triangles.", "Export a binary STL, coarser."
            )
    if not parts:
        raise ModelFileError(
            name, "begins like a text STL but holds zero triangles.", "Export the model again."
        )
    if b"endsolid" not in last:
        raise ModelFileError(
            name, "the text STL ends without 'endsolid': it is cut short.", "Export it again."
        )
    mesh, remarks = welded(np.concatenate(parts), name)
    return ModelFile(mesh, "text STL", "mm", False, remarks)


def _facet_tokens(block: bytes) -> list[bytes]:
    lines = [line for line in block.splitlines() if not line.lstrip().startswith((b"solid", b"endsolid"))]
    return b" ".join(lines).split()


def _corners_of(tokens: list[bytes], name: str, before: int) -> Floats:
    if len(tokens) % TOKENS_PER_FACET or max(map(len, tokens)) > LONGEST_TOKEN:
        raise ModelFileError(name, f"text STL damaged after facet {before:,}.", "Export it again.")
    words = np.array(tokens).reshape(-1, TOKENS_PER_FACET)
    pattern = {0: b"facet", 1: b"normal", 5: b"outer", 6: b"loop", 7: b"vertex", 11: b"vertex"}
    pattern |= {15: b"vertex", 19: b"endloop", 20: b"endfacet"}
    wrong = np.any([words[:, k] != word for k, word in pattern.items()], axis=0)
    if wrong.any():
        facet = before + int(np.argmax(wrong)) + 1
        raise ModelFileError(name, f"text STL: facet {facet:,} is not written as one.", "Export it again.")
    try:
        numbers = words[:, [8, 9, 10, 12, 13, 14, 16, 17, 18]].astype(np.float64)
    except ValueError as error:
        raise ModelFileError(
            name, f"text STL: a coordinate after facet {before:,} is no number.", "Export it again."
        ) from error
    refuse_impossible(numbers, name)
    return np.ascontiguousarray(numbers.reshape(-1, 3))


# Common


def refuse_impossible(numbers: npt.NDArray[np.float32] | Floats, name: str) -> None:
    """Refuse coordinates that are not finite or beyond any printed part."""
    if not np.isfinite(numbers).all():
        bad = int((~np.isfinite(numbers)).sum())
        raise ModelFileError(
            name, f"{bad:,} coordinates are not finite numbers (NaN or infinity).", "Export it again."
        )
    largest = float(np.abs(numbers).max(initial=0.0))
    if largest > LARGEST_COORDINATE:
        raise ModelFileError(
            name,
            f"a coordinate of {largest:.3g} is beyond {LARGEST_COORDINATE:g}: damaged, or no printed part.",
            "Export it again.",
        )


def welded(corners: npt.NDArray[np.float32] | Floats, name: str) -> tuple[Mesh, tuple[str, ...]]:
    """Weld corners, three rows per triangle: exactly, and with a tolerance only where that leaves gaps.

    Returns the mesh and what has to be said about it.
    """
    refuse_impossible(corners, name)
    vertices, index = weld(corners)
    mesh, remarks = without_collapsed_said(vertices, index.reshape(-1, 3), name)
    return joined_within_tolerance(mesh, remarks)


def without_collapsed_said(vertices: Floats, triangles: Indices, name: str) -> tuple[Mesh, tuple[str, ...]]:
    """A mesh without triangles that use a point twice, and the remark on how many there were."""
    bad = collapsed(triangles)
    dropped = int(bad.sum())
    if dropped == len(triangles):
        raise ModelFileError(name, "every triangle has collapsed to a line or a point.", "Export it again.")
    if not dropped:
        return Mesh(vertices, triangles, name), ()
    return Mesh(vertices, triangles[~bad], name), (f"{dropped:,} triangles without area were left out",)


def joined_within_tolerance(mesh: Mesh, remarks: tuple[str, ...]) -> tuple[Mesh, tuple[str, ...]]:
    """Join nearly equal vertices of a mesh that is not closed, if that closes edges; and say so."""
    if mesh.closed:
        return mesh, remarks
    tolerance = WELD_TOLERANCE * float(np.linalg.norm(mesh.extents))
    joined = weld_within(mesh, tolerance)
    before, after = open_edge_count(mesh.triangles), open_edge_count(joined.triangles)
    if after >= before or not len(joined.triangles):
        return mesh, remarks
    said = (
        f"corners closer than {tolerance:.1g} mm were joined, because corners that should be one differ "
        f"in their last digits (open edges {before:,} -> {after:,})"
    )
    return joined, (*remarks, said)


def _in_millimetres(model: ModelFile, unit: str | None, name: str) -> ModelFile:
    """Apply the unit that the user stated; three_mf applies that of the file."""
    if unit is None:
        return model
    factor = MILLIMETRES[unit] / MILLIMETRES[model.unit]
    if not factor * float(np.abs(model.mesh.bounds).max()) <= LARGEST_COORDINATE:
        raise ModelFileError(name, f"in {unit} the model is kilometres large.", "Choose another --units.")
    return replace(model, mesh=model.mesh.scaled(factor), unit=unit, unit_known=True)
