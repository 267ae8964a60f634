//! How long one splay search takes, demo study.

#![allow(clippy::expect_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use hangarc::model::{Study, from_json};
use hangarc::search::{Handle, Options, optimise_splays};
use std::hint::black_box;

fn demo_search(c: &mut Criterion) {
    let text = include_str!("../python/hangarc/demo/study.json");
    let study = from_json::<Study>(text).expect("the demo study is valid");
    let options = Options {
        seed: 0,
        prove: false,
        budget_evaluations: None,
    };
    c.bench_function("demo study, 12 cabinets", |b| {
        b.iter(|| optimise_splays(black_box(&study), options, &Handle::default()))
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = demo_search
}
criterion_main!(benches);
