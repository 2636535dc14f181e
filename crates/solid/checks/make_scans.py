#!/usr/bin/env python3
"""Turns the open cases' expected.json into a case file of solid.measure.

Poses are held by their place in the list where probabilities tell them apart;
their directions are held by the crate's tests, which read expected.json too.
"""
import json
import sys
from pathlib import Path

SOURCE = (
    "trimesh 5.2 (PyPI), with an independent search over hull edges for the box "
    "and an independent reckoning of the poses"
)
here = Path(__file__).parent
data = json.loads(Path(sys.argv[1]).read_text())
cases = []
for entry in data["cases"]:
    want, tolerance = entry["expected"], entry["tolerances"]
    if entry["name"] in {"open_box", "open_torus"}:
        poses = []  # equal chances: their order is free
    else:
        poses = want["resting_poses"]
    density = entry["input"]["density_kg_m3"]

    def expect(path, value, rel=0.0, abs=0.0):
        return {"path": path, "want": value, "rel": rel, "abs": abs}

    checks = [
        expect("/closed", want["closed_after_repair"]),
        expect("/approximate", False),
        expect("/triangles", entry["triangles"]),
        expect("/volume_l", want["volume_l"], tolerance["volume_rel"]),
        expect("/area_cm2", want["area_cm2"], tolerance["area_rel"]),
        expect("/hull_volume_l", want["hull_volume_l"], tolerance["hull_volume_rel"]),
        expect("/mass_kg", want["mass_kg"], tolerance["volume_rel"]),
    ]
    for key, low, high in zip(("long", "mid", "short"), want["size_mm_low"], want["size_mm_high"]):
        middle, half = (low + high) / 2, (high - low) / 2
        checks.append(expect(f"/size_mm/{key}", middle, 0.0, half + tolerance["size_rel"] * middle))
    for k in range(3):
        checks.append(expect(f"/centre_of_mass_mm/{k}", want["centre_z_up_mm"][k], 0.0, tolerance["centre_mm"]))
    # Invariants of the tensor, which do not depend on the axes.
    inertia = want["inertia_per_density_file_axes_m5"]
    principal = max(want["principal_inertia_per_density_m5"]) * density
    if entry["input"]["up"] == "y":
        i = inertia
        inertia = [
            [i[0][0], -i[0][2], i[0][1]],
            [-i[2][0], i[2][2], -i[2][1]],
            [i[1][0], -i[1][2], i[1][1]],
        ]
    for r in range(3):
        for c in range(3):
            checks.append(
                expect(f"/inertia_kg_m2/{r}/{c}", inertia[r][c] * density, 0.0, tolerance["inertia_rel"] * principal)
            )
    for place, pose in enumerate(poses):
        p = pose["probability"]
        others = [q["probability"] for k, q in enumerate(poses) if k != place]
        if p < 0.02 or any(abs(p - q) < 1.5 * pose["probability_tolerance"] for q in others):
            continue
        checks += [
            expect(f"/resting_poses/{place}/probability", p, 0.0, pose["probability_tolerance"]),
            expect(f"/resting_poses/{place}/tip_angle_deg", pose["tip_angle_deg"], 0.0, tolerance["tip_angle_deg"]),
            expect(f"/resting_poses/{place}/height_mm", pose["height_mm"], 0.0, tolerance["height_mm"]),
            expect(
                f"/resting_poses/{place}/support_mm2",
                pose["support_polygon_mm2"],
                tolerance["support_polygon_rel"],
            ),
        ]
    if entry["name"] == "open_broken":
        checks += [
            expect("/repairs/0/kind", "flipped"),
            expect("/repairs/1/kind", "hole_closed"),
            expect("/repairs/1/count", 2),
        ]
    cases.append(
        {
            "id": entry["name"],
            "method": "solid.measure",
            "what": entry["note"] or "a closed scan",
            "input": {**entry["input"], "mesh": "meshes/" + entry["input"]["mesh"]},
            "expect": checks,
            "source": SOURCE,
        }
    )
(here / "measure_scans.json").write_text(
    json.dumps(
        {"format": "lentic-cases 1", "title": "solid.measure against trimesh", "cases": cases},
        indent=1,
        ensure_ascii=False,
    )
    + "\n"
)
