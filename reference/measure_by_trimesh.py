"""What trimesh measures on real scans: the table behind the checks of solid.measure."""

import json
from pathlib import Path

import numpy as np
import trimesh

import bones

TABLE = Path(__file__).resolve().parent / "tables" / "solid.measure.json"
DENSITY_KG_M3 = 1900.0


def case(name: str) -> dict:
    """One scan as a case: every figure by trimesh, lengths in millimetres."""
    mesh = trimesh.load(bones.path(name))
    assert mesh.is_watertight and mesh.body_count == 1
    inertia = mesh.moment_inertia * DENSITY_KG_M3
    scale = float(np.abs(inertia).max())

    def figure(path, want, **room):
        return {"path": path, "want": float(want), **room}

    expect = [
        figure("/volume_l", mesh.volume * 1e3, rel=1e-4),
        figure("/area_cm2", mesh.area * 1e4, rel=1e-4),
        figure("/hull_volume_l", mesh.convex_hull.volume * 1e3, rel=1e-4),
        figure("/mass_kg", mesh.volume * DENSITY_KG_M3, rel=1e-4),
    ]
    for axis in range(3):
        expect.append(figure(f"/centre_of_mass_mm/{axis}", mesh.center_mass[axis] * 1e3, abs=0.02))
        for other in range(3):
            expect.append(
                figure(f"/inertia_kg_m2/{axis}/{other}", inertia[axis, other], abs=3e-4 * scale)
            )
    return {
        "id": f"trimesh-{name.removesuffix('.stl')}",
        "method": "solid.measure",
        "what": f"real scan {name} ({len(mesh.faces)} triangles)",
        "input": {"mesh": name, "unit": "m", "density_kg_m3": DENSITY_KG_M3},
        "expect": expect,
        "source": f"trimesh {trimesh.__version__} on a scan from dm-control (Apache-2.0)",
    }


def table() -> dict:
    """The whole table."""
    return {
        "format": "lentic-cases 1",
        "title": "solid.measure against trimesh on real scans",
        "cases": [case(name) for name in sorted(bones.SHA256)],
    }


if __name__ == "__main__":
    TABLE.parent.mkdir(exist_ok=True)
    TABLE.write_text(json.dumps(table(), indent=1) + "\n")
