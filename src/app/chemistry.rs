//! What a keeper should know of the chemistry of a run: salt that doses bring, alkalinity that goes with nitrogen,
//! calcification without anything left, water so full of carbonate that it falls out.

use crate::chemicals::{ALL, chemical};
use crate::engine::{Outcome, run};
use crate::model::{BEFORE_SOLUTES, Component, Id, Plan, SoluteId, Timing, Variable};
use crate::results::{Cause, Warning};
use crate::seawater::carbonate;
use crate::solutes::{Role, View};
use crate::units::{PracticalSalinity, significant, trimmed};

/// Grams of sodium chloride that stay for each equivalent of alkalinity met by two-part dosing: stoichiometry.
const SALT_G_PER_EQ: f64 = 58.44;

/// Salt of doses \[psu a month\] that is worth a word.
const WORTH_A_WORD_PSU: f64 = 0.05;

/// Alkalinity that nitrogen takes \[meq/L a day\] that is worth a word: about 0.02 dKH.
const WORTH_A_WORD_MEQ: f64 = 0.007;

/// Saturation of aragonite above which carbonate falls out on heaters, pumps and sand (common practice, no source).
const ARAGONITE: f64 = 7.0;

/// CO2 of the air of a room in which it is judged \[µatm\] (common practice, no source).
const ROOM_UATM: f64 = 600.0;

const DAYS_A_MONTH: f64 = 365.25 / 12.0;

/// What is worth a word.
pub(super) fn chemistry(plan: &Plan, outcome: &Outcome, view: &View) -> Vec<Warning> {
    let mut list = without_salt(plan, view);
    list.extend(dosed_salt(plan, outcome));
    list.extend(by_nitrogen(plan, outcome, view));
    list.extend(carbonate_gone(plan, outcome));
    list.extend(falls_out(plan, outcome));
    list.extend(toxic(plan, outcome, view));
    list.extend(diluted(plan, view));
    list
}

/// Doses of a solute that do not say as what they are given, and so bring no salt.
fn without_salt(plan: &Plan, view: &View) -> Vec<Warning> {
    let at_times = plan.regime.doses.iter().map(|d| (&d.name, &d.brings, d.schedule.period()));
    let steady = plan.regime.dosing.iter().map(|d| (&d.name, &d.per_day, Some(1.0)));
    let given_as = |i: SoluteId| ALL.iter().find(|c| c.brings(1.0).of(&plan.species[i].solute.key) > 0.0);
    at_times
        .chain(steady)
        .filter_map(|(name, brings, period)| {
            let [(Component::Solute(i), amount)] = brings.as_slice() else { return None };
            let (chemical, solute) = (given_as(*i)?, &plan.species[*i].solute);
            let mut text = format!(
                "the dose `{name}` brings {} and no salt, because it does not say as which chemical it is given",
                solute.key
            );
            if solute.key == "alkalinity"
                && let Some(period) = period
            {
                let grams = 1e-3 * amount / period * DAYS_A_MONTH * SALT_G_PER_EQ;
                let psu = grams / plan.tank.operating.litres();
                text += &format!(
                    "; in balance with calcium, two-part dosing of that would leave {} of sodium chloride a month, {} psu if none left",
                    view.say("", 1e-3 * grams, "kg", 2),
                    trimmed(psu, 2)
                );
            }
            let remedy = format!("write as = \"{}\", or dose a product under [products]", chemical.formula);
            Some(Warning::new("dose-without-its-salt", text, remedy))
        })
        .collect()
}

