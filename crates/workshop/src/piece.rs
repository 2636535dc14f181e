//! One thing of wood or stone: its shape, its mass, its price.

use std::sync::{Arc, OnceLock};

use layout::{
    drop::Form,
    settle::{NotSolid, Solid},
};
use method::{Certainty, Figure};
use serde::Serialize;
use solid::{Mesh, Moments, measure::Measure};

use crate::{Money, PieceKind, Tag, WorkshopError};

/// What a piece is made of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceMaterial {
    /// The name of the kind of stone or wood.
    pub name: String,
    /// Density of the material, kg/m³.
    pub density_kg_m3: f64,
    /// Friction of the piece on others of its kind.
    pub friction: f64,
    /// How density and friction are known.
    pub certainty: Certainty,
}

/// What a piece weighs and how that is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mass {
    /// Mass, kg.
    pub mass_kg: f64,
    /// On the scale, or from its material's density.
    pub certainty: Certainty,
}

/// A solid for settling, or why there is none.
pub type Prepared = Result<Arc<Solid>, NotSolid>;

/// A piece's closed form and its measures, with a fingerprint to tell it from others.
#[derive(Debug, Clone)]
pub struct Shape {
    measure: Arc<Measure>,
    fingerprint: [u64; 2],
    form: Arc<OnceLock<Form>>,
    solid: Arc<OnceLock<Prepared>>,
}

impl Shape {
    /// The shape that was measured.
    #[must_use]
    pub fn new(measure: Arc<Measure>) -> Self {
        let fingerprint = fingerprint(&measure.solid_mesh);
        Self {
            measure,
            fingerprint,
            form: Arc::default(),
            solid: Arc::default(),
        }
    }

    /// All its measures.
    #[must_use]
    pub fn measure(&self) -> &Arc<Measure> {
        &self.measure
    }

    /// The closed mesh in the piece frame.
    #[must_use]
    pub fn mesh(&self) -> &Mesh {
        &self.measure.solid_mesh
    }

    /// The mesh with its tree, as letting down needs it; built when first asked for.
    #[must_use]
    pub fn form(&self) -> &Form {
        self.form.get_or_init(|| {
            Form::new(
                Arc::new(self.measure.solid_mesh.clone()),
                self.measure.moments.centre_m,
            )
        })
    }

    /// The piece as settling meets it; prepared when first asked for.
    ///
    /// # Errors
    /// When the shape can't be settled, such as one that is too thin.
    pub fn solid(&self) -> &Prepared {
        self.solid
            .get_or_init(|| Solid::with_moments(self.mesh().clone(), *self.moments()).map(Arc::new))
    }

    /// Whether [`Shape::solid`] was asked for before.
    #[must_use]
    pub fn is_prepared(&self) -> bool {
        self.solid.get().is_some()
    }

    /// Its integrals.
    #[must_use]
    pub fn moments(&self) -> &Moments {
        &self.measure.moments
    }

    /// Differs where the form differs; colours don't count.
    #[must_use]
    pub fn fingerprint(&self) -> [u64; 2] {
        self.fingerprint
    }
}

impl PartialEq for Shape {
    fn eq(&self, other: &Self) -> bool {
        self.fingerprint == other.fingerprint
    }
}

/// Two independent 64-bit FNV-1a sums over corners and triangles.
///
/// # Source
/// G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake, The FNV non-cryptographic hash
/// algorithm, IETF draft: 64-bit prime and offset basis.
fn fingerprint(mesh: &Mesh) -> [u64; 2] {
    const PRIME: u64 = 0x0000_0100_0000_01b3;
    let mut sums = [0xcbf2_9ce4_8422_2325_u64, 0x6c62_272e_07bb_0142];
    let mut take = |word: u64| {
        for byte in word.to_le_bytes() {
            sums[0] = (sums[0] ^ u64::from(byte)).wrapping_mul(PRIME);
            sums[1] = (sums[1] ^ u64::from(!byte))
                .wrapping_mul(PRIME)
                .rotate_left(29);
        }
    };
    for v in &mesh.vertices_m {
        v.to_array().into_iter().for_each(|x| take(x.to_bits()));
    }
    for t in &mesh.triangles {
        t.iter().for_each(|i| take(u64::from(*i)));
    }
    sums
}

