//! `plan`: a calendar of everything to do from a day on, with a shopping list and the batch card.

mod answer;
mod doses;
mod request;
mod words;

pub use answer::PlanResult;
pub use request::PlanRequest;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::app::moment::{said, written, written_date};
use crate::app::run::TOLD;
use crate::app::water::WATER;
use crate::export;
use crate::model::{Change, Regime, Schedule, Stretch, Timing, WaterId};
use crate::results::{Caution, ShoppingLine, Warning, WorkItem, WorkPlan, capitalised};
use crate::sizing::{SaltMix, Step};
use crate::units::{InUnits, Mass, Volume};

use crate::app::{
    AppError, BatchAnswer, BatchRequest, Loaded, TaskAnswer, TopOffOfCard, batch, batch_card, days_after, summarise,
};

/// Longest plan \[d\].
const LONGEST_D: f64 = 731.0;

/// Most items of a plan.
const MOST_ITEMS: usize = 5000;

/// How often a meter is calibrated, and filters and resin looked at \[d\] (common practice, no source).
const CALIBRATE_D: f64 = 30.0;

/// How long that takes \[h\].
const CALIBRATION_H: f64 = 0.5;

/// The hour for what has none: nine in the morning.
const MORNING: f64 = 9.0 / 24.0;

/// See above.
const FILTERS_D: f64 = 182.0;

/// Hours at which work is begun, from and to, as shares of a day: six in the morning to ten in the evening.
const DAY: (f64, f64) = (6.0 / 24.0, 22.0 / 24.0);

/// The hour to which work of the night is moved: nine in the evening.
const EVENING: f64 = 21.0 / 24.0;

/// Cards: file name and page.
type Cards = Vec<(String, String)>;

struct Maker<'a> {
    loaded: &'a Loaded,
    request: &'a PlanRequest,
    /// Days from the scenario's start to the first day.
    begin: f64,
    zone: Option<TimeZone>,
    items: Vec<(f64, WorkItem)>,
}

/// Makes the plan.
pub fn plan(loaded: &Loaded, request: &PlanRequest) -> Result<PlanResult, AppError> {
    let scenario = &loaded.scenario;
    if !(request.days >= 1.0 && request.days <= LONGEST_D) {
        return Err(AppError::Usage(format!("--span: allowed are 1 to {LONGEST_D} d")));
    }
    let zone = match &request.zone {
        None => None,
        Some(name) => Some(TimeZone::get(name).map_err(|_| {
            AppError::Usage(format!(
                "--zone: `{name}` is no time zone\n  = help: a name of the IANA database, as in Europe/Berlin or America/Denver"
            ))
        })?),
    };
    let from = request.from.unwrap_or(scenario.start);
    let begin = f64::from(scenario.start.until(from).map_err(|e| AppError::Usage(e.to_string()))?.get_days());
    if begin < 0.0 {
        return Err(AppError::Usage(format!(
            "--from {from} lies before the start of the scenario, {}",
            scenario.start
        )));
    }
    let mut maker = Maker { loaded, request, begin, zone, items: Vec::new() };
    let (cards, mut warnings) = maker.changes()?;
    maker.rounds()?;
    let Maker { mut items, .. } = maker;
    items.sort_by(|a, b| a.0.total_cmp(&b.0));
    if items.len() > MOST_ITEMS {
        return Err(AppError::Usage(format!("{} items are too many: take fewer days", items.len())));
    }
    if scenario.plan.regimes().flat_map(|r| &r.changes).any(|c| matches!(c.timing, Timing::Triggered(_))) {
        warnings.push(Warning::new(
            "waits-for-a-reading",
            "a change that waits for a reading is not in the calendar",
            "read as planned, and change when the level is passed",
        ));
    }
    warnings.extend(leaves_bands(loaded)?);
    let mut cautions = vec![Caution::Planning, Caution::Electricity, Caution::Dust];
    cautions.extend(request.heater.map(|_| Caution::Heater));
    cautions.extend([Caution::Weight, Caution::Sewer]);
    let plan = WorkPlan {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: scenario.name.clone(),
        basis: scenario.plan.basis.key().into(),
        from: from.to_string(),
        days: request.days,
        zone: request.zone.clone().unwrap_or("local".into()),
        items: items.into_iter().map(|(_, item)| item).collect(),
        by_pump: doses::by_pump(loaded, &scenario.plan.regime),
        shopping: shopping(loaded, begin, request.days, from),
        warnings,
        cautions: cautions.into_iter().map(|c| c.text().to_owned()).collect(),
    };
    Ok(PlanResult { plan, cards })
}

