"""Speed of the model checks against trimesh in the same run.

Usage: ``python tests/benchmarks/geometry.py [--large]`` (needs the extra ``oracle``; ``--large`` adds the peak
memory at two million triangles). Prints ratios; the baseline is a trimesh load with its own checks of the same
file. Times are the best of three, because other work on the machine only ever adds.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from recommender.geometry.layer_volumes import inset
from recommender.geometry.layers import cut, solid_of
from recommender.geometry.mesh import from_solid
from recommender.geometry.orientation import directions_to_try, evaluate
from recommender.geometry.reading import read_model
from recommender.geometry.soundness import check_soundness
from recommender.geometry.thin_features import thin_features
from recommender.geometry.writing import stl_bytes

REPEATS = 3


def bracket(edge: float) -> manifold3d.Manifold:
    """A bracket with holes, a ball and a wavy top, refined to an edge length in mm."""
    solid = manifold3d.Manifold
    part = solid.cube((60, 40, 6)) + solid.cube((6, 40, 50)) + solid.sphere(14, 128).translate((32, 20, 12))
    for x, y in ((15, 8), (15, 32), (52, 8), (52, 32)):
        part -= solid.cylinder(20, 2.6, 2.6, 64).translate((x, y, -5))
    fine = part.refine_to_length(edge)

    def wave(vertex: np.ndarray) -> np.ndarray:
        vertex[:, 0] += 0.15 * np.sin(vertex[:, 2])
        return vertex

    return fine.warp_batch(wave)


def best(work: Callable[[], object]) -> float:
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def trimesh_load(path: Path) -> None:
    mesh = trimesh.load(path)
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0


def own_load(path: Path) -> None:
    mesh = read_model(path).mesh
    assert check_soundness(mesh) == []
    assert mesh.volume > 0


def layers_checked(path: Path) -> int:
    solid = solid_of(read_model(path).mesh)
    layers = cut(solid, float(solid.bounding_box()[5] - solid.bounding_box()[2]) / 500)
    for k in layers.distinct:
        inset(layers.outlines[int(k)], 0.9).area()
    thin_features(layers, 0.45)
    return len(layers)


def peak_gigabytes(path: Path) -> float:
    code = (
        "import sys; sys.path.insert(0, '.'); from pathlib import Path;"
        "from recommender.geometry.part_check import Questions, examine;"
        f"examine(Path({str(path)!r}), Questions());"
        "print([line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')][0])"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root)
    return float(done.stdout) / 1e6


def report(name: str, seconds: float, baseline: float, target: str) -> None:
    ratio = seconds / baseline
    print(f"{name:<58}{1000 * seconds:8.0f} ms{ratio:7.2f} x baseline   target {target}")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "half_million.stl"
        mesh = from_solid(bracket(0.262))
        path.write_bytes(stl_bytes(mesh))
        print(f"{len(mesh.triangles):,} triangles")
        baseline = best(lambda: trimesh_load(path))
        report("trimesh load with its checks", baseline, baseline, "-")
        report("read, welded and checked", best(lambda: own_load(path)), baseline, "<= 0.50 x")
        own = read_model(path).mesh
        directions = directions_to_try(own, 200)
        own.areas, own.bounds  # noqa: B018  (known after the check)
        report("laid in 200 orientations", best(lambda: evaluate(own, directions)), baseline, "<= 1.00 x")
        report(
            "500 layers cut, inset, thin features", best(lambda: layers_checked(path)), baseline, "<= 5000 ms"
        )
        if "--large" in sys.argv:
            large = Path(folder) / "two_million.stl"
            mesh = from_solid(bracket(0.1246))
            count = len(mesh.triangles)
            large.write_bytes(stl_bytes(mesh))
            print(
                f"whole check of {count:,} triangles: peak {peak_gigabytes(large):.2f} GB, target <= 1.5 GB"
            )


if __name__ == "__main__":
    main()
