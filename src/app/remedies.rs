//! Where a regime does not keep a band: how much of each lever would.

use crate::engine::Outcome;
use crate::model::{Amount, Band, Component, Plan, SKIMMATE, Schedule, SoluteId, Stretch, Timing, Variable};
use crate::numerics::Elementary;
use crate::results::{Way, spoken};
use crate::sizing::mix_to;
use crate::solutes::{Role, View};
use crate::study::{Judged, Lens, band_use, least_remedy, span};
use crate::units::{PracticalSalinity, Rate, significant, trimmed};

/// Largest removal that is tried \[1/d\].
const MOST_REMOVAL: f64 = 1.0;
/// Largest supply that is tried, in litres of tank water at the limit a day for each litre.
const MOST_SUPPLY: f64 = 1.0;

/// For each band that the settled cycle leaves, the levers that keep it, each worked out by itself.
pub(super) fn remedies(plan: &Plan, judged: &Judged, view: &View) -> Vec<String> {
    plan.bands
        .iter()
        .filter(|band| band_use(&judged.settled, band) > 1.0 + 1e-9)
        .map(|band| {
            let span = span(&judged.settled, band);
            let name = span.key.replace('_', " ");
            let ways = ways(plan, Lens::Settled, band, band.high.is_some_and(|high| span.peak > high), view);
            if ways.is_empty() {
                format!("{name}: no single change of load, removal, dose or mix is enough")
            } else {
                format!("{name}: {}", words(&ways))
            }
        })
        .collect()
}

/// Several ways in one sentence.
pub(super) fn words(ways: &[Way]) -> String {
    ways.iter().map(|way| &*way.what).collect::<Vec<_>>().join("; or ")
}

/// The levers that keep a band which is left upwards or downwards, each worked out by itself: imperatives without their stop,
/// the most usual first.
pub(super) fn ways(plan: &Plan, lens: Lens, band: &Band, upwards: bool, view: &View) -> Vec<Way> {
    match band.of {
        Variable::Salinity => salinity(plan, lens, band, upwards, view),
        Variable::Solute(i) if upwards => too_much(plan, lens, band, i, view),
        Variable::Solute(i) => too_little(plan, lens, band, i, view),
    }
}

fn too_much(plan: &Plan, lens: Lens, band: &Band, i: SoluteId, view: &View) -> Vec<Way> {
    let solute = &plan.species[i].solute;
    let (shown, litres) = (view.of(&solute.key, solute.unit()), plan.tank.operating.litres());
    let mut ways = Vec::new();
    let less = least_remedy(plan, lens, band, 1.0, |plan, cut| {
        plan.regime.loads[i] *= 1.0 - cut;
        plan.regime.feed[i] *= 1.0 - cut;
    });
    let now = (plan.regime.loads[i] + plan.regime.feed[i]) / litres;
    if is_dosed(plan, i) {
        // A supplement is no pollutant: less of it is all there is to do, and too little leaves the band too.
        let kept = |percent: &u32| {
            let mut less = plan.clone();
            dose_less(&mut less, i, 0.01 * f64::from(*percent));
            lens.band_use(&less, band).is_ok_and(|used| used <= 1.0)
        };
        let name = spoken(&solute.key);
        return (1..=100)
            .find(kept)
            .map(|percent| Way::by_hand(format!("dose {percent} % less {name}, in doses and top-off together")))
            .into_iter()
            .collect();
    }
    ways.extend(more_changes(plan, lens, band));
    if let Some(cut) = less.filter(|_| now > 0.0) {
        let then = rounded(shown.value(now * (1.0 - cut)), 3, false);
        let what = format!(
            "lower the load of {} from {} to {then} {}/d (feed less, or fewer animals)",
            spoken(&solute.key),
            shown.number(now, 3),
            shown.unit
        );
        // What the food brings is no key of the solute.
        let plain = plan.regime.feed[i] == 0.0 && shown.unit == solute.unit();
        let set = plain.then(|| format!("solutes.{}.load={then} {}/d", solute.key, shown.unit));
        ways.push(Way { what, set: set.into_iter().collect() });
    }
    if solute.role == Role::Constituent {
        return ways;
    }
    let before = plan.species[i].removal.per_day();
    let more = least_remedy(plan, lens, band, MOST_REMOVAL, |plan, k| {
        plan.species[i].removal = Rate::from_per_day(before + k);
    });
    if let Some(k) = more {
        let then = rounded(100.0 * (before + k), 3, true);
        ways.push(Way {
            what: format!(
                "raise the removal of {} from {} to {then} %/d",
                spoken(&solute.key),
                trimmed(100.0 * before, 2)
            ),
            set: vec![format!("solutes.{}.removal={then} %/d", solute.key)],
        });
    }
    ways
}

