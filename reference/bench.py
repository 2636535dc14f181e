"""Speed beside general-purpose libraries, on one machine in one run: ratios of medians.

    cargo build --release && reference/.venv/bin/python reference/bench.py

A ratio of 0.1 means a tenth of the library's time.
"""

import statistics
import subprocess
import tempfile
import time
from pathlib import Path

import mujoco
import numpy as np
import trimesh

import lentic
import settle_by_mujoco

REPEATS = 5


def seconds(work) -> float:
    """Median of a few runs."""
    spent = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


def rough_ball(triangles: int) -> trimesh.Trimesh:
    """A closed lumpy body of about so many triangles, 150 mm across."""
    subdivisions = round(np.log(triangles / 20) / np.log(4))
    ball = trimesh.creation.icosphere(subdivisions=subdivisions, radius=75.0)
    v = ball.vertices / 75.0
    bumps = 0.12 * np.sin(5 * v[:, 0]) * np.sin(4 * v[:, 1] + 1) + 0.03 * np.sin(23 * v[:, 2] + 7 * v[:, 0])
    ball.vertices = ball.vertices * (1 + bumps)[:, None] * [1.2, 1.0, 0.7]
    return ball


def whole_measure(path: Path) -> None:
    """What solid.measure gives, by trimesh."""
    mesh = trimesh.load(path)
    mesh.volume, mesh.area, mesh.center_mass, mesh.moment_inertia  # noqa: B018
    mesh.bounding_box_oriented.volume  # noqa: B018
    trimesh.poses.compute_stable_poses(mesh.convex_hull, center_mass=mesh.center_mass, sigma=0.0, n_samples=1)


def measure() -> None:
    """solid.measure as a whole process against trimesh inside a running one."""
    with tempfile.TemporaryDirectory() as folder:
        for triangles in (20_480, 327_680, 1_310_720):
            path = Path(folder) / f"{triangles}.ply"
            rough_ball(triangles).export(path)
            given = {"mesh": str(path), "unit": "mm", "density_kg_m3": 2650}
            ours = seconds(lambda: lentic.run("solid.measure", given))
            theirs = seconds(lambda: whole_measure(path))
            print(
                f"measure {triangles:>9} triangles: lentic {ours:.3f} s, "
                f"trimesh {theirs:.3f} s, ratio {ours / theirs:.3f}"
            )


def heap() -> list[dict]:
    """Twelve blocks let go one above the other over the base, in three columns."""
    chance = np.random.default_rng(4)
    pieces = []
    for i in range(12):
        turn = chance.normal(size=4)
        turn /= np.linalg.norm(turn)
        place = (110 + 190 * (i % 3) + chance.uniform(-5, 5), 200 + chance.uniform(-40, 40), 110 + 185 * (i // 3))
        pieces.append(
            {
                "id": f"p{i}",
                "box_mm": chance.uniform(50, 110, 3).round(1).tolist(),
                "density_kg_m3": settle_by_mujoco.DENSITY_KG_M3,
                "friction": settle_by_mujoco.FRICTION,
                "pose": {"centre_mm": [float(v) for v in place], "quaternion": (turn if turn[0] >= 0 else -turn).tolist()},
            }
        )
    return pieces


def settle() -> None:
    """Twelve falling blocks to rest, both at a step of 1 ms."""
    pieces = heap()
    length, width, height = settle_by_mujoco.TANK_MM
    given = {
        "tank": {"length_mm": length, "width_mm": width, "height_mm": height, "base_friction": settle_by_mujoco.FRICTION},
        "pieces": pieces,
    }
    ours = seconds(lambda: lentic.run("scape.settle", given))
    steps = lentic.run("scape.settle", given)["iterations"]

    def theirs_run():
        world = settle_by_mujoco.model(pieces)
        data = mujoco.MjData(world)
        for _ in range(steps):
            mujoco.mj_step(world, data)

    theirs = seconds(theirs_run)
    print(f"settle 12 blocks, {steps} steps: lentic {ours:.3f} s, mujoco {theirs:.3f} s, ratio {ours / theirs:.3f}")


if __name__ == "__main__":
    subprocess.run(["cargo", "build", "--release", "--quiet"], cwd=lentic.ROOT, check=True)
    measure()
    settle()
