//! From a layout file to its pieces in hand: tags looked up, scans read or grown, measured.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::Arc,
};

use method::{Certainty, MethodError};
use rayon::prelude::*;
use server::{
    taking_in::{job::USUAL_FRICTION, take},
    yard::file::{self as yard, GrownText, YardFile, YardPiece},
};
use solid::{
    Mesh,
    grow::REVISION,
    measure::{Measure, MeasureOptions},
    read::{ReadOptions, Unit, Up},
};
use workshop::{Composition, Currency, Money, Piece, PieceKind, PieceMaterial, Shape, Tag};

use super::{
    file::{self, LayoutFile, PieceText},
    text::{Refusal, Text},
};
use crate::disk;

/// A layout file with its pieces in hand.
pub struct Loaded {
    /// The file with its lines, for later refusals.
    pub text: Text,
    /// What the builder wrote.
    pub file: LayoutFile,
    /// Currency of the prices in the file.
    pub currency: Option<Currency>,
    /// One for each `[[piece]]`, in order.
    pub pieces: Vec<LoadedPiece>,
}

impl Loaded {
    /// What the file composes of its pieces.
    #[must_use]
    pub fn composition(&self) -> Composition {
        let tags = self.pieces.iter().map(|p| p.piece.tag());
        self.file
            .composition(tags, self.currency.as_ref().map(Currency::code))
    }
}

/// A piece in hand.
#[derive(Clone)]
pub struct LoadedPiece {
    /// The piece.
    pub piece: Arc<Piece>,
    /// The scan as it came, for pictures.
    pub look: Arc<Mesh>,
    /// What was mended or is doubtful in the scan, in words.
    pub notes: Vec<String>,
}

/// Everything about a piece but its shape, wherever it was written.
struct Described {
    tag: Tag,
    material: PieceMaterial,
    mass_kg: Option<f64>,
    price: Option<Money>,
    scan: PathBuf,
    named: String,
    options: ReadOptions,
    grown: Option<GrownText>,
}

