//! Whatever comes in: texts of any kind into every reader. No panic; an error says what is wrong, where, and what to do.
//! `PROPTEST_CASES=100000 cargo test fuzz` searches on with cases drawn anew. All texts are invented.

use std::fmt::Write as _;
use std::fs;

use brinecast::app::{
    AppError, BUILT_IN, DateOrder, LogReading, convert, fit, instant, load_station, load_text, read_batch_log,
    read_tank_log, recipe,
};
use brinecast::learn::{LogRow, ReadingRow, look_at_log};
use brinecast::scenario::{Document, read_station, time_of_day, weekday};
use brinecast::seawater::{Pair, Scale, parse_salinity};
use brinecast::sizing::SaltMix;
use brinecast::solutes::{self, LoadText, parse_amount, parse_concentration, parse_load};
use brinecast::study::{KeyRange, Measure, Spread, parse_day_to_day};
use brinecast::units::{self, Gallon, InUnits, Quantity, Temperature, UnitSystem, parse_base};
use proptest::prelude::*;
use proptest::sample::{Index, select};

use crate::support::{cases, fit_request};
use crate::texts::{NUMBERS, edited, edits, quantity, text};

/// A refusal that helps: it says `error: `, the place, and what to do.
fn helps(error: &AppError) -> Result<(), TestCaseError> {
    let message = error.to_string();
    prop_assert!(message.starts_with("error: "), "{message}");
    if let AppError::Problems(problems) = error {
        prop_assert!(!problems.list().is_empty(), "refused without a reason");
        for problem in problems.list() {
            let (line, column) = problems.line_and_column(problem);
            prop_assert!(line >= 1 && column >= 1);
            prop_assert!(!problem.message.is_empty());
            prop_assert!(problem.help.as_ref().is_some_and(|h| !h.is_empty()), "no remedy: {message}");
        }
        prop_assert!(message.contains("fuzz.toml:") || message.contains("--set:"), "no place: {message}");
    }
    Ok(())
}

/// Loads a scenario; one that is taken is told back as a file that means the same.
fn loads(text: &str, sets: &[String]) -> Result<(), TestCaseError> {
    match load_text("fuzz.toml", text, sets) {
        Err(error) => helps(&error),
        Ok(loaded) => {
            let again = load_text("fuzz.toml", &loaded.document.to_toml(), &[]);
            let again = again.map_err(|e| TestCaseError::fail(format!("not read again: {e}")))?;
            let plan = format!("{:?}", loaded.scenario.plan);
            let odd = [": inf", "(inf", "-inf", ": NaN", "(NaN"].iter().find(|odd| plan.contains(**odd));
            prop_assert!(odd.is_none(), "{odd:?} in {plan}");
            // a plan has no equality of its own (a meter is a trait object), but it tells all that it holds
            prop_assert_eq!(format!("{:?}", again.scenario.plan), plan);
            Ok(())
        }
    }
}

fn stations(text: &str) -> Result<(), TestCaseError> {
    match Document::parse("fuzz.toml", text).and_then(|d| read_station(&d)) {
        Err(problems) => helps(&AppError::Problems(problems)),
        Ok(_) => Ok(()),
    }
}

/// A quantity of one kind: refused with words, or finite, shown, and the same when read again from its base unit.
fn one_kind<Q: Quantity>(text: &str, gallon: Gallon) -> Result<(), TestCaseError> {
    match parse_base::<Q>(text, gallon) {
        Ok(base) => {
            prop_assert!(base.is_finite(), "{text} is {base}");
            let unit = if Q::BASE == "1" { "" } else { Q::BASE };
            if let Ok(again) = parse_base::<Q>(&format!("{base} {unit}"), gallon) {
                prop_assert_eq!(again, base);
            }
        }
        Err(error) => prop_assert!(!error.to_string().is_empty()),
    }
    Ok(())
}

/// What can be read can be shown, up to where a change of unit alone would leave the numbers.
fn shown<Q: Quantity + InUnits>(text: &str, gallon: Gallon, system: UnitSystem) -> Result<(), TestCaseError> {
    if let Ok(quantity) = units::parse::<Q>(text, gallon)
        && quantity.base().abs() < 1e300
    {
        let words = quantity.show(system);
        prop_assert!(words.starts_with(|c: char| c.is_ascii_digit() || c == '-'), "{words}");
    }
    Ok(())
}

