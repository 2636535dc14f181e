//! The demo's layouts: those of the layout files, each made when its pieces are there.

use serde_json::json;
use store::{NewLayout, StoreError};
use workshop::{Composition, Tag, composition::GroundKind};

use super::{DemoError, by};
use crate::{
    App,
    bench::{open::current, settle},
    yard::file::YardFile,
};

/// Each layout file and the customer whom it is for.
const FILES: [(&str, &str); 3] = [
    (
        include_str!("../../../../demo/rimless-90.toml"),
        "Merel Oosterwaard",
    ),
    (
        include_str!("../../../../demo/cube-30.toml"),
        "Joris van Tongelen",
    ),
    (
        include_str!("../../../../demo/river-180.toml"),
        "Praktijk De Lindeboog",
    ),
];

/// What a layout file composes; every piece in it is one of the yard.
fn composition(text: &str) -> Result<Composition, DemoError> {
    let mut table: toml::Table = toml::from_str(text)?;
    table.remove("yard");
    Ok(table.try_into()?)
}

fn all() -> Result<Vec<(Composition, &'static str)>, DemoError> {
    FILES
        .iter()
        .map(|(text, customer)| Ok((composition(text)?, *customer)))
        .collect()
}

/// The ground materials that the layouts use, each once.
pub(super) fn materials() -> Result<Vec<GroundKind>, DemoError> {
    let mut materials: Vec<GroundKind> = Vec::new();
    for (composition, _) in all()? {
        for kind in composition.material {
            if materials.iter().all(|known| known.name != kind.name) {
                materials.push(kind);
            }
        }
    }
    Ok(materials)
}

/// The tags of the shelf in the order in which they are grown: those of the layouts first.
pub(super) fn order(shelf: &YardFile) -> Result<Vec<String>, DemoError> {
    let mut order: Vec<String> = Vec::new();
    let in_layouts = all()?
        .into_iter()
        .flat_map(|(composition, _)| composition.piece)
        .map(|piece| piece.tag);
    for tag in in_layouts.chain(shelf.piece.iter().map(|piece| piece.tag.clone())) {
        if !order.contains(&tag) {
            order.push(tag);
        }
    }
    Ok(order)
}

/// Makes every layout whose pieces are there and that isn't made yet.
pub(super) async fn make_ready(app: &App) -> Result<(), DemoError> {
    let made = app.store.layouts().await?;
    let commissions = app.store.commissions().await?;
    for (composition, customer) in all()? {
        let is_made = made.iter().any(|card| card.title == composition.title);
        if is_made || !has_pieces(app, &composition).await? {
            continue;
        }
        let commission = commissions.iter().find(|c| c.customer == customer);
        let new = NewLayout {
            title: composition.title.clone(),
            commission: commission.map(|c| c.id),
            composition: json!(composition),
        };
        let layout = app.store.add_layout(&by(), new).await?;
        match current(app, &layout).await {
            Ok((bench, laid)) => settle::want(app, &bench, &laid),
            Err(error) => {
                tracing::warn!(title = %layout.title, message = %error.told.message, "a demo layout can't be laid");
            }
        }
    }
    Ok(())
}

async fn has_pieces(app: &App, composition: &Composition) -> Result<bool, StoreError> {
    for piece in &composition.piece {
        let Ok(tag) = piece.tag.parse::<Tag>() else {
            return Ok(false);
        };
        match app.store.piece(tag).await {
            Ok(_) => {}
            Err(StoreError::Missing { .. }) => return Ok(false),
            Err(error) => return Err(error),
        }
    }
    Ok(true)
}
