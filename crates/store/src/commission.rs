//! Commissions: one customer's job from enquiry to handing over.

use serde::Serialize;
use serde_json::Value;
use sqlx::{AnyConnection, AssertSqlSafe, Row, any::AnyRow};

use crate::{By, Store, StoreError, text, word::words};

words! {
    /// How far a commission is.
    CommissionState in "commissions" {
        /// The customer has asked.
        Enquiry = "enquiry",
        /// A layout is being composed.
        Composing = "composing",
        /// The customer has said yes.
        Agreed = "agreed",
        /// It is being built.
        Building = "building",
        /// It is the customer's.
        HandedOver = "handed_over",
    }
}

/// A commission.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Commission {
    /// Its id.
    pub id: i64,
    /// Its number, counted from 1.
    pub number: i64,
    /// Who asked.
    pub customer: String,
    /// How to reach them.
    pub contact: Option<String>,
    /// How far it is.
    pub state: CommissionState,
    /// What the customer wants; the store doesn't look inside.
    pub brief: Value,
    /// How many layouts it has.
    #[serde(skip)]
    pub n_layouts: i64,
    /// When it last changed, Unix milliseconds.
    pub changed_at_ms: i64,
    /// Goes up with every change.
    pub version: i64,
}

/// What a person edits of a commission; `None` leaves a field as it is.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CommissionChange {
    /// Who asked.
    pub customer: Option<String>,
    /// How to reach them; `Some(None)` clears it.
    pub contact: Option<Option<String>>,
    /// How far it is.
    pub state: Option<CommissionState>,
    /// What the customer wants.
    pub brief: Option<Value>,
}

const SELECT: &str = "SELECT c.id, c.number, c.customer, c.contact, c.state, c.brief, \
     c.changed_at_ms, c.version, \
     (SELECT count(*) FROM layouts l WHERE l.commission = c.id) AS n_layouts FROM commissions c";

impl Commission {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.try_get("id")?,
            number: row.try_get("number")?,
            customer: row.try_get("customer")?,
            contact: row.try_get("contact")?,
            state: CommissionState::of_row(row.try_get("state")?)?,
            brief: serde_json::from_str(row.try_get("brief")?)?,
            n_layouts: row.try_get("n_layouts")?,
            changed_at_ms: row.try_get("changed_at_ms")?,
            version: row.try_get("version")?,
        })
    }
}

impl Store {
    /// All commissions, the one that changed last first.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn commissions(&self) -> Result<Vec<Commission>, StoreError> {
        let sql = AssertSqlSafe(format!("{SELECT} ORDER BY c.changed_at_ms DESC, c.id DESC"));
        let rows = sqlx::query(sql).fetch_all(self.pool()).await?;
        rows.iter().map(Commission::of_row).collect()
    }

    /// A commission.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn commission(&self, id: i64) -> Result<Commission, StoreError> {
        let mut connection = self.pool().acquire().await?;
        must_be(&mut connection, id).await
    }

    /// Begins a commission; it gets the next number.
    ///
    /// # Errors
    /// `Refused` without a customer, or when the database fails.
    pub async fn add_commission(
        &self,
        by: &By,
        customer: &str,
        contact: Option<&str>,
        brief: Value,
    ) -> Result<Commission, StoreError> {
        check_customer(customer)?;
        text::check("/contact", contact.unwrap_or_default())?;
        let mut write = self.write(by).await?;
        let id = write.next("commission").await?;
        sqlx::query(
            "INSERT INTO commissions (id, number, customer, contact, state, brief, changed_at_ms, \
             version) VALUES ($1, $1, $2, $3, 'enquiry', $4, $5, 1)",
        )
        .bind(id)
        .bind(customer)
        .bind(contact)
        .bind(brief.to_string())
        .bind(by.at_ms)
        .execute(write.conn())
        .await?;
        let commission = must_be(write.conn(), id).await?;
        let after = serde_json::to_value(&commission)?;
        write
            .event("commission.changed", "begun", id, Value::Null, after)
            .await?;
        write.commit().await?;
        Ok(commission)
    }

    /// Changes a commission that was seen at a version.
    ///
    /// # Errors
    /// `Stale`, `Missing`, `Refused` without a customer, or when the database fails.
    pub async fn change_commission(
        &self,
        by: &By,
        id: i64,
        seen: i64,
        change: CommissionChange,
    ) -> Result<Commission, StoreError> {
        let mut write = self.write(by).await?;
        let before = must_be(write.conn(), id).await?;
        if before.version != seen {
            return Err(StoreError::Stale {
                noun: "commission",
                subject: id.to_string(),
                current: before.version,
            });
        }
        let customer = change.customer.as_ref().unwrap_or(&before.customer);
        check_customer(customer)?;
        let contact = change.contact.as_ref().unwrap_or(&before.contact);
        text::check("/contact", contact.as_deref().unwrap_or_default())?;
        let brief = change.brief.as_ref().unwrap_or(&before.brief);
        sqlx::query(
            "UPDATE commissions SET customer = $2, contact = $3, state = $4, brief = $5, \
             changed_at_ms = $6, version = version + 1 WHERE id = $1 AND version = $7",
        )
        .bind(id)
        .bind(customer)
        .bind(contact.as_deref())
        .bind(change.state.unwrap_or(before.state).word())
        .bind(brief.to_string())
        .bind(by.at_ms)
        .bind(seen)
        .execute(write.conn())
        .await?;
        let after = must_be(write.conn(), id).await?;
        write
            .change_event("commission.changed", "changed", id, &before, &after)
            .await?;
        write.commit().await?;
        Ok(after)
    }
}

/// The commission of this id, which must be there.
pub(crate) async fn must_be(
    connection: &mut AnyConnection,
    id: i64,
) -> Result<Commission, StoreError> {
    let sql = AssertSqlSafe(format!("{SELECT} WHERE c.id = $1"));
    let row = sqlx::query(sql).bind(id).fetch_optional(connection).await?;
    Commission::of_row(&row.ok_or_else(|| StoreError::missing("commission", id))?)
}

fn check_customer(customer: &str) -> Result<(), StoreError> {
    if customer.trim().is_empty() {
        return Err(StoreError::Refused {
            path: "/customer",
            reason: "the customer has no name".to_owned(),
            hint: "write who asked",
        });
    }
    text::check("/customer", customer)
}
