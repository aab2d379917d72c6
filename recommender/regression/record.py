"""The fitted model as a small readable record: reading, writing, checking."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.errors import DatasetError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

RECORD_FILE = Path(__file__).with_name("record.json")
FORMAT = 2


@dataclass(frozen=True)
class Seen:
    """What the fit has seen of one material: rows along and across the layers, and studies."""

    along: int
    across: int
    studies: int


@dataclass(frozen=True, eq=False)
class Record:
    """The fitted model.

    Attributes
    ----------
    names : tuple of str
        Coefficients: "across", "material:pla" and so on; all act on log(measured / mechanics).
    mean, covariance : arrays
        Their posterior.
    spreads : mapping
        Standard deviation of the logarithm for study, spool and noise, along and across, and of every group.
    scale : mapping
        By which the standard deviation of a prediction is multiplied so that intervals cover as stated: by scale_key,
        and again by "material:" and the material's key.
    seen : mapping of material key to Seen
        What the fit has seen.
    layer_over_nozzle : (low, high)
        Range of layer height over nozzle diameter in the rows.
    version : str
        Short digest of the record.
    held_out : mapping
        Scores with whole studies held out, for people.
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    spreads: Mapping[str, float]
    scale: Mapping[str, float]
    seen: Mapping[str, Seen]
    layer_over_nozzle: tuple[float, float]
    version: str
    plain: Mapping[str, Any]

    @property
    def held_out(self) -> Mapping[str, Any]:
        """Scores with whole studies held out, as written into the record when it was fitted."""
        scores: Mapping[str, Any] = self.plain["held_out"]
        return scores

    def widening(self, material: str, across: bool, filled: bool) -> float:
        """By which the standard deviation of a prediction is multiplied."""
        return self.scale[scale_key(across, filled)] * self.scale.get(f"material:{material}", 1.0)

    def place(self, name: str) -> int | None:
        """Number of the coefficient called `name`, or None."""
        return self._places.get(name)

    @cached_property
    def _places(self) -> dict[str, int]:
        return {name: place for place, name in enumerate(self.names)}

    def coefficient(self, name: str) -> float:
        """Posterior mean of a coefficient; 0 where the record has none."""
        place = self.place(name)
        return 0.0 if place is None else float(self.mean[place])


def scale_key(across: bool, filled: bool) -> str:
    """Name under which a record keeps the scale of intervals: by direction and whether the plastic is filled."""
    return f"{'filled, ' if filled else ''}{'across' if across else 'along'}"


@cache
def shipped_record() -> Record:
    """The record that comes with the package."""
    return read_record(RECORD_FILE)


def read_record(path: Path) -> Record:
    """Read a record.

    Raises
    ------
    DatasetError
        The file is missing or not such a record.
    """
    try:
        plain = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise DatasetError(f"{path.name}: the model record cannot be read ({error}). Refit it.") from error
    return record_from(plain)


def record_from(plain: Mapping[str, Any]) -> Record:
    """The record in a plain mapping."""
    import numpy as np

    if plain.get("format") != FORMAT:
        raise DatasetError(
            f"model record: format {plain.get('format')!r} is not {FORMAT}. Refit the regression."
        )
    names = tuple(plain["coefficients"])
    mean = np.array(list(plain["coefficients"].values()))
    low, high = plain["layer_over_nozzle"]
    return Record(
        names, mean, _from_lower(plain["covariance"]), plain["spreads"], plain["scale"],
        {key: Seen(**seen) for key, seen in plain["seen"].items()}, (float(low), float(high)),
        digest(plain), plain,
    )  # fmt: skip


def _from_lower(rows: Sequence[Sequence[float]]) -> Array:
    """Symmetric matrix from the rows of its lower triangle."""
    import numpy as np

    lower = np.zeros((len(rows), len(rows)))
    for i, row in enumerate(rows):
        lower[i, : i + 1] = row
    return lower + np.tril(lower, -1).T


def digest(plain: Mapping[str, Any]) -> str:
    """Short name of what the record predicts with: changes when any of it does."""
    parts = {key: plain[key] for key in ("coefficients", "covariance", "spreads", "scale")}
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()[:12]


def written(plain: Mapping[str, Any]) -> str:
    """The record as text: one line per entry, and per row of the covariance."""
    parts = []
    for key, value in plain.items():
        if key == "covariance":
            rows = ",\n  ".join(json.dumps(row) for row in value)
            parts.append(f' "{key}": [\n  {rows}\n ]')
        elif isinstance(value, dict):
            lines = ",\n  ".join(f"{json.dumps(k)}: {json.dumps(v)}" for k, v in value.items())
            parts.append(f' "{key}": {{\n  {lines}\n }}')
        else:
            parts.append(f' "{key}": {json.dumps(value)}')
    return "{\n" + ",\n".join(parts) + "\n}\n"
