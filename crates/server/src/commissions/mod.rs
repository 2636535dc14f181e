//! Commissions: one customer's job from enquiry to handing over.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use store::{Commission, CommissionChange, CommissionState, StoreError};
use workshop::composition::{BOUNDS, TankMeasures};

use crate::{
    App,
    bench::view::LayoutCardView,
    events::{HistoryLine, history},
    figure::Money,
    http::{Api, ApiError, At, Body, Created, Reply, body::given},
    people::Who,
    yard::change::{price, short},
};

/// Letters of a title that is made of a wish.
const TITLE: usize = 80;

/// How far a commission is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(rename = "CommissionState")]
pub enum StateWord {
    /// Someone asked.
    Enquiry,
    /// It is being composed.
    Composing,
    /// The customer said yes.
    Agreed,
    /// It is being built.
    Building,
    /// The customer has it.
    HandedOver,
}

impl From<CommissionState> for StateWord {
    fn from(state: CommissionState) -> Self {
        use CommissionState as S;
        match state {
            S::Enquiry => Self::Enquiry,
            S::Composing => Self::Composing,
            S::Agreed => Self::Agreed,
            S::Building => Self::Building,
            S::HandedOver => Self::HandedOver,
        }
    }
}

impl From<StateWord> for CommissionState {
    fn from(state: StateWord) -> Self {
        match state {
            StateWord::Enquiry => Self::Enquiry,
            StateWord::Composing => Self::Composing,
            StateWord::Agreed => Self::Agreed,
            StateWord::Building => Self::Building,
            StateWord::HandedOver => Self::HandedOver,
        }
    }
}

/// What the customer wants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Brief {
    /// In words.
    pub wish: String,
    /// What it may cost.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub budget: Option<Money>,
    /// The tank that is there or wanted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tank: Option<TankMeasures>,
    /// What else.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// A commission in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct CommissionCard {
    /// Its id.
    pub id: i64,
    /// Its number, as people say it.
    pub number: String,
    /// Who asked.
    pub customer: String,
    /// How far it is.
    pub state: StateWord,
    /// The wish in short.
    pub title: String,
    /// How many layouts there are for it.
    pub layouts: i64,
    /// When it last changed, Unix milliseconds.
    pub changed_at_ms: i64,
}

/// A commission.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CommissionView {
    /// Its id.
    pub id: i64,
    /// Its number, as people say it.
    pub number: String,
    /// Who asked.
    pub customer: String,
    /// How to reach them; may be empty.
    pub contact: String,
    /// How far it is.
    pub state: StateWord,
    /// What they want.
    pub brief: Brief,
    /// The layouts for it, the one that changed last first.
    pub layouts: Vec<LayoutCardView>,
    /// What happened to it, newest first.
    pub history: Vec<HistoryLine>,
    /// Goes up with every change.
    pub version: i64,
}

/// A commission to be begun.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCommission {
    /// Who asked.
    pub customer: String,
    /// How to reach them.
    #[serde(default)]
    pub contact: Option<String>,
    /// What they want.
    pub brief: Brief,
}

/// What is to change; what is absent stays.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CommissionEdit {
    /// The version that was seen.
    pub version: i64,
    /// Who asked.
    #[serde(default)]
    pub customer: Option<String>,
    /// How to reach them; null clears it.
    #[serde(default, deserialize_with = "given")]
    #[schemars(with = "Option<String>")]
    pub contact: Option<Option<String>>,
    /// How far it is.
    #[serde(default)]
    pub state: Option<StateWord>,
    /// What they want.
    #[serde(default)]
    pub brief: Option<Brief>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("commissions")
        .get(
            "/api/commissions",
            list,
            "All commissions, the one that changed last first",
        )
        .post("/api/commissions", begin, "Begins a commission")
        .get("/api/commissions/{id}", get, "One commission")
        .patch("/api/commissions/{id}", change, "Changes a commission")
}

/// A commission's number as people say it.
#[must_use]
pub fn number(number: i64) -> String {
    format!("C-{number:04}")
}

