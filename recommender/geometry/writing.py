"""Write a mesh as binary STL or as 3MF with its unit; a file appears whole or not at all."""

from __future__ import annotations

import io
import os
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from recommender.errors import ModelFileError
from recommender.geometry.mesh import Mesh
from recommender.geometry.reading import FACET_RECORD

CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>"
)
RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
MODEL_START = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<model unit="millimeter" xml:lang="en-US" '
    'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
    '<resources><object id="1" type="model"><mesh><vertices>'
)
MODEL_END = '</triangles></mesh></object></resources><build><item objectid="1"/></build></model>'


def stl_bytes(mesh: Mesh) -> bytes:
    """The mesh as a binary STL file in mm."""
    records = np.zeros(len(mesh.triangles), dtype=FACET_RECORD)
    records["corners"] = mesh.vertices[mesh.triangles]
    lengths = 2 * mesh.areas[:, None]
    records["normal"] = np.divide(
        2 * mesh.area_vectors, lengths, out=np.zeros_like(mesh.area_vectors), where=lengths > 0
    )
    header = b"binary STL, unit mm".ljust(80, b" ") + len(records).to_bytes(4, "little")
    return header + records.tobytes()


def three_mf_bytes(mesh: Mesh) -> bytes:
    """The mesh as a 3MF package with unit millimetre."""
    vertices = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in mesh.vertices.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    model = f"{MODEL_START}{vertices}</vertices><triangles>{triangles}{MODEL_END}"
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as package:
        for path, text in (
            ("[Content_Types].xml", CONTENT_TYPES),
            ("_rels/.rels", RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            package.writestr(
                zipfile.ZipInfo(path), text, zipfile.ZIP_DEFLATED
            )  # fixed date: same bytes again
    return buffer.getvalue()


WRITERS: dict[str, Callable[[Mesh], bytes]] = {"stl": stl_bytes, "3mf": three_mf_bytes}


def write_whole(path: Path, content: bytes) -> None:
    """Write a file through a neighbour that is renamed at the end, so that nothing is left half written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(temporary).chmod(0o644)
            Path(temporary).replace(path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise ModelFileError(
            str(path), f"cannot be written ({error.strerror}).", "Choose another folder."
        ) from error


def write_model(mesh: Mesh, path: Path) -> None:
    """Write a mesh as ``.stl`` or ``.3mf``, by the name's ending."""
    form = path.suffix.lower().removeprefix(".")
    if form not in WRITERS:
        raise ModelFileError(str(path), f"{path.suffix!r} cannot be written.", "Use .stl or .3mf.")
    write_whole(path, WRITERS[form](mesh))
