//! The layout as a scene: for the pictures and for the scene file.

use std::sync::Arc;

use glam::{DQuat, DVec3};
use solid::{
    Mesh, Pose,
    bvh::Placement,
    picture::{Camera, Lighting, Picture, Scene, SceneItem, Surface, render},
    write::{MaterialLook, Node, glb},
};
use workshop::{Composition, Layout, PieceKind, Reckoning, Tank, composition::colour_of};

pub mod vessel;

/// Lines of sight through each pixel.
const SAMPLES: u32 = 2;
/// Pixels of a picture, whatever its form.
const PIXELS: f64 = 1.1e6;
const PICTURE_SEED: u64 = 1;
/// Colours of pieces whose scans have none.
pub(crate) const STONE: [u8; 3] = [128, 124, 118];
pub(crate) const WOOD: [u8; 3] = [112, 84, 60];

/// What is seen.
pub struct View {
    /// The tank.
    pub tank: Tank,
    /// The ground's body, and the size of its grains.
    pub ground: Option<(Mesh, f64)>,
    /// The pieces.
    pub pieces: Vec<Seen>,
}

/// One piece as it is seen.
pub struct Seen {
    /// Its tag, which names its node.
    pub name: String,
    /// Wood or stone.
    pub kind: PieceKind,
    /// The scan as it came.
    pub look: Arc<Mesh>,
    /// Centre of mass in the scan's frame, m.
    pub centre_in_piece_m: DVec3,
    /// Where it lies.
    pub pose: Pose,
}

impl Seen {
    fn placement(&self) -> Placement {
        Placement::of_pose(self.pose, self.centre_in_piece_m)
    }

    fn colour(&self) -> [u8; 3] {
        match self.kind {
            PieceKind::Stone => STONE,
            PieceKind::Wood => WOOD,
        }
    }
}

/// Colour of ground whose material has none.
pub(crate) const EARTH: [u8; 3] = [96, 84, 70];
/// Size of the grains of ground whose material names none, m.
const USUAL_GRAIN_M: f64 = 2e-3;

impl View {
    /// A reckoned layout: pieces where they settled when they stand, otherwise where
    /// they were put. `looks` are the scans as they came, in the layout's order.
    #[must_use]
    pub fn of(
        layout: &Layout,
        composition: &Composition,
        reckoning: &Reckoning,
        looks: &[Arc<Mesh>],
    ) -> Self {
        let stands = &reckoning.stands.pieces;
        let pieces = layout
            .placed
            .iter()
            .zip(looks)
            .enumerate()
            .map(|(i, (placed, look))| Seen {
                name: placed.piece.tag().to_string(),
                kind: placed.piece.kind(),
                look: Arc::clone(look),
                centre_in_piece_m: placed.piece.shape().moments().centre_m,
                pose: match stands.get(i) {
                    Some(piece) if piece.stands => piece.settled,
                    _ => placed.pose,
                },
            })
            .collect();
        Self {
            tank: layout.tank,
            ground: ground(layout, composition, reckoning),
            pieces,
        }
    }

    /// The tank from the front, as a customer would see it.
    #[must_use]
    pub fn front(&self) -> Picture {
        self.front_of(PIXELS)
    }

    /// The same in about so many pixels.
    #[must_use]
    pub fn front_of(&self, pixels: f64) -> Picture {
        let (low, high) = self.outside();
        let aspect = f64::midpoint(16.0 / 9.0, (high.x - low.x) / (high.z - low.z)).clamp(1.2, 2.4);
        let (width, height) = sides(aspect, pixels);
        let mut items = self.things();
        items.extend(self.clear_things());
        let camera = Camera::front(low, high, aspect);
        render(
            &Scene::new(&items),
            &camera,
            &Lighting::studio(low, high),
            width,
            height,
            SAMPLES,
            PICTURE_SEED,
        )
    }

    /// The layout from above, the front glass below.
    #[must_use]
    pub fn plan(&self) -> Picture {
        let (low, high) = self.outside();
        let aspect = ((high.x - low.x) / (high.y - low.y)).clamp(0.8, 3.0);
        let (width, height) = sides(aspect, PIXELS);
        let mut items = self.things();
        // Seen from above, the walls are drawn by their edges; water would only glare.
        let walls = vessel::panes(&self.tank).into_iter().skip(1);
        items.extend(walls.map(|(_, mesh)| fixed(mesh, Surface::Glass, [255; 3])));
        let camera = Camera::plan(low, high, aspect);
        render(
            &Scene::new(&items),
            &camera,
            &Lighting::plan(low, high),
            width,
            height,
            SAMPLES,
            PICTURE_SEED,
        )
    }