/// Reads a layout file, its yard and its scans.
///
/// # Errors
/// At the line of what can't be used.
pub fn load(path: &Path) -> Result<Loaded, Refusal> {
    let text = read_text(path)?;
    let file: LayoutFile = text.typed(&file::bounds())?;
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let currency = file
        .currency
        .as_deref()
        .map(Currency::new)
        .transpose()
        .map_err(|error| refuse(&text, "bad_currency", "/currency", &error))?;
    let yard = Yard::open(&text, &file, &folder)?;
    let described = describe(&text, &file, &yard, currency, &folder)?;
    let pieces = described
        .par_iter()
        .enumerate()
        .map(|(i, d)| {
            take_in(d).map_err(|(key, error)| piece_refusal(&text, &yard, &file, i, &key, error))
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Loaded {
        text,
        file,
        currency: currency.or(yard.currency),
        pieces,
    })
}

fn read_text(path: &Path) -> Result<Text, Refusal> {
    let name = path.display().to_string();
    let refuse = |reason: String| Refusal {
        file: name.clone(),
        line: None,
        error: Box::new(MethodError::new(
            "no_file",
            "",
            reason,
            "name a TOML text; docs/layout-file.md explains its keys",
        )),
    };
    let bytes = disk::read(path).map_err(refuse)?;
    let content = std::str::from_utf8(&bytes).map_err(|error| refuse(error.to_string()))?;
    Text::parse(&name, content)
}

fn refuse(text: &Text, code: &str, path: &str, error: &dyn std::fmt::Display) -> Refusal {
    text.refusal(MethodError::new(
        code,
        path,
        error.to_string(),
        "correct the value; docs/layout-file.md explains the keys",
    ))
}

/// The yard of a layout file: its text, and where each tag is in it.
struct Yard {
    text: Option<Text>,
    folder: PathBuf,
    currency: Option<Currency>,
    pieces: BTreeMap<Tag, (usize, YardPiece)>,
}

impl Yard {
    fn open(layout: &Text, file: &LayoutFile, folder: &Path) -> Result<Self, Refusal> {
        let Some(name) = &file.yard else {
            return Ok(Self {
                text: None,
                folder: folder.to_owned(),
                currency: None,
                pieces: BTreeMap::new(),
            });
        };
        let path = folder.join(name);
        let text = read_text(&path).map_err(|refusal| {
            if refusal.line.is_none() && refusal.error.code == "no_file" {
                refuse(layout, "no_yard", "/yard", &refusal.error.message)
            } else {
                refusal
            }
        })?;
        let content: YardFile = text.typed(yard::BOUNDS)?;
        let currency = content
            .currency
            .as_deref()
            .map(Currency::new)
            .transpose()
            .map_err(|error| refuse(&text, "bad_currency", "/currency", &error))?;
        let mut pieces = BTreeMap::new();
        for (i, piece) in content.piece.into_iter().enumerate() {
            let at = format!("/piece/{i}/tag");
            let tag: Tag = piece
                .tag
                .parse()
                .map_err(|error| refuse(&text, "bad_tag", &at, &error))?;
            if pieces.insert(tag, (i, piece)).is_some() {
                return Err(refuse(
                    &text,
                    "doubled_tag",
                    &at,
                    &format!("{tag} stands twice in the yard"),
                ));
            }
        }
        Ok(Self {
            text: Some(text),
            folder: path.parent().unwrap_or(Path::new("")).to_owned(),
            currency,
            pieces,
        })
    }
}

fn describe(
    text: &Text,
    file: &LayoutFile,
    yard: &Yard,
    currency: Option<Currency>,
    folder: &Path,
) -> Result<Vec<Described>, Refusal> {
    let mut taken = BTreeMap::new();
    let mut described = Vec::with_capacity(file.piece.len());
    for (i, piece) in file.piece.iter().enumerate() {
        let one = match &piece.scan {
            Some(scan) => from_scan(text, i, piece, scan, currency, folder, &taken)?,
            None => from_yard(text, i, piece, yard)?,
        };
        if let Some(first) = taken.insert(one.tag, i) {
            return Err(refuse(
                text,
                "doubled_tag",
                &format!("/piece/{i}"),
                &format!(
                    "{} is placed twice; it is piece {} already",
                    one.tag,
                    first + 1
                ),
            ));
        }
        described.push(one);
    }
    Ok(described)
}

fn from_yard(text: &Text, i: usize, piece: &PieceText, yard: &Yard) -> Result<Described, Refusal> {
    let at = |key: &str| format!("/piece/{i}{key}");
    let Some(name) = &piece.tag else {
        return Err(refuse(
            text,
            "no_piece",
            &at(""),
            &"neither a tag to look up nor a scan",
        ));
    };
    for (key, given) in [
        ("unit", piece.unit.is_some()),
        ("up", piece.up.is_some()),
        ("kind", piece.kind.is_some()),
        ("material", piece.material.is_some()),
        ("density_kg_m3", piece.density_kg_m3.is_some()),
        ("mass_kg", piece.mass_kg.is_some()),
        ("friction", piece.friction.is_some()),
        ("price", piece.price.is_some()),
    ] {
        if given {
            return Err(refuse(
                text,
                "not_here",
                &at(&format!("/{key}")),
                &format!("{key} of a tagged piece is read from the yard, not from here"),
            ));
        }
    }
    let tag: Tag = name
        .parse()
        .map_err(|error| refuse(text, "bad_tag", &at("/tag"), &error))?;
    let Some((j, kept)) = yard.pieces.get(&tag) else {
        let place = if yard.text.is_some() {
            "the yard"
        } else {
            "this file: it names no yard, and the piece no scan"
        };
        return Err(refuse(
            text,
            "unknown_tag",
            &at("/tag"),
            &format!("{tag} is not in {place}"),
        ));
    };
    let yard_text = yard.text.as_ref().unwrap_or(text);
    let in_yard = |key: &str| format!("/piece/{j}/{key}");
    if kind_of(yard_text, &kept.kind, &in_yard("kind"))? != tag.kind() {
        return Err(refuse(
            yard_text,
            "bad_tag",
            &in_yard("kind"),
            &format!("{tag} is no tag of {}", kept.kind),
        ));
    }
    Ok(Described {
        tag,
        material: material(tag, Some(&kept.material), kept.density_kg_m3, kept.friction),
        mass_kg: kept.mass_kg,
        price: price(yard_text, kept.price, yard.currency, &in_yard("price"))?,
        scan: scan_path(&yard.folder.join(&kept.scan), kept.grown.as_ref()),
        named: kept.scan.clone(),
        options: options(
            yard_text,
            kept.unit.as_deref(),
            kept.up.as_deref(),
            &format!("/piece/{j}"),
        )?,
        grown: kept.grown.clone(),
    })
}

fn from_scan(
    text: &Text,
    i: usize,
    piece: &PieceText,
    scan: &str,
    currency: Option<Currency>,
    folder: &Path,
    taken: &BTreeMap<Tag, usize>,
) -> Result<Described, Refusal> {
    let at = |key: &str| format!("/piece/{i}/{key}");
    let given: Option<Tag> = piece
        .tag
        .as_deref()
        .map(str::parse)
        .transpose()
        .map_err(|error| refuse(text, "bad_tag", &at("tag"), &error))?;
    let kind = match (&piece.kind, given) {
        (Some(kind), _) => kind_of(text, kind, &at("kind"))?,
        (None, Some(tag)) => tag.kind(),
        (None, None) => PieceKind::Stone,
    };
    let tag = match given {
        Some(tag) if tag.kind() == kind => tag,
        Some(tag) => {
            return Err(refuse(
                text,
                "bad_tag",
                &at("tag"),
                &format!("{tag} is no tag of {}", kind.word()),
            ));
        }
        None => free_tag(kind, taken)
            .map_err(|error| refuse(text, "bad_tag", &format!("/piece/{i}"), &error))?,
    };
    Ok(Described {
        tag,
        material: material(
            tag,
            piece.material.as_deref(),
            piece.density_kg_m3,
            piece.friction,
        ),
        mass_kg: piece.mass_kg,
        price: price(text, piece.price, currency, &at("price"))?,
        scan: folder.join(scan),
        named: scan.to_owned(),
        options: options(
            text,
            piece.unit.as_deref(),
            piece.up.as_deref(),
            &format!("/piece/{i}"),
        )?,
        grown: None,
    })
}

/// The first number from 1 that no piece of the layout has.
fn free_tag(kind: PieceKind, taken: &BTreeMap<Tag, usize>) -> Result<Tag, workshop::WorkshopError> {
    let mut number = 1;
    loop {
        let tag = Tag::new(kind, number)?;
        if !taken.contains_key(&tag) {
            return Ok(tag);
        }
        number += 1;
    }
}

fn kind_of(text: &Text, word: &str, at: &str) -> Result<PieceKind, Refusal> {
    [PieceKind::Stone, PieceKind::Wood]
        .into_iter()
        .find(|kind| kind.word() == word)
        .ok_or_else(|| {
            refuse(
                text,
                "bad_kind",
                at,
                &format!("{word:?} is neither \"stone\" nor \"wood\""),
            )
        })
}

/// The material, with a usual density where none was stated.
fn material(
    tag: Tag,
    name: Option<&str>,
    density_kg_m3: Option<f64>,
    friction: Option<f64>,
) -> PieceMaterial {
    // Common practice, no source: middling sedimentary stone; wood that has soaked through.
    let usual = match tag.kind() {
        PieceKind::Stone => 2600.0,
        PieceKind::Wood => 1100.0,
    };
    PieceMaterial {
        name: name.unwrap_or(tag.kind().word()).to_owned(),
        density_kg_m3: density_kg_m3.unwrap_or(usual),
        friction: friction.unwrap_or(USUAL_FRICTION),
        certainty: if density_kg_m3.is_some() {
            Certainty::Estimated
        } else {
            Certainty::Assumed
        },
    }
}

fn price(
    text: &Text,
    amount: Option<f64>,
    currency: Option<Currency>,
    at: &str,
) -> Result<Option<Money>, Refusal> {
    let Some(amount) = amount else {
        return Ok(None);
    };
    let currency = currency.ok_or_else(|| {
        refuse(
            text,
            "no_currency",
            at,
            &"a price without a currency: write `currency = \"EUR\"` at the top of the file",
        )
    })?;
    Money::from_amount(amount, currency)
        .map(Some)
        .map_err(|error| refuse(text, "bad_price", at, &error))
}

fn options(
    text: &Text,
    unit: Option<&str>,
    up: Option<&str>,
    at: &str,
) -> Result<ReadOptions, Refusal> {
    let unit = match unit {
        None => None,
        Some("mm") => Some(Unit::Mm),
        Some("cm") => Some(Unit::Cm),
        Some("m") => Some(Unit::M),
        Some("in") => Some(Unit::In),
        Some(other) => {
            return Err(refuse(
                text,
                "bad_unit",
                &format!("{at}/unit"),
                &format!("{other:?} is none of mm, cm, m, in"),
            ));
        }
    };
    let up = match up {
        None => None,
        Some("z") => Some(Up::Z),
        Some("y") => Some(Up::Y),
        Some(other) => {
            return Err(refuse(
                text,
                "bad_axis",
                &format!("{at}/up"),
                &format!("{other:?} is neither z nor y"),
            ));
        }
    };
    Ok(ReadOptions { unit, up })
}

type Fault = (String, MethodError);

/// Where a scan lies. A grown one carries its recipe in its name, so that another
/// recipe, or another way to grow it, is grown anew.
fn scan_path(named: &Path, grown: Option<&GrownText>) -> PathBuf {
    let Some(grown) = grown else {
        return named.to_owned();
    };
    let stem = named.file_stem().unwrap_or_default().to_string_lossy();
    let recipe = format!("{}-{}-{}", grown.form, grown.seed, grown.long_mm);
    let recipe: String = recipe
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || c == '-' {
                c
            } else {
                '_'
            }
        })
        .collect();
    named.with_file_name(format!("{stem}.{recipe}.{REVISION}.glb"))
}

