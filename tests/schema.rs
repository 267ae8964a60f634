//! The published schemas are those of the types.
//!
//! `HANGARC_WRITE_SCHEMA=1 cargo test --features schema --test schema` writes them anew; a field that
//! goes or changes its meaning needs a new version of the file.
#![allow(clippy::unwrap_used)]

use hangarc::model::{Air, Document, Hang, Study, Venue, schema};
use std::env;
use std::fs;
use std::path::Path;

#[test]
fn the_published_schemas_are_those_of_the_types() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/schema");
    for (kind, version, schema) in [
        (Air::KIND, Air::VERSION, schema::<Air>()),
        (Hang::KIND, Hang::VERSION, schema::<Hang>()),
        (Study::KIND, Study::VERSION, schema::<Study>()),
        (Venue::KIND, Venue::VERSION, schema::<Venue>()),
    ] {
        let path = folder.join(format!("{kind}-{version}.json"));
        let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        if env::var_os("HANGARC_WRITE_SCHEMA").is_some() {
            fs::create_dir_all(&folder).unwrap();
            fs::write(&path, &text).unwrap();
        }
        let published = fs::read_to_string(&path).unwrap();
        assert!(published == text, "{kind}: write the schema anew");
    }
}
