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


def starts(numbers: range) -> list[tuple[np.ndarray, list[float]]]:
    """Twelve places one above the other over the base, in three columns, and chance turns."""
    chance = np.random.default_rng(4)
    found = []
    for i in numbers:
        turn = chance.normal(size=4)
        turn /= np.linalg.norm(turn)
        place = (110 + 190 * (i % 3) + chance.uniform(-5, 5), 200 + chance.uniform(-40, 40), 110 + 185 * (i // 3))
        found.append((np.array(place), (turn if turn[0] >= 0 else -turn).tolist()))
    return found


def piece(i: int, place: np.ndarray, turn: list[float]) -> dict:
    return {
        "id": f"p{i}",
        "density_kg_m3": settle_by_mujoco.DENSITY_KG_M3,
        "friction": settle_by_mujoco.FRICTION,
        "pose": {"centre_mm": place.tolist(), "quaternion": turn},
    }


def blocks() -> list[dict]:
    """Twelve blocks in the air."""
    chance = np.random.default_rng(5)
    return [
        piece(i, place, turn) | {"box_mm": chance.uniform(50, 110, 3).round(1).tolist()}
        for i, (place, turn) in enumerate(starts(range(12)))
    ]


def stones(folder: Path) -> tuple[list[dict], list[dict]]:
    """Twelve stones in the air, each of eight convex parts: as scans for us, as hulls for the library."""
    chance = np.random.default_rng(6)
    scans, parts = [], []
    for i, (place, turn) in enumerate(starts(range(12))):
        hulls = []
        for _ in range(8):
            cloud = chance.normal(size=(24, 3))
            cloud *= chance.uniform(16, 30, 3) / np.linalg.norm(cloud, axis=1, keepdims=True)
            hulls.append(trimesh.convex.convex_hull(cloud + chance.uniform(-24, 24, 3)))
        path = folder / f"stone-{i}.ply"
        trimesh.util.concatenate(hulls).export(path)
        about = piece(i, place, turn)
        scans.append(about | {"mesh": str(path), "unit": "mm"})
        parts.append(about | {"hulls_mm": [hull.vertices.tolist() for hull in hulls]})
    return scans, parts


def race(what: str, ours_given: list[dict], theirs_given: list[dict]) -> None:
    """Falling pieces to rest, both at a step of 1 ms and for as many steps."""
    length, width, height = settle_by_mujoco.TANK_MM
    given = {
        "tank": {"length_mm": length, "width_mm": width, "height_mm": height, "base_friction": settle_by_mujoco.FRICTION},
        "pieces": ours_given,
    }
    ours = seconds(lambda: lentic.run("scape.settle", given))
    steps = lentic.run("scape.settle", given)["iterations"]

    def theirs_run():
        world = settle_by_mujoco.model(theirs_given)
        data = mujoco.MjData(world)
        for _ in range(steps):
            mujoco.mj_step(world, data)

    theirs = seconds(theirs_run)
    print(f"settle {what}, {steps} steps: lentic {ours:.3f} s, mujoco {theirs:.3f} s, ratio {ours / theirs:.3f}")


def settle() -> None:
    """scape.settle as a whole process, scans read, mended and measured, against mujoco inside a running one."""
    race("12 blocks", blocks(), blocks())
    with tempfile.TemporaryDirectory() as folder:
        race("12 stones of 96 convex parts", *stones(Path(folder)))


if __name__ == "__main__":
    subprocess.run(["cargo", "build", "--release", "--quiet"], cwd=lentic.ROOT, check=True)
    measure()
    settle()
