"""The main job on real scans: bones laid out in a tank, planned whole."""

import json
import subprocess

import bones
import lentic

PLACES = [
    # name, place (mm), turn (deg), resting pose
    ("BONEPelvis.stl", (130, 150), 20, 1),
    ("BONEFemoris_L.stl", (310, 150), 90, 1),
    ("BONEhumerus_L.stl", (420, 150), 90, 1),
    ("BONEScapula_R.stl", (530, 150), 90, 1),
    ("BONEC_2.stl", (680, 150), 0, 1),
]


def layout(change: str = "") -> str:
    """A layout file on the scans of the package."""
    pieces = "".join(
        f"""
[[piece]]
scan = "{bones.path(name)}"
unit = "m"
density_kg_m3 = 1900
kind = "stone"
at_mm = [{x}, {y}]
turn_deg = {turn}
pose = {pose}
"""
        for name, (x, y), turn, pose in PLACES
    )
    return f"""
title = "Real scans"
[tank]
outside_mm = [800, 320, 300]
glass_mm = 6
water_line_mm = 240
[[material]]
name = "sand"
bulk_density_kg_m3 = 1550
grain_density_kg_m3 = 2650
repose_deg = 32
bag_l = 10
[[bed]]
material = "sand"
by = "top"
points = [[0, 0, 20]]
{pieces}{change}"""


def plan(folder, text: str) -> subprocess.CompletedProcess:
    file = folder / "real.toml"
    file.write_text(text)
    return subprocess.run(
        [lentic.PROGRAM, "plan", file, "--out", folder / "out", "--format", "json"],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_a_layout_of_real_scans_stands_and_is_written(tmp_path):
    done = plan(tmp_path, layout())
    assert done.returncode == 0, done.stdout[:2000] + done.stderr
    for name in ["reckoning.json", "layout.glb", "setting-out.pdf", "build-sheet.pdf", "front.png", "plan.png"]:
        assert (tmp_path / "out" / name).stat().st_size > 1000, name
    reckoning = json.loads((tmp_path / "out" / "reckoning.json").read_text())
    assert len(reckoning["stands"]["pieces"]) == len(PLACES)
    # The tank less sand, bones and the air above the line.
    bare = 0.788 * 0.308 * 0.240 * 1000
    assert 0.85 * bare < reckoning["water"]["water"]["value"] < bare


def test_a_scan_in_the_wrong_unit_is_answered(tmp_path):
    done = plan(tmp_path, layout().replace('unit = "m"', 'unit = "cm"', 1))
    text = (done.stdout + done.stderr).lower()
    assert "unit" in text
