//! Lists of layouts: all, a commission's, and those that a piece is in.

use serde::Serialize;
use sqlx::{AssertSqlSafe, Row, any::AnyRow};
use workshop::Tag;

use crate::{ObjectId, Store, StoreError};

/// What a list shows of a layout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LayoutCard {
    /// Its id.
    pub id: i64,
    /// Its title.
    pub title: String,
    /// The commission that it is for.
    pub commission: Option<i64>,
    /// How many pieces it has.
    pub n_pieces: i64,
    /// Whether it stands, when that was settled for what it is now.
    pub stands: Option<bool>,
    /// The last picture of it.
    pub picture: Option<ObjectId>,
    /// When it last changed, Unix milliseconds.
    pub changed_at_ms: i64,
    /// Goes up with every change of the composition.
    pub version: i64,
}

const SELECT: &str = "SELECT l.id, l.title, l.commission, l.n_pieces, l.stands, l.picture_object, \
                      l.changed_at_ms, l.version FROM layouts l";
const NEWEST: &str = "ORDER BY l.changed_at_ms DESC, l.id DESC";

impl LayoutCard {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        let picture: Option<String> = row.try_get("picture_object")?;
        Ok(Self {
            id: row.try_get("id")?,
            title: row.try_get("title")?,
            commission: row.try_get("commission")?,
            n_pieces: row.try_get("n_pieces")?,
            stands: row.try_get::<Option<i64>, _>("stands")?.map(|s| s != 0),
            picture: picture
                .map(|text| ObjectId::of_row("layouts", &text))
                .transpose()?,
            changed_at_ms: row.try_get("changed_at_ms")?,
            version: row.try_get("version")?,
        })
    }
}

impl Store {
    /// All layouts, the one that changed last first.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn layouts(&self) -> Result<Vec<LayoutCard>, StoreError> {
        let sql = AssertSqlSafe(format!("{SELECT} {NEWEST}"));
        cards(sqlx::query(sql).fetch_all(self.pool()).await?)
    }

    /// The layouts of a commission, the one that changed last first.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn layouts_of_commission(&self, id: i64) -> Result<Vec<LayoutCard>, StoreError> {
        let sql = AssertSqlSafe(format!("{SELECT} WHERE l.commission = $1 {NEWEST}"));
        cards(sqlx::query(sql).bind(id).fetch_all(self.pool()).await?)
    }

    /// The layouts that a piece is in now, the one that changed last first.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn layouts_of_piece(&self, tag: Tag) -> Result<Vec<LayoutCard>, StoreError> {
        let sql = AssertSqlSafe(format!(
            "{SELECT} JOIN layout_pieces lp ON lp.layout = l.id WHERE lp.tag = $1 {NEWEST}"
        ));
        let query = sqlx::query(sql).bind(tag.to_string());
        cards(query.fetch_all(self.pool()).await?)
    }
}

fn cards(rows: Vec<AnyRow>) -> Result<Vec<LayoutCard>, StoreError> {
    rows.iter().map(LayoutCard::of_row).collect()
}