/// Points at the commission of a body, when it is the one that isn't there.
#[must_use]
pub fn not_there(error: StoreError) -> ApiError {
    match error {
        StoreError::Missing {
            noun: "commission",
            subject,
        } => {
            let message = format!("there is no commission {subject}");
            ApiError::refused("/commission", message, "name one of the list")
        }
        error => error.into(),
    }
}

fn brief_of(commission: &Commission) -> Result<Brief, ApiError> {
    serde_json::from_value(commission.brief.clone()).map_err(|error| ApiError::internal(&error))
}

fn title(brief: &Brief) -> String {
    let first = brief.wish.lines().next().unwrap_or_default().trim();
    if first.chars().count() <= TITLE {
        return first.to_owned();
    }
    let cut: String = first.chars().take(TITLE).collect();
    let whole = cut
        .rsplit_once(' ')
        .map_or(cut.as_str(), |(whole, _)| whole);
    format!("{whole} …")
}

fn checked(brief: &Brief) -> Result<Value, ApiError> {
    const AT: &str = "/brief";
    short("/brief/wish", &brief.wish, 5000)?;
    short(
        "/brief/notes",
        brief.notes.as_deref().unwrap_or_default(),
        10_000,
    )?;
    if let Some(money) = &brief.budget {
        price("/brief/budget", money)?;
    }
    let value = json!(brief);
    method::bound::check(&value, BOUNDS).map_err(|e| ApiError::from(e).below(AT))?;
    Ok(value)
}

fn checked_people(customer: Option<&str>, contact: Option<&str>) -> Result<(), ApiError> {
    short("/customer", customer.unwrap_or_default(), 200)?;
    short("/contact", contact.unwrap_or_default(), 500)
}

async fn list(State(app): State<App>) -> Reply<Vec<CommissionCard>> {
    let all = app.store.commissions().await?;
    let card = |commission: Commission| {
        Ok(CommissionCard {
            id: commission.id,
            number: number(commission.number),
            state: commission.state.into(),
            title: title(&brief_of(&commission)?),
            layouts: commission.n_layouts,
            changed_at_ms: commission.changed_at_ms,
            customer: commission.customer,
        })
    };
    Ok(Json(
        all.into_iter().map(card).collect::<Result<_, ApiError>>()?,
    ))
}

async fn view(app: &App, commission: Commission) -> Result<CommissionView, ApiError> {
    let layouts = app.store.layouts_of_commission(commission.id).await?;
    Ok(CommissionView {
        id: commission.id,
        number: number(commission.number),
        brief: brief_of(&commission)?,
        customer: commission.customer,
        contact: commission.contact.unwrap_or_default(),
        state: commission.state.into(),
        layouts: layouts.into_iter().map(Into::into).collect(),
        history: history(app, "commission", &commission.id.to_string()).await?,
        version: commission.version,
    })
}

async fn begin(
    State(app): State<App>,
    who: Who,
    Body(asked): Body<NewCommission>,
) -> Result<Created<CommissionView>, ApiError> {
    checked_people(Some(&asked.customer), asked.contact.as_deref())?;
    let brief = checked(&asked.brief)?;
    let contact = asked.contact.as_deref().filter(|c| !c.trim().is_empty());
    let begun = app
        .store
        .add_commission(&who.by(), &asked.customer, contact, brief)
        .await?;
    Ok(Created(view(&app, begun).await?))
}

async fn get(State(app): State<App>, At(id): At<i64>) -> Reply<CommissionView> {
    let commission = app.store.commission(id).await?;
    Ok(Json(view(&app, commission).await?))
}

async fn change(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Body(asked): Body<CommissionEdit>,
) -> Reply<CommissionView> {
    let contact = asked.contact.clone().flatten();
    checked_people(asked.customer.as_deref(), contact.as_deref())?;
    let change = CommissionChange {
        customer: asked.customer,
        contact: asked.contact,
        state: asked.state.map(Into::into),
        brief: asked.brief.as_ref().map(checked).transpose()?,
    };
    let changed = app
        .store
        .change_commission(&who.by(), id, asked.version, change)
        .await?;
    Ok(Json(view(&app, changed).await?))
}
