"""What every form must say of itself so that the engine can answer for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from recommender.duty.loads import Load
from recommender.section.core import CoreRatios
from recommender.section.lie import Lie
from recommender.section.printed import Skins
from recommender.section.strengths import Strengths

Array = NDArray[np.float64]
StateBasis = Literal[
    "along", "across", "pressed", "shear_within", "shear_between", "stiffness", "strain", "core"
]


@dataclass(frozen=True, slots=True)
class Block:
    """All candidates of one orientation, as an open grid: skins, core and layer height (mm).

    `bending_exponent` is the share of the plastic reserve in bending that the section may use (0: none, the
    first fibre at its strength is the end).
    """

    orientation: str
    skins: Skins
    core: CoreRatios
    layer_height_mm: Array
    layer_over_nozzle: Array
    bending_exponent: float = 0.0

    def core_along(self, lie: Lie) -> Array:
        """Core over solid for stress along the part: in the layers' plane, or across it when upright."""
        return self.core.build if lie.across else self.core.in_plane

    def core_shear(self, lie: Lie) -> Array:
        """Core over solid in shear through the depth: in the layers' plane only when walls face the load."""
        within = lie.depth_faces == "walls" and not lie.across
        return self.core.shear_in_plane if within else self.core.shear_build

    def core_through(self, lie: Lie) -> Array:
        """Core over solid for stress through the depth: across the layers where layers face the load."""
        return self.core.build if lie.depth_faces == "layers" else self.core.in_plane


@dataclass(frozen=True, slots=True)
class Demand:
    """One load case as the form meets it: `amount` in `unit` (N, N mm, MPa, mm, deg)."""

    index: int
    load: Load
    action: str
    amount: float
    unit: str


@dataclass(frozen=True, slots=True)
class LimitState:
    """One way to fail.

    Attributes
    ----------
    key : str
        Stable name.
    words : str
        What happens, in plain words: "the stretched face tears".
    basis : str
        Which strength decides; its spread goes into the interval. "stiffness" states are limits on movement
        and take no factor of safety.
    log_sd : float
        Standard deviation of the logarithm of the formula's own error (estimates unless a source is given).
    multiple : callable
        (block, strengths) -> load at failure as a multiple of the demand, on the candidate grid.
    note : str
        Assumption that goes with it, shown under --explain.
    """

    key: str
    words: str
    basis: StateBasis
    log_sd: float
    multiple: Callable[[Block, Strengths], Array]
    note: str = ""

    @property
    def is_limit_on_movement(self) -> bool:
        """Whether passing needs only a multiple of 1."""
        return self.basis == "stiffness"


class SectionSummary(Protocol):
    """What is said of the section that fails first: its area and how much of it is core, mm^2."""

    @property
    def area(self) -> float: ...

    @property
    def core_area(self) -> Array: ...


@dataclass(frozen=True, slots=True)
class Envelope:
    """What the printer lays for a part in one orientation; mm, mm^2, mm^3.

    `footprint` is the mean area of a layer, `perimeter` the mean length of its outline, `height` the build
    height, `box` the bounding box as laid (x, y, z), `capped` the area covered by top and bottom layers
    (each), `support_mm3` the volume under overhangs that needs support.
    """

    footprint: float
    perimeter: float
    height: float
    box: tuple[float, float, float]
    capped: float
    support_mm3: float = 0.0

    @property
    def volume(self) -> float:
        """Outline volume, mm^3."""
        return self.footprint * self.height


@dataclass(frozen=True, slots=True)
class ShapeChange:
    """A change of the part's shape worth trying: words, and the changed form."""

    words: str
    form: Any


class FormModel(Protocol):
    """The questions every form answers."""

    @property
    def gives(self) -> bool:
        """Whether `deflection` is known, so that a blow's energy can be turned into a force."""
        ...

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """Orientations in which the form can be printed and its formulas hold."""
        ...

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """The load case in the form's own terms."""
        ...

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """Reasons why the formulas do not hold for these sizes: then no number is given."""
        ...

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Which faces are walls and whether layers are pulled apart."""
        ...

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Every way to fail under this load case."""
        ...

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """Movement under the demand, mm, where the form has a formula for it."""
        ...

    def strain(self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths) -> Array | None:
        """Largest strain under the demand (1 = 100 %), where the form has a formula for it."""
        ...

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> SectionSummary:
        """The section where the part fails first."""
        ...

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """Largest direct stress in the skin under the demand, MPa."""
        ...

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """What the printer lays."""
        ...

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Changes of shape worth trying."""
        ...