/// What a plan of work cannot make good: the regime itself takes the tank out of a band. The run says how, and what to
/// mix to or dose instead.
fn leaves_bands(loaded: &Loaded) -> Result<Vec<Warning>, AppError> {
    let outcome = crate::engine::run(&loaded.scenario.plan)?;
    let summary = summarise(loaded, &outcome);
    let told = |w: &Warning| TOLD.contains(&w.code.as_str()) || WATER.contains(&w.code.as_str());
    Ok(summary.warnings.into_iter().filter(told).collect())
}

/// What has an interval but no hour falls on midnight; nobody works then.
fn waking(at: f64) -> f64 {
    if (at - at.round()).abs() < 1e-9 { at.round() + MORNING } else { at }
}

/// When each step before a time of use begins, of mixes that are made one after the other, the first mix first: as long
/// before it as it needs, and where that falls into the night, on the evening before, with all that comes before it.
/// Waiting times grow by that and never shrink.
fn by_day(at: f64, steps: &[(u32, &TaskAnswer)], lead_h: f64, mixes: u32) -> Vec<f64> {
    let mut earlier = 0.0;
    let mut begins: Vec<f64> = Vec::new();
    for (k, (mix, task)) in steps.iter().enumerate().rev() {
        let before_h = task.before_h + f64::from(mixes - mix) * lead_h;
        let mut begin = at - before_h / 24.0 - earlier;
        let by_itself = task.step.begins_by_itself() && k > 0;
        let hour = begin.rem_euclid(1.0);
        if !by_itself && !(DAY.0..=DAY.1).contains(&hour) {
            let evening = begin.floor() + EVENING - if hour < DAY.0 { 1.0 } else { 0.0 };
            earlier += begin - evening;
            begin = evening;
        }
        begins.push(begin);
    }
    begins.reverse();
    for k in 1..steps.len() {
        if steps[k].1.step.begins_by_itself() {
            begins[k] = begins[k - 1] + steps[k - 1].1.hours / 24.0;
        }
    }
    begins
}

