//! How quick the store is with 50,000 pieces: started, listed, narrowed, indexed.

use std::sync::LazyLock;

use divan::Bencher;
use futures_util::TryStreamExt;
use serde_json::json;
use store::{
    By, Facets, MassCertainty, Measured, PieceFilter, PieceList, PieceSort, PieceState, Place,
    Store, TakeIn,
};
use tokio::runtime::Runtime;
use workshop::{Currency, Money, PieceKind};

const N_PIECES: u32 = 50_000;

fn main() {
    // Filled before anything is measured.
    LazyLock::force(&YARD);
    divan::main();
}

struct Yard {
    runtime: Runtime,
    store: Store,
    place: Place,
    _folder: tempfile::TempDir,
}

static YARD: LazyLock<Yard> = LazyLock::new(|| {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::TempDir::new().expect("a folder");
    let place = Place::folder(folder.path().display().to_string());
    let store = runtime.block_on(filled(&place));
    Yard {
        runtime,
        store,
        place,
        _folder: folder,
    }
});

async fn filled(place: &Place) -> Store {
    let store = Store::open(place).await.expect("it opens");
    for thousand in 0..N_PIECES / 1000 {
        let pieces = (0..1000).map(|n| piece(thousand * 1000 + n)).collect();
        let by = By::new("bench", i64::from(thousand));
        store.take_in_all(&by, pieces).await.expect("taken in");
    }
    store
}

fn piece(n: u32) -> TakeIn {
    // Scattered over the ranges, the same in every run.
    let spread = f64::from(n.wrapping_mul(2_654_435_761) >> 8) / f64::from(1u32 << 24);
    let long_mm = 60.0 + 500.0 * spread;
    let euros = Currency::new("EUR").expect("a currency");
    TakeIn {
        kind: if n.is_multiple_of(3) {
            PieceKind::Wood
        } else {
            PieceKind::Stone
        },
        tag: None,
        material: format!("material {}", n % 12),
        state: if n.is_multiple_of(9) {
            PieceState::InPreparation
        } else {
            PieceState::Ready
        },
        place: format!("shelf {}, row {}", n % 40, n % 5),
        density_kg_m3: 2600.0,
        friction: 0.6,
        mass_kg: 0.2 + 20.0 * spread,
        mass_certainty: MassCertainty::Measured,
        price: (!n.is_multiple_of(7)).then(|| Money::new(i64::from(n % 9000), euros)),
        notes: "washed, no loose parts".to_owned(),
        measured: Measured {
            scan: None,
            shape: None,
            picture: None,
            size_mm: [long_mm, 0.7 * long_mm, 0.4 * long_mm],
            as_laid_mm: [long_mm, 0.6 * long_mm, 0.5 * long_mm],
            colour: "#8a8d88".to_owned(),
            outline_mm: (0..64)
                .map(|k| [f64::from(k) * 3.25, spread * 90.5])
                .collect(),
            measure: json!({ "text": "x".repeat(3000) }),
            fit: vec![(n % 251) as u8; 1200],
        },
        photographs: Vec::new(),
    }
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn open_and_index_for_fit(bencher: Bencher<'_, '_>) {
    bencher.bench(|| {
        YARD.runtime.block_on(async {
            let store = Store::open(&YARD.place).await.expect("it opens");
            let (mut n, mut pieces) = (0, store.pieces_for_fit());
            while let Some(piece) = pieces.try_next().await.expect("a piece") {
                n += piece.fit.len();
            }
            n
        })
    });
}

fn list(filter: &PieceFilter, sort: PieceSort, offset: i64, limit: i64) -> PieceList {
    let list = YARD.store.pieces(filter, sort, false, offset, limit);
    YARD.runtime.block_on(list).expect("a list")
}

#[divan::bench(args = [PieceSort::Tag, PieceSort::Long, PieceSort::Price, PieceSort::Received], sample_count = 30, sample_size = 1)]
fn first_200(sort: PieceSort) -> PieceList {
    list(&PieceFilter::default(), sort, 0, 200)
}

#[divan::bench(sample_count = 30, sample_size = 1)]
fn page_of_200_in_the_middle() -> PieceList {
    list(&PieceFilter::default(), PieceSort::Long, 25_000, 200)
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn page_of_5000() -> PieceList {
    list(&PieceFilter::default(), PieceSort::Tag, 0, 5000)
}

fn narrowed() -> PieceFilter {
    PieceFilter {
        kind: Some(PieceKind::Stone),
        materials: vec!["material 4".to_owned(), "material 5".to_owned()],
        long_min_mm: Some(150.0),
        long_max_mm: Some(320.0),
        ..PieceFilter::default()
    }
}

#[divan::bench(sample_count = 30, sample_size = 1)]
fn narrowed_200() -> PieceList {
    list(&narrowed(), PieceSort::Mass, 0, 200)
}

#[divan::bench(sample_count = 30, sample_size = 1)]
fn words_200() -> PieceList {
    let filter = PieceFilter {
        text: "shelf row washed 7".to_owned(),
        ..PieceFilter::default()
    };
    list(&filter, PieceSort::Tag, 0, 200)
}

#[divan::bench(args = [false, true], sample_count = 30, sample_size = 1)]
fn facets(narrow: bool) -> Facets {
    let filter = if narrow {
        narrowed()
    } else {
        PieceFilter::default()
    };
    let facets = YARD.store.facets(&filter);
    YARD.runtime.block_on(facets).expect("facets")
}
