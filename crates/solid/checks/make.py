#!/usr/bin/env python3
"""Writes the meshes and the case file of solid.measure's closed forms.

The wanted values come from the formulas below, never from Lentic. Run in this
folder; needs Python's standard library only.
"""
import json
from math import atan, cos, degrees, hypot, pi, radians, sin, sqrt
from pathlib import Path

MESHES = Path(__file__).parent / "meshes"
MESHES.mkdir(exist_ok=True)


def write_obj(name, vertices, faces):
    lines = [f"v {x:.17g} {y:.17g} {z:.17g}" for x, y, z in vertices]
    lines += ["f " + " ".join(str(i + 1) for i in face) for face in faces]
    (MESHES / name).write_text("\n".join(lines) + "\n")


def box(low, high):
    corner = [
        tuple(high[k] if i >> k & 1 else low[k] for k in range(3)) for i in range(8)
    ]
    faces = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    return corner, faces


def inwards(mesh):
    return mesh[0], [tuple(reversed(face)) for face in mesh[1]]


def join(*meshes):
    vertices, faces = [], []
    for v, f in meshes:
        faces += [tuple(i + len(vertices) for i in face) for face in f]
        vertices += v
    return vertices, faces


def turn(mesh):
    """A rotation about three axes, exact enough in double precision."""
    a, b, c = radians(31), radians(-52), radians(77)

    def move(p):
        x, y, z = p
        x, y = x * cos(a) - y * sin(a), x * sin(a) + y * cos(a)
        y, z = y * cos(b) - z * sin(b), y * sin(b) + z * cos(b)
        z, x = z * cos(c) - x * sin(c), z * sin(c) + x * cos(c)
        return x + 12.5, y - 40.0, z + 3.25

    return [move(p) for p in mesh[0]], mesh[1]


def gridded_box(size, n):
    """A box whose sides are n by n squares, each cut into two triangles."""
    index, vertices, faces = {}, [], []

    def at(p):
        if p not in index:
            index[p] = len(vertices)
            vertices.append(tuple(size[k] * p[k] / n for k in range(3)))
        return index[p]

    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for end in (0, n):
            for i in range(n):
                for j in range(n):
                    quad = []
                    for du, dv in ((0, 0), (1, 0), (1, 1), (0, 1)):
                        p = [0, 0, 0]
                        p[axis], p[u], p[v] = end, i + du, j + dv
                        quad.append(at(tuple(p)))
                    if end == 0:
                        quad.reverse()
                    faces += [(quad[0], quad[1], quad[2]), (quad[0], quad[2], quad[3])]
    return vertices, faces


def ball(radius, around, up):
    """A ball of plane trapezoids: `around` meridians, `up` zones."""
    vertices, faces = [(0.0, 0.0, -radius)], []
    for k in range(1, up):
        t = pi * k / up - pi / 2
        for i in range(around):
            p = 2 * pi * i / around
            vertices.append((radius * cos(t) * cos(p), radius * cos(t) * sin(p), radius * sin(t)))
    vertices.append((0.0, 0.0, radius))
    ring = lambda k, i: 1 + (k - 1) * around + i % around
    top = len(vertices) - 1
    for i in range(around):
        faces.append((0, ring(1, i + 1), ring(1, i)))
        faces.append((top, ring(up - 1, i), ring(up - 1, i + 1)))
        for k in range(1, up - 1):
            faces.append((ring(k, i), ring(k, i + 1), ring(k + 1, i + 1), ring(k + 1, i)))
    # Zones are frusta of pyramids over regular polygons.
    polygon = around / 2 * sin(2 * pi / around)
    r = [radius * cos(pi * k / up - pi / 2) for k in range(up + 1)]
    z = [radius * sin(pi * k / up - pi / 2) for k in range(up + 1)]
    volume = sum(
        (z[k + 1] - z[k]) / 3 * polygon * (r[k] ** 2 + r[k] * r[k + 1] + r[k + 1] ** 2)
        for k in range(up)
    )
    area = sum(
        around
        * (r[k] + r[k + 1])
        * sin(pi / around)
        * hypot((r[k + 1] - r[k]) * cos(pi / around), z[k + 1] - z[k])
        for k in range(up)
    )
    return (vertices, faces), volume, area


