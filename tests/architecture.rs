//! The folder tree is the architecture: no module imports leftwards in
//! model → pose → statics | acoustics → search → python, and no files use each other in a circle.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

/// Each room and the rooms it may use, besides itself, `error`, `memory` and `threads`.
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
                    used == room
                        || ["error", "memory", "threads"].contains(&used.as_str())
                        || allowed.contains(&used.as_str()),
                    "{} uses crate::{used}",
                    file.display()
                );
            }
        }
    }
    assert!(uses > 10, "the test reads real `use` lines");
}

/// Circles between files that are still to be untied; none is to be added, and none to grow.
const KNOWN_CIRCLES: [&[&str]; 1] = [&["statics/survey/mod", "statics/survey/other_hangs"]];

/// A source file as a module: its path, its own text without comments, re-exports and tests.
struct Module {
    file: String,
    path: Vec<String>,
    text: String,
    /// What it re-exports: name and whole path.
    exports: Vec<(String, Vec<String>)>,
    /// Paths it uses.
    uses: Vec<Vec<String>>,
}

fn modules(source: &Path) -> Vec<Module> {
    let mut found: Vec<Module> = rust_files(source)
        .into_iter()
        .filter(|file| !file.ends_with("tests.rs"))
        .map(|file| {
            let text = fs::read_to_string(&file).unwrap();
            let text = text.split("#[cfg(test)]\nmod tests").next().unwrap();
            let lines = text.lines().map(|line| line.split("//").next().unwrap());
            let inside = file.strip_prefix(source).unwrap().with_extension("");
            let mut path: Vec<String> = inside
                .iter()
                .map(|part| part.to_str().unwrap().to_owned())
                .collect();
            path.retain(|part| part != "mod" && part != "lib");
            Module {
                file: inside.to_str().unwrap().to_owned(),
                path,
                text: lines.collect::<Vec<_>>().join("\n"),
                exports: Vec::new(),
                uses: Vec::new(),
            }
        })
        .collect();
    let paths: Vec<Vec<String>> = found.iter().map(|module| module.path.clone()).collect();
    for module in &mut found {
        let whole = |steps: &[String]| whole_path(&module.path, steps, &paths);
        let mut rest = String::new();
        for statement in module.text.split_inclusive(';') {
            let start = statement.find("use ").filter(|&at| {
                let before = statement[..at].trim_end();
                before.is_empty()
                    || before.ends_with(['\n', ']', ';', '}', ')'])
                    || before.ends_with("pub")
            });
            let Some(start) = start else {
                rest.push_str(statement);
                continue;
            };
            rest.push_str(&statement[..start]);
            let tree = statement[start + 4..].trim_end_matches(';');
            let is_export = statement[..start].trim_end().ends_with(['b', ')']);
            for steps in leaves(tree) {
                let Some(path) = whole(&steps) else { continue };
                if is_export {
                    module.exports.push((path.last().unwrap().clone(), path));
                } else {
                    module.uses.push(path);
                }
            }
        }
        for word in rest.split(|c: char| !c.is_alphanumeric() && c != '_' && c != ':') {
            let steps: Vec<String> = word.split("::").map(str::to_owned).collect();
            if steps.len() > 1
                && let Some(path) = whole(&steps)
            {
                module.uses.push(path);
            }
        }
    }
    found
}

/// The paths of a use tree.
fn leaves(tree: &str) -> Vec<Vec<String>> {
    let tree = tree.trim();
    let Some(open) = tree.find('{') else {
        let plain = tree.split(" as ").next().unwrap();
        return vec![
            plain
                .split("::")
                .map(|step| step.trim().to_owned())
                .collect(),
        ];
    };
    let head: Vec<String> = tree[..open]
        .split("::")
        .map(|step| step.trim().to_owned())
        .filter(|step| !step.is_empty())
        .collect();
    let inner = &tree[open + 1..tree.rfind('}').unwrap()];
    let (mut depth, mut part, mut parts) = (0, String::new(), Vec::new());
    for c in inner.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => (),
        }
        if c == ',' && depth == 0 {
            parts.push(std::mem::take(&mut part));
        } else {
            part.push(c);
        }
    }
    parts.push(part);
    let parts = parts.iter().filter(|part| !part.trim().is_empty());
    parts
        .flat_map(|part| leaves(part))
        .map(|leaf| {
            let steps = head.iter().cloned().chain(leaf);
            steps.filter(|step| step != "self").collect()
        })
        .collect()
}

