//! Advice taken by hand: what it says is done to the scenario, and the band is kept; a little less, and it is not.

use brinecast::app::{self, ChooseRequest, Least, built_in, choose, plan, run, solve};
use brinecast::app::{BatchRequest, PlanRequest, batch};
use brinecast::results::Summary;
use brinecast::sizing::DoseUncertainty;
use brinecast::units::{Duration, Temperature};

use crate::cli::{brinecast, stdout};
use crate::support::{GO, load};

fn advice(summary: &Summary) -> Vec<String> {
    summary
        .todo
        .iter()
        .flat_map(|a| std::iter::once(a.what.clone()).chain(a.or.iter().map(|w| w.what.clone())))
        .collect()
}

fn kept(summary: &Summary, key: &str) -> bool {
    summary.bands.iter().find(|b| b.key == key).unwrap().kept
}

/// A holiday without changes takes the nitrate out once: one more change before it is enough, and one percent less is not.
#[test]
fn one_more_change_before_a_holiday_keeps_the_band() {
    let text = built_in("dry-winter").unwrap();
    let before = run(&load(text, &[])).unwrap().summary;
    assert!(!kept(&before, "nitrate"));
    let told = advice(&before);
    let words = told.iter().find(|w| w.contains("extra change")).unwrap_or_else(|| panic!("{told:?}"));
    assert!(words.contains("on 12 Jul 2026") && words.contains("before the period holiday"), "{words}");
    let percent: u32 = words.split_whitespace().nth(5).unwrap().parse().unwrap();
    let with = |percent: u32| {
        let extra = format!(
            "[changes.weekly]\namount = \"10 %\"\nevery = \"7 d\"\n[changes.extra]\namount = \"{percent} %\"\ndates = [\"2026-07-12\"]\nat = \"12:00\"\n"
        );
        let text = text.replace("[change]\namount = \"10 %\"\nevery = \"7 d\"\n", &extra);
        let text = text.replace("change = \"none\"\n", "changes.weekly = \"none\"\nchanges.extra = \"none\"\n");
        run(&load(&text, &[])).unwrap().summary
    };
    assert!(kept(&with(percent), "nitrate") && !kept(&with(percent - 1), "nitrate"), "{percent}");
}

/// A tank topped off by hand leaves its band on the second day: what is advised for the first days keeps the upper edge.
#[test]
fn topping_off_sooner_keeps_the_first_days() {
    let before = run(&app::load("nano-by-hand", &[]).unwrap()).unwrap().summary;
    let told = advice(&before);
    let words = told.iter().find(|w| w.starts_with("Top off every day")).unwrap_or_else(|| panic!("{told:?}"));
    assert!(words.contains("instead of every 2 days, the first time on Mon 1 Jun 2026, 19:00"), "{words}");
    let highest = |sets: &[&str]| {
        let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
        let summary = run(&app::load("nano-by-hand", &sets).unwrap()).unwrap().summary;
        summary.spans.iter().find(|s| s.key == "salinity").unwrap().highest
    };
    assert!(highest(&[]) > 36.5);
    assert!(highest(&["top_off.every=1 d", "top_off.first=0 d"]) <= 36.5);
}

/// With new water mixed for it a smaller change is enough: the keys that are told keep every band, with clearly less water.
#[test]
fn a_choice_says_what_another_mix_would_save() {
    let request = ChooseRequest {
        over: Vec::new(),
        least: Least::Litres,
        chance: 0.9,
        span_d: 365.0,
        uncertainty: brinecast::study::Uncertainty::default(),
        members: 100,
        seed: 1,
        worth: false,
        also: Vec::new(),
    };
    let mut told = 0;
    for name in ["mixed-reef", "laboratory-raceway", "nano-by-hand"] {
        let loaded = app::load(name, &[]).unwrap();
        let choice = choose(&loaded, &request, GO).unwrap().choice;
        let Some(way) = &choice.with_mix else { continue };
        told += 1;
        let with = loaded.with(&way.set).unwrap();
        let settled = brinecast::engine::settle(&with.scenario.plan).unwrap();
        assert!(brinecast::study::keeps(&settled, &with.scenario.plan.bands), "{name}: {way:?}");
        let litres = brinecast::study::judge(&with.scenario.plan).unwrap().yearly.litres;
        if let Some(best) = choice.best {
            assert!(litres < 0.95 * choice.candidates[best].litres, "{name}: {litres}");
        }
    }
    assert_eq!(told, 3);
}

