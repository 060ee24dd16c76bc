//! All that the keeper does, put together.

use super::Context;
use super::changes::{changes, exchange};
use super::doses::doses;
use super::evaporation::evaporation;
use super::feed::feed;
use super::losses::outflows;
use super::reading::{meter, reading};
use super::top_off::top_off;
use crate::model::limits::SALINITY_PSU;
use crate::model::{Listed, Regime, Timing, Water, WaterId};
use crate::scenario::reader::Section;

pub(in crate::scenario) fn regime(
    root: &Section<'_>,
    context: &Context<'_>,
    waters: &Listed<WaterId, Water>,
) -> Option<Regime> {
    let (evaporation, by_day) = evaporation(&root.section("evaporation"), context);
    let top_off = top_off(&root.section("top_off"), context, waters);
    let outflows = outflows(&root.section("losses"), context);
    let changes = changes(root, context, waters);
    let exchange = exchange(&root.section("exchange"), context, waters);
    let feed = feed(&root.section("feed"), context);
    let (doses, dosing) = doses(root, context);
    let meter = meter(&root.section("meter"));
    let reading = reading(&root.section("reading"), context);
    if reading.is_none() && changes.iter().any(|c| matches!(c.timing, Timing::Triggered(_))) {
        root.complain(
            "change",
            "a change waits for a reading, but nothing is read".into(),
            Some("add a table [reading] with every = \"7 d\"".into()),
        );
    }
    let top_off = top_off?;
    let regime = Regime {
        evaporation,
        by_day,
        top_off,
        outflows,
        intrusion: None,
        exchange,
        changes,
        doses,
        dosing,
        laid_down_kg_per_d: context.laid_down_kg_per_d,
        reading,
        meter,
        loads: context.species.iter().map(|s| s.load_per_day).collect(),
        feed,
    };
    mixed_by_meter(root, &regime, waters);
    Some(regime)
}

/// Reads one table of the file anew into a regime; `false` where more hangs on it than its own part of the regime.
pub(in crate::scenario) fn read_again(
    table: &str,
    root: &Section<'_>,
    context: &Context<'_>,
    waters: &Listed<WaterId, Water>,
    regime: &mut Regime,
) -> bool {
    match table {
        "evaporation" => (regime.evaporation, regime.by_day) = evaporation(&root.section("evaporation"), context),
        "top_off" => match top_off(&root.section("top_off"), context, waters) {
            Some(top_off) => regime.top_off = top_off,
            None => return false,
        },
        "losses" => regime.outflows = outflows(&root.section("losses"), context),
        "change" | "changes" => {
            regime.changes = changes(root, context, waters);
            // A change that waits for a reading needs one.
            return regime.changes.iter().all(|c| !matches!(c.timing, Timing::Triggered(_)));
        }
        "exchange" => regime.exchange = exchange(&root.section("exchange"), context, waters),
        "feed" => regime.feed = feed(&root.section("feed"), context),
        "doses" => (regime.doses, regime.dosing) = doses(root, context),
        _ => return false,
    }
    true
}

/// Refuses a water that is mixed until the meter shows what it shows for no water.
fn mixed_by_meter(root: &Section<'_>, regime: &Regime, waters: &Listed<WaterId, Water>) {
    for water in waters.iter().filter(|w| w.mixed_by_meter) {
        if !regime.truth(water).is_ok_and(|truth| SALINITY_PSU.contains(&truth.psu())) {
            root.section("waters").section(water.name.clone()).complain(
                "mixed_by",
                format!(
                    "`{}` is mixed until the meter shows {} psu, which it does for no water",
                    water.name,
                    water.salinity.psu()
                ),
                Some(format!(
                    "allowed: a meter that shows it for {} to {} psu; mend [meter], or write mixed_by = \"scale\"",
                    SALINITY_PSU.start(),
                    SALINITY_PSU.end()
                )),
            );
        }
    }
}