/// One thing of wood or stone with its own tag.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    tag: Tag,
    material: PieceMaterial,
    shape: Shape,
    mass: Mass,
    price: Option<Money>,
}

impl Piece {
    /// A piece from its scan and what is known of it.
    ///
    /// With `weighed_kg` the mass is measured; without, it is estimated from the
    /// volume and the material's density.
    ///
    /// # Errors
    /// When the shape encloses no volume, or a figure is not above zero and finite.
    pub fn new(
        tag: Tag,
        material: PieceMaterial,
        shape: Shape,
        weighed_kg: Option<f64>,
        price: Option<Money>,
    ) -> Result<Self, WorkshopError> {
        let refuse = |figure, reason: String| {
            Err(WorkshopError::Piece {
                tag,
                figure,
                reason,
            })
        };
        let positive = |value: f64| value.is_finite() && value > 0.0;
        let volume_m3 = shape.moments().volume_m3;
        if !positive(volume_m3) {
            return refuse(
                "mesh",
                format!(
                    "it encloses {:.3} L; a scan must close and be wound outwards",
                    volume_m3 * 1e3
                ),
            );
        }
        if !positive(material.density_kg_m3) {
            return refuse("density_kg_m3", format!("{} kg/m³", material.density_kg_m3));
        }
        if !(material.friction.is_finite() && material.friction >= 0.0) {
            return refuse("friction", material.friction.to_string());
        }
        let mass = match weighed_kg {
            Some(mass_kg) if !positive(mass_kg) => {
                return refuse("mass_kg", format!("{mass_kg} kg"));
            }
            Some(mass_kg) => Mass {
                mass_kg,
                certainty: Certainty::Measured,
            },
            None => Mass {
                mass_kg: volume_m3 * material.density_kg_m3,
                certainty: material.certainty.max(Certainty::Estimated),
            },
        };
        Ok(Self {
            tag,
            material,
            shape,
            mass,
            price,
        })
    }

    /// Its tag.
    #[must_use]
    pub fn tag(&self) -> Tag {
        self.tag
    }

    /// Stone or wood.
    #[must_use]
    pub fn kind(&self) -> PieceKind {
        self.tag.kind()
    }

    /// What it is made of.
    #[must_use]
    pub fn material(&self) -> &PieceMaterial {
        &self.material
    }

    /// Its form.
    #[must_use]
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// What it weighs.
    #[must_use]
    pub fn mass(&self) -> Mass {
        self.mass
    }

    /// Its mass as a figure that explains itself.
    #[must_use]
    pub fn mass_figure(&self) -> Figure {
        let (relation, source) = if self.mass.certainty == Certainty::Measured {
            ("on the scale".to_owned(), "weighed at taking in")
        } else {
            (
                format!(
                    "{:.0} kg/m³ ({}) × {:.3} L of the scan",
                    self.material.density_kg_m3,
                    self.material.name,
                    self.shape.moments().volume_m3 * 1e3
                ),
                "density of the material as stated in the layout or the yard",
            )
        };
        Figure::new(
            self.mass.mass_kg,
            "kg",
            self.mass.certainty,
            relation,
            source,
        )
    }

    /// Density that mass and closed volume imply, kg/m³.
    #[must_use]
    pub fn density_kg_m3(&self) -> f64 {
        self.mass.mass_kg / self.shape.moments().volume_m3
    }

    /// Its price, where known.
    #[must_use]
    pub fn price(&self) -> Option<Money> {
        self.price
    }
}