impl Maker<'_> {
    fn times(&self, schedule: &Schedule) -> Vec<f64> {
        let last = self.begin + self.request.days;
        schedule.between(self.begin - 1e-6, last - 1e-6)
    }

    /// Adds an item at a time in days from the scenario's start.
    fn add(&mut self, at: f64, hours: f64, kind: &str, what: &str, detail: String) -> Result<(), AppError> {
        let fail = |e: jiff::Error| AppError::Usage(e.to_string());
        let start = self.loaded.scenario.start.to_datetime(jiff::civil::Time::midnight());
        let at = waking(at);
        let local = days_after(start, at)?;
        let begins_utc = match &self.zone {
            None => None,
            Some(zone) => {
                let utc = zone.to_zoned_datetime(local).map_err(fail)?.with_time_zone(TimeZone::UTC);
                Some(utc.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
            }
        };
        let begins = local.strftime("%Y-%m-%dT%H:%M:%S").to_string();
        let name = self.loaded.scenario.name.replace(|c: char| !c.is_ascii_alphanumeric(), "-");
        #[expect(clippy::cast_possible_truncation, reason = "minutes of a task")]
        let item = WorkItem {
            uid: format!("{name}-{kind}-{}@brinecast", local.strftime("%Y%m%dT%H%M%S")),
            begins,
            begins_utc,
            minutes: (hours * 60.0).round().max(5.0) as i64,
            kind: kind.into(),
            what: what.into(),
            detail,
            water_l: None,
            salt_mix_kg: None,
            salinity_psu: None,
            reminder_min: (self.request.reminder.days() * 1440.0).round() as i64,
        };
        self.items.push((at, item));
        Ok(())
    }

    /// The amounts of what was added last, as numbers for programs.
    fn amounts(&mut self, water_l: Option<f64>, salt_mix_kg: Option<f64>, salinity_psu: Option<f64>) {
        if let Some((_, item)) = self.items.last_mut() {
            (item.water_l, item.salt_mix_kg, item.salinity_psu) = (water_l, salt_mix_kg, salinity_psu);
        }
    }

    /// Changes with the work before each of them; gives a card for each kind of change.
    fn changes(&mut self) -> Result<(Cards, Vec<Warning>), AppError> {
        let (mut cards, mut warnings) = (Vec::new(), Vec::new());
        let loaded = self.loaded;
        let (plan, units) = (&loaded.scenario.plan, loaded.scenario.units);
        // A batch is worked out once for each change of each regime that is met.
        let mut batches: Vec<(Option<usize>, usize, BatchAnswer)> = Vec::new();
        for stretch in plan.stretches(self.begin, self.begin + self.request.days) {
            for (k, change) in stretch.regime.changes.iter().enumerate() {
                let Timing::Scheduled(schedule) = &change.timing else { continue };
                let known =
                    |(period, of, _): &(Option<usize>, usize, BatchAnswer)| (*period, *of) == (stretch.period, k);
                if !batches.iter().any(known) {
                    let answer = self.batch(change, k)?;
                    let top_off = TopOffOfCard::of(&stretch.regime.top_off);
                    let period = stretch.period.map(|p| plan.periods[p].name.as_str()).filter(|name| !name.is_empty());
                    let card = export::card_html(&batch_card(&answer, units, top_off, Some(loaded.scenario.called())));
                    // The same batch in another period has the same card.
                    if !cards.iter().any(|(_, known)| *known == card) {
                        let mut name = card_name(period, k);
                        if cards.iter().any(|(known, _)| *known == name) {
                            let since = written_date(loaded.scenario.start, stretch.from);
                            name = name.replace(".html", &format!("_{since}.html"));
                        }
                        cards.push((name, card));
                    }
                    batches.push((stretch.period, k, answer));
                }
                let Some((.., batch)) = batches.iter().find(|b| known(b)) else { continue };
                for at in stretch.times(schedule).into_iter().map(waking) {
                    let mixed = self.mixing(at, batch, &mut warnings)?;
                    self.change(at, change, stretch.regime, mixed)?;
                }
            }
        }
        Ok((cards, warnings))
    }

    /// The batch of a change, by its place.
    fn batch(&self, change: &Change, place: usize) -> Result<BatchAnswer, AppError> {
        let request = BatchRequest {
            purifier: self.request.purifier,
            heater: self.request.heater.map(|power| (power, self.request.room)),
            room: self.request.room,
            ..BatchRequest::of_change(&self.loaded.scenario.plan, change)
        };
        let wrong = |e: AppError| AppError::Usage(format!("the batch of change {} cannot be planned: {e}", place + 1));
        batch(&request).map_err(wrong)
    }

    /// The work on the batch of a change; `false` where it would begin before the first day, and is left out whole.
    fn mixing(&mut self, at: f64, answer: &BatchAnswer, warnings: &mut Vec<Warning>) -> Result<bool, AppError> {
        let units = self.loaded.scenario.units;
        let lead_h = answer.timetable.first().map_or(0.0, |task| task.before_h);
        let steps: Vec<(u32, &TaskAnswer)> =
            (1..=answer.mixes).flat_map(|mix| answer.timetable.iter().map(move |task| (mix, task))).collect();
        let begins = by_day(at, &steps, lead_h, answer.mixes);
        if let Some(first) = begins.first().filter(|first| **first < self.begin) {
            if !warnings.iter().any(|w| w.code == "begins-earlier") {
                let late = |t: f64| said(&written(self.loaded.scenario.start, t));
                warnings.push(Warning::new(
                    "begins-earlier",
                    format!(
                        "the batch for the change of {} starts on {}, before this calendar begins, so it is left out",
                        late(at),
                        late(*first)
                    ),
                    "have that water ready, or start the calendar earlier with --from",
                ));
            }
            return Ok(false);
        }
        for ((mix, task), begin) in steps.iter().zip(&begins) {
            let one = if *mix == 1 { &answer.each } else { answer.later.as_ref().unwrap_or(&answer.each) };
            let first_kg = answer.first_dose_kg * one.salt_mix_kg / answer.each.salt_mix_kg;
            let mut detail = match task.step {
                Step::Water => Volume::from_litres(one.fresh_water_l).show(units),
                Step::Salt => format!(
                    "{} of {} of salt mix",
                    Mass::from_kg(first_kg).show(units),
                    Mass::from_kg(one.salt_mix_kg).show(units)
                ),
                Step::Mix | Step::Correct | Step::Heat | Step::Release => String::new(),
            };
            if answer.mixes > 1 {
                let gap = if detail.is_empty() { "" } else { "; " };
                detail = format!("mix {mix} of {}{gap}{detail}", answer.mixes);
            }
            self.add(*begin, task.hours, task.step.key(), &capitalised(&task.task), detail)?;
            match task.step {
                Step::Water => self.amounts(Some(one.fresh_water_l), None, None),
                Step::Salt => self.amounts(None, Some(first_kg), None),
                Step::Mix | Step::Correct | Step::Heat | Step::Release => {}
            }
        }
        Ok(true)
    }

    /// A change of water itself.
    fn change(&mut self, at: f64, change: &Change, regime: &Regime, mixed: bool) -> Result<(), AppError> {
        let scenario = &self.loaded.scenario;
        let plan = &scenario.plan;
        let (litres, water) = (change.amount.of(plan.tank.operating), &plan.waters[change.water]);
        let mut detail = format!(
            "{} out and in, {} at {}",
            litres.show(scenario.units),
            water.name.replace('_', " "),
            scenario.view().say("salinity", water.salinity.psu(), "psu", 3)
        );
        if regime.top_off.pump().is_some() {
            detail += "; top-off off before, on again after";
        }
        if !mixed {
            detail += "; mixed before this plan begins";
        }
        let minutes = plan.costs.minutes_per_change + plan.costs.minutes_per_l * litres.litres();
        self.add(at, minutes / 60.0, "change", "Change water", detail)?;
        self.amounts(Some(litres.litres()), None, Some(water.salinity.psu()));
        Ok(())
    }

    /// A time of a day, or as long before the first reading of that day as a calibration takes, where that is earlier.
    fn before_the_first_reading(&self, at: f64) -> f64 {
        let same_day = |t: &f64| t.floor() == at.floor();
        let readings = self.items.iter().filter(|(_, item)| item.kind == "read").map(|(t, _)| *t);
        let first = readings.filter(same_day).fold(f64::INFINITY, f64::min);
        at.min(first - CALIBRATION_H / 24.0)
    }

    /// Refills, top-offs, readings and doses while one regime is in force.
    fn rounds_of(&mut self, stretch: &Stretch<'_>) -> Result<(), AppError> {
        let loaded = self.loaded;
        let (plan, units) = (&loaded.scenario.plan, loaded.scenario.units);
        let regime = stretch.regime;
        let period = plan.period_at(stretch.from + 1e-6);
        if stretch.from > self.begin && !period.is_empty() && period != plan.period_at(stretch.from - 1e-6) {
            let name = period.replace('_', " ");
            self.add(
                stretch.from,
                0.25,
                "period",
                &format!("{} begins", capitalised(&name)),
                "other work from now on".into(),
            )?;
        }
        if let Some(reservoir) = &regime.top_off.reservoir {
            for at in stretch.times(&reservoir.refill) {
                let detail = format!("up to {}", reservoir.capacity.show(units));
                self.add(at, 0.25, "refill", "Fill the top-off reservoir", detail)?;
                self.amounts(Some(reservoir.capacity.litres()), None, None);
            }
        }
        if let Some(schedule) = regime.top_off.by_hand() {
            for at in stretch.times(schedule) {
                let litres = Volume::from_litres(regime.evaporation.on_day(at.floor()));
                let detail = format!("to the mark, about {} a day", litres.show(units));
                self.add(at, plan.costs.minutes_per_top_off / 60.0, "top-off", "Top off", detail)?;
                self.amounts(Some(litres.litres()), None, None);
            }
        }
        if let Some(reading) = &regime.reading {
            for at in stretch.times(&reading.schedule) {
                self.add(at, 0.25, "read", "Read the salinity", "and write it down".into())?;
            }
        }
        for dose in regime.doses.iter().filter(|dose| doses::by_hand(dose)) {
            for at in stretch.times(&dose.schedule) {
                let what = format!("Dose {}", dose.name.replace('_', " "));
                self.add(at, 0.25, "dose", &what, doses::amount(loaded, &dose.name))?;
            }
        }
        Ok(())
    }

    /// What comes round by itself.
    fn rounds(&mut self) -> Result<(), AppError> {
        let loaded = self.loaded;
        for stretch in loaded.scenario.plan.stretches(self.begin, self.begin + self.request.days) {
            self.rounds_of(&stretch)?;
        }
        let calibrate = Schedule::every(CALIBRATE_D, self.begin + MORNING);
        for at in self.times(&calibrate) {
            let at = self.before_the_first_reading(at);
            self.add(
                at,
                CALIBRATION_H,
                "calibrate",
                "Calibrate the meter",
                "with a 35 psu standard, near the temperature of use".into(),
            )?;
        }
        let filters = Schedule::every(FILTERS_D, self.begin + 9.5 / 24.0);
        for at in self.times(&filters) {
            let detail = "prefilters, membrane, resin: as their maker says";
            self.add(at, 1.0, "filters", "Look at the purifier's filters and resin", detail.into())?;
        }
        Ok(())
    }
}

