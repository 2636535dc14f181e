//! A fresh database on the server that the tests were given.

use sqlx::{AnyConnection, AssertSqlSafe, Connection};

/// Makes an empty database of this name, in the place of an older one; its address.
pub async fn fresh_database(server: &str, name: &str) -> String {
    sqlx::any::install_default_drivers();
    let mut connection = AnyConnection::connect(server)
        .await
        .expect("the server that LENTIC_TEST_POSTGRES names");
    let database = format!("lentic_test_{name}");
    for sql in [
        format!("DROP DATABASE IF EXISTS {database} WITH (FORCE)"),
        format!("CREATE DATABASE {database}"),
    ] {
        sqlx::query(AssertSqlSafe(sql))
            .execute(&mut connection)
            .await
            .expect("a database of its own");
    }
    let mut url = url::Url::parse(server).expect("an address");
    url.set_path(&database);
    url.to_string()
}
