//! What a scenario says of times: periods, series and faults, put into a plan that is right without them.

use super::document::{Document, Node, Place, Value};
use super::reader::Reader;
use super::sections::{DeclaredFault, DeclaredPeriod, DeclaredSeries};
use super::{Problems, sections};
use crate::faults::put;
use crate::model::{Period, Plan, Regime};
use crate::results::Meanwhile;

/// Most stretches that the series of a scenario may cut its run into.
const MOST_STRETCHES: usize = 2000;

/// What the file says of times in which something is otherwise.
#[derive(Default)]
pub(super) struct Declared {
    pub(super) periods: Vec<DeclaredPeriod>,
    pub(super) series: Vec<DeclaredSeries>,
    pub(super) faults: Vec<DeclaredFault>,
}

/// Reads the plan of a document that knows no times any more, as a scenario is read.
type Read<'a> = &'a dyn Fn(&Document) -> Result<Plan, Problems>;

/// Values of keys that are put over those of the file.
type Sets = Vec<(Vec<String>, Place, Node)>;

struct Maker<'a> {
    /// The document without its times.
    document: Document,
    reader: &'a Reader<'a>,
    read: Read<'a>,
}

/// Puts periods, series and faults into a plan that is right without them; gives the faults to tell of.
pub(super) fn in_time(
    document: &Document,
    reader: &Reader<'_>,
    plan: &mut Plan,
    declared: &Declared,
    read: Read<'_>,
) -> Result<Vec<Meanwhile>, Problems> {
    let mut bare = document.clone();
    bare.root.entries.retain(|e| !["periods", "series", "faults"].contains(&e.key.as_str()));
    let maker = Maker { document: bare, reader, read };
    for (k, series) in declared.series.iter().enumerate() {
        let key = series.key.join(".");
        let twice = declared.series[..k].iter().any(|other| other.key == series.key);
        // What was set on the command line would be lost below the series.
        if twice || document.is_overridden(&series.key) {
            let message = if twice {
                format!("two series set `{key}`")
            } else {
                format!("`{key}` is set by --set, and by a series")
            };
            reader.complain(&series.place, message, Some("leave one out; example: --set series.NAME=none".into()));
            return Ok(Vec::new());
        }
    }
    // What a series comes to stays: it is the usual from then on.
    let last = values(&declared.series, f64::INFINITY);
    if !declared.series.is_empty() {
        let Some(regime) = maker.regime(&last, plan, "a series", None)? else { return Ok(Vec::new()) };
        plan.regime = regime;
    }
    for period in &declared.periods {
        let sets = [last.clone(), period.sets.clone()].concat();
        let what = format!("the period `{}`", period.name);
        let Some(regime) = maker.regime(&sets, plan, &what, Some(&period.place))? else { continue };
        let DeclaredPeriod { begin, end, yearly, .. } = *period;
        let new = Period { name: period.name.clone(), of_series: false, regime, begin, end, yearly };
        if let Some(met) = plan.periods.iter().find(|p| p.meets(&new)) {
            reader.complain(
                &period.place,
                format!("the periods `{}` and `{}` are on at the same time", met.name, new.name),
                Some("let one end where the other begins".into()),
            );
            continue;
        }
        plan.periods.push(new);
    }
    maker.stretches(plan, declared)?;
    let mut faults = Vec::new();
    for fault in &declared.faults {
        if let Some(why) = fault.fault.cannot(plan) {
            let message = format!("`{}` cannot happen on this tank: {why}", fault.fault.key());
            reader.complain(&fault.place, message, Some("leave it out".into()));
            continue;
        }
        put(&fault.fault, plan, fault.begin, fault.end);
        faults.push(Meanwhile {
            kind: "fault",
            what: fault.fault.title().into(),
            from_d: fault.begin,
            to_d: fault.end.is_finite().then_some(fault.end),
        });
    }
    Ok(faults)
}

/// What the series set on the stretch that begins at a time.
fn values(series: &[DeclaredSeries], from: f64) -> Sets {
    let of = |s: &DeclaredSeries| {
        let value = s.value(from)?;
        Some((s.key.clone(), s.place.clone(), Node { place: s.place.clone(), value: Value::Text(value) }))
    };
    series.iter().filter_map(of).collect()
}