/// The file of the card of a change: `card.html`, `card_2.html`, `card_holiday.html`.
fn card_name(period: Option<&str>, change: usize) -> String {
    let period = period.map_or(String::new(), |p| format!("_{}", p.replace(|c: char| !c.is_ascii_alphanumeric(), "-")));
    let change = if change == 0 { String::new() } else { format!("_{}", change + 1) };
    format!("card{period}{change}.html")
}

/// The line of a month, begun where there is none.
fn line(months: &mut Vec<ShoppingLine>, month: String) -> &mut ShoppingLine {
    let at = months.iter().position(|m| m.month == month).unwrap_or_else(|| {
        months.push(ShoppingLine { month, changes: 0, salt_water_l: 0.0, salt_mix_kg: 0.0, purified_l: 0.0 });
        months.len() - 1
    });
    &mut months[at]
}

/// What each month uses, by the calendar and the expected evaporation.
fn shopping(loaded: &Loaded, begin: f64, days: f64, from: Date) -> Vec<ShoppingLine> {
    let plan = &loaded.scenario.plan;
    let mut months: Vec<ShoppingLine> = Vec::new();
    let month_of = |at: f64| {
        #[expect(clippy::cast_possible_truncation, reason = "days of a plan")]
        let day = from.checked_add(jiff::Span::new().days((at - begin).floor() as i64)).unwrap_or(from);
        format!("{:04}-{:02}", day.year(), day.month())
    };
    // A day goes by what is in force at its beginning.
    let mut day = 0.0;
    while day < days {
        let regime = plan.regime_at(begin + day + 1e-6).1;
        let topped = if regime.top_off.restores_level() { regime.evaporation.on_day(begin + day) } else { 0.0 };
        line(&mut months, month_of(begin + day)).purified_l += topped;
        day += 1.0;
    }
    let mut use_water = |at: f64, litres: f64, water: WaterId, changes: usize| {
        let water = &plan.waters[water];
        let content = water.content(plan.basis, water.salinity);
        let (fresh, salt) = content.map_or((litres, 0.0), |c| (litres * c.water_kg(), litres * c.salt_kg()));
        let line = line(&mut months, month_of(at));
        line.changes += changes;
        line.salt_water_l += litres;
        // Water bound in the mix counts as water.
        let mix = salt / (1.0 - SaltMix::default().water_share);
        line.salt_mix_kg += mix;
        line.purified_l += fresh - (mix - salt);
    };
    for stretch in plan.stretches(begin, begin + days) {
        for change in &stretch.regime.changes {
            if let Timing::Scheduled(schedule) = &change.timing {
                for at in stretch.times(schedule) {
                    use_water(at, change.amount.of(plan.tank.operating).litres(), change.water, 1);
                }
            }
        }
        if let Some(exchange) = &stretch.regime.exchange {
            let mut at = stretch.from;
            while at < stretch.until {
                let next = (at + 1.0).floor().min(stretch.until);
                use_water(at, exchange.inflow.litres_per_day() * (next - at), exchange.water, 0);
                at = next;
            }
        }
    }
    months
}