def ring(major, minor, m, n):
    """A ring of plane trapezoids: m segments round, n round the section."""
    vertices = [
        (
            (major + minor * cos(2 * pi * j / n)) * cos(2 * pi * i / m),
            (major + minor * cos(2 * pi * j / n)) * sin(2 * pi * i / m),
            minor * sin(2 * pi * j / n),
        )
        for i in range(m)
        for j in range(n)
    ]
    at = lambda i, j: i % m * n + j % n
    faces = [
        (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1))
        for i in range(m)
        for j in range(n)
    ]
    # Pappus for chords: each segment is m-th of m·sin(2π/m)·R·A.
    volume = m * sin(2 * pi / m) * major * n / 2 * minor**2 * sin(2 * pi / n)
    rho = [major + minor * cos(2 * pi * j / n) for j in range(n + 1)]
    z = [minor * sin(2 * pi * j / n) for j in range(n + 1)]
    area = sum(
        m
        * (rho[j] + rho[j + 1])
        * sin(pi / m)
        * hypot((rho[j + 1] - rho[j]) * cos(pi / m), z[j + 1] - z[j])
        for j in range(n)
    )
    return (vertices, faces), volume, area


CASES = []
EXACT = 1e-9


def want(path, value, rel=0.0, abs=0.0):
    return {"path": path, "want": value, "rel": rel, "abs": abs}


def exact(path, value):
    return want(path, value, EXACT, 1e-7)


def case(id, what, mesh, expect, source="closed form", **more):
    entry = {
        "id": id,
        "method": "solid.measure",
        "what": what,
        "input": {"mesh": f"meshes/{mesh}", "unit": "mm", **more},
        "expect": expect,
        "source": source,
    }
    CASES.append(entry)


def refused(id, what, path, input, source="closed form (no such solid)"):
    CASES.append(
        {
            "id": id,
            "method": "solid.measure",
            "what": what,
            "input": input,
            "refused": path,
            "source": source,
        }
    )


def kinds(*names_and_counts):
    flat = []
    for i, (name, count) in enumerate(names_and_counts):
        flat += [want(f"/repairs/{i}/kind", name), want(f"/repairs/{i}/count", count)]
    return flat


def solid(volume_mm3, area_mm2):
    return [
        want("/closed", True),
        want("/approximate", False),
        want("/volume_error_l", 0.0),
        exact("/volume_l", volume_mm3 * 1e-6),
        exact("/area_cm2", area_mm2 * 1e-2),
    ]


def box_inertia(mass, x, y, z):
    return [mass / 12 * (y * y + z * z), mass / 12 * (x * x + z * z), mass / 12 * (x * x + y * y)]


