//! What comes of the water that no band tells: a reservoir that runs dry, a pump that draws air, a wet floor, an empty tank.

use crate::app::dated::Dated;
use crate::engine::{Nothing, Simulation, Tally, run};
use crate::model::Plan;
use crate::numerics::{chance_error, quantile};
use crate::results::{Warning, spoken};
use crate::scenario::Scenario;
use crate::study::Fate;
use crate::units::{InUnits, UnitSystem, Volume, trimmed};

/// One of the four: its code, what it is, and what to try.
struct Kind {
    code: &'static str,
    what: &'static str,
    advice: &'static str,
}

const DRY: Kind = Kind {
    code: "reservoir-dry",
    what: "the top-off reservoir runs dry",
    advice: "fill it more often, cover the tank or add a second, pumped stage; a larger reservoir makes a stuck valve worse",
};
const STARVED: Kind = Kind {
    code: "return-pump-starved",
    what: "the level falls so low that the return pump draws air",
    advice: "check the top-off; a dry pump overheats: fit a low-level cut-out, as its maker says",
};
const SPILL: Kind = Kind {
    code: "spill",
    what: "tank water spills over the rim",
    advice: "leave more room below the rim, or limit how much water can run in",
};
const EMPTY: Kind = Kind {
    code: "tank-empty",
    what: "the tank is nearly empty before the end",
    advice: "find what removes more water than is put back",
};
/// Codes of these warnings.
pub(in crate::app) const WATER: [&str; 4] = [DRY.code, STARVED.code, SPILL.code, EMPTY.code];

impl Kind {
    fn warning(&self, text: String) -> Warning {
        Warning::new(self.code, text, self.advice)
    }
}

/// What a run's counts say of its water, with the days on which it begins.
pub(in crate::app) fn of_tally(tally: &Tally, units: UnitSystem, dated: Dated) -> Vec<Warning> {
    let day = |t: f64| dated.day(t);
    let dry = tally.reservoir_dry_d.map(|t| {
        let lasting = lasting(tally.reservoir_dry_days);
        DRY.warning(format!("the top-off reservoir runs dry on {}, for {lasting} in all", day(t)))
    });
    let starved = tally
        .starved_d
        .map(|t| STARVED.warning(format!("the level falls on {} so low that the return pump draws air", day(t))));
    let spill = tally.spilled_d.map(|t| {
        let litres = Volume::from_litres(tally.spilled_l).show(units);
        SPILL.warning(format!("{litres} of tank water spill over the rim, first on {}", day(t)))
    });
    let empty =
        tally.empty_d.map(|t| EMPTY.warning(format!("the tank is nearly empty on {}, and the run ends there", day(t))));
    [dry, starved, spill, empty].into_iter().flatten().collect()
}

/// Days, or hours where there are few.
fn lasting(days: f64) -> String {
    match 24.0 * days {
        hours if hours < 1.0 => "less than an hour".into(),
        hours if hours < 24.0 => format!("{} h", trimmed(hours, 0)),
        _ => format!("{} days", trimmed(days, 1)),
    }
}

/// The same of a plan that its command does not run otherwise, with what tells which plan it is in front.
pub(in crate::app) fn of_plan(plan: &Plan, scenario: &Scenario, which: &str) -> Vec<Warning> {
    let Some(tally) = tally_of(plan) else { return Vec::new() };
    of_tally(&tally, scenario.units, Dated::of(scenario)).into_iter().map(|w| named(w, which)).collect()
}

/// The same of a plan that is judged long in force, and what its run from the start of the file takes out of its band until then.
pub(in crate::app) fn of_long_in_force(plan: &Plan, scenario: &Scenario, which: &str) -> Vec<Warning> {
    let Ok(outcome) = run(plan) else { return Vec::new() };
    let left: Vec<String> = outcome
        .bands(plan)
        .iter()
        .filter(|b| !b.kept)
        .map(|b| format!("{} for {} d", spoken(&b.key), trimmed(b.outside_d, 1)))
        .collect();
    let at_first = (!left.is_empty()).then(|| {
        let days = trimmed(plan.horizon.days(), 0);
        let text = format!("in its run of {days} d outside the band: {}", left.join(", "));
        Warning::new("leaves-band-at-first", text, "for when, and for what to do, see brinecast run")
    });
    let water = of_tally(&outcome.tally, scenario.units, Dated::of(scenario));
    water.into_iter().chain(at_first).map(|w| named(w, which)).collect()
}

/// The same of many plans: of how many each is true.
pub(in crate::app) fn of_plans(tallies: &[Tally]) -> Vec<Warning> {
    type Happens = fn(&Tally) -> bool;
    let kinds: [(Kind, Happens); 4] = [
        (DRY, |t| t.reservoir_dry_d.is_some()),
        (STARVED, |t| t.starved_d.is_some()),
        (SPILL, |t| t.spilled_d.is_some()),
        (EMPTY, |t| t.empty_d.is_some()),
    ];
    let said = |(kind, happens): (Kind, Happens)| {
        let count = tallies.iter().filter(|t| happens(t)).count();
        let text = format!("in {count} of {} plans {}", tallies.len(), kind.what);
        (count > 0)
            .then(|| Warning::new(kind.code, text, "for when, and for what to do, see brinecast run of one of them"))
    };
    kinds.into_iter().filter_map(said).collect()
}

/// The same of many members of one plan: in how many, and when half of these have come to it. An empty tank is told with the rows
/// that it leaves out.
pub(in crate::app) fn of_members(fates: &[Fate], dated: Dated) -> Vec<Warning> {
    type When = fn(&Fate) -> Option<f64>;
    let kinds: [(Kind, When); 3] = [(DRY, |f| f.dry_d), (STARVED, |f| f.starved_d), (SPILL, |f| f.spilled_d)];
    let said = |(kind, when): (Kind, When)| {
        let mut days: Vec<f64> = fates.iter().filter_map(when).collect();
        days.sort_unstable_by(f64::total_cmp);
        let (count, all) = (days.len(), fates.len());
        let share = trimmed(100.0 * count as f64 / all.max(1) as f64, 1);
        let error = trimmed(100.0 * chance_error(count, all), 1);
        (count > 0).then(|| {
            let half = dated.day(quantile(&days, 0.5));
            let what = kind.what;
            kind.warning(format!(
                "in {count} of {all} members ({share} ± {error} %) {what}, in half of these by {half}"
            ))
        })
    };
    kinds.into_iter().filter_map(said).collect()
}

/// That some members' tanks run empty, in words.
pub(in crate::app) fn emptied(text: String) -> Warning {
    EMPTY.warning(text)
}

/// The counts of a plan run from its start; nothing where it cannot be run.
pub(in crate::app) fn tally_of(plan: &Plan) -> Option<Tally> {
    let mut simulation = Simulation::new(plan).ok()?;
    simulation.run_until(plan.horizon.days(), &mut Nothing).ok()?;
    Some(simulation.tally().clone())
}

/// A warning with what it is about in front.
pub(in crate::app) fn named(warning: Warning, which: &str) -> Warning {
    Warning { text: format!("{which}: {}", warning.text), ..warning }
}