fn finite(result: Result<f64, impl std::fmt::Display>, text: &str) -> Result<(), TestCaseError> {
    match result {
        Ok(value) => prop_assert!(value.is_finite(), "{text:?} is {value}"),
        Err(error) => prop_assert!(error.to_string().len() > 8, "{text:?}: {error}"),
    }
    Ok(())
}

macro_rules! every_kind {
    ($text:expr, $gallon:expr, [$($kind:ident),*]) => { $(one_kind::<units::$kind>($text, $gallon)?;)* };
}

proptest! {
    #![proptest_config(cases(1500))]

    #[test]
    fn any_text_into_the_scenario_and_station_readers(text in text()) {
        loads(&text, &[])?;
        stations(&text)?;
    }

    #[test]
    fn any_text_into_every_quantity(text in prop_oneof![4 => quantity(), 1 => text()],
                                    gallon in select(&[Gallon::Unstated, Gallon::Us, Gallon::Imperial][..])) {
        every_kind!(&text, gallon, [
            Volume, Mass, Duration, Temperature, VolumeRate, MassRate, Rate, Fraction, Length, Area, Speed, Pressure,
            Power, Energy, Density, PracticalSalinity, AbsoluteSalinity, SpecificGravity, Conductivity, TimeOfDay
        ]);
        for system in [UnitSystem::Metric, UnitSystem::Us, UnitSystem::Imperial] {
            shown::<units::Volume>(&text, gallon, system)?;
            shown::<units::Mass>(&text, gallon, system)?;
            shown::<units::Duration>(&text, gallon, system)?;
            shown::<Temperature>(&text, gallon, system)?;
            shown::<units::VolumeRate>(&text, gallon, system)?;
        }
        let amount = |a: LoadText| match a { LoadText::Amount(a) | LoadText::PerLitre(a) => a };
        for solute in solutes::ALL {
            finite(parse_concentration(solute, &text), &text)?;
            finite(parse_amount(solute, &text).map(amount), &text)?;
            finite(parse_load(solute, &text).map(amount), &text)?;
        }
        for celsius in [-2.0, 25.0, 40.0] {
            let salinity = parse_salinity(&text, Temperature::from_celsius(celsius));
            finite(salinity.clone().map(units::PracticalSalinity::psu), &text)?;
            if let Ok(s) = salinity {
                prop_assert!((0.0..=42.0).contains(&s.psu()), "{text} is {s:?}");
            }
        }
    }

    #[test]
    fn any_text_into_ranges_spreads_measures_and_moments(text in text(), value in quantity(), other in quantity()) {
        let tries = [text.clone(), format!("change.amount={value}..{other}:{}", text.len()), format!("a={value},{other}")];
        for text in &tries {
            if let Ok(range) = KeyRange::parse(text) {
                prop_assert_eq!(range.values.len(), range.numbers.len());
                prop_assert!(range.numbers.iter().all(|n| n.is_finite()), "{text}: {:?}", range.numbers);
            }
        }
        for law in ["normal", "lognormal", "uniform", "triangular", "one-of"] {
            if let Ok(spread) = Spread::parse(&format!("a={law}({value}, {other})")) {
                let mut chance = brinecast::study::stream(1, 1);
                for quantile in [1e-9, 0.5, 1.0 - 1e-9] {
                    prop_assert!(!spread.at(quantile).is_empty() && !spread.draw(&mut chance).is_empty());
                }
            }
        }
        let _ = Spread::parse(&text);
        let _ = Spread::parse(&format!("a=triangular({value}, {other}, {text})"));
        let _ = parse_day_to_day(&format!("{value}, {other}"));
        let _ = (Measure::parse(&text), parse_day_to_day(&text), weekday(&text), time_of_day(&text), instant(&text));
        let _ = (Pair::parse(&text), Scale::parse(&text), Pair::parse(&format!("{value}/{other}")));
        if let Err(error) = convert(&value, Some(&other), "25 C") {
            prop_assert!(error.to_string().starts_with("error: "));
        }
        let _ = (convert(&text, Some(&value), &other), convert(&value, None, &text));
    }

    #[test]
    fn built_in_scenarios_and_the_station_edited_at_random(which in any::<Index>(), edits in edits()) {
        let texts = BUILT_IN.iter().map(|(_, text)| *text);
        let texts: Vec<&str> = texts.chain([include_str!("../../scenarios/stations/corner-shop.toml")]).collect();
        let text = edited(texts[which.index(texts.len())], &edits);
        loads(&text, &[])?;
        stations(&text)?;
    }

    #[test]
    fn any_override_on_a_scenario(which in any::<Index>(), keys in prop::collection::vec(any::<Index>(), 1..4),
                                  value in prop_oneof![quantity(), text()], odd in text(), depth in 1usize..2000) {
        let (_, text) = which.get(BUILT_IN);
        let known = brinecast::scenario::keys();
        let mut sets: Vec<String> = Vec::new();
        for key in keys {
            let path = &key.get(&known).path;
            let name = match path.split('.').next() {
                Some("waters") => "salt_water",
                Some("doses") => "buffer",
                Some("changes") => "weekly",
                _ => "nitrate",
            };
            sets.push(format!("{}={value}", path.replace("NAME", name)));
            loads(text, &sets)?;
        }
        loads(text, &[format!("{odd}={value}")])?;
        loads(text, &[format!("{}={value}", vec!["a"; depth].join("."))])?;
        loads(text, std::slice::from_ref(&odd))?;
    }
}

