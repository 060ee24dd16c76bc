//! Reading a scenario again for a few keys against reading all of it.

use brinecast::app::{BUILT_IN, load_text};
use brinecast::scenario::{PartialReader, keys};

/// Every key of every built-in scenario, with its own example: the quick way gives the plan of the whole file, or
/// leaves it to the whole file. Where the whole file refuses the value, so does the quick way.
#[test]
fn reading_again_is_reading_anew() {
    let mut quick = 0;
    for (name, text) in BUILT_IN {
        let file = format!("{name}.toml");
        let loaded = load_text(&file, text, &[]).unwrap();
        for key in keys() {
            let group = key.path.split(".NAME").next().unwrap_or_default();
            let names = loaded.document.tables_below(group);
            let paths = if key.path.contains("NAME") {
                names.iter().map(|n| key.path.replace("NAME", n)).collect()
            } else {
                vec![key.path.clone()]
            };
            for path in paths {
                let Some(again) = PartialReader::new(&loaded.document, &loaded.scenario.plan, [path.as_str()]) else {
                    continue;
                };
                for value in [key.example.as_str(), "0.7 %", "-3 L", "3 kg"] {
                    let set = [format!("{path}={value}")];
                    let whole = load_text(&file, text, &set);
                    match (again.plan(&set), &whole) {
                        (None, _) => {}
                        (Some(plan), Ok(whole)) => {
                            quick += 1;
                            assert_eq!(format!("{plan:?}"), format!("{:?}", whole.scenario.plan), "{name}: {set:?}");
                        }
                        (Some(_), Err(why)) => panic!("{name}: {set:?} is refused: {why}"),
                    }
                }
            }
        }
    }
    assert!(quick > 300, "only {quick} were quick");
}

/// Two keys of one table, and of two tables.
#[test]
fn several_keys_are_read_together() {
    let (name, text) = BUILT_IN[0];
    let loaded = load_text(name, text, &[]).unwrap();
    let sets = ["solutes.nitrate.load=0.4 mg/L/d", "solutes.nitrate.removal=3 %/d", "change.amount=7 %"];
    let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
    let keys = sets.iter().map(|s| s.split('=').next().unwrap());
    let again = PartialReader::new(&loaded.document, &loaded.scenario.plan, keys).unwrap();
    let whole = load_text(name, text, &sets).unwrap().scenario.plan;
    assert_eq!(format!("{:?}", again.plan(&sets).unwrap()), format!("{whole:?}"));
}