# A box, off the origin.
a, b, c = 120.0, 80.0, 50.0
write_obj("box.obj", *box((10, -5, 30), (10 + a, -5 + b, 30 + c)))
inertia = box_inertia(0.48e-3 * 2500, a * 1e-3, b * 1e-3, c * 1e-3)
corner = lambda p, q, r: 2 / pi * atan(p * q / (r * hypot(p, q, r))) / 2
chance = [corner(a, b, c), corner(a, c, b), corner(b, c, a)]
case(
    "box",
    "a box of 120 by 80 by 50 mm off the origin",
    "box.obj",
    solid(a * b * c, 2 * (a * b + b * c + c * a))
    + [
        want("/triangles", 12),
        exact("/hull_volume_l", 0.48),
        want("/size_mm/long", a, 1e-6),
        want("/size_mm/mid", b, 1e-6),
        want("/size_mm/short", c, 1e-6),
        want("/as_laid_mm/width", a, 1e-6),
        want("/as_laid_mm/depth", b, 1e-6),
        want("/as_laid_mm/height", c, 1e-6),
        exact("/mass_kg", 1.2),
        exact("/density_kg_m3", 2500.0),
        exact("/centre_of_mass_mm/0", 70.0),
        exact("/centre_of_mass_mm/1", 35.0),
        exact("/centre_of_mass_mm/2", 55.0),
    ]
    + [exact(f"/inertia_kg_m2/{i}/{i}", inertia[i]) for i in range(3)]
    + [want("/inertia_kg_m2/0/1", 0.0, 0, 1e-15)]
    + [
        e
        for i, (p, height, half, support) in enumerate(
            [(chance[0], c, b / 2, a * b), (chance[1], b, c / 2, a * c), (chance[2], a, c / 2, b * c)]
        )
        for e in [
            want(f"/resting_poses/{2 * i}/probability", p, 1e-6),
            want(f"/resting_poses/{2 * i + 1}/probability", p, 1e-6),
            want(f"/resting_poses/{2 * i}/height_mm", height, 1e-6),
            want(f"/resting_poses/{2 * i}/support_mm2", support, 1e-6),
            want(f"/resting_poses/{2 * i}/footprint_mm2", support, 1e-6),
            want(f"/resting_poses/{2 * i}/tip_angle_deg", degrees(atan(half / (height / 2))), 1e-6),
        ]
    ]
    + [want("/other_probability", 0.0, 0, 1e-9)],
    density_kg_m3=2500,
)
case(
    "box_in_inches",
    "the same file read as inches",
    "box.obj",
    [exact("/volume_l", 0.48 * 25.4**3), want("/cautions/0/code", "wrong_unit")],
    source="closed form; inch: 25.4 mm exactly (ISO 80000-3)",
    unit="in",
)
case(
    "box_y_up",
    "with y up the file's (x, y, z) becomes (x, -z, y)",
    "box.obj",
    [
        exact("/centre_of_mass_mm/0", 70.0),
        exact("/centre_of_mass_mm/1", -55.0),
        exact("/centre_of_mass_mm/2", 35.0),
        want("/mass_kg", None),
        want("/density_kg_m3", None),
        want("/inertia_kg_m2", None),
    ],
    up="y",
)
case(
    "box_weighed",
    "mass and density given: mass wins, the density is implied, and 25 % off is a caution",
    "box.obj",
    [
        exact("/mass_kg", 1.5),
        exact("/density_kg_m3", 3125.0),
        exact("/inertia_kg_m2/0/0", inertia[0] * 1.25),
        want("/cautions/0/code", "density_differs"),
    ],
    mass_kg=1.5,
    density_kg_m3=2500,
)
case(
    "box_weighed_near",
    "10 % off the material's density is no caution",
    "box.obj",
    [exact("/density_kg_m3", 2750.0), want("/cautions", [])],
    mass_kg=1.32,
    density_kg_m3=2500,
)

# A regular tetrahedron.
s = 60.0
h = s / sqrt(8)
write_obj(
    "tetrahedron.obj",
    [(h, h, h), (h, -h, -h), (-h, h, -h), (-h, -h, h)],
    [(0, 1, 2), (0, 3, 1), (0, 2, 3), (1, 3, 2)],
)
case(
    "tetrahedron",
    "a regular tetrahedron of 60 mm sides; its least box is the cube round it",
    "tetrahedron.obj",
    solid(s**3 / (6 * sqrt(2)), sqrt(3) * s * s)
    + [
        want("/size_mm/long", s / sqrt(2), 5e-3),
        want("/size_mm/short", s / sqrt(2), 5e-3),
        want("/centre_of_mass_mm/0", 0.0, 0, 1e-9),
        want("/inertia_kg_m2/0/0", s**3 / (6 * sqrt(2)) * 1e-9 * 2000 * (s * 1e-3) ** 2 / 20, 1e-9),
    ]
    + [
        e
        for i in range(4)
        for e in [
            want(f"/resting_poses/{i}/probability", 0.25, 1e-6),
            want(f"/resting_poses/{i}/height_mm", s * sqrt(2 / 3), 1e-6),
            want(f"/resting_poses/{i}/support_mm2", sqrt(3) / 4 * s * s, 1e-6),
            want(f"/resting_poses/{i}/tip_angle_deg", degrees(atan((s / (2 * sqrt(3))) / (s * sqrt(2 / 3) / 4))), 1e-6),
        ]
    ],
    density_kg_m3=2000,
)

