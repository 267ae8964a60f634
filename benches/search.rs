//! How long one splay search takes, demo study.

#![allow(clippy::expect_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use hangarc::model::{Study, Valid, from_json};
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
    for cabinets in [12, 16] {
        let mut longer = (*study).clone();
        let cabinet = longer.hang.cabinets[0].clone();
        longer.hang.cabinets = vec![cabinet; cabinets];
        longer.hang.splays_deg = vec![0.0; cabinets - 1];
        let longer = Valid::new(longer).expect("as valid as the demo study");
        c.bench_function(&format!("demo study, {cabinets} cabinets"), |b| {
            b.iter(|| optimise_splays(black_box(&longer), options, &Handle::default()))
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = demo_search
}
criterion_main!(benches);
