//! The demo's invented customers, grades, lots and ground materials.

use serde_json::json;
use store::{CommissionChange, CommissionState, GradeMeasure, GradeRule, LotFields};
use workshop::{Currency, Money, PieceKind};

use super::{DemoError, by, layouts};
use crate::{App, ground_materials};

/// One invented customer's wish.
struct Wish {
    customer: &'static str,
    contact: &'static str,
    wish: &'static str,
    budget: Option<f64>,
    /// Length, width and height outside, glass, water line, mm.
    tank_mm: [f64; 5],
    state: CommissionState,
}

const WISHES: [Wish; 4] = [
    Wish {
        customer: "Merel Oosterwaard",
        contact: "by telephone, evenings",
        wish: "A quiet rock shore for the living room, as if the tide had just gone out. Dark stone, little wood, room for a shoal.",
        budget: Some(900.0),
        tank_mm: [900.0, 450.0, 450.0, 10.0, 405.0],
        state: CommissionState::Composing,
    },
    Wish {
        customer: "Praktijk De Lindeboog",
        contact: "practice manager, mornings",
        wish: "A river bed for the waiting room: round stones, roots across the current, nothing that topples when a child leans on the stand.",
        budget: Some(2400.0),
        tank_mm: [1800.0, 600.0, 600.0, 15.0, 540.0],
        state: CommissionState::Agreed,
    },
    Wish {
        customer: "Joris van Tongelen",
        contact: "comes by on Saturdays",
        wish: "One eaten stone in a cube for the window sill of a student's room.",
        budget: Some(160.0),
        tank_mm: [300.0, 300.0, 300.0, 5.0, 265.0],
        state: CommissionState::Composing,
    },
    Wish {
        customer: "Café Het Kolkje",
        contact: "ask for the owner",
        wish: "Something green behind the bar that needs little care. The counter is 120 cm long.",
        budget: None,
        tank_mm: [1200.0, 400.0, 500.0, 10.0, 450.0],
        state: CommissionState::Enquiry,
    },
];

/// Names of the size grades and the longest sides at which they begin and end, mm.
const GRADES: [(&str, Option<f64>, Option<f64>); 4] = [
    ("hand", None, Some(120.0)),
    ("middle", Some(120.0), Some(220.0)),
    ("large", Some(220.0), Some(360.0)),
    ("giant", Some(360.0), None),
];

/// Kind, material, grade, mass in kg, cents for a kilogram, place.
const LOTS: [(PieceKind, &str, &str, f64, i64, &str); 3] = [
    (
        PieceKind::Stone,
        "Tarnholt clint",
        "hand",
        64.0,
        420,
        "crate 1",
    ),
    (
        PieceKind::Stone,
        "Ottermere cobble",
        "middle",
        120.0,
        260,
        "yard wall, low",
    ),
    (
        PieceKind::Wood,
        "Lanter heath twig",
        "hand",
        6.4,
        1450,
        "rack by the door",
    ),
];

/// Makes what is missing of it.
pub(super) async fn make(app: &App) -> Result<(), DemoError> {
    grades(app).await?;
    lots(app).await?;
    commissions(app).await?;
    if app
        .store
        .setting(ground_materials::SETTING)
        .await?
        .is_none()
    {
        let materials = json!(layouts::materials()?);
        app.store
            .set(&by(), ground_materials::SETTING, None, materials)
            .await?;
    }
    Ok(())
}

async fn grades(app: &App) -> Result<(), DemoError> {
    let before = app.store.grades().await?;
    if !before.rules.is_empty() {
        return Ok(());
    }
    let rules: Vec<GradeRule> = [PieceKind::Stone, PieceKind::Wood]
        .into_iter()
        .flat_map(|kind| {
            GRADES.map(|(name, from, below)| GradeRule {
                kind,
                name: name.to_owned(),
                measure: GradeMeasure::LongMm,
                from,
                below,
            })
        })
        .collect();
    app.store.set_grades(&by(), before.version, &rules).await?;
    Ok(())
}

async fn lots(app: &App) -> Result<(), DemoError> {
    if !app.store.lots().await?.is_empty() {
        return Ok(());
    }
    let euro = Currency::new("EUR").map_err(store::StoreError::from)?;
    for (kind, material, grade, mass_kg, cents, place) in LOTS {
        let fields = LotFields {
            kind,
            material: material.to_owned(),
            grade: grade.to_owned(),
            mass_kg,
            price_per_kg: Some(Money::new(cents, euro)),
            place: place.to_owned(),
        };
        app.store.add_lot(&by(), fields).await?;
    }
    Ok(())
}

async fn commissions(app: &App) -> Result<(), DemoError> {
    if !app.store.commissions().await?.is_empty() {
        return Ok(());
    }
    for wish in WISHES {
        let [length, width, height, glass_mm, water_line_mm] = wish.tank_mm;
        let mut brief = json!({
            "wish": wish.wish,
            "tank": {
                "outside_mm": [length, width, height],
                "glass_mm": glass_mm,
                "water_line_mm": water_line_mm,
            },
        });
        if let Some(amount) = wish.budget {
            brief["budget"] = json!({ "amount": amount, "currency": "EUR" });
        }
        let contact = Some(wish.contact);
        let begun = app
            .store
            .add_commission(&by(), wish.customer, contact, brief)
            .await?;
        if wish.state != CommissionState::Enquiry {
            let change = CommissionChange {
                state: Some(wish.state),
                ..CommissionChange::default()
            };
            app.store
                .change_commission(&by(), begun.id, begun.version, change)
                .await?;
        }
    }
    Ok(())
}