proptest! {
    #![proptest_config(cases(40))]

    /// The page's state, from knobs of its own and keys of a scenario, with values that fit and values that do not.
    #[test]
    fn any_state_of_the_page(which in any::<Index>(), pairs in prop::collection::vec((any::<Index>(), prop_oneof![quantity(), text()]), 0..4),
                             pinned in text(), odd in text()) {
        let own = ["kind", "evaporation_by", "uncertain", "measure", "units", "batch.vessel", "batch.heater", "fault.leak",
                   "fault.top-off-stuck-open", "ask.volume", "ask.every", "ask.units", "from", "text"];
        let known = brinecast::scenario::keys();
        let keys: Vec<String> = own.iter().map(|k| (*k).to_owned()).chain(known.iter().map(|k| k.path.replace("NAME", "nitrate"))).collect();
        let mut line = form_urlencoded::Serializer::new(String::new());
        line.append_pair("from", which.get(BUILT_IN).0).append_pair("run", "40 d");
        for (key, value) in &pairs {
            line.append_pair(&keys[key.index(keys.len())], value);
        }
        let request = brinecast::app::ExploreRequest { width: 420, state: line.finish(), pinned: None, text: None, moving: false };
        page(&request)?;
        page(&brinecast::app::ExploreRequest { pinned: Some(pinned), ..request.clone() })?;
        page(&brinecast::app::ExploreRequest { state: odd.clone(), text: Some(odd), ..request })?;
    }
}

/// The page answers, or says what is wrong as every other reader does.
fn page(request: &brinecast::app::ExploreRequest) -> Result<(), TestCaseError> {
    if let Err(error) = brinecast::app::explore(request, &brinecast::model::Stop::default()) {
        let text = error.to_string();
        prop_assert!(text.starts_with("error: ") && text.len() > 12, "{text}\n{request:?}");
    }
    Ok(())
}

