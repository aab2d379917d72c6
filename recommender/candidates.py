"""The candidates: every combination of settings that the printer can make, as an open grid.

A setting is an array on its own axis; functions of few settings stay on few axes and the whole grid is only
formed where everything meets. Axes: material, layer height, line width, walls, top and bottom layers, infill,
pattern. Orientations are taken one after the other because they change which face is which.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from kb.schema import Lattice, Printer

Array = NDArray[np.float64]

AXES = ("material", "layer_height", "line_width", "walls", "skins", "infill", "pattern")

WALLS = (2, 3, 4, 5, 6, 8)  # one wall alone is not asked to carry load (estimate)
SKINS = (3, 4, 5, 6, 8)
INFILL_PERCENT = (10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 70.0, 100.0)
LAYER_OVER_NOZZLE = (0.3, 0.4, 0.5, 0.7)
WIDTH_OVER_NOZZLE = (1.1, 1.25)


@dataclass(frozen=True, slots=True)
class Space:
    """Axes of the candidate grid, each one-dimensional; lengths in mm.

    `top_layers` and `bottom_layers` share an axis. `materials` and `lattices` are records of the knowledge
    base; a candidate is a tuple of one index per axis of ``AXES``.
    """

    materials: tuple[str, ...]
    lattices: tuple[Lattice, ...]
    nozzle_mm: float
    layer_height_mm: Array
    line_width_mm: Array
    walls: Array
    top_layers: Array
    bottom_layers: Array
    infill_percent: Array

    @property
    def shape(self) -> tuple[int, ...]:
        """Number of values on every axis."""
        return (
            len(self.materials),
            len(self.layer_height_mm),
            len(self.line_width_mm),
            len(self.walls),
            len(self.top_layers),
            len(self.infill_percent),
            len(self.lattices),
        )

    def on_axis(self, name: str, values: Array) -> Array:
        """`values` laid along the named axis of the open grid."""
        shape = [1] * len(AXES)
        shape[AXES.index(name)] = len(values)
        return values.reshape(shape)

    def narrowed_to(self, index: tuple[int, ...]) -> Space:
        """The space that holds only the candidate at `index`."""
        m, lh, lw, w, k, i, p = index
        return replace(
            self,
            materials=(self.materials[m],),
            lattices=(self.lattices[p],),
            layer_height_mm=self.layer_height_mm[[lh]],
            line_width_mm=self.line_width_mm[[lw]],
            walls=self.walls[[w]],
            top_layers=self.top_layers[[k]],
            bottom_layers=self.bottom_layers[[k]],
            infill_percent=self.infill_percent[[i]],
        )


def layer_heights_for(printer: Printer, nozzle_mm: float) -> Array:
    """Layer heights in mm that suit the nozzle and the machine, rounded to a hundredth."""
    low, high = printer.layer_heights_mm
    heights = {round(nozzle_mm * ratio, 2) for ratio in LAYER_OVER_NOZZLE}
    fitting = sorted(h for h in heights if low <= h <= high) or [
        round(min(max(0.5 * nozzle_mm, low), high), 2)
    ]
    return np.array(fitting)


def space_for(
    materials: tuple[str, ...], lattices: tuple[Lattice, ...], printer: Printer, nozzle_mm: float
) -> Space:
    """The grid of all settings that `printer` can make with `nozzle_mm`."""
    skins = np.array(SKINS, dtype=float)
    return Space(
        materials=materials,
        lattices=lattices,
        nozzle_mm=nozzle_mm,
        layer_height_mm=layer_heights_for(printer, nozzle_mm),
        line_width_mm=np.array([round(nozzle_mm * ratio, 2) for ratio in WIDTH_OVER_NOZZLE]),
        walls=np.array(WALLS, dtype=float),
        top_layers=skins,
        bottom_layers=skins,
        infill_percent=np.array(INFILL_PERCENT),
    )
