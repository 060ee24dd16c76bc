//! The file of a station: purifier, stores, vessels, and the tanks that it serves, each by its own scenario.

use jiff::civil::Date;

use super::document::Document;
use super::reader::{KeyInfo, Reader, Section};
use super::{Problems, sections};
use crate::seawater::parse_salinity;
use crate::sizing::{Purifier, Station, flow_at_temperature};
use crate::units::{Duration, Fraction, PracticalSalinity, Pressure, Temperature, UnitSystem, Volume, VolumeRate};

/// A station as its file describes it.
#[derive(Clone, Debug)]
pub struct StationFile {
    /// One line on what it is.
    pub title: String,
    /// Units shown.
    pub units: UnitSystem,
    /// First day.
    pub start: Date,
    /// Length of the run.
    pub run: Duration,
    /// The station; its emergency share may be left to the tanks.
    pub station: Station,
    /// Whether the emergency share was given.
    pub emergency_given: bool,
    /// The purifier as it is rated.
    pub purifier: Purifier,
    /// A day's chance that the purifier fails, and how long it then stands.
    pub outage: (f64, f64),
    /// Prices and times.
    pub costs: crate::model::Costs,
    /// Price of a kilowatt-hour, watts of the station while it mixes, and litres through a set of filters.
    pub upkeep: Upkeep,
    /// Tanks.
    pub tanks: Vec<TankEntry>,
}

/// What the station uses besides water and salt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Upkeep {
    /// Watts of pumps while a vessel is mixed.
    pub mixing_watts: f64,
    /// Litres (product and reject) that a set of prefilters serves.
    pub prefilter_l: f64,
    /// Litres of product that a charge of resin serves.
    pub resin_l: f64,
    /// Days between deliveries of salt.
    pub delivery_d: f64,
    /// Litres of a container that is carried by hand.
    pub container_l: f64,
}

/// A tank of the station.
#[derive(Clone, Debug, PartialEq)]
pub struct TankEntry {
    /// Its name.
    pub name: String,
    /// Scenario file, or the name of a built-in one.
    pub scenario: String,
    /// How many alike.
    pub count: u32,
    /// Whether it is served last, because something in it is ill.
    pub sick: bool,
    /// Overrides of its scenario.
    pub overrides: Vec<String>,
}

/// Most tanks of one station.
pub const MOST_TANKS: u32 = 1000;

/// Reads the file of a station; all mistakes at once.
pub fn read_station(document: &Document) -> Result<StationFile, Problems> {
    let reader = Reader::new(document, false);
    let file = {
        let root = reader.root();
        let file = read(&root);
        root.finish();
        file
    };
    match file {
        Some(file) if reader.problems.borrow().is_empty() => Ok(file),
        _ => Err(reader.into_problems()),
    }
}

/// Every key that the file of a station may have, in the order in which they are read.
pub(super) fn describe_station() -> Vec<KeyInfo> {
    let empty = Document { sources: Vec::new(), root: super::document::Table::default() };
    let reader = Reader::new(&empty, true);
    // Only what is declared on the way is wanted.
    let _ = read(&reader.root());
    reader.into_keys()
}

fn read(root: &Section<'_>) -> Option<StationFile> {
    let header = sections::header(root);
    let station = root.section("station");
    let purifier = purifier(&station.section("purifier"));
    let fresh = station.section_with("fresh_store", |s| {
        s.quantity::<Volume>("volume", "What the fresh store holds.").positive().required()
    });
    let vessels = vessels(&station);
    let mother = station
        .value(
            "mother_salinity",
            "Salinity of the mother batch; weaker waters are trimmed from it.",
            "a salinity",
            "35 psu",
            |t| parse_salinity(t, Temperature::from_celsius(25.0)).map_err(|e| e.to_string()),
        )
        .or("35 psu");
    let emergency = station
        .quantity::<Volume>(
            "emergency",
            "Salt water always held back; one change of half the largest tank where it is absent.",
        )
        .not_negative()
        .optional();
    let patience = station
        .quantity::<Duration>("patience", "How long a change waits for water before it is made smaller.")
        .like("2 d")
        .not_negative()
        .or("2 d");
    let ahead =
        station.quantity::<Duration>("ahead", "How far ahead batches are made.").like("3 d").positive().or("3 d");
    let mixing = station
        .quantity::<crate::units::Power>("mixing_power", "Pumps that run while a vessel is mixed.")
        .like("60 W")
        .or("60 W");
    let delivery = station
        .quantity::<Duration>("salt_delivery", "Time between deliveries of salt mix.")
        .like("60 d")
        .positive()
        .or("60 d");
    let container = station
        .quantity::<Volume>("container", "A container that is carried by hand.")
        .like("20 L")
        .positive()
        .or("20 L");
    station.finish();
    let tanks = tanks(root);
    let costs = sections::costs(&root.section("costs"));
    let (purifier, outage, hours, filters) = purifier?;
    let flow = purifier.flow().ok()?;
    Some(StationFile {
        title: header.title,
        units: header.units,
        start: header.start,
        run: header.run,
        station: Station {
            made_l_per_d: flow.litres_per_day(),
            hours_per_d: hours,
            reject: purifier.reject,
            outages: Vec::new(),
            fresh_l: fresh?.litres(),
            vessels,
            mother: mother.unwrap_or(PracticalSalinity::from_psu(35.0)),
            emergency_l: emergency.map_or(0.0, Volume::litres),
            patience_d: patience?.days(),
            ahead_d: ahead?.days(),
        },
        emergency_given: emergency.is_some(),
        purifier,
        outage,
        costs,
        upkeep: Upkeep {
            mixing_watts: mixing?.watts(),
            prefilter_l: filters.0,
            resin_l: filters.1,
            delivery_d: delivery?.days(),
            container_l: container?.litres(),
        },
        tanks,
    })
}