impl Maker<'_> {
    /// The regime with some keys set; nothing, and a complaint, where they say more than what is done.
    fn regime(&self, sets: &Sets, usual: &Plan, what: &str, place: Option<&Place>) -> Result<Option<Regime>, Problems> {
        let mut other = self.document.clone();
        for (path, place, value) in sets {
            if path.first().is_none_or(|table| !sections::OF_A_PERIOD.contains(&table.as_str())) {
                let message = format!("`{}` is nothing that is done, and does not change with time", path.join("."));
                self.reader.complain(place, message, Some(format!("allowed: {}", sections::OF_A_PERIOD.join(", "))));
                return Ok(None);
            }
            if other.root.put(path, place, value.clone()).is_err() {
                let message = format!("`{}` is a value, and stands here as a table", path.join("."));
                self.reader.complain(place, message, Some("see the key of the scenario itself".into()));
                return Ok(None);
            }
        }
        let mut plan = (self.read)(&other)?;
        // Loads are part of the regime.
        for (own, usual) in plan.species.iter_mut().zip(&usual.species) {
            own.load_per_day = usual.load_per_day;
        }
        let same = plan.tank == usual.tank
            && plan.waters == usual.waters
            && plan.species == usual.species
            && plan.bands == usual.bands
            && plan.basis == usual.basis
            && plan.horizon == usual.horizon
            && plan.output_every == usual.output_every
            && plan.costs == usual.costs;
        if !same {
            let help = format!(
                "allowed below it: {}, of a solute its load alone; for another water name one under [waters]",
                sections::OF_A_PERIOD.join(", ")
            );
            let place = place.or(sets.first().map(|s| &s.1));
            if let Some(place) = place {
                self.reader.complain(place, format!("{what} changes more than what is done"), Some(help));
            }
            return Ok(None);
        }
        Ok(Some(plan.regime))
    }

    /// Cuts the run at every value of a series, up to the last: each stretch is a period without a name, with what the
    /// series and the period that is on say together; a period has the last word.
    fn stretches(&self, plan: &mut Plan, declared: &Declared) -> Result<(), Problems> {
        let end = declared.series.iter().map(DeclaredSeries::last_d).fold(0.0, f64::max);
        if declared.series.is_empty() || end <= 0.0 {
            return Ok(());
        }
        let mut edges = vec![0.0, end];
        edges.extend(declared.series.iter().flat_map(DeclaredSeries::edges));
        for period in &plan.periods {
            edges.extend(period.rounds(end).into_iter().flat_map(|(begin, end)| [begin, end]));
        }
        edges.retain(|t| (0.0..=end).contains(t));
        edges.sort_by(f64::total_cmp);
        edges.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        if edges.len() > MOST_STRETCHES {
            let place = &declared.series[0].place;
            let message = format!("the series cut the run into {} stretches", edges.len() - 1);
            self.reader.complain(
                place,
                message,
                Some(format!("at most {MOST_STRETCHES}: take fewer points, or steps")),
            );
            return Ok(());
        }
        // The declared periods stand in the plan in their order, those without a mistake.
        let on = |time: f64| plan.periods.iter().find(|p| p.is_on(time + 1e-9)).map(|p| p.name.clone());
        let mut made: Vec<Period> = Vec::new();
        let mut known: Vec<(Vec<String>, Regime)> = Vec::new();
        for pair in edges.windows(2) {
            let (begin, end) = (pair[0], pair[1]);
            let period = on(begin);
            let mut sets = values(&declared.series, begin);
            let declared = declared.periods.iter().find(|p| Some(&p.name) == period.as_ref());
            sets.extend(declared.iter().flat_map(|p| p.sets.clone()));
            let key: Vec<String> =
                sets.iter().map(|(path, _, node)| format!("{}={:?}", path.join("."), node.value)).collect();
            let regime = if let Some((_, regime)) = known.iter().find(|(k, _)| *k == key) {
                regime.clone()
            } else {
                let Some(regime) = self.regime(&sets, plan, "a series", None)? else { return Ok(()) };
                known.push((key, regime.clone()));
                regime
            };
            made.push(Period { name: period.unwrap_or_default(), of_series: true, regime, begin, end, yearly: false });
        }
        plan.periods.extend(made);
        Ok(())
    }
}
