//! The file of a station: purifier, stores, vessels, and the tanks that it serves, each by its own scenario.

use jiff::civil::Date;

use super::document::Document;
use super::reader::{KeyInfo, Reader, Section};
use super::station_purifier::purifier;
use super::station_van::{van, visit};
use super::{Problems, sections};
use crate::seawater::parse_salinity;
use crate::sizing::{Purifier, SaltMix, Station, Van, Visit};
use crate::units::{Duration, Mass, PracticalSalinity, Temperature, UnitSystem, Volume};

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
    /// What fresh water stands at in the stores.
    pub store_temperature: Temperature,
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
    /// When the van calls, where there is one.
    pub visit: Option<Visit>,
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
    let purifier = purifier(&station.section("purifier"), &header);
    let store = fresh_store(&station.section("fresh_store"));
    let vessels = vessels(&station);
    let mother = mother_salinity(&station);
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
    let (salt, delivery) = salt_store(&station);
    let temperature = station
        .quantity::<Temperature>("store_temperature", "At what temperature fresh water stands in the stores.")
        .check("0 to 40 C", |t| (0.0..=40.0).contains(&t.celsius()))
        .or("20 C");
    let outages = outages(&station, &header);
    let container = station
        .quantity::<Volume>("container", "A container that is carried by hand.")
        .like("20 L")
        .positive()
        .or("20 L");
    station.finish();
    let van = van(&root.section("van"), &header);
    let tanks = tanks(root, &header, van.as_ref());
    let costs = sections::costs(&root.section("costs"));
    let purifier = purifier?;
    let (fresh_l, heel_l, restart_l) = store?;
    Some(StationFile {
        title: header.title,
        units: header.units,
        start: header.start,
        run: header.run,
        station: Station {
            made_l_per_d: purifier.made_l_per_d,
            hours_per_d: purifier.hours_per_d,
            reject: purifier.rated.reject,
            outages,
            fresh_l,
            heel_l,
            restart_l,
            vessels,
            mother: mother.unwrap_or(PracticalSalinity::from_psu(35.0)),
            emergency_l: emergency.map_or(0.0, Volume::litres),
            patience_d: patience?.days(),
            ahead_d: ahead?.days(),
            salt_mix_kg: salt.map(Mass::kg),
            mix_per_salt: 1.0 / SaltMix::default().salt(),
            delivery_d: delivery?.days(),
            van,
        },
        emergency_given: emergency.is_some(),
        purifier: purifier.rated,
        outage: purifier.outage,
        costs,
        upkeep: Upkeep {
            mixing_watts: mixing?.watts(),
            prefilter_l: purifier.prefilter_l,
            resin_l: purifier.resin_l,
            store_temperature: temperature?,
            container_l: container?.litres(),
        },
        tanks,
    })
}

fn mother_salinity(station: &Section<'_>) -> Option<PracticalSalinity> {
    station
        .value(
            "mother_salinity",
            "Salinity of the mother batch; weaker waters are trimmed from it.",
            "a salinity",
            "35 psu",
            |t| parse_salinity(t, Temperature::from_celsius(25.0)).map_err(|e| e.to_string()),
        )
        .or("35 psu")
}

/// The fresh store: what it holds, what is never drawn, and at what level the purifier starts \[L\].
fn fresh_store(section: &Section<'_>) -> Option<(f64, f64, f64)> {
    let volume = section.quantity::<Volume>("volume", "What the fresh store holds.").positive().required();
    let most = volume.map_or(f64::INFINITY, Volume::litres);
    let heel = section
        .quantity::<Volume>("heel", "What lies below its outlet and is never drawn.")
        .like("20 L")
        .not_negative()
        .check("less than the store holds", move |h| h.litres() < most)
        .or("0 L");
    let restart = section
        .quantity::<Volume>(
            "restart",
            "Level at which the purifier starts; it stops when the store is full. Without this it starts as soon as water is drawn.",
        )
        .like("300 L")
        .positive()
        .check("at most what the store holds", move |r| r.litres() <= most)
        .optional();
    section.finish();
    Some((volume?.litres(), heel?.litres(), restart.map_or(most, Volume::litres)))
}

/// Salt mix in store after a delivery, where it can run out, and the time between deliveries.
fn salt_store(station: &Section<'_>) -> (Option<Mass>, Option<Duration>) {
    let delivery = station
        .quantity::<Duration>("salt_delivery", "Time between deliveries of salt mix, which fill its store.")
        .like("60 d")
        .check("1 d or more", |d| d.days() >= 1.0)
        .or("60 d");
    let salt = station
        .quantity::<Mass>("salt_store", "Salt mix in store after a delivery. Without this the salt never runs out.")
        .like("100 kg")
        .positive()
        .optional();
    (salt, delivery)
}

/// Times at which the purifier stands still by plan: begin and length \[d\].
fn outages(station: &Section<'_>, header: &sections::Header) -> Vec<(f64, f64)> {
    let mut outages = Vec::new();
    for (_, outage) in station.named("outages") {
        let span = sections::span(&outage, header.start, false);
        outage.finish();
        match span {
            Some((.., true)) => outage.complain(
                "from",
                "an outage does not come every year".into(),
                Some("give the date with its year; example: from = \"2026-07-01\"".into()),
            ),
            Some((begin, end, false)) => outages.push((begin, end - begin)),
            None => {}
        }
    }
    // Two at a time are one.
    outages.sort_by(|a: &(f64, f64), b| a.0.total_cmp(&b.0));
    let mut apart: Vec<(f64, f64)> = Vec::new();
    for (begin, length) in outages {
        match apart.last_mut().filter(|(b, l)| begin <= b + l) {
            Some((b, l)) => *l = l.max(begin + length - *b),
            None => apart.push((begin, length)),
        }
    }
    apart
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

fn tanks(root: &Section<'_>, header: &sections::Header, van: Option<&Van>) -> Vec<TankEntry> {
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
        let visit = visit(&section, header, van);
        let set = section.section("set");
        let overrides = set.dotted_values().into_iter().map(|(key, text, _)| format!("{key}={text}")).collect();
        section.finish();
        if let (Some(scenario), Some(count)) = (scenario, count) {
            tanks.push(TankEntry { name, scenario, count, sick: sick == Some("sick"), overrides, visit });
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
