//! The API's description is committed, so that the web client's types are made from it.

#[test]
fn the_committed_description_is_the_programs_own() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/openapi.json");
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    let committed: serde_json::Value = serde_json::from_str(&committed).unwrap_or_default();
    assert!(
        committed == server::openapi(),
        "docs/openapi.json is not current: run `lentic openapi > docs/openapi.json` and, in web, `npm run schema`"
    );
}
