//! The tank, its water and its ground as bodies, for pictures and the scene file.

use glam::DVec3;
use layout::ground::GroundSurface;
use solid::Mesh;
use workshop::Tank;

/// The closed box between two corners, tank frame.
#[must_use]
pub fn block(low_m: DVec3, high_m: DVec3) -> Mesh {
    let mut mesh = Mesh::cuboid(high_m - low_m);
    let middle = 0.5 * (low_m + high_m);
    for vertex in &mut mesh.vertices_m {
        *vertex += middle;
    }
    mesh
}

/// Base, front, back, left and right pane, as they are built: the walls stand on
/// the base, front and back run the full length, the sides between them.
#[must_use]
pub fn panes(tank: &Tank) -> [(&'static str, Mesh); 5] {
    let (inside, t, base) = (tank.inside_m(), tank.wall_m, tank.base_m);
    let pane = |x: (f64, f64), y: (f64, f64), z: (f64, f64)| {
        block(DVec3::new(x.0, y.0, z.0), DVec3::new(x.1, y.1, z.1))
    };
    let (across, through, up) = ((-t, inside.x + t), (-t, inside.y + t), (0.0, inside.z));
    [
        ("base", pane(across, through, (-base, 0.0))),
        ("front", pane(across, (-t, 0.0), up)),
        ("back", pane(across, (inside.y, inside.y + t), up)),
        ("left", pane((-t, 0.0), (0.0, inside.y), up)),
        ("right", pane((inside.x, inside.x + t), (0.0, inside.y), up)),
    ]
}

/// The water's outer form, up to the water line; nothing when the tank is dry.
#[must_use]
pub fn water(tank: &Tank) -> Option<Mesh> {
    let inside = tank.inside_m();
    (tank.water_line_m > 0.0).then(|| block(DVec3::ZERO, inside.with_z(tank.water_line_m)))
}

/// The ground as a closed body on the base, cut at the glass; a colour for each node.
#[must_use]
pub fn ground(surface: &GroundSurface, tank: &Tank, colour: impl Fn(usize) -> [u8; 3]) -> Mesh {
    let inside = tank.inside_m();
    let (nx, ny) = (surface.nx, surface.ny);
    let place = |i: usize, j: usize| {
        let x = (i as f64 * surface.cell_m).min(inside.x);
        let y = (j as f64 * surface.cell_m).min(inside.y);
        DVec3::new(
            x,
            y,
            surface.height_m(DVec3::new(x, y, 0.0).truncate()).max(0.0),
        )
    };
    let mut mesh = Mesh::default();
    for level in [1.0, 0.0] {
        for j in 0..ny {
            for i in 0..nx {
                let top = place(i, j);
                mesh.vertices_m.push(top.with_z(top.z * level));
            }
        }
    }
    let under = (nx * ny) as u32;
    let node = |i: usize, j: usize| (j * nx + i) as u32;
    for j in 0..ny - 1 {
        for i in 0..nx - 1 {
            let (a, b, c, d) = (
                node(i, j),
                node(i + 1, j),
                node(i, j + 1),
                node(i + 1, j + 1),
            );
            mesh.triangles.extend([[a, b, c], [b, d, c]]);
            mesh.triangles.extend([
                [under + a, under + c, under + b],
                [under + b, under + c, under + d],
            ]);
        }
    }
    // Round the rim, anticlockwise seen from above, so that the sides face outwards.
    let front = (0..nx).map(|i| node(i, 0));
    let right = (1..ny).map(|j| node(nx - 1, j));
    let back = (0..nx - 1).rev().map(|i| node(i, ny - 1));
    let left = (0..ny - 1).rev().map(|j| node(0, j));
    let rim: Vec<u32> = front.chain(right).chain(back).chain(left).collect();
    for pair in rim.windows(2) {
        let (p, q) = (pair[0], pair[1]);
        mesh.triangles
            .extend([[under + p, under + q, q], [under + p, q, p]]);
    }
    mesh.colours = (0..mesh.vertices_m.len())
        .map(|vertex| colour(vertex % (nx * ny)))
        .collect();
    mesh
}

#[cfg(test)]
mod tests {
    use solid::Moments;

    use super::*;

    const TANK: Tank = Tank {
        outside_m: DVec3::new(0.62, 0.32, 0.31),
        wall_m: 0.01,
        base_m: 0.01,
        water_line_m: 0.25,
        empty_mass_kg: None,
    };

    #[test]
    fn panes_hold_the_glass_that_the_tank_weighs() {
        let volume: f64 = panes(&TANK)
            .iter()
            .map(|(_, m)| Moments::of(m).volume_m3)
            .sum();
        assert!((volume * workshop::tank::GLASS_DENSITY_KG_M3 - TANK.glass_mass_kg()).abs() < 1e-9);
    }

    #[test]
    fn level_ground_fills_plan_times_height() {
        let surface =
            GroundSurface::level(TANK.inside_m().truncate(), 0.007, 0.05).expect("a grid");
        let body = ground(&surface, &TANK, |_| [90, 80, 70]);
        let volume = Moments::of(&body).volume_m3;
        assert!((volume - 0.6 * 0.3 * 0.05).abs() < 1e-12, "{volume}");
    }
}