/// Salt that came with doses and stayed: how much of the salinity it is, and what the meters make of it.
fn dosed_salt(plan: &Plan, outcome: &Outcome) -> Option<Warning> {
    let salt = Component::Salt.place();
    let in_top_off = plan.waters[plan.regime.top_off.water].ions_kg_per_l > 0.0;
    let causes = [Cause::Dose, Cause::Calcification, Cause::TopOff];
    let net: f64 = causes[..if in_top_off { 3 } else { 2 }].iter().map(|c| outcome.ledger.amount(*c, salt)).sum();
    let litres = plan.tank.operating.litres();
    let monthly = 1e3 * net / litres / outcome.days.max(1.0) * DAYS_A_MONTH;
    if monthly < WORTH_A_WORD_PSU {
        return None;
    }
    // What is left of it at the end is what the tank lacks where doses and calcification move no salt.
    let mut bare = plan.clone();
    bare.output_every = None;
    let no_salt = |brings: &mut Vec<(Component, f64)>| brings.retain(|(of, _)| *of != Component::Salt);
    for regime in bare.regimes_mut() {
        regime.laid_down_kg_per_d = 0.0;
        regime.doses.iter_mut().for_each(|d| no_salt(&mut d.brings));
        regime.dosing.iter_mut().for_each(|d| no_salt(&mut d.per_day));
    }
    bare.waters.iter_mut().for_each(|w| w.ions_kg_per_l = 0.0);
    let last = |o: &Outcome| o.trace.salinity_psu.last().copied();
    let gathered = last(outcome)? - last(&run(&bare).ok()?)?;
    Some(Warning::new(
        "salt-of-doses",
        format!(
            "doses leave {} psu of sodium chloride a month. At the end that is {} psu; a conductivity meter shows {} psu for it, a hydrometer about 6 % less",
            trimmed(monthly, 2),
            trimmed(gathered, 2),
            trimmed(gathered * CONDUCTIVITY, 2)
        ),
        "the salinity from brinecast mix-to allows for it; to remove it, change more, or use a salt without sodium chloride",
    ))
}

/// What a conductivity meter shows for 1 psu of sodium chloride in sea water: 1.085 ± 0.03 (two ion models and handbook
/// conductivities; REFERENCE of the project).
const CONDUCTIVITY: f64 = 1.085;

/// Alkalinity that nitrogen takes or gives, and the dose that makes it good.
fn by_nitrogen(plan: &Plan, outcome: &Outcome, view: &View) -> Option<Warning> {
    let i = plan.solute("alkalinity")?;
    let j = BEFORE_SOLUTES + i.place();
    let of = |cause| outcome.ledger.amount(cause, j) / outcome.days.max(1e-9) / plan.tank.operating.litres();
    let [released, nitrified, taken] = [Cause::NitrogenReleased, Cause::Nitrification, Cause::NitrogenTaken].map(of);
    let net = released + nitrified + taken;
    if net > -WORTH_A_WORD_MEQ {
        return None;
    }
    let say = |meq: f64| view.say("alkalinity", meq, "meq/L", 3);
    let soda = chemical("NaHCO3").map_or(f64::INFINITY, |c| 1e-3 * -net * plan.tank.operating.litres() * c.molar_mass);
    let shares = plan.regime.changes.iter().filter_map(|c| {
        let Timing::Scheduled(schedule) = &c.timing else { return None };
        Some(c.amount.of(plan.tank.operating).litres() / plan.tank.operating.litres() / schedule.period()?)
    });
    let share_per_d: f64 = shares.sum();
    let by_changes = if share_per_d > 0.0 {
        format!("; with changes alone the tank comes to {} below the new water", say(-net / share_per_d))
    } else {
        String::new()
    };
    Some(Warning::new(
        "alkalinity-by-nitrogen",
        format!(
            "nitrification uses {} of alkalinity a day; uptake of nitrogen gives {} back{by_changes}",
            say(-released - nitrified),
            say(taken)
        ),
        format!("dose {} g of NaHCO3 a day, or as much by another way, or change more water", significant(soda, 3)),
    ))
}

/// Calcification that has run out of alkalinity.
fn carbonate_gone(plan: &Plan, outcome: &Outcome) -> Option<Warning> {
    let i = plan.solute("alkalinity")?;
    let statistic = outcome.statistics.variable(Variable::Solute(i))?;
    (statistic.lowest.0 <= 0.0).then(|| {
        Warning::new(
            "alkalinity-gone",
            format!(
                "alkalinity is used up on day {}. Stony animals and nitrification stop before that; lower numbers show a demand that is not met",
                trimmed(statistic.lowest.1, 1)
            ),
            "dose alkalinity, or change more water",
        )
    })
}

