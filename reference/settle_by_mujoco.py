"""Where mujoco lets pieces come to rest: the table behind the checks of scape.settle.

A start counts only when eight runs from slightly different starts end in one pose;
anything else depends on chance, not on mechanics.
"""

import json
from pathlib import Path

import mujoco
import numpy as np

TABLE = Path(__file__).resolve().parent / "tables" / "scape.settle.json"
TANK_MM = (600.0, 400.0, 400.0)
DENSITY_KG_M3 = 2600.0
FRICTION = 0.5
STEP_S = 0.001
RUNS = 8


def model(pieces: list[dict]) -> mujoco.MjModel:
    """Boxes, or pieces of convex hulls, in a tank with a floor and four walls, in metres."""
    length, width, height = (v / 1e3 for v in TANK_MM)
    walls = [
        ("-0.05 {y} {z}", "0.05 1 {h}"),
        ("{l} {y} {z}", "0.05 1 {h}"),
        ("{x} -0.05 {z}", "1 0.05 {h}"),
        ("{x} {w} {z}", "1 0.05 {h}"),
    ]
    places = {
        "x": length / 2,
        "y": width / 2,
        "z": height,
        "h": height,
        "l": length + 0.05,
        "w": width + 0.05,
    }
    fixed = "".join(
        f'<geom type="box" pos="{pos.format(**places)}" size="{size.format(**places)}"/>'
        for pos, size in walls
    )
    bodies, assets = "", ""
    for piece in pieces:
        geoms = ""
        for k, hull in enumerate(piece.get("hulls_mm", [])):
            name = f"{piece['id']}-{k}"
            corners = " ".join(f"{v / 1e3:.6f}" for corner in hull for v in corner)
            assets += f'<mesh name="{name}" vertex="{corners}"/>'
            geoms += f'<geom type="mesh" mesh="{name}" density="{DENSITY_KG_M3}"/>'
        if "box_mm" in piece:
            half = " ".join(str(v / 2e3) for v in piece["box_mm"])
            geoms = f'<geom type="box" size="{half}" density="{DENSITY_KG_M3}"/>'
        place = " ".join(str(v / 1e3) for v in piece["pose"]["centre_mm"])
        turn = " ".join(map(str, piece["pose"]["quaternion"]))
        bodies += (
            f'<body pos="{place}" quat="{turn}"><freejoint/>{geoms}</body>'
        )
    return mujoco.MjModel.from_xml_string(
        f"""<mujoco><option timestep="{STEP_S}" cone="elliptic" solver="Newton" iterations="100"
        impratio="10"/><default><geom friction="{FRICTION} 0.0001 0.0001" condim="4"
        solref="0.004 1" solimp="0.98 0.999 0.0005"/></default><asset>{assets}</asset><worldbody>
        <geom type="plane" size="2 2 0.1"/>{fixed}{bodies}</worldbody></mujoco>"""
    )


def rest(pieces: list[dict], seed: int | None) -> np.ndarray:
    """Places (mm) and turns at rest; `seed` moves the start by half a millimetre and degree."""
    world = model(pieces)
    data = mujoco.MjData(world)
    if seed is not None:
        chance = np.random.default_rng(seed)
        for i in range(len(pieces)):
            data.qpos[7 * i : 7 * i + 3] += chance.uniform(-5e-4, 5e-4, 3)
            data.qpos[7 * i + 3 : 7 * i + 7] += chance.uniform(-0.004, 0.004, 4)
    for _ in range(int(4.0 / STEP_S)):
        mujoco.mj_step(world, data)
    assert np.abs(data.qvel).max() < 2e-3, "still moving after four seconds"
    poses = data.qpos.reshape(-1, 7).copy()
    poses[:, :3] *= 1e3
    return poses


def agreed(pieces: list[dict]) -> np.ndarray | None:
    """Rest heights when all runs end in one pose, otherwise nothing."""
    try:
        runs = np.array([rest(pieces, seed) for seed in range(RUNS)])
        exact = rest(pieces, None)
    except AssertionError:
        return None
    heights = runs[:, :, 2]
    turns = np.abs(np.einsum("rpk,pk->rp", runs[:, :, 3:], exact[:, 3:]))
    same = np.ptp(heights, axis=0).max() < 0.5 and turns.min() > np.cos(np.radians(3))
    return exact[:, 2] if same else None


def starts() -> list[tuple[str, list[dict]]]:
    """Loose boxes over the base: single ones, leaning ones, stacks and a bridge."""

    def piece(name, box, place, turn):
        turn = np.array(turn) / np.linalg.norm(turn)
        turn = turn if turn[0] >= 0 else -turn
        return {
            "id": name,
            "box_mm": list(box),
            "density_kg_m3": DENSITY_KG_M3,
            "friction": FRICTION,
            "pose": {"centre_mm": [float(v) for v in place], "quaternion": turn.tolist()},
        }

    scenes = []
    chance = np.random.default_rng(20)
    for k in range(8):
        box = chance.uniform(40, 140, 3).round(1)
        turn = chance.normal(size=4)
        scenes.append(
            (f"one box let go at a chance turn ({k})", [piece("a", box, (300, 200, 130), turn)])
        )
    low = piece("low", (200, 160, 60), (300, 200, 31), (1, 0, 0, 0))
    high = piece("high", (90, 80, 50), (310, 195, 88), (1, 0, 0, 0.2))
    top = piece("top", (60, 60, 40), (305, 200, 136), (1, 0, 0, 0.5))
    scenes.append(("a stack of three", [low, high, top]))
    left = piece("left", (80, 120, 90), (200, 200, 46), (1, 0, 0, 0))
    right = piece("right", (80, 120, 70), (400, 200, 36), (1, 0, 0, 0))
    beam = piece("beam", (300, 70, 40), (300, 200, 125), (1, 0, 0.03, 0))
    scenes.append(("a beam over two blocks of unlike height", [left, right, beam]))
    slab = piece("slab", (30, 200, 160), (90, 200, 88), (0.985, 0, -0.174, 0))
    scenes.append(("a slab let go beside the glass", [slab]))
    return scenes


def case(what: str, pieces: list[dict], heights: np.ndarray) -> dict:
    """One start as a case."""
    length, width, height = TANK_MM
    return {
        "id": "mujoco-" + "-".join(what.replace("(", "").replace(")", "").split()),
        "method": "scape.settle",
        "what": what,
        "input": {
            "tank": {
                "length_mm": length,
                "width_mm": width,
                "height_mm": height,
                "base_friction": FRICTION,
                "wall_friction": FRICTION,
            },
            "pieces": pieces,
        },
        "expect": [
            {"path": f"/pieces/{i}/pose/centre_mm/2", "want": round(float(h), 4), "abs": 2.0}
            for i, h in enumerate(heights)
        ],
        "source": f"mujoco {mujoco.__version__}, {RUNS} perturbed runs end in one pose",
    }


def table() -> dict:
    """The whole table."""
    found = [(what, pieces, agreed(pieces)) for what, pieces in starts()]
    return {
        "format": "lentic-cases 1",
        "title": "scape.settle against mujoco",
        "cases": [case(w, p, h) for w, p, h in found if h is not None],
    }


if __name__ == "__main__":
    TABLE.parent.mkdir(exist_ok=True)
    TABLE.write_text(json.dumps(table(), indent=1) + "\n")