mesh, volume, area = ball(50.0, 32, 16)
write_obj("ball.obj", *mesh)
case("ball", "a ball of plane trapezoids: frusta of pyramids in sum", "ball.obj",
     solid(volume, area) + [exact("/hull_volume_l", volume * 1e-6)])

mesh, volume, area = ring(60.0, 20.0, 24, 12)
write_obj("ring.obj", *turn(mesh))
case("ring", "a ring of plane trapezoids at a turn; Pappus's theorem for chords", "ring.obj",
     solid(volume, area)
     + [exact("/centre_of_mass_mm/0", turn(([(0.0, 0.0, 0.0)], []))[0][0][0]),
        exact("/centre_of_mass_mm/1", turn(([(0.0, 0.0, 0.0)], []))[0][0][1])])

# Shells.
cube = box((0, 0, 0), (100, 100, 100))
core = box((25, 25, 25), (75, 75, 75))
write_obj("hollow.obj", *join(cube, inwards(core)))
case("hollow", "a cube with a cube-shaped hollow", "hollow.obj",
     solid(875e3, 75e3) + kinds(("hollow", 1))
     + [exact("/inertia_kg_m2/0/0", box_inertia(1.0, 0.1, 0.1, 0.1)[0] - box_inertia(0.125, 0.05, 0.05, 0.05)[0])],
     density_kg_m3=1000)
write_obj("inner_and_dust.obj", *join(cube, core, box((130, 0, 0), (140, 10, 10))))
case("inner_and_dust", "an outward shell inside is ignored, a speck beside dropped", "inner_and_dust.obj",
     solid(1e6, 60e3) + kinds(("dust_dropped", 1), ("inner_shell", 1))
     + [exact("/hull_volume_l", 1.0), want("/size_mm/long", 100.0, 1e-6)])
write_obj("inside_out.obj", *inwards(cube))
case("inside_out", "a cube that faces inwards", "inside_out.obj",
     solid(1e6, 60e3) + kinds(("turned_out", 1)))
write_obj("inside_out_hollow.obj", *join(inwards(cube), core))
case("inside_out_hollow", "the outermost shell decides which way all face", "inside_out_hollow.obj",
     solid(875e3, 75e3) + kinds(("turned_out", 2), ("hollow", 1)))
other = box((50, 50, 50), (150, 150, 150))
write_obj("overlap.obj", *turn(join(cube, other)))
case("overlap", "two cubes that share an eighth, at a turn", "overlap.obj",
     solid(1875e3, 105e3) + kinds(("union", 2)))
write_obj("overlap_inside_out.obj", *turn(join(cube, inwards(other))))
case("overlap_inside_out", "the same with one cube facing inwards", "overlap_inside_out.obj",
     solid(1875e3, 105e3) + kinds(("turned_out", 1), ("union", 2)))
write_obj("overlap_in_plane.obj", *join(cube, box((50, 0, 0), (150, 100, 100))))
case("overlap_in_plane", "two cubes that share half, four sides in common planes", "overlap_in_plane.obj",
     solid(1500e3, 80e3) + kinds(("union", 2))
     + [exact("/centre_of_mass_mm/0", 75.0)])
bars = [box(*[tuple(sign * (30 if k == axis else 10) for k in range(3)) for sign in (-1, 1)]) for axis in range(3)]
write_obj("cross.obj", *turn(join(*bars)))
case("cross", "three bars through one middle: 3·24 − 2·8 small cubes", "cross.obj",
     solid(56e3, 12e3) + kinds(("union", 3)))
write_obj("two_bodies.obj", *join(cube, box((130, 0, 0), (180, 50, 50))))
case("two_bodies", "a second body over 1 % stays", "two_bodies.obj",
     solid(1125e3, 75e3) + [want("/cautions/0/code", "several_surfaces")])

# Broken surfaces.
vertices, faces = gridded_box((100.0, 100.0, 100.0), 10)
top = [i for i, f in enumerate(faces) if all(vertices[v][2] == 100.0 for v in f)]
small = [f for i, f in enumerate(faces) if i not in (top[44], top[45])]
write_obj("small_hole.obj", vertices, small)
case("small_hole", "a cube with one of 600 squares missing", "small_hole.obj",
     solid(1e6, 60e3) + kinds(("hole_closed", 1)))