/// Whether the keeper adds a solute, by doses or in the top-off.
pub(super) fn is_dosed(plan: &Plan, i: SoluteId) -> bool {
    let regime = &plan.regime;
    let brings = regime.doses.iter().flat_map(|d| &d.brings).chain(regime.dosing.iter().flat_map(|d| &d.per_day));
    let top_off = &plan.waters[regime.top_off.water];
    brings.into_iter().any(|(of, amount)| *of == Component::Solute(i) && *amount > 0.0)
        || top_off.ions_kg_per_l > 0.0 && top_off.solutes[i] > 0.0
}

/// Cuts what the keeper adds by a share.
fn dose_less(plan: &mut Plan, i: SoluteId, cut: f64) {
    let brings = |list: &mut Vec<(Component, f64)>| {
        if list.iter().any(|(of, _)| *of == Component::Solute(i)) {
            for (_, amount) in list {
                *amount *= 1.0 - cut;
            }
        }
    };
    for regime in plan.regimes_mut() {
        regime.doses.iter_mut().for_each(|d| brings(&mut d.brings));
        regime.dosing.iter_mut().for_each(|d| brings(&mut d.per_day));
    }
    let top_off = &mut plan.waters[plan.regime.top_off.water];
    if top_off.ions_kg_per_l > 0.0 {
        top_off.ions_kg_per_l *= 1.0 - cut;
        top_off.solutes.iter_mut().for_each(|held| *held *= 1.0 - cut);
    }
}

fn too_little(plan: &Plan, lens: Lens, band: &Band, i: SoluteId, view: &View) -> Vec<Way> {
    let (solute, litres) = (&plan.species[i].solute, plan.tank.operating.litres());
    let most = MOST_SUPPLY * litres * band.low.unwrap_or(0.0);
    // The most that is tried goes past the upper edge: the least that keeps the lower one is what is asked for.
    let lower = Band { high: None, ..*band };
    let supply = least_remedy(plan, lens, &lower, most, |plan, amount| plan.regime.loads[i] += amount);
    // A dose that no test could tell from none is no advice.
    let told = supply.filter(|s| *s > LEAST_DOSE * most);
    told.map(|s| {
        let shown = view.of(&solute.key, solute.unit());
        let dose = rounded(shown.value(s / litres), 3, true);
        let soda = if solute.key == "alkalinity" {
            format!(" ({} g of NaHCO3)", rounded(s * SODA_G_PER_MEQ, 3, true))
        } else {
            String::new()
        };
        Way::by_hand(format!(
            "dose {dose} {} more {} a day{soda}, spread over the day",
            shown.unit,
            spoken(&solute.key)
        ))
    })
    .into_iter()
    .collect()
}

/// Share of the limit a day below which a dose is not told.
const LEAST_DOSE: f64 = 1e-4;

/// Grams of sodium hydrogen carbonate in a milliequivalent of alkalinity (84.007 g/mol, IUPAC abridged weights).
const SODA_G_PER_MEQ: f64 = 0.084007;

/// A number in some significant digits, rounded to the safe side.
fn rounded(value: f64, digits: i32, up: bool) -> String {
    if value <= 0.0 {
        return significant(value, digits);
    }
    #[expect(clippy::cast_possible_truncation, reason = "a power of ten")]
    let unit = 10f64.powi(value.to_log10().floor() as i32 + 1 - digits);
    let steps = value / unit;
    significant(unit * if up { (steps - 1e-9).ceil() } else { (steps + 1e-9).floor() }, digits)
}

