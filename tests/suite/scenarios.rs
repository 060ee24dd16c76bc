//! Every scenario that comes with the program: it runs, its books close, its pictures are drawn.

use std::fs;

use brinecast::app::{self, BUILT_IN, load};
use brinecast::export::{png, svg};

#[test]
fn the_folder_and_the_built_in_list_are_the_same() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let mut files: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter_map(|f| f.strip_suffix(".toml").map(str::to_owned))
        .collect();
    files.sort();
    let mut listed: Vec<&str> = BUILT_IN.iter().map(|(name, _)| *name).collect();
    listed.sort_unstable();
    assert_eq!(files, listed);
}

#[test]
fn each_opens_with_its_question_and_says_that_its_data_are_invented() {
    for (name, text) in BUILT_IN {
        let comment: String = text.lines().take_while(|l| l.starts_with('#')).collect();
        assert!(comment.contains('?'), "{name} asks nothing");
        assert!(comment.contains("nvented data"), "{name} does not say that its data are invented");
    }
}

#[test]
fn each_runs_and_its_books_close() {
    for (name, _) in BUILT_IN {
        let loaded = load(name, &[]).unwrap();
        let result = app::run(&loaded).unwrap();
        assert!(result.outcome.ledger.relative_residual() < 1e-12, "{name}: {}", result.summary.ledger_residual);
        let trace = &result.outcome.trace;
        assert!(trace.time_d.windows(2).all(|w| w[0] <= w[1]), "{name}: time goes back");
        for column in trace.solutes.iter().chain([&trace.volume_l, &trace.salinity_psu]) {
            assert!(column.iter().all(|v| v.is_finite() && *v >= 0.0), "{name}: a number that cannot be");
        }
        let whole: f64 = result.summary.drift.iter().map(|d| d.psu_per_month).sum();
        let moved = trace.salinity_psu.last().unwrap() - trace.salinity_psu[0];
        let months = result.outcome.days / 30.436875;
        assert!((whole - moved / months).abs() < 1e-9, "{name}: the parts of the drift do not add up");
    }
}

#[test]
fn each_is_drawn_and_no_picture_is_heavy() {
    for (name, _) in BUILT_IN {
        let loaded = load(name, &[]).unwrap();
        for (file, picture) in app::run(&loaded).unwrap().pictures {
            let text = svg(&picture).unwrap();
            assert!(text.starts_with("<svg") && text.trim_end().ends_with("</svg>"), "{name}/{file}");
            assert!(text.contains("aria-label"), "{name}/{file} has no words");
            assert!(text.len() < 200_000, "{name}/{file}.svg has {} bytes", text.len());
            let bitmap = png(&text).unwrap();
            assert!(bitmap.starts_with(b"\x89PNG"), "{name}/{file}");
            assert!(bitmap.len() < 400_000, "{name}/{file}.png has {} bytes", bitmap.len());
        }
    }
}
