//! What the run of a station came to, line by line, with dates.

use super::load::LoadedStation;
use crate::app::moment::written;
use crate::results::{BatchLine, LevelLine, PurifierUse, RoundStop, TripLine, UnmetLine};
use crate::sizing::{StationOutcome, TripStop};

/// What the stores hold at every moment at which something is done.
pub(super) fn levels(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<LevelLine> {
    let line = |l: &crate::sizing::StoreLevel| LevelLine {
        time_d: l.day,
        date: written(loaded.file.start, l.day),
        fresh_l: l.fresh_l,
        salt_water_l: l.salt_water_l,
        salt_mix_kg: l.salt_mix_kg,
        purifier_on: l.making,
    };
    outcome.levels.iter().map(line).collect()
}

pub(super) fn purifier_use(outcome: &StationOutcome, days: f64) -> PurifierUse {
    PurifierUse {
        starts: outcome.starts,
        starts_per_d: outcome.starts as f64 / days,
        hours_per_d: 24.0 * outcome.making_d / days,
    }
}

pub(super) fn unmet(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<UnmetLine> {
    let line = |s: &crate::sizing::Shortage| UnmetLine {
        due_d: s.due_d,
        due: written(loaded.file.start, s.due_d),
        tank: loaded.tanks[s.tank].name.clone(),
        what: if s.change { "change" } else { "refill" }.into(),
        late_d: s.late_d,
        missing_l: s.missing_l,
        why: s.why.words().into(),
    };
    outcome.shortages.iter().map(line).collect()
}

pub(super) fn batches(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<BatchLine> {
    let at = |day: f64| written(loaded.file.start, day);
    let line = |b: &crate::sizing::BatchMade| BatchLine {
        vessel: b.vessel + 1,
        begin: at(b.begin_d),
        salted: at(b.salted_d),
        ready: at(b.ready_d),
        litres: b.litres,
        salt_mix_kg: b.salt_mix_kg,
    };
    outcome.batches.iter().map(line).collect()
}

pub(super) fn trips(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<TripLine> {
    let at = |day: f64| written(loaded.file.start, day);
    let stop = |s: &TripStop| {
        let tank = &loaded.tanks[s.tank];
        RoundStop {
            name: tank.name.clone(),
            arrive: at(s.arrive_d),
            sick: tank.sick,
            out_l: s.out_l,
            mother_l: s.mother_l,
            trim_l: s.trim_l,
            top_off_l: s.top_off_l,
            minutes: s.stay_d * 1440.0,
        }
    };
    let line = |t: &crate::sizing::Trip| TripLine {
        leaves: at(t.leaves_d),
        back: at(t.back_d),
        salt_water_l: t.stops.iter().map(|s| s.mother_l).sum(),
        fresh_l: t.stops.iter().map(|s| s.trim_l + s.top_off_l).sum(),
        mass_kg: t.load_kg,
        stops: t.stops.iter().map(stop).collect(),
    };
    outcome.trips.iter().map(line).collect()
}