/// A log of a few rows, then edited.
fn log(header: &'static str, cell: &'static [&'static str]) -> impl Strategy<Value = String> {
    let cell = prop_oneof![3 => (0.0..99.0f64).prop_map(|v| format!("{v:.2}")), 1 => select(cell).prop_map(str::to_owned),
                           1 => select(NUMBERS).prop_map(str::to_owned)];
    let width = header.split(',').count();
    let rows = prop::collection::vec(prop::collection::vec(cell, width), 0..8);
    (rows, prop_oneof![2 => Just(Vec::new()), 1 => edits()]).prop_map(move |(rows, edits)| {
        let mut text = header.to_owned() + "\n";
        for (day, row) in rows.iter().enumerate() {
            writeln!(text, "{}", row.join(",").replace("DAY", &(7 * day).to_string())).unwrap();
        }
        edited(&text, &edits)
    })
}

/// What a cell of a log may hold.
const CELLS: &[&str] =
    &["DAY", "DAY", "", "2026-03-14", "14/03/2026", "-9999-01-01", "9999-12-31", "\"a, \"\"b\"\"\"", "36", "\"", "é"];

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn any_log_is_read_or_refused_with_its_place(
        tank in log("time_d,salinity_psu,nitrate_mg_per_L,top_off_L,change_L,salt_added_g,batch_psu,note", CELLS),
        dated in log("date,salinity_psu,change_L", CELLS), batches in log("fresh_L,salt_g,salinity_psu,temperature_C,hours,pH,lot", CELLS),
        bytes in prop::collection::vec(any::<u8>(), 0..200),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.csv");
        let plan = crate::support::load(BUILT_IN[0].1, &[]).scenario.plan;
        for content in [tank.as_bytes(), dated.as_bytes(), batches.as_bytes(), bytes.as_slice()] {
            fs::write(&path, content).unwrap();
            for order in [DateOrder::Iso, DateOrder::DayFirst, DateOrder::MonthFirst] {
                match read_tank_log(&path, &plan, &LogReading { order: Some(order), ..LogReading::default() }) {
                    Ok(log) => {
                        prop_assert!(log.rows.windows(2).all(|w| w[0].time_d <= w[1].time_d), "out of order");
                        prop_assert!(log.rows.first().is_none_or(|r| r.time_d == 0.0));
                        prop_assert!(log.rows.iter().all(|r| (0.0..=36_525.0).contains(&r.time_d)), "{:?}", log.rows);
                        prop_assert!(log.left_out.iter().all(|why| why.contains("log.csv, line ") || why.ends_with(" more")));
                    }
                    Err(error) => names_the_log(&error)?,
                }
            }
            match read_batch_log(&path) {
                Ok((_, left_out)) => prop_assert!(left_out.iter().all(|why| why.contains("log.csv, line "))),
                Err(error) => names_the_log(&error)?,
            }
        }
    }

    /// What is read is also used: a recipe, a look for drift.
    #[test]
    fn any_log_that_is_read_teaches_or_is_refused(
        tank in log("time_d,salinity_psu,nitrate_mg_per_L,top_off_L,change_L,salt_added_g,batch_psu,note", CELLS),
        batches in log("fresh_L,salt_g,salinity_psu,temperature_C,hours,pH,lot", CELLS),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.csv");
        fs::write(&path, &batches).unwrap();
        let (psu, celsius) = (units::PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0));
        match recipe(&path, SaltMix::default(), psu, celsius, units::Volume::from_litres(60.0), UnitSystem::Metric) {
            Ok(result) => {
                let a = &result.answer;
                let numbers = [a.grams_per_fresh_l, a.grams_per_finished_l, a.error, a.scatter, a.next.salt_mix_kg, a.next.first_dose_kg];
                prop_assert!(numbers.iter().all(|v| v.is_finite() && *v >= 0.0), "{numbers:?} from\n{batches}");
            }
            Err(error) => names_the_log(&error)?,
        }
        fs::write(&path, &tank).unwrap();
        let plan = crate::support::load(BUILT_IN[0].1, &[]).scenario.plan;
        if let Ok(log) = read_tank_log(&path, &plan, &LogReading::default()) {
            let reading = |r: &LogRow| Some(ReadingRow { time_d: r.time_d, psu: r.salinity_psu? });
            let readings: Vec<ReadingRow> = log.rows.iter().filter_map(reading).collect();
            if let Some(v) = look_at_log(&readings, 35.0, 0.3) {
                let numbers = [v.deviation_psu, v.slope.value, v.slope.error, v.slope.by_chance, v.limit_psu];
                prop_assert!(numbers.iter().all(|n| n.is_finite()), "{numbers:?} from\n{tank}");
            }
        }
    }

    #[test]
    fn any_station_file_loads_or_is_refused(edits in edits()) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("fuzz.toml");
        fs::write(&path, edited(include_str!("../../scenarios/stations/corner-shop.toml"), &edits)).unwrap();
        if let Err(error) = load_station(path.to_str(), &[]) {
            prop_assert!(error.to_string().starts_with("error: "), "{error}");
        }
    }
}

proptest! {
    #![proptest_config(cases(12))]

    #[test]
    fn any_log_is_fitted_or_refused(
        tank in log("time_d,salinity_psu,nitrate_mg_per_L,top_off_L,change_L,salt_added_g,batch_psu,note", CELLS)
    ) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.csv");
        fs::write(&path, &tank).unwrap();
        let loaded = crate::support::load(BUILT_IN[0].1, &[]);
        let request = fit_request(path);
        if let Err(error) = fit(&loaded, &request) {
            prop_assert!(error.to_string().starts_with("error: "), "{error}\n{tank}");
        }
    }
}

fn names_the_log(error: &AppError) -> Result<(), TestCaseError> {
    let message = error.to_string();
    prop_assert!(message.starts_with("error: ") && message.contains("log.csv"), "{message}");
    Ok(())
}
