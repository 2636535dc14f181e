//! Rows as JSON lines, from and to either database.

use base64::{Engine, engine::general_purpose::STANDARD};
use futures_util::TryStreamExt;
use serde_json::{Map, Value, json};
use sqlx::{
    AnyConnection, AssertSqlSafe, Column, Row, ValueRef, any::AnyRow, any::AnyTypeInfoKind,
};
use std::io::Write;

use crate::{StoreError, schema};

/// The name under which bytes are written, so that they differ from text.
const BYTES: &str = "base64";

/// Writes all rows of a table as JSON lines; how many they are.
pub(super) async fn dump(
    connection: &mut AnyConnection,
    table: &'static str,
    out: &mut impl Write,
) -> Result<u64, StoreError> {
    let sql = AssertSqlSafe(format!("SELECT * FROM {table} ORDER BY 1, 2"));
    let mut rows = sqlx::query(sql).fetch(connection);
    let mut n_rows = 0;
    while let Some(row) = rows.try_next().await? {
        serde_json::to_writer(&mut *out, &as_json(&row, table)?)?;
        out.write_all(b"\n").map_err(StoreError::file(table))?;
        n_rows += 1;
    }
    Ok(n_rows)
}

fn as_json(row: &AnyRow, table: &'static str) -> Result<Value, StoreError> {
    let mut object = Map::new();
    for column in row.columns() {
        let value = row.try_get_raw(column.ordinal())?;
        let kind = value.type_info().kind();
        let at = column.ordinal();
        let json = match kind {
            _ if value.is_null() => Value::Null,
            AnyTypeInfoKind::SmallInt | AnyTypeInfoKind::Integer | AnyTypeInfoKind::BigInt => {
                Value::from(row.try_get::<i64, _>(at)?)
            }
            AnyTypeInfoKind::Real | AnyTypeInfoKind::Double => {
                Value::from(row.try_get::<f64, _>(at)?)
            }
            AnyTypeInfoKind::Text => Value::from(row.try_get::<&str, _>(at)?),
            AnyTypeInfoKind::Blob => {
                json!({ BYTES: STANDARD.encode(row.try_get::<&[u8], _>(at)?) })
            }
            AnyTypeInfoKind::Null | AnyTypeInfoKind::Bool => {
                let reason = format!("a value of {} is of no kind that is kept", column.name());
                return Err(StoreError::Row { table, reason });
            }
        };
        object.insert(column.name().to_owned(), json);
    }
    Ok(Value::Object(object))
}

/// Writes a row of JSON into its table. The error says in words what is wrong with it.
pub(super) async fn load(
    connection: &mut AnyConnection,
    table: &str,
    line: &[u8],
) -> Result<(), StoreError> {
    let table = schema::TABLES
        .iter()
        .find(|known| **known == table)
        .ok_or_else(|| StoreError::missing("table", table))?;
    let unreadable = |reason: String| StoreError::Row { table, reason };
    let Value::Object(object) = serde_json::from_slice(line)? else {
        return Err(unreadable("it is no object".to_owned()));
    };
    let (mut columns, mut places, mut values) = (Vec::new(), Vec::new(), Vec::new());
    for (column, value) in object {
        if !column
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
        {
            return Err(unreadable(format!("{column:?} is no column")));
        }
        columns.push(column);
        // A NULL that is written out has the column's own type.
        if value.is_null() {
            places.push("NULL".to_owned());
        } else {
            values.push(value);
            places.push(format!("${}", values.len()));
        }
    }
    let sql = format!(
        "INSERT INTO {table} ({}) VALUES ({})",
        columns.join(", "),
        places.join(", ")
    );
    let mut query = sqlx::query(AssertSqlSafe(sql));
    for value in values {
        query = match value {
            Value::String(text) => query.bind(text),
            Value::Number(number) => match (number.as_i64(), number.as_f64()) {
                (Some(whole), _) => query.bind(whole),
                (None, Some(real)) => query.bind(real),
                _ => return Err(unreadable(format!("{number} is out of range"))),
            },
            Value::Object(object) => query.bind(bytes(&object).map_err(unreadable)?),
            other => return Err(unreadable(format!("{other} in a row"))),
        };
    }
    query.execute(connection).await?;
    Ok(())
}

fn bytes(object: &Map<String, Value>) -> Result<Vec<u8>, String> {
    let text = object.get(BYTES).and_then(Value::as_str);
    let text = text.ok_or_else(|| "an object that is no bytes".to_owned())?;
    STANDARD.decode(text).map_err(|error| error.to_string())
}
