"""STL and OBJ carry no unit: ask when a size looks like inches, metres or micrometres."""

from __future__ import annotations

from recommender.geometry.findings import Finding, Severity
from recommender.geometry.mesh import Mesh
from recommender.geometry.reading import MILLIMETRES, ModelFile

USUAL_MM = (5.0, 1000.0)
LIKELY_MM = (5.0, 600.0)
CANDIDATES = ("inch", "m", "cm", "micron")


def question_of_unit(model: ModelFile) -> Finding | None:
    """A question when the largest size is unlikely in mm and another unit would make it likely."""
    largest = float(model.mesh.extents.max())
    if model.unit_known or USUAL_MM[0] <= largest <= USUAL_MM[1]:
        return None
    likely = [u for u in CANDIDATES if LIKELY_MM[0] <= largest * MILLIMETRES[u] <= LIKELY_MM[1]]
    guesses = " or ".join(f"{largest * MILLIMETRES[u]:.4g} mm if drawn in {u}" for u in likely)
    return Finding(
        "units.unlikely_size",
        Severity.CAUTION,
        f"Is the model really {largest:.4g} mm at its largest?",
        f"The file names no unit. It would be {guesses}." if likely else "The file names no unit.",
        f"Say which with --units {'|'.join(['mm', *likely])}.",
    )


def sizes_text(mesh: Mesh) -> str:
    """The size of the bounding box in words."""
    return " x ".join(f"{size:.4g}" for size in mesh.extents) + " mm"
