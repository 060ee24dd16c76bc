//! Screens fit their terminal, the answer stands first, and colour is never needed.

use std::process::Command;

use crate::cli::stdout;
use crate::commands::{COMMANDS, TANK, folder};

/// Narrow, usual and wide: no line is wider than the terminal, with all there is too.
#[test]
fn no_line_is_wider_than_the_terminal() {
    let folder = folder(TANK);
    let here = folder.path();
    for args in COMMANDS.iter().chain(&[&["list"][..], &["keys", "ato"]]) {
        if ["schema", "man", "check"].contains(&args[0]) {
            continue;
        }
        for columns in [40, 80, 200] {
            for more in [&[][..], &["--full"]] {
                let output = Command::new(env!("CARGO_BIN_EXE_brinecast"))
                    .args([*args, more].concat())
                    .current_dir(here)
                    .env("COLUMNS", columns.to_string())
                    .output()
                    .unwrap();
                let text = stdout(&output);
                let wide = text.lines().find(|l| {
                    // A word that is wider by itself cannot be broken.
                    l.chars().count() > columns && l.split_whitespace().all(|w| w.chars().count() < columns - 10)
                });
                assert!(wide.is_none(), "{args:?} {more:?} at {columns}: {wide:?}\n{text}");
                assert!(!text.contains('\u{1b}'), "{args:?}: colour where there is no terminal");
            }
        }
    }
}

/// An ordinary case takes a screen: 24 lines of 80 columns; quiet is the answer and what to do.
#[test]
fn an_ordinary_answer_fits_a_screen() {
    let folder = folder(TANK);
    let here = folder.path();
    let mut long = Vec::new();
    for args in COMMANDS {
        // Tables to follow day by day, and lists that were asked for, are as long as they are.
        if ["schema", "man", "check", "treat", "correct", "station", "now", "fit"].contains(&args[0]) {
            continue;
        }
        let run = |more: &[&str]| {
            let output = Command::new(env!("CARGO_BIN_EXE_brinecast"))
                .args([args, more].concat())
                .current_dir(here)
                .env("COLUMNS", "80")
                .output()
                .unwrap();
            stdout(&output).lines().count()
        };
        let lines = run(&[]);
        if lines > 24 {
            long.push(format!("{}: {lines}", args[0]));
        }
        assert!(run(&["-q"]) <= lines, "{args:?}");
    }
    assert!(long.is_empty(), "{}", long.join(", "));
}

/// The built-in tanks are rich: four of them have more to say in `run`, `away` and `compare` than a screen holds; none by more than
/// a few lines, for the tables and warnings give way, and say that they do.
#[test]
fn the_built_in_tanks_fit_a_screen_too() {
    const A_FEW: usize = 6;
    let screen = |command: &str, tank: &str, more: &[&str]| {
        let args = [&[command, tank, "--no-files"][..], more].concat();
        let output = Command::new(env!("CARGO_BIN_EXE_brinecast")).args(args).env("COLUMNS", "80").output().unwrap();
        stdout(&output)
    };
    let mut long = Vec::new();
    for (tank, _) in brinecast::app::BUILT_IN {
        for command in ["run", "faults", "away", "choose", "plan", "drift"] {
            let text = screen(command, tank, &[]);
            let lines = text.lines().count();
            assert!(lines <= 24 + A_FEW, "{command} {tank}: {lines} lines\n{text}");
            long.extend((lines > 24).then(|| format!("{command} {tank}")));
            // What gave way is said to be there.
            if !text.contains("more warning") {
                let all = screen(command, tank, &["--full"]).matches("Warning (").count();
                assert!(all <= text.matches("Warning: ").count(), "{command} {tank}\n{text}");
            }
        }
    }
    assert!(long.len() <= 9, "{long:?}");
}