/// Reads (or grows) the scan, mends and measures it.
fn take_in(described: &Described) -> Result<LoadedPiece, Fault> {
    let fault = |key: &str, code: &str, message: String, hint: &str| {
        (key.to_owned(), MethodError::new(code, "", message, hint))
    };
    if let (Some(grown), false) = (&described.grown, described.scan.exists()) {
        grow_scan(grown, &described.scan).map_err(|reason| {
            fault(
                "grown",
                "not_grown",
                reason,
                "see the forms in docs/layout-file.md, and check that the folder can be written",
            )
        })?;
    }
    let bytes = disk::read(&described.scan).map_err(|reason| {
        fault(
            "scan",
            "no_scan",
            format!("{}: {reason}", described.named),
            "check the path of the scan",
        )
    })?;
    let known = MeasureOptions {
        mass_kg: described.mass_kg,
        density_kg_m3: Some(described.material.density_kg_m3),
    };
    let taken = take::take(&bytes, &described.named, &described.options, &known)
        .map_err(|fault| (fault.at.key().to_owned(), fault.error))?;
    let notes = notes(&taken.measure);
    let piece = Piece::new(
        described.tag,
        described.material.clone(),
        Shape::new(taken.measure),
        described.mass_kg,
        described.price,
    )
    .map_err(|error| {
        fault(
            "scan",
            "bad_piece",
            error.to_string(),
            "check the scan, its unit and the mass",
        )
    })?;
    Ok(LoadedPiece {
        piece: Arc::new(piece),
        look: taken.look,
        notes,
    })
}

