//! Fresh stores to test on, and things to put into them.

use serde_json::json;
use store::{By, MassCertainty, Measured, Piece, PieceState, Place, Store, TakeIn};
use tempfile::TempDir;
use workshop::{Currency, Money, PieceKind};

use crate::server::fresh_database;

/// A store of one test.
pub struct Home {
    pub store: Store,
    pub place: Place,
    /// Objects, and the database too when it is SQLite.
    pub folder: TempDir,
}

/// One empty store of each database that there is.
pub async fn homes(name: &str) -> Vec<Home> {
    let mut homes = vec![sqlite().await];
    if let Ok(server) = std::env::var("LENTIC_TEST_POSTGRES") {
        homes.push(postgres(&server, name).await);
    }
    homes
}

pub async fn sqlite() -> Home {
    let folder = TempDir::new().expect("a temporary folder");
    let place = Place::folder(folder.path().to_str().expect("a path in UTF-8"));
    open(place, folder).await
}

async fn postgres(server: &str, name: &str) -> Home {
    let folder = TempDir::new().expect("a temporary folder");
    let place = Place {
        data: fresh_database(server, name).await,
        objects: Some(folder.path().join("objects").display().to_string()),
    };
    open(place, folder).await
}

async fn open(place: Place, folder: TempDir) -> Home {
    let store = Store::open(&place).await.expect("an empty store opens");
    Home {
        store,
        place,
        folder,
    }
}

impl Home {
    /// Closes the store and opens it again.
    pub async fn reopened(self) -> Self {
        self.store.close().await;
        drop(self.store);
        open(self.place, self.folder).await
    }
}

/// The builder, at a moment.
pub fn at(at_ms: i64) -> By {
    By::new("Jula", at_ms)
}

pub fn euros(minor: i64) -> Money {
    Money::new(minor, Currency::new("EUR").expect("a currency"))
}

/// A stone, 210 mm long and 5.3 kg.
pub fn stone() -> TakeIn {
    TakeIn {
        kind: PieceKind::Stone,
        tag: None,
        material: "Tarnholt clint".to_owned(),
        state: PieceState::Ready,
        place: "shelf A, row 1".to_owned(),
        density_kg_m3: 2620.0,
        friction: 0.6,
        mass_kg: 5.3,
        mass_certainty: MassCertainty::Measured,
        price: Some(euros(4250)),
        notes: "clean".to_owned(),
        measured: Measured {
            scan: None,
            shape: None,
            picture: None,
            size_mm: [210.0, 150.0, 90.0],
            as_laid_mm: [205.0, 140.0, 95.0],
            colour: "#8a8d88".to_owned(),
            outline_mm: vec![[0.0, 0.0], [205.0, 0.0], [100.25, 95.0]],
            measure: json!({ "volume_l": 2.02 }),
            fit: vec![0, 1, 2, 254, 255],
        },
        photographs: Vec::new(),
    }
}

/// A branch, 480 mm long.
pub fn branch() -> TakeIn {
    let mut branch = stone();
    branch.kind = PieceKind::Wood;
    branch.material = "Ravelin root".to_owned();
    branch.place = "rack 2".to_owned();
    branch.mass_kg = 1.1;
    branch.price = None;
    branch.measured.size_mm = [480.0, 120.0, 80.0];
    branch
}

pub async fn taken_in(home: &Home, piece: TakeIn) -> Piece {
    let taken = home.store.take_in(&at(1000), piece).await;
    taken.expect("a good piece is taken in")
}