flipped = [tuple(reversed(f)) if i % 7 == 0 else f for i, f in enumerate(faces)]
write_obj("flipped.obj", vertices, flipped)
case("flipped", "a cube with every seventh triangle facing the wrong way", "flipped.obj",
     solid(1e6, 60e3) + kinds(("flipped", len(faces[::7]))))
doubled = faces + faces[:5] + [tuple(reversed(faces[20]))] + [(0, 0, 1), (3, 4, 3)]
write_obj("doubled.obj", vertices, doubled)
case("doubled", "six triangles there twice, two without area", "doubled.obj",
     solid(1e6, 60e3) + kinds(("degenerate_dropped", 2), ("doubled_dropped", 6)))
split_vertices = [vertices[v] for f in faces for v in f]
jitter = [tuple(x + (7e-5 if (i * 7 + k) % 3 == 0 else 0.0) for k, x in enumerate(p)) for i, p in enumerate(split_vertices)]
write_obj("cracked.obj", jitter, [(3 * i, 3 * i + 1, 3 * i + 2) for i in range(len(faces))])
case("cracked", "every triangle with corners of its own, up to 0.12 µm apart: within 1e-6 of the diagonal",
     "cracked.obj",
     [want("/closed", True), want("/volume_l", 1.0, 1e-5), want("/area_cm2", 600.0, 1e-5),
      want("/repairs/0/kind", "welded")])
write_obj("no_lid.obj", cube[0], [f for f in cube[1] if not all(cube[0][v][2] == 100 for v in f)])
case("no_lid", "a cube without its lid: in the lid's plane the winding number is a half", "no_lid.obj",
     [want("/closed", False), want("/approximate", True), want("/volume_l", 1.0, 0.01),
      want("/area_cm2", 500.0, EXACT), want("/hull_volume_l", 1.0, EXACT),
      want("/centre_of_mass_mm/0", 50.0, 0, 0.2), want("/centre_of_mass_mm/2", 50.0, 0, 1.0),
      want("/inertia_kg_m2/0/0", 0.01 / 6, 0.03),
      want("/cautions/0/code", "not_closed")],
     density_kg_m3=1000,
     source="closed form: a missing plane face seen from its own plane fills half of all directions")

# What is refused.
meshes = "meshes/box.obj"
for id, key, value in [("zero_density", "density_kg_m3", 0), ("negative_density", "density_kg_m3", -2650),
                       ("zero_mass", "mass_kg", 0), ("negative_mass", "mass_kg", -1.0)]:
    refused(id, f"{key} = {value}", f"/{key}", {"mesh": meshes, "unit": "mm", key: value}, "definition")
refused("no_unit", "a unit is required for OBJ", "/unit", {"mesh": meshes}, "definition")
refused("no_such_file", "a file that is not there", "/mesh", {"mesh": "meshes/none.obj", "unit": "mm"}, "definition")
refused("odd_unit", "a unit that is none", "/unit", {"mesh": meshes, "unit": "ft"}, "definition")
refused("odd_key", "a key that is none", "/masskg", {"mesh": meshes, "unit": "mm", "masskg": 1}, "definition")
write_obj("sheet.obj", [(0, 0, 0), (100, 0, 0), (100, 80, 0), (0, 80, 0)], [(0, 1, 2, 3)])
refused("sheet", "a flat sheet encloses nothing", "/mesh", {"mesh": "meshes/sheet.obj", "unit": "mm"})
write_obj("points.obj", [(0, 0, 0), (100, 0, 0), (100, 80, 0), (0, 80, 9)], [])
refused("points", "points without faces", "/mesh", {"mesh": "meshes/points.obj", "unit": "mm"})

Path(__file__).with_name("measure_closed_forms.json").write_text(
    json.dumps(
        {"format": "lentic-cases 1", "title": "solid.measure against closed forms", "cases": CASES},
        indent=1,
        ensure_ascii=False,
    )
    + "\n"
)