/// Larger changes, or more often: the least in whole percent of the tank, or in whole days.
fn more_changes(plan: &Plan, lens: Lens, band: &Band) -> Vec<Way> {
    let [change] = plan.regime.changes.as_slice() else { return Vec::new() };
    let Timing::Scheduled(schedule) = &change.timing else { return Vec::new() };
    let (Some(first), Some(second)) = (schedule.time(0), schedule.time(1)) else { return Vec::new() };
    let (every, share) = (second - first, change.amount.of(plan.tank.operating) / plan.tank.operating);
    if plan.periods.iter().any(|p| p.of_series) || !(0.0..MOST_SHARE).contains(&share) {
        return Vec::new();
    }
    let keeps = |amount: f64, every: f64| {
        let mut plan = plan.clone();
        plan.output_every = None;
        let change = &mut plan.regime.changes[0];
        change.amount = Amount::Share(amount);
        change.timing = Timing::Scheduled(Schedule::every(every, first.min(every)));
        lens.band_use(&plan, band).is_ok_and(|used| used <= 1.0)
    };
    // Where the changes come by days of the week, those stay: only the amount is moved.
    let even = schedule.time(2).is_some_and(|third| (third - second - every).abs() < 1e-9);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "percent, and days between changes")]
    let whole = |value: f64| value.floor() as u32;
    let [from, to] = [share, MOST_SHARE].map(|share| whole(100.0 * share));
    let larger = (from + 1..=to).find(|percent| keeps(0.01 * f64::from(*percent), every)).filter(|_| even);
    let mut ways = Vec::new();
    let days = |d: f64| trimmed(d, 1);
    ways.extend(larger.map(|percent| Way {
        what: format!("change {percent} % instead of {} % every {} days", trimmed(100.0 * share, 1), days(every)),
        set: vec![format!("change.amount={percent} %")],
    }));
    let longest = whole(every - 1e-9);
    let oftener = (1..=longest).rev().find(|d| keeps(share, f64::from(*d))).filter(|_| even);
    ways.extend(oftener.map(|d| {
        let every_new = if d == 1 { "every day".to_owned() } else { format!("every {d} days") };
        Way {
            what: format!("change {} % {every_new} instead of every {} days", trimmed(100.0 * share, 1), days(every)),
            set: vec![format!("change.every={d} d")],
        }
    }));
    ways
}

/// Largest share of the tank in a change that is advised.
const MOST_SHARE: f64 = 0.5;

/// Mixing new water so that the tank settles in the middle of the band, or, where it has no settled cycle, so that the
/// run keeps it; or a drier skimmer, where the tank loses salt by one.
fn salinity(plan: &Plan, lens: Lens, band: &Band, upwards: bool, view: &View) -> Vec<Way> {
    let mut ways = Vec::new();
    let shown = view.of("salinity", "psu");
    let number = |psu: f64| significant(shown.value(psu), if shown.unit == "psu" { 3 } else { 5 });
    let water = plan.regime.changes.first().map(|c| c.water).or(plan.regime.exchange.map(|e| e.water));
    if let (Some(low), Some(high), Some(water)) = (band.low, band.high, water) {
        let mixed = |psu: f64| {
            let mut mixed = plan.clone();
            mixed.output_every = None;
            mixed.waters[water].salinity = PracticalSalinity::from_psu(psu);
            mixed
        };
        let best = match lens {
            Lens::Settled => mix_to(plan, water, Variable::Salinity, 0.5 * (low + high)).ok().map(|mix| mix.value),
            Lens::SecondHalf | Lens::Run => {
                // The salinity follows that of the new water: where the run lies in the middle of the band.
                let off = |psu: f64| lens.span(&mixed(psu), band).map_or(f64::NAN, |(a, b)| a + b - low - high);
                crate::numerics::find_root(off, 0.0, MOST_PSU, 0.01).ok()
            }
        };
        let best = best.map(|psu| (10.0 * psu).round() / 10.0);
        let kept = |psu: &f64| lens.band_use(&mixed(*psu), band).is_ok_and(|used| used <= 1.0);
        ways.extend(best.filter(kept).map(|psu| {
            let then = lens.span(&mixed(psu), band).map_or(String::new(), |(low, high)| {
                format!("; salinity then {} near {} {}", lens.verb(), number(0.5 * (low + high)), shown.unit)
            });
            let named = plan.waters[water].salinity.psu();
            let what = format!("mix new water to {} {} instead of {}{then}", number(psu), shown.unit, number(named));
            Way { what, set: vec![format!("waters.{}.salinity={} psu", plan.waters[water].name, trimmed(psu, 1))] }
        }));
    }
    let skimmate = plan.regime.outflow(&SKIMMATE);
    if !upwards && skimmate.litres_per_day() > 0.0 {
        let less = least_remedy(plan, lens, band, 1.0, |plan, cut| {
            for regime in plan.regimes_mut() {
                let rate = regime.outflow(&SKIMMATE);
                regime.set_outflow(&SKIMMATE, rate * (1.0 - cut));
            }
        });
        ways.extend(less.and_then(|cut| {
            let litres = view.units.shown("L/d");
            let [then, now] = [skimmate * (1.0 - cut), skimmate].map(|r| litres.value(r.litres_per_day()));
            let (then, now) = (rounded(then, 2, false), significant(now, 2));
            (then != now).then(|| Way {
                what: format!("set the skimmer drier, {then} {} of skimmate instead of {now}", litres.unit),
                set: vec![format!("losses.skimmate={then} {}", litres.unit)],
            })
        }));
    }
    ways
}

