"""How a part lies: which faces of its critical section are made of walls and whether layers are pulled apart.

ISO/ASTM 52921 names the axes; here `flat` lays the width on the bed, `edge` lays the thickness on the bed,
and `upright` stands the length on the bed, for every form.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

Orientation = Literal["flat", "edge", "upright"]
ORIENTATIONS: tuple[Orientation, ...] = ("flat", "edge", "upright")
Face = Literal["walls", "layers"]


@dataclass(frozen=True, slots=True)
class Lie:
    """One way to lay a form down.

    Attributes
    ----------
    depth_faces : "walls" or "layers"
        What the two faces at the ends of the section's depth (its size along the load) are made of: walls, or
        top and bottom layers.
    breadth_faces : "walls" or "layers"
        The same for the two other faces.
    across : bool
        Whether the main stress pulls layers apart.
    words : str
        How to lay the part, for the person who does it.
    """

    orientation: Orientation
    depth_faces: Face
    breadth_faces: Face
    across: bool
    words: str

    @property
    def turned(self) -> Lie:
        """The same part seen along its breadth: the two pairs of faces change places."""
        return replace(self, depth_faces=self.breadth_faces, breadth_faces=self.depth_faces)


FLAT_THICKNESS = Lie("flat", "layers", "walls", False, "lying on its wide face")
FLAT_WIDTH = Lie("flat", "walls", "layers", False, "lying on its wide face")
EDGE_THICKNESS = Lie("edge", "walls", "layers", False, "standing on its narrow long face")
EDGE_WIDTH = Lie("edge", "layers", "walls", False, "standing on its narrow long face")
UPRIGHT = Lie("upright", "walls", "walls", True, "standing on its end")


def member_lie(orientation: str, direction: str) -> Lie:
    """The lie of a straight member that is bent through its thickness or through its width."""
    if orientation == "upright":
        return UPRIGHT
    if orientation == "flat":
        return FLAT_THICKNESS if direction == "thickness" else FLAT_WIDTH
    return EDGE_THICKNESS if direction == "thickness" else EDGE_WIDTH
