"""From settings to the printed section: thickness of each face, what is left for the core, its rigidities.

Rigidities are relative to the solid plastic of the skin (E_s = G_s = 1), so they stay on the axes of the
settings and meet the material only when a strength is applied.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.mechanics import layered_section, section_properties, torsion
from recommender.mechanics.broadcasting import Computed
from recommender.section.lie import Lie

Array = NDArray[np.float64]

LEAST_CORE_LINES = 0.5  # room narrower than half a line is filled with solid plastic (estimate)


@dataclass(frozen=True, slots=True)
class Skins:
    """Thickness of the printed skin of a block of candidates, mm, on the open grid."""

    walls_mm: Array
    top_mm: Array
    bottom_mm: Array
    line_width_mm: Array

    @property
    def thinner_layers_mm(self) -> Array:
        """The thinner of top and bottom, mm: it decides when they differ."""
        return np.minimum(self.top_mm, self.bottom_mm)

    def face_mm(self, face: str) -> Array:
        """Thickness of a face made of "walls" or of "layers", mm."""
        return self.walls_mm if face == "walls" else self.thinner_layers_mm

    def filled(self, size: float, thickness: Array) -> Array:
        """`thickness`, or half of `size` where less than half a line would be left between two faces."""
        return np.where(size - 2.0 * thickness < LEAST_CORE_LINES * self.line_width_mm, size / 2.0, thickness)


@dataclass(frozen=True, slots=True)
class RectangularSection:
    """Rectangle bent through `depth`; faces in mm, already filled where walls or layers meet."""

    depth: float
    breadth: float
    depth_face: Array
    breadth_face: Array

    @classmethod
    def printed(cls, depth: float, breadth: float, skins: Skins, lie: Lie) -> RectangularSection:
        """The section of these sizes as printed in this lie; solid where the skins meet."""
        depth_face = skins.filled(depth, skins.face_mm(lie.depth_faces))
        breadth_face = skins.filled(breadth, skins.face_mm(lie.breadth_faces))
        solid = (2.0 * depth_face >= depth) | (2.0 * breadth_face >= breadth)
        return cls(
            depth,
            breadth,
            np.where(solid, depth / 2.0, depth_face),
            np.where(solid, breadth / 2.0, breadth_face),
        )

    @property
    def area(self) -> float:
        """Outline area, mm^2."""
        return self.depth * self.breadth

    @property
    def half_depth(self) -> float:
        """Distance of the outer fibre from the middle, mm."""
        return self.depth / 2.0

    @property
    def core_area(self) -> Array:
        """Area of the lattice core, mm^2; 0 where the section is solid."""
        core: Array = np.maximum(self.depth - 2.0 * self.depth_face, 0.0) * np.maximum(
            self.breadth - 2.0 * self.breadth_face, 0.0
        )
        return core

    def axial(self, core: Array) -> Computed:
        """EA / E_s, mm^2."""
        return layered_section.axial_rigidity(
            width=self.breadth, height=self.depth, wall_thickness=self.breadth_face,
            top_bottom_thickness=self.depth_face, skin_modulus=1.0, core_modulus=core,
        )  # fmt: skip

    def flexural(self, core: Array) -> Computed:
        """EI / E_s, mm^4."""
        return layered_section.flexural_rigidity(
            width=self.breadth, height=self.depth, wall_thickness=self.breadth_face,
            top_bottom_thickness=self.depth_face, skin_modulus=1.0, core_modulus=core,
        )  # fmt: skip

    def turned(self) -> RectangularSection:
        """The same section bent the other way."""
        return RectangularSection(self.breadth, self.depth, self.breadth_face, self.depth_face)

    def shear(self, core: Array) -> Computed:
        """GA / G_s, mm^2."""
        return layered_section.shear_rigidity(
            width=self.breadth, height=self.depth, wall_thickness=self.breadth_face,
            top_bottom_thickness=self.depth_face, skin_shear_modulus=1.0, core_shear_modulus=core,
        )  # fmt: skip

    def core_shear_stress(self, core: Array, shear_force: float) -> Computed:
        """Shear stress in the core, MPa; 0 where there is no core.

        The core follows the strain of the side walls at mid-depth, 1.5 V / (h W) with W the breadth weighted by
        stiffness, and more beside stiff walls: up to CORE_SHEAR_CORRECTION times over a soft core. Against the
        ten finite-element runs of the mechanics it lies 5 to 39 % high, and unlike the sandwich formula it does
        not grow without bound where thick skins leave a thin core.
        """
        walls = 2.0 * self.breadth_face
        carrying = walls + core * np.maximum(self.breadth - walls, 0.0)
        beside = (layered_section.CORE_SHEAR_CORRECTION - 1.0) * (1.0 - core) * walls / carrying
        stress = core * 1.5 * shear_force / (self.depth * carrying) * (1.0 + beside)
        return np.where(self.core_area > 0.0, stress, 0.0)

    def skin_shear_stress(self, core: Array, shear_force: float) -> Computed:
        """Largest shear stress in the skin, MPa: 1.5 V over the area that carries, weighted by stiffness."""
        return 1.25 * shear_force / self.shear(core)

    def torsional(self, core: Array) -> Computed:
        """GJ / G_s, mm^4."""
        return torsion.torsional_rigidity(
            width=self.breadth, height=self.depth, wall_thickness=self.breadth_face,
            top_bottom_thickness=self.depth_face, skin_shear_modulus=1.0, core_shear_modulus=core,
        )  # fmt: skip

    def torsion_stress(self, core: Array, torque: float) -> Computed:
        """Largest shear stress in the skin under `torque` (N mm), MPa: G times twist times a length.

        The length is stress over (G x twist per mm): J over the torsion modulus for the solid outline, and
        J_Bredt / (2 A_m t) + t for a thin closed skin of thickness t (constant part and Saint-Venant's). Over a
        core the two are mixed by the core's stiffness (estimate); the solid's length bounds it above.
        """
        torsion_constant = section_properties.rectangle_torsion_constant(
            width=self.breadth, height=self.depth
        )
        modulus = section_properties.rectangle_torsion_modulus(width=self.breadth, height=self.depth)
        solid = torsion_constant / modulus
        thin = np.minimum(self._thin_skin_length(), solid)
        length = np.where(self.core_area > 0.0, thin + (solid - thin) * core, solid)
        return torque * length / self.torsional(core)

    def _thin_skin_length(self) -> Array:
        """Stress over (G x twist per mm) in the worse of walls and layers of a thin closed skin, mm."""
        bredt = torsion.bredt_torsion_constant(
            width=self.breadth, height=self.depth,
            wall_thickness=self.breadth_face, top_bottom_thickness=self.depth_face,
        )  # fmt: skip
        area = torsion.enclosed_area(
            width=self.breadth, height=self.depth,
            wall_thickness=self.breadth_face, top_bottom_thickness=self.depth_face,
        )  # fmt: skip
        flow = bredt / (2.0 * area)
        thinner, thicker = (pick(self.breadth_face, self.depth_face) for pick in (np.minimum, np.maximum))
        return np.asarray(np.maximum(flow / thinner + thinner, flow / thicker + thicker))


@dataclass(frozen=True, slots=True)
class RoundSection:
    """Round rod (`inner` 0) or tube; `face` is the skin's thickness in mm, on both faces of a tube."""

    outer: float
    inner: float
    face: Array

    @classmethod
    def printed(cls, outer: float, inner: float, skins: Skins, lie: Lie) -> RoundSection:
        """The section as printed; lying parts take the thinner of walls and layers all round (safe side)."""
        upright = lie.orientation == "upright"
        face = (
            skins.walls_mm + 0.0 * skins.top_mm
            if upright
            else np.minimum(skins.walls_mm, skins.thinner_layers_mm)
        )
        room = (outer - inner) / 2.0 if inner > 0 else outer
        return cls(outer, inner, skins.filled(room, face))

    @property
    def depth(self) -> float:
        """Outer diameter, mm."""
        return self.outer

    @property
    def breadth(self) -> float:
        """Outer diameter, mm."""
        return self.outer

    @property
    def depth_face(self) -> Array:
        """Skin thickness, mm."""
        return self.face

    @property
    def breadth_face(self) -> Array:
        """Skin thickness, mm."""
        return self.face

    @property
    def area(self) -> float:
        """Outline area, mm^2."""
        return float(np.pi / 4.0 * (self.outer**2 - self.inner**2))

    @property
    def half_depth(self) -> float:
        """Distance of the outer fibre from the middle, mm."""
        return self.outer / 2.0

    @property
    def core_area(self) -> Array:
        """Area of the lattice core, mm^2; 0 where the section is solid."""
        core: Array = self.area - self.axial(np.zeros(1))
        return np.where(core < 1e-9 * self.area, 0.0, core)

    def axial(self, core: Array) -> Computed:
        """EA / E_s, mm^2."""
        if self.inner > 0:
            return layered_section.tube_axial_rigidity(
                outer_diameter=self.outer, inner_diameter=self.inner, skin_thickness=self.face,
                skin_modulus=1.0, core_modulus=core,
            )  # fmt: skip
        return layered_section.round_axial_rigidity(
            diameter=self.outer, skin_thickness=self.face, skin_modulus=1.0, core_modulus=core
        )

    def flexural(self, core: Array) -> Computed:
        """EI / E_s, mm^4."""
        if self.inner > 0:
            return layered_section.tube_flexural_rigidity(
                outer_diameter=self.outer, inner_diameter=self.inner, skin_thickness=self.face,
                skin_modulus=1.0, core_modulus=core,
            )  # fmt: skip
        return layered_section.round_flexural_rigidity(
            diameter=self.outer, skin_thickness=self.face, skin_modulus=1.0, core_modulus=core
        )

    def turned(self) -> RoundSection:
        """The same about every axis."""
        return self

    def shear(self, core: Array) -> Computed:
        """GA / G_s, mm^2: ring and core side by side in a rod, Cowper's coefficient in a tube."""
        if self.inner > 0:
            coefficient = section_properties.round_shear_coefficient(
                diameter_ratio=self.inner / self.outer, poisson_ratio=0.35
            )
            return coefficient * self.axial(core)
        return layered_section.round_shear_rigidity(
            diameter=self.outer, skin_thickness=self.face, skin_shear_modulus=1.0, core_shear_modulus=core
        )

    def core_shear_stress(self, core: Array, shear_force: float) -> Computed:
        """Shear stress in the core, MPa: it follows the skin's strain, so the skin's times the ratio."""
        return np.where(self.core_area > 0.0, self.skin_shear_stress(core, shear_force) * core, 0.0)

    def skin_shear_stress(self, core: Array, shear_force: float) -> Computed:
        """Largest shear stress, MPa: 4V/3A in a solid rod, 2V/A in a ring, A weighted by stiffness."""
        ring = np.where(self.core_area > 0.0, 2.0, 4.0 / 3.0) if self.inner == 0 else 2.0
        return ring * shear_force / self.axial(core)

    def torsional(self, core: Array) -> Computed:
        """GJ / G_s, mm^4: twice the flexural form, which holds for concentric rings."""
        return 2.0 * self.flexural(core)

    def torsion_stress(self, core: Array, torque: float) -> Computed:
        """Largest shear stress under `torque` (N mm), MPa: T r / (GJ / G_s)."""
        return torque * self.half_depth / self.torsional(core)


PrintedSection = RectangularSection | RoundSection


def bending_reserve(section: PrintedSection, core_ratio: Array) -> Array:
    """Log of the fully plastic over the elastic moment: log 1.5 for a solid rectangle, less for faces on a core.

    M_p / M_e = 1.5 (1 - (1 - r) q^2) / (1 - (1 - r) q^3) with q = 1 - face / half depth and the core's ratio r
    (textbook plastic bending of a rectangle, applied to a sandwich as wide as the part).
    """
    q = np.where(section.core_area > 0.0, 1.0 - section.depth_face / section.half_depth, 0.0)
    missing = 1.0 - core_ratio
    reserve: Array = np.log(1.5 * (1.0 - missing * q**2) / (1.0 - missing * q**3))
    return reserve