/// Saltiest new water that is tried \[psu\].
const MOST_PSU: f64 = 42.0;

/// What to do where top-off is missing for a time: a reservoir that runs dry, a period in which nobody tops off.
pub(super) fn missing_for_a_time(plan: &Plan, outcome: &Outcome, view: &View) -> Vec<Way> {
    let say = |litres: f64| view.say("", litres, "L", 3);
    if outcome.tally.reservoir_dry_d.is_some() {
        let needs = plan.stretches(0.0, plan.horizon.days()).into_iter().filter_map(|s| refill_need(&s));
        if let Some(need) = needs.min_by(|a, b| a.days.total_cmp(&b.days)) {
            // What lasts just so long does not.
            let days = (need.days - A_LITTLE_D).floor();
            let often = if days < 2.0 { "every day".to_owned() } else { format!("every {} days", trimmed(days, 0)) };
            let larger = if days < 1.0 { ", and take a larger one" } else { "" };
            let what = format!(
                "refill the top-off reservoir {often}{larger}: up to {} a day are topped off, and it runs dry",
                say(need.a_day)
            );
            return vec![Way::by_hand(what)];
        }
    }
    let nobody = |s: &Stretch<'_>| s.regime.top_off.pump().is_none() && s.regime.top_off.at_times().is_none();
    let in_a_period = plan.stretches(0.0, plan.horizon.days()).into_iter().filter(nobody).find_map(|s| s.period);
    if let Some(place) = in_a_period {
        let period = &plan.periods[place];
        let a_day = period.regime.evaporation.on_day(period.begin.max(0.0));
        let what = format!(
            "have {} of fresh water topped off a day in period {}: nobody does",
            say(a_day),
            period.name.replace('_', " ")
        );
        return vec![Way::by_hand(what)];
    }
    Vec::new()
}

/// What to do where evaporation is not made up: the top-off that is missing, a day at a time.
pub(super) fn top_off_ways(plan: &Plan, outcome: &Outcome, view: &View) -> Vec<Way> {
    let a_day = plan.regime.evaporation.on_day(0.0);
    let missing = missing_for_a_time(plan, outcome, view);
    let held = outcome.statistics.variables.first().is_some_and(|v| v.last >= LEVEL_HELD * v.first);
    if held || a_day <= 0.0 || !missing.is_empty() {
        return missing;
    }
    let litres = view.say("", a_day, "L", 3);
    vec![Way::by_hand(format!("top off {litres} of fresh water a day: evaporation is not made up"))]
}

/// By how much a reservoir should last longer than to its refill \[d\].
const A_LITTLE_D: f64 = 0.05;

/// What a reservoir must give on the worst day of a stretch \[L\], and how many days it lasts then.
struct RefillNeed {
    a_day: f64,
    days: f64,
}

/// The same of a stretch; nothing where it has no reservoir, needs nothing of it, or fills it often enough.
fn refill_need(stretch: &Stretch<'_>) -> Option<RefillNeed> {
    let regime = stretch.regime;
    let reservoir = regime.top_off.reservoir.as_ref()?;
    let (first, last) = (stretch.from.floor(), stretch.until.ceil());
    let days = std::iter::successors(Some(first), |day| Some(day + 1.0)).take_while(|day| *day < last);
    let evaporates = days.map(|day| regime.evaporation.on_day(day)).fold(0.0, f64::max);
    // A float makes up for all that leaves.
    let leaves: f64 = regime.outflows.iter().map(|o| o.rate.litres_per_day()).sum();
    let exchanged = regime.exchange.map_or(0.0, |e| (e.outflow - e.inflow).litres_per_day());
    let a_day = evaporates + leaves + exchanged;
    let left = (reservoir.capacity - regime.top_off.gap).litres().max(0.0);
    let days = left / a_day;
    // Where it is filled often enough, something else has emptied it.
    let seldom = reservoir.refill.longest_gap().is_none_or(|gap| gap > days - A_LITTLE_D);
    (a_day > 0.0 && seldom).then_some(RefillNeed { a_day, days })
}

/// Share of the volume at the start that a tank whose evaporation is made up still has at the end.
const LEVEL_HELD: f64 = 0.97;