/// Medicines that changes dilute, and what of each must be dosed with a change.
fn diluted(plan: &Plan, view: &View) -> Vec<Warning> {
    let medicines = plan.species.each().filter(|(_, s)| s.solute.role == Role::Medicine);
    let pairs = medicines.flat_map(|m| plan.regime.changes.iter().map(move |c| (m, c)));
    pairs
        .filter_map(|((i, species), change)| {
            let litres = change.amount.of(plan.tank.operating).litres();
            let new = plan.waters[change.water].concentration(plan.basis, i).ok()?;
            let less = (species.initial - new) * litres;
            (less > 0.0).then(|| {
                Warning::new(
                    "medicine-diluted",
                    format!(
                        "each change removes {} % of the {}: {} {} bring it back to {}",
                        trimmed(100.0 * litres / plan.tank.operating.litres(), 1),
                        species.solute.key.replace('_', " "),
                        significant(less, 3),
                        species.solute.base.amount(),
                        view.say(&species.solute.key, species.initial, species.solute.unit(), 3)
                    ),
                    "dose it into the new water, and test; no carbon while the treatment lasts, as the maker's sheet says",
                )
            })
        })
        .collect()
}

/// Un-ionised ammonia that is worth a word \[mg/L of nitrogen\] (common practice, no source).
const TOXIC_MG: f64 = 0.02;

/// How much of the ammonia is toxic at its highest.
fn toxic(plan: &Plan, outcome: &Outcome, view: &View) -> Option<Warning> {
    let (i, ph) = (plan.solute("ammonia")?, plan.tank.ph?);
    let (highest, day) = outcome.statistics.variable(Variable::Solute(i))?.highest;
    let share = ph.toxic_share(plan.tank.salinity, plan.tank.temperature).ok()?;
    let solute = &plan.species[i].solute;
    (highest * share > TOXIC_MG).then(|| {
        Warning::new(
            "toxic-ammonia",
            format!(
                "on day {}, {} of total ammonia are {} % un-ionised at pH {} ({}): {}",
                trimmed(day, 1),
                view.say(&solute.key, highest, solute.unit(), 3),
                trimmed(100.0 * share, 1),
                trimmed(ph.highest, 2),
                ph.scale.words(),
                view.say(&solute.key, highest * share, solute.unit(), 2)
            ),
            "no animals in it until both ammonia and nitrite read nothing; feed less, change water of the same pH or lower",
        )
    })
}

/// Water from which aragonite falls out, by the highest alkalinity and calcium of the run.
fn falls_out(plan: &Plan, outcome: &Outcome) -> Option<Warning> {
    let [alkalinity, calcium] = ["alkalinity", "calcium"].map(|key| plan.solute(key));
    let highest = |i: SoluteId| outcome.statistics.variable(Variable::Solute(i)).map(|s| s.highest);
    let (meq, day) = highest(alkalinity?)?;
    let mg = calcium.and_then(highest).map(|h| h.0);
    let salinity = PracticalSalinity::from_psu(outcome.trace.salinity_psu.last().copied()?);
    let state = |meq: f64| carbonate(meq, ROOM_UATM, mg, salinity, plan.tank.temperature).ok().map(|c| c.aragonite);
    let at_peak = state(meq)?;
    if at_peak <= ARAGONITE {
        return None;
    }
    let most = crate::numerics::find_root(|m| state(m).map_or(f64::NAN, |s| s - ARAGONITE), 0.5, meq, 1e-4).ok()?;
    let dose = plan.regime.doses.iter().find(|d| {
        d.brings.iter().any(|(of, amount)| {
            alkalinity.map(Component::Solute) == Some(*of) && amount / plan.tank.operating.litres() > 0.1
        })
    });
    let by = dose.map_or(String::new(), |d| format!(", with the dose `{}`", d.name));
    Some(Warning::new(
        "aragonite",
        format!(
            "on day {}, aragonite is {} times saturated{by}. Above about {} it precipitates on heaters, pumps and sand (common practice) and removes alkalinity, which is not counted here",
            trimmed(day, 1),
            trimmed(at_peak, 1),
            trimmed(ARAGONITE, 0)
        ),
        format!(
            "keep alkalinity below {} meq/L ({} dKH): smaller doses, more often",
            trimmed(most, 2),
            trimmed(most / 0.35664992, 1)
        ),
    ))
}