/// Nobody changes water every 4.56 d: intervals are whole days, each of them looked at.
#[test]
fn intervals_are_whole_days() {
    let loaded = app::load("mixed-reef", &[]).unwrap();
    let solved = solve(&loaded, "change.every", "salinity kept", GO).unwrap();
    // The picture says what the sentence says.
    let picture = brinecast::export::svg(&solved.pictures[0].1).unwrap();
    assert!(picture.contains("5 d or less") && solved.answer.answer.contains("5 d or less"));
    let answer = solved.answer;
    assert_eq!(answer.points.len(), 28);
    assert!(
        answer.warnings.iter().all(|w| w.code != "no-value")
            && answer.points.iter().all(|(x, y)| x.fract() == 0.0 && y.is_some())
    );
    let [[from, to]] = answer.kept[..] else { panic!("{:?}", answer.kept) };
    for (days, inside) in [(from, true), (to, true), (to + 1.0, false)] {
        let plan = loaded.with(&[format!("change.every={days} d")]).unwrap().scenario.plan;
        let settled = brinecast::engine::settle(&plan).unwrap();
        let (low, high) = (settled.salinity_psu.trough, settled.salinity_psu.peak);
        assert_eq!(low >= 34.0 && high <= 36.0, inside, "{days} d: {low} to {high}");
    }
    let between = solve(&loaded, "change.every", "settled.salinity.mean = 34 psu", GO).unwrap().answer;
    assert!(between.met.is_empty() && between.answer.starts_with("No whole number of days"), "{}", between.answer);
}

/// What is dosed once a day stands in the calendar with its amount; what a pump doses is named.
#[test]
fn a_calendar_leaves_no_dose_out() {
    let request = PlanRequest {
        from: None,
        days: 10.0,
        zone: None,
        reminder: Duration::from_days(0.0),
        purifier: None,
        heater: None,
        room: Temperature::from_celsius(20.0),
    };
    let reef = app::load("mixed-reef", &[]).unwrap();
    let plan_of_reef = plan(&reef, &request).unwrap().plan;
    let doses: Vec<_> = plan_of_reef.items.iter().filter(|i| i.kind == "dose").collect();
    assert!((9..=10).contains(&doses.len()) && doses.iter().all(|d| d.detail == "0.21 dKH of alkalinity"), "{doses:?}");
    let pumped = plan(&app::load("two-part-dosing", &[]).unwrap(), &request).unwrap().plan;
    assert_eq!(pumped.by_pump.len(), 2, "{:?}", pumped.by_pump);
    let folder = tempfile::tempdir().unwrap();
    let screen = stdout(&brinecast(folder.path(), &["plan", "two-part-dosing", "--no-files"]));
    assert!(screen.contains("Dose by pump (not in the calendar): soda 321 mL/d"), "{screen}");
}

/// A meter that cannot bring a batch into its tolerance ends the portions where they raise nothing any more.
#[test]
fn a_coarse_meter_asks_for_no_dozen_portions() {
    let reef = app::load("mixed-reef", &[]).unwrap().scenario.plan;
    let coarse = BatchRequest::of_change(&reef, &reef.regime.changes[0]);
    let answer = batch(&coarse).unwrap();
    assert!(answer.warnings.iter().any(|w| w.code == "meter-too-coarse"));
    assert!(
        answer.rounds <= 4 && answer.last_dose_psu < 34.5,
        "{} portions to {}",
        answer.rounds,
        answer.last_dose_psu
    );
    // As sure a meter as there is needs few, and comes there.
    let uncertainty = DoseUncertainty { noise_psu: 0.02, bias_psu: 0.02, ..DoseUncertainty::default() };
    let answer = batch(&BatchRequest { uncertainty, ..coarse }).unwrap();
    assert!(answer.warnings.is_empty() && (34.5..=35.0).contains(&answer.last_dose_psu), "{:?}", answer.warnings);
}
