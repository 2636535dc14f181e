//! What was acknowledged is there, whenever the program dies.
//!
//! The parent starts this program again as a child that writes without pause and says on
//! its standard output what was acknowledged; it kills the child at a random moment, opens
//! the store and looks for all of it. So it needs a `main` of its own.

use std::{
    collections::BTreeMap,
    env,
    hash::{BuildHasher, Hasher, RandomState},
    io::{BufRead, BufReader, Write},
    process::{Command, Stdio},
};

#[path = "store/server.rs"]
mod server;

use bytes::Bytes;
use serde_json::{Value, json};
use store::{
    By, MassCertainty, Measured, NewLayout, ObjectId, PieceState, Place, Store, TakeIn, UploadKind,
};
use workshop::PieceKind;

/// The variable that makes this program the child; what it says is the place.
const CHILD: &str = "LENTIC_STORE_CHILD";
const OBJECTS: &str = "LENTIC_STORE_CHILD_OBJECTS";
/// Lives of the child on each database.
const N_LIVES: u64 = 25;

fn main() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    match env::var(CHILD) {
        Ok(data) => {
            let objects = env::var(OBJECTS).ok();
            runtime.block_on(write_without_pause(&Place { data, objects }));
        }
        Err(_) => runtime.block_on(kill_again_and_again()),
    }
}

/// The child: four writers, each saying what was acknowledged, until it is killed.
async fn write_without_pause(place: &Place) {
    let store = Store::open(place).await.expect("the store opens");
    let life = store.last_event().await.expect("events");
    let tasks: Vec<_> = (0..4)
        .map(|writer| tokio::spawn(write(store.clone(), format!("{life}-{writer}"))))
        .collect();
    for task in tasks {
        task.await.expect("a writer ends only with its program");
    }
}

async fn write(store: Store, name: String) {
    let by = By::new(&name, 1);
    let new = NewLayout {
        title: name.clone(),
        commission: None,
        composition: json!(0),
    };
    let mut layout = store.add_layout(&by, new).await.expect("a layout");
    for n in 1.. {
        let piece = store.take_in(&by, piece(n)).await.expect("taken in");
        say(&format!("piece {} {n}", piece.card.tag));
        let step = store
            .compose(&by, layout.id, layout.version, "more", &json!(n))
            .await;
        layout = step.expect("a step");
        say(&format!("layout {} {n}", layout.id));
        let bytes = Bytes::from(format!("{name} {n}").repeat(1000));
        let kept = store.objects().put(bytes).await.expect("kept");
        let upload = store.add_upload(&by, &name, UploadKind::Scan, &kept).await;
        say(&format!(
            "upload {} {}",
            upload.expect("an upload").id,
            kept.id.hex()
        ));
        store.set(&by, &name, None, json!(n)).await.expect("set");
        say(&format!("setting {name} {n}"));
    }
}

/// One write to the pipe, which outlives this program.
fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}").expect("the parent listens");
    out.flush().expect("the parent listens");
}

fn piece(n: i64) -> TakeIn {
    TakeIn {
        kind: PieceKind::Stone,
        tag: None,
        material: "Tarnholt clint".to_owned(),
        state: PieceState::Ready,
        place: n.to_string(),
        density_kg_m3: 2620.0,
        friction: 0.6,
        mass_kg: 5.3,
        mass_certainty: MassCertainty::Measured,
        price: None,
        notes: String::new(),
        measured: Measured {
            scan: None,
            shape: None,
            picture: None,
            size_mm: [210.0, 150.0, 90.0],
            as_laid_mm: [205.0, 140.0, 95.0],
            colour: "#8a8d88".to_owned(),
            outline_mm: vec![[0.0, 0.0]],
            measure: Value::Null,
            fit: vec![1; 500],
        },
        photographs: Vec::new(),
    }
}

