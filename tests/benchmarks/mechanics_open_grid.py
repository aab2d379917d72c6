"""Section and beam formulas on an open grid against the same calls one candidate at a time.

Run ``python tests/benchmarks/mechanics_open_grid.py``; prints the ratio, and fails (exit 1) when the
grid is less than a hundred times faster per candidate or the numbers differ.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from recommender.mechanics import beams, columns, lattice, layered_section

LEAST_RATIO = 100


def candidates() -> dict[str, Any]:
    """Open axes: 12 materials, 8 walls, 6 layer counts, 5 layer heights, 10 densities, 5 patterns."""
    axes = [
        np.linspace(1000, 3000, 12),
        np.arange(1, 9) * 0.45,
        np.arange(2, 8).astype(float),
        np.linspace(0.1, 0.3, 5),
        np.linspace(0.1, 1.0, 10),
        np.linspace(0.3, 1.0, 5),
    ]
    modulus, wall, layers, layer_height, density, coefficient = np.ix_(*axes)
    return {
        "modulus": modulus,
        "wall": wall,
        "top_bottom": layers * layer_height,
        "density": density,
        "coefficient": coefficient,
    }


def evaluate(modulus: Any, wall: Any, top_bottom: Any, density: Any, coefficient: Any) -> tuple[Any, ...]:
    """Deflection, skin stress, core shear and wrinkling of a 20 x 10 x 100 mm cantilever under 50 N."""
    core = lattice.power_law(
        relative_density=density, coefficient=coefficient, exponent=1.3, solid_value=modulus
    )
    box = {"width": 20.0, "height": 10.0, "wall_thickness": wall, "top_bottom_thickness": top_bottom}
    flexural = layered_section.flexural_rigidity(**box, skin_modulus=modulus, core_modulus=core)
    shear = layered_section.shear_rigidity(
        **box, skin_shear_modulus=modulus / 2.7, core_shear_modulus=core / 2.6
    )
    return (
        beams.deflection(
            support="cantilever",
            load_at="end",
            span=100.0,
            force=50.0,
            flexural_rigidity=flexural,
            shear_rigidity=shear,
        ),
        layered_section.bending_stress(
            moment=5000.0, distance=5.0, modulus=modulus, flexural_rigidity=flexural
        ),
        layered_section.core_shear_stress(
            **box, shear_force=50.0, core_shear_modulus=core / 2.6, shear_rigidity=shear
        ),
        columns.wrinkling_stress(skin_modulus=modulus, core_modulus=core, core_shear_modulus=core / 2.6),
    )


def fastest(call: Callable[[], object], repeats: int) -> float:
    def once() -> float:
        start = time.perf_counter()
        call()
        return time.perf_counter() - start

    return min(once() for _ in range(repeats))


def main() -> int:
    open_axes = candidates()
    shape = np.broadcast_shapes(*(axis.shape for axis in open_axes.values()))
    full = {name: np.broadcast_to(axis, shape).ravel() for name, axis in open_axes.items()}
    sample = np.random.default_rng(1).integers(0, full["wall"].size, 500)
    rows = [{name: float(axis[i]) for name, axis in full.items()} for i in sample]

    grid = fastest(lambda: evaluate(**open_axes), 15) / full["wall"].size
    single = fastest(lambda: [evaluate(**row) for row in rows], 3) / len(rows)
    on_grid = [np.broadcast_to(values, shape).ravel()[sample] for values in evaluate(**open_axes)]
    one_by_one = np.array([evaluate(**row) for row in rows], dtype=float).T
    same = np.allclose(on_grid, one_by_one, rtol=1e-12)

    print(f"open grid, {full['wall'].size} candidates: {1e-6 / grid:.1f} million candidates/s")
    print(f"baseline, the same functions one candidate at a time: {1e-6 / single:.3f} million candidates/s")
    print(f"ratio {single / grid:.0f} (at least {LEAST_RATIO}); same numbers: {same}")
    return 0 if same and single / grid >= LEAST_RATIO else 1


if __name__ == "__main__":
    raise SystemExit(main())
