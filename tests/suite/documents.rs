//! What people keep: reports, calendars, pictures, help.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use ical::IcalParser;
use ical::parser::Component;

fn brinecast(folder: &Path, args: &[&str]) -> Output {
    let output = Command::new(env!("CARGO_BIN_EXE_brinecast")).args(args).current_dir(folder).output().unwrap();
    assert!(output.status.success(), "brinecast {args:?}\n{}", String::from_utf8_lossy(&output.stderr));
    output
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// Every study writes a page that stands by itself, and pictures that are well-formed and small.
#[test]
fn reports_stand_alone_and_pictures_are_small() {
    let folder = tempfile::tempdir().unwrap();
    let studies: [&[&str]; 7] = [
        &["run", "mixed-reef"],
        &["faults", "mixed-reef"],
        &["compare", "uncertain-reef"],
        &["sweep", "mixed-reef", "--over", "change.every=7d,14d", "--over", "change.amount=10%,20%"],
        &["ensemble", "uncertain-reef", "--members", "60"],
        &["sensitivity", "uncertain-reef", "--samples", "8"],
        &["choose", "uncertain-reef", "--over", "change.amount=10%,40%", "--members", "40"],
    ];
    for args in studies {
        let out = folder.path().join(args[0]);
        brinecast(folder.path(), &[args, &["--out", out.to_str().unwrap()]].concat());
        // A page of its own for each, so that none takes another's place.
        let name = if args[0] == "run" { "report.html".to_owned() } else { format!("{}.html", args[0]) };
        let page = fs::read_to_string(out.join(name)).unwrap();
        assert!(page.starts_with("<!DOCTYPE html>"), "{args:?}");
        assert!(!page.contains("<script") && !page.contains("href="), "{args:?}: a page needs nothing else");
        let addresses = page.matches("http").count();
        assert_eq!(addresses, page.matches("http://www.w3.org/2000/svg").count(), "{args:?}: an address in the page");
        assert_eq!(page.matches("<h1>").count(), 1);
        assert_eq!(page.matches("<th ").count(), page.matches(" scope=").count(), "{args:?}: a head without scope");
        assert!(!page.contains("<th>") && page.contains("<caption>"));
        assert!(page.contains("SHA-256") && page.contains("Where this comes from"));
        for svg in page.split("<svg").skip(1) {
            assert!(svg.contains("role=\"img\"") && svg.contains("aria-label="), "{args:?}: a picture without words");
        }
        // As XML, where every element is closed; the doctype and void elements aside.
        let body = page.replace("<!DOCTYPE html>", "").replace("<meta charset=\"utf-8\">", "");
        let body = body.replace("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">", "");
        roxmltree::Document::parse(&body).unwrap_or_else(|e| panic!("{args:?}: {e}"));
        for entry in fs::read_dir(&out).unwrap() {
            let path = entry.unwrap().path();
            let size = path.metadata().unwrap().len();
            match path.extension().and_then(|e| e.to_str()) {
                Some("svg") => {
                    assert!(size < 200_000, "{}: {size}", path.display());
                    roxmltree::Document::parse(&fs::read_to_string(&path).unwrap()).unwrap();
                }
                Some("png") => {
                    assert!(size < 500_000, "{}: {size}", path.display());
                    let bytes = fs::read(&path).unwrap();
                    let width = u32::from_be_bytes(bytes[16..20].try_into().unwrap());
                    assert_eq!(width, 1800, "{}", path.display());
                }
                _ => {}
            }
        }
    }
}

/// The calendar, read back by a parser of its own: the right instants over a change of the clock.
#[test]
fn the_calendar_is_read_back_with_the_right_instants() {
    let folder = tempfile::tempdir().unwrap();
    let args = [
        "plan",
        "mixed-reef",
        "--from",
        "2026-03-23",
        "--span",
        "14 d",
        "--purifier",
        "75gpd",
        "--feed-temperature",
        "12C",
    ];
    let zoned = [&args[..], &["--zone", "Europe/Berlin", "--out", "zoned"]].concat();
    brinecast(folder.path(), &zoned);
    let bytes = fs::read(folder.path().join("zoned/plan.ics")).unwrap();
    brinecast(folder.path(), &zoned);
    assert_eq!(bytes, fs::read(folder.path().join("zoned/plan.ics")).unwrap(), "the same plan, other bytes");
    let content = String::from_utf8(bytes.clone()).unwrap();
    assert!(content.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')), "a line that is not folded");
    let calendar = IcalParser::new(bytes.as_slice()).next().unwrap().unwrap();
    let of = |event: &ical::parser::ical::component::IcalEvent, name: &str| {
        event.get_property(name).and_then(|p| p.value.clone()).unwrap_or_default()
    };
    let changes: Vec<String> =
        calendar.events.iter().filter(|e| of(e, "SUMMARY") == "Change water").map(|e| of(e, "DTSTART")).collect();
    // Ten in the morning on both Saturdays; the clock went forward on Sunday 29 March 2026 (EU directive 2000/84/EC:
    // the last Sunday of March).
    assert_eq!(changes, ["20260328T090000Z", "20260404T080000Z"]);
    let mut names: Vec<String> = calendar.events.iter().map(|e| of(e, "UID")).collect();
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count, "two events of one name");
    assert!(calendar.events.iter().all(|e| e.alarms.len() == 1));
    brinecast(folder.path(), &[&args[..], &["--out", "floating"]].concat());
    let floating = fs::read_to_string(folder.path().join("floating/plan.ics")).unwrap();
    assert!(floating.contains("DTSTART:20260328T100000\r\n"), "floating time has no zone");
    // 5 h of a 75 gal/d purifier at 12 C for the 39 L of a batch, before the salt.
    assert!(content.contains("SUMMARY:Make purified water"));
    let card = fs::read_to_string(folder.path().join("zoned/card.html")).unwrap();
    assert!(card.contains("Batch: 40 L at 35 psu"));
    let shopping = fs::read_to_string(folder.path().join("zoned/shopping.csv")).unwrap();
    let march: Vec<&str> = shopping.lines().nth(1).unwrap().split(',').collect();
    assert_eq!(march[..3], ["2026-03", "1", "40"]);
    let salt: f64 = march[3].parse().unwrap();
    // 40 L at 25.5 C weigh 40.93 kg and hold 35.165 g/kg of salt, of a mix that is salt to nine tenths.
    assert!((salt - 40.93 * 0.035_165 / 0.9).abs() < 0.002, "{salt}");
}

/// Help of every command: an example, no line too wide, and the example runs as it stands.
#[test]
fn every_example_of_the_help_runs() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("my-reef.toml"), include_str!("../../scenarios/mixed-reef.toml")).unwrap();
    super::logs::write_demo_logs(folder.path());
    let help = text(&brinecast(folder.path(), &["--help"]));
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|l| !l.starts_with("Commands:"))
        .skip(1)
        .take_while(|l| !l.is_empty())
        .filter_map(|l| l.strip_prefix("  ")?.split_whitespace().next().filter(|_| !l.starts_with("   ")))
        .filter(|c| *c != "help")
        .collect();
    assert!(commands.len() >= 25, "{commands:?}");
    for command in commands {
        let help = text(&brinecast(folder.path(), &[command, "--help"]));
        assert!(help.lines().all(|l| l.chars().count() <= 100), "{command}: a wide line");
        let example = help.split("Example: brinecast ").nth(1).unwrap_or_else(|| panic!("{command} has no example"));
        // Wrapped by the help to its width.
        let example = example.split("\n\n").next().unwrap().split("\nWith ").next().unwrap().replace('\n', " ");
        let example = example.split(" > ").next().unwrap().trim();
        if ["new", "check"].contains(&command) {
            continue; // they need, or make, a file of the user's own; tested elsewhere
        }
        let args = super::cli::split(example);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        if command == "explore" {
            super::http::opens(folder.path(), &args);
            continue;
        }
        brinecast(folder.path(), &args);
    }
}