async fn kill_again_and_again() {
    for (what, folder, place) in places().await {
        let mut acknowledged = BTreeMap::new();
        for _ in 0..N_LIVES {
            let mut of_this_life = BTreeMap::new();
            for line in one_life(&place) {
                let (name, value) = line.rsplit_once(' ').expect("a name and a value");
                of_this_life.insert(name.to_owned(), value.to_owned());
            }
            let store = Store::open(&place).await.expect("it opens after a kill");
            check(&store, &of_this_life).await;
            acknowledged.append(&mut of_this_life);
            store.close().await;
        }
        let store = Store::open(&place).await.expect("it opens after all kills");
        check(&store, &acknowledged).await;
        events_match(&store).await;
        store.close().await;
        println!(
            "{what}: {} acknowledged in {N_LIVES} lives, all there",
            acknowledged.len()
        );
        drop(folder);
    }
}

/// Starts a child, kills it at a random moment, and returns what it said by then.
fn one_life(place: &Place) -> Vec<String> {
    let mut command = Command::new(env::current_exe().expect("this program"));
    command.env(CHILD, &place.data).stdout(Stdio::piped());
    if let Some(objects) = &place.objects {
        command.env(OBJECTS, objects);
    }
    let mut child = command.spawn().expect("the child starts");
    let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
    let mut said = Vec::new();
    let n_before_kill = random() % 60;
    while (said.len() as u64) <= n_before_kill {
        match lines.next() {
            Some(line) => said.push(line.expect("a line")),
            None => panic!("the child ended by itself: {:?}", child.wait()),
        }
    }
    // Somewhere within the work that is under way now.
    for _ in 0..random() % 3_000_000 {
        std::hint::spin_loop();
    }
    child.kill().expect("it is killed");
    said.extend(lines.map(|line| line.expect("a line")));
    child.wait().expect("it is dead");
    said
}

async fn check(store: &Store, acknowledged: &BTreeMap<String, String>) {
    for (name, value) in acknowledged {
        let (noun, id) = name.split_once(' ').expect("a noun and an id");
        let found = match noun {
            "piece" => {
                let piece = store.piece(id.parse().expect("a tag")).await;
                piece.expect("an acknowledged piece").card.place
            }
            "layout" => {
                let layout = store.layout(id.parse().expect("an id")).await;
                let layout = layout.expect("an acknowledged layout");
                at_least(&layout.composition, value)
            }
            "upload" => {
                let upload = store.upload(id.parse().expect("an id")).await;
                let object = upload.expect("an acknowledged upload").object;
                let bytes = store.objects().get(&object).await.expect("its object");
                ObjectId::of(&bytes).hex().to_owned()
            }
            _ => {
                let setting = store.setting(id).await.expect("an answer");
                at_least(&setting.expect("an acknowledged setting").value, value)
            }
        };
        assert_eq!(&found, value, "{name}");
    }
}

/// No change without its event, no event without its change.
async fn events_match(store: &Store) {
    let n_events = store.last_event().await.expect("events");
    let events = store.events_after(0, i64::MAX).await.expect("events");
    assert_eq!(events.len() as i64, n_events);
    let taken_in = events
        .iter()
        .filter(|event| event.deed == "taken in")
        .count();
    let filter = store::PieceFilter::default();
    let list = store
        .pieces(&filter, store::PieceSort::Tag, false, 0, 0)
        .await;
    assert_eq!(list.expect("a list").total, taken_in as i64);
}

/// The acknowledged value, when what is there is that or the one that was under way.
fn at_least(found: &Value, acknowledged: &str) -> String {
    let wanted: i64 = acknowledged.parse().expect("a number");
    match found.as_i64() {
        Some(n) if n == wanted || n == wanted + 1 => acknowledged.to_owned(),
        _ => found.to_string(),
    }
}

fn random() -> u64 {
    RandomState::new().build_hasher().finish()
}

/// A fresh place on each database that there is.
async fn places() -> Vec<(&'static str, tempfile::TempDir, Place)> {
    let folder = tempfile::TempDir::new().expect("a folder");
    let place = Place::folder(folder.path().display().to_string());
    let mut places = vec![("SQLite", folder, place)];
    if let Ok(url) = env::var("LENTIC_TEST_POSTGRES") {
        let folder = tempfile::TempDir::new().expect("a folder");
        let place = Place {
            data: server::fresh_database(&url, "durability").await,
            objects: Some(folder.path().display().to_string()),
        };
        places.push(("PostgreSQL", folder, place));
    }
    places
}
