//! The folder tree is the architecture: no module imports leftwards in
//! model → pose → statics | acoustics → search → python.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

/// Each room and the rooms it may use, besides itself and `error`.
const MAY_USE: [(&str, &[&str]); 7] = [
    ("equilibrium", &[]),
    ("model", &[]),
    ("pose", &["model"]),
    ("statics", &["model", "pose", "equilibrium"]),
    ("acoustics", &["model", "pose"]),
    ("search", &["model", "pose", "statics", "acoustics"]),
    (
        "python",
        &["model", "pose", "statics", "acoustics", "search"],
    ),
];

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files
}

fn rooms_used(text: &str) -> Vec<String> {
    text.split("crate::")
        .skip(1)
        .map(|rest| {
            rest.chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect()
        })
        .collect()
}

#[test]
fn no_module_imports_leftwards() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut uses = 0;
    for (room, allowed) in MAY_USE {
        for file in rust_files(&source.join(room)) {
            for used in rooms_used(&fs::read_to_string(&file).unwrap()) {
                uses += 1;
                assert!(
                    used == room || used == "error" || allowed.contains(&used.as_str()),
                    "{} uses crate::{used}",
                    file.display()
                );
            }
        }
    }
    assert!(uses > 10, "the test reads real `use` lines");
}