#[test]
fn completions_and_manuals_are_written() {
    let folder = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = text(&brinecast(folder.path(), &["completions", shell]));
        assert!(script.contains("sensitivity") && script.contains("until-seen"), "{shell}");
    }
    assert!(text(&brinecast(folder.path(), &["man"])).contains(".TH brinecast"));
    brinecast(folder.path(), &["man", "--out", "man"]);
    let page = fs::read_to_string(folder.path().join("man/brinecast-faults.1")).unwrap();
    assert!(page.contains("until\\-seen"), "{page}");
}

/// Work before a change is counted back from the hour that is printed, and nobody is called at night.
#[test]
fn nobody_works_at_night() {
    let folder = tempfile::tempdir().unwrap();
    for set in ["change.at=09:00", "change.at=18:00", "change.at=00:00", "change.at=23:00", "change.amount=60 %"] {
        brinecast(
            folder.path(),
            &["plan", "mixed-reef", "--span", "30 d", "--set", set, "--purifier", "75gpd", "--out", "o"],
        );
        let mut table = csv::Reader::from_path(folder.path().join("o/plan.csv")).unwrap();
        let rows: Vec<csv::StringRecord> = table.records().map(|r| r.unwrap()).collect();
        let change = rows.iter().position(|r| r.iter().any(|c| c == "change")).unwrap();
        let moment =
            |row: &csv::StringRecord| row.iter().find_map(|c| c.parse::<jiff::civil::DateTime>().ok()).unwrap();
        for row in rows.iter().filter(|r| !r.iter().any(|c| ["change", "dissolve"].contains(&c))) {
            let hour = moment(row).hour();
            assert!((6..=22).contains(&hour), "{set}: {row:?}");
        }
        let released = rows[..=change].iter().rev().find(|r| r.iter().any(|c| c.starts_with("Read salinity and temp")));
        let Some(released) = released else { panic!("{set}: no release before {:?}", rows[change]) };
        let gap = moment(released).until(moment(&rows[change])).unwrap().total(jiff::Unit::Hour).unwrap();
        assert!((0.25..=13.0).contains(&gap), "{set}: released {gap} h before the change");
    }
}

/// A quantity that hardly moves is drawn like any other: a float that holds 400 L to a hundredth of a millilitre, with its changes as
/// ticks at the foot.
#[test]
fn a_flat_picture_has_its_ticks() {
    let folder = tempfile::tempdir().unwrap();
    let tank = crate::logs::BELIEVED.replace("basis = \"ideal\"\n", "");
    fs::write(folder.path().join("tank.toml"), tank).unwrap();
    let out = folder.path().join("out");
    brinecast(folder.path(), &["run", "tank.toml", "--quiet", "--out", out.to_str().unwrap()]);
    assert!(fs::read_to_string(out.join("report.html")).unwrap().contains("<svg"));
}