/// Each mixing vessel: litres, and days until a batch is ready.
fn vessels(station: &Section<'_>) -> Vec<(f64, f64)> {
    let mut vessels = Vec::new();
    for (_, vessel) in station.named("vessels") {
        let litres = vessel.quantity::<Volume>("volume", "Finished salt water that it makes.").positive().required();
        let ready = vessel
            .quantity::<Duration>("ready_after", "Salting, mixing and heating, once it is full.")
            .like("14 h")
            .positive()
            .or("14 h");
        vessel.finish();
        vessels.extend(litres.zip(ready).map(|(l, r)| (l.litres(), r.days())));
    }
    if vessels.is_empty() {
        station.complain_here(
            "the station has no mixing vessel".into(),
            Some("write a table [station.vessels.drum] with volume = \"200 L\"".into()),
        );
    }
    vessels
}

type PurifierParts = (Purifier, (f64, f64), f64, (f64, f64));

fn purifier(section: &Section<'_>) -> Option<PurifierParts> {
    let rated = section
        .quantity::<VolumeRate>("rated", "What it makes at 25 C and its rated pressure.")
        .like("300 L/d")
        .positive()
        .required();
    let feed = section
        .quantity::<Temperature>("feed", "Temperature of the feed water.")
        .like("15 C")
        .check("4 to 35 C", |t| flow_at_temperature(*t).is_ok())
        .or("15 C");
    let pressure =
        section.quantity::<Pressure>("pressure", "Pressure at the tap.").like("60 psi").positive().or("60 psi");
    let rated_pressure = section
        .quantity::<Pressure>("rated_pressure", "Pressure for which it is rated.")
        .like("60 psi")
        .positive()
        .or("60 psi");
    let reject = section
        .value("reject", "Litres of reject for one of product.", "a number", "4", |t| {
            t.parse::<f64>()
                .ok()
                .filter(|r| (0.0..=20.0).contains(r))
                .ok_or_else(|| format!("`{t}` is no number from 0 to 20"))
        })
        .or("4");
    let hours = section
        .quantity::<Duration>("hours", "Hours a day in which it may run.")
        .like("24 h")
        .check("more than 0 and at most 24 h", |h| h.days() > 0.0 && h.days() <= 1.0)
        .or("24 h");
    let chance = section
        .quantity::<Fraction>("outage_chance", "Chance a day that it fails.")
        .like("0.3 %")
        .between(0.0, 1.0)
        .or("0.3 %");
    let length =
        section.quantity::<Duration>("outage", "How long it then stands.").like("3 d").not_negative().or("3 d");
    let prefilter = section
        .quantity::<Volume>("prefilter_life", "Water, product and reject, that a set of prefilters serves.")
        .like("10000 L")
        .positive()
        .or("10000 L");
    let resin = section
        .quantity::<Volume>("resin_life", "Product that a charge of resin serves.")
        .like("1500 L")
        .positive()
        .or("1500 L");
    section.finish();
    let purifier =
        Purifier { rated: rated?, rated_pressure: rated_pressure?, pressure: pressure?, feed: feed?, reject: reject? };
    Some((purifier, (chance?.ratio(), length?.days()), hours?.days() * 24.0, (prefilter?.litres(), resin?.litres())))
}

fn tanks(root: &Section<'_>) -> Vec<TankEntry> {
    let mut tanks = Vec::new();
    for (name, section) in root.named("tanks") {
        let words = |text: &str| Ok::<_, String>(text.to_owned());
        let scenario = section
            .value("scenario", "Scenario file, or the name of a built-in one.", "a name", "mixed-reef", words)
            .required();
        let count = section
            .value("count", "How many alike.", "a whole number", "4", |t| {
                t.parse::<u32>()
                    .ok()
                    .filter(|n| (1..=MOST_TANKS).contains(n))
                    .ok_or_else(|| format!("`{t}` is no whole number from 1 to {MOST_TANKS}"))
            })
            .or("1");
        let sick = section
            .choice("health", "well, or sick: served last, with tools of its own.", &["well", "sick"])
            .or("well");
        let set = section.section("set");
        let overrides = set.dotted_values().into_iter().map(|(key, text, _)| format!("{key}={text}")).collect();
        section.finish();
        if let (Some(scenario), Some(count)) = (scenario, count) {
            tanks.push(TankEntry { name, scenario, count, sick: sick == Some("sick"), overrides });
        }
    }
    if tanks.is_empty() {
        root.complain_here(
            "the station serves no tank".into(),
            Some("write a table [tanks.reef] with scenario = \"mixed-reef\"".into()),
        );
    }
    tanks
}