/// A path from the crate's root, if it begins in the crate.
fn whole_path(here: &[String], steps: &[String], paths: &[Vec<String>]) -> Option<Vec<String>> {
    let mut base = match steps[0].as_str() {
        "crate" => Vec::new(),
        "super" => here[..here.len().checked_sub(1)?].to_vec(),
        "self" => here.to_vec(),
        child => {
            let mut inner = here.to_vec();
            inner.push(child.to_owned());
            return paths.contains(&inner).then(|| [here, steps].concat());
        }
    };
    for step in &steps[1..] {
        if step == "super" {
            base.pop();
        } else {
            base.push(step.clone());
        }
    }
    Some(base)
}

/// The module that has what `path` names, through re-exports.
fn home(modules: &[Module], path: &[String]) -> Option<usize> {
    let at = (0..modules.len())
        .filter(|&at| path.starts_with(&modules[at].path))
        .max_by_key(|&at| modules[at].path.len())?;
    let name = path.get(modules[at].path.len());
    let export = modules[at]
        .exports
        .iter()
        .find(|(export, _)| Some(export) == name);
    match export {
        Some((_, to)) if to != path => home(modules, to),
        _ => Some(at),
    }
}

#[test]
fn no_file_is_in_a_circle_of_uses() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let modules = modules(&source);
    let count = modules.len();
    let mut reaches = vec![vec![false; count]; count];
    for (at, module) in modules.iter().enumerate() {
        for path in &module.uses {
            if let Some(to) = home(&modules, path) {
                reaches[at][to] = true;
            }
        }
    }
    let direct = reaches.clone();
    for by in 0..count {
        let onwards = reaches[by].clone();
        for from in reaches.iter_mut().filter(|from| from[by]) {
            for (reached, &onward) in from.iter_mut().zip(&onwards) {
                *reached |= onward;
            }
        }
    }
    let round = |at: usize, other: usize| at == other || reaches[at][other] && reaches[other][at];
    let circle_of = |at: usize| -> Vec<&str> {
        let files = modules.iter().enumerate();
        let round = files.filter(|&(other, _)| round(at, other));
        round.map(|(_, module)| module.file.as_str()).collect()
    };
    let circles = (0..count).map(circle_of).filter(|circle| circle.len() > 1);
    let uses = |from: &str, to: &str| {
        let at = |file| {
            modules
                .iter()
                .position(|module| module.file == file)
                .unwrap()
        };
        direct[at(from)][at(to)]
    };
    assert!(
        uses("statics/joints", "pose/placed"),
        "re-exports are followed"
    );
    assert!(uses(
        "statics/closing/solver/path",
        "statics/closing/solver/curve"
    ));
    for circle in circles {
        let known = KNOWN_CIRCLES
            .iter()
            .any(|known| circle.iter().all(|file| known.contains(file)));
        assert!(known, "a circle of files: {circle:?}");
    }
}

/// A loop in rayon's own pool would wait for ever in a forked child.
#[test]
fn only_the_pool_that_knows_its_process_uses_rayon() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let users: Vec<PathBuf> = rust_files(&source)
        .into_iter()
        .filter(|file| {
            let text = fs::read_to_string(file).unwrap();
            text.contains("use rayon") || text.contains("rayon::")
        })
        .collect();
    assert_eq!(users, [source.join("threads.rs")]);
}