    fn outside(&self) -> (DVec3, DVec3) {
        let low = DVec3::new(-self.tank.wall_m, -self.tank.wall_m, -self.tank.base_m);
        (low, low + self.tank.outside_m)
    }

    fn things(&self) -> Vec<SceneItem> {
        let pieces = self.pieces.iter().map(|piece| SceneItem {
            mesh: Arc::clone(&piece.look),
            placement: piece.placement(),
            surface: match piece.kind {
                PieceKind::Stone => Surface::Stone,
                PieceKind::Wood => Surface::Wood,
            },
            colour: piece.colour(),
        });
        let ground = self.ground.iter().map(|(mesh, grain_m)| {
            fixed(
                mesh.clone(),
                Surface::Ground { grain_m: *grain_m },
                [90, 80, 70],
            )
        });
        pieces.chain(ground).collect()
    }

    fn clear_things(&self) -> Vec<SceneItem> {
        let glass = vessel::panes(&self.tank)
            .into_iter()
            .map(|(_, mesh)| fixed(mesh, Surface::Glass, [255; 3]));
        let water = vessel::water(&self.tank).map(|mesh| fixed(mesh, Surface::Water, [255; 3]));
        glass.chain(water).collect()
    }

    /// The scene at true scale as glTF binary, a named node for each thing.
    #[must_use]
    pub fn glb(&self) -> Vec<u8> {
        let panes = vessel::panes(&self.tank);
        let water = vessel::water(&self.tank);
        let pane_names: Vec<String> = panes
            .iter()
            .map(|(name, _)| format!("glass {name}"))
            .collect();
        let mut nodes: Vec<Node> = self
            .pieces
            .iter()
            .map(|piece| {
                let placement = piece.placement();
                Node {
                    name: &piece.name,
                    mesh: &piece.look,
                    translation_m: placement.shift_m,
                    rotation: placement.turn,
                    look: MaterialLook {
                        base_srgb: if piece.look.colours.is_empty() {
                            piece.colour()
                        } else {
                            [255; 3]
                        },
                        smooth: true,
                        ..MaterialLook::matt()
                    },
                }
            })
            .collect();
        if let Some((mesh, _)) = &self.ground {
            nodes.push(still("ground", mesh, MaterialLook::matt()));
        }
        let clear = |base_srgb, alpha| MaterialLook {
            base_srgb,
            alpha,
            roughness: 0.05,
            ..MaterialLook::matt()
        };
        for (name, (_, mesh)) in pane_names.iter().zip(&panes) {
            nodes.push(still(name, mesh, clear([210, 230, 225], 0.18)));
        }
        if let Some(mesh) = &water {
            nodes.push(still("water", mesh, clear([190, 215, 225], 0.12)));
        }
        glb(&nodes)
    }
}

/// The ground's body in the colours of what lies open, and the size of its grains.
fn ground(
    layout: &Layout,
    composition: &Composition,
    reckoning: &Reckoning,
) -> Option<(Mesh, f64)> {
    let surface = reckoning.ground.top.as_deref()?;
    let last = composition.bed.last()?;
    let colours: Vec<[u8; 3]> = composition
        .material
        .iter()
        .map(|m| m.colour.as_deref().and_then(colour_of).unwrap_or(EARTH))
        .collect();
    let grain_m = composition
        .material
        .iter()
        .find(|m| m.name == last.material)
        .and_then(|m| m.grain_mm)
        .map_or(USUAL_GRAIN_M, |mm| mm * 1e-3);
    let open = &reckoning.ground.open_material;
    let mesh = vessel::ground(surface, &layout.tank, |node| {
        let material = open.get(node).copied().flatten();
        material
            .and_then(|m| colours.get(m).copied())
            .unwrap_or(EARTH)
    });
    Some((mesh, grain_m))
}

/// Width and height of a picture of `aspect` (width ÷ height) and about so many pixels.
fn sides(aspect: f64, pixels: f64) -> (u32, u32) {
    let width = (pixels * aspect).sqrt();
    (width.round() as u32, (width / aspect).round() as u32)
}

fn still<'a>(name: &'a str, mesh: &'a Mesh, look: MaterialLook) -> Node<'a> {
    Node {
        name,
        mesh,
        translation_m: DVec3::ZERO,
        rotation: DQuat::IDENTITY,
        look,
    }
}

fn fixed(mesh: Mesh, surface: Surface, colour: [u8; 3]) -> SceneItem {
    SceneItem {
        mesh: Arc::new(mesh),
        placement: Placement {
            turn: DQuat::IDENTITY,
            shift_m: DVec3::ZERO,
        },
        surface,
        colour,
    }
}