/// What the measure says beside its figures.
fn notes(measured: &Measure) -> Vec<String> {
    measured.cautions.iter().map(|c| c.text.clone()).collect()
}

/// Grows an invented piece into a file, so that it is a scan like any other.
fn grow_scan(grown: &GrownText, path: &Path) -> Result<(), String> {
    let bytes =
        take::grown(&grown.form, grown.seed, grown.long_mm).map_err(|error| error.to_string())?;
    let folder = path.parent().unwrap_or(Path::new(""));
    std::fs::create_dir_all(folder).map_err(|error| error.to_string())?;
    // Another run may grow the same piece at the same time: the rename makes it whole or absent.
    let unfinished = path.with_extension(format!("{}.part", std::process::id()));
    std::fs::write(&unfinished, bytes)
        .and_then(|()| std::fs::rename(&unfinished, path))
        .map_err(|error| error.to_string())
}

/// Puts the fault of a piece's scan to the line where the piece was described.
fn piece_refusal(
    text: &Text,
    yard: &Yard,
    file: &LayoutFile,
    i: usize,
    key: &str,
    mut error: MethodError,
) -> Refusal {
    let in_yard = file.piece[i]
        .tag
        .as_deref()
        .filter(|_| file.piece[i].scan.is_none())
        .and_then(|tag| yard.pieces.get(&tag.parse().ok()?))
        .zip(yard.text.as_ref());
    match in_yard {
        Some(((j, _), yard_text)) => {
            error.path = format!("/piece/{j}/{key}");
            yard_text.refusal(error)
        }
        None => {
            error.path = format!("/piece/{i}/{key}");
            text.refusal(error)
        }
    }
}
