//! From a document to a plan.

use jiff::civil::Date;

use super::document::Document;
use super::reader::{KeyInfo, Reader, Section};
use super::sections::{DeclaredFault, DeclaredPeriod};
use super::{Problems, sections};
use crate::faults::put;
use crate::model::{Period, Plan};
use crate::results::{Assumed, Meanwhile};
use crate::solutes::{Form, View};
use crate::study::Uncertainty;
use crate::units::UnitSystem;

/// A scenario, read and resolved.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Its name: the file's stem.
    pub name: String,
    /// One line on what it is.
    pub title: String,
    /// The question that it answers.
    pub question: String,
    /// The units that screens and reports show.
    pub units: UnitSystem,
    /// The first day; time 0 is its midnight.
    pub start: Date,
    /// What a run needs.
    pub plan: Plan,
    /// What is uncertain.
    pub uncertainty: Uncertainty,
    /// Named variants, each as `KEY=VALUE` overrides.
    pub variants: Vec<(String, Vec<String>)>,
    /// Faults of the run.
    pub faults: Vec<Meanwhile>,
    /// Keys that were left to their defaults.
    pub defaults: Vec<Assumed>,
    /// The form in which each solute is written: in its band, or else at its start.
    pub forms: Vec<Option<Form>>,
}

impl Scenario {
    /// How texts and pictures show this scenario's numbers.
    #[must_use]
    pub fn view(&self) -> View {
        let forms = self.plan.species.iter().zip(&self.forms);
        View::new(self.units, forms.filter_map(|(s, form)| form.map(|form| (&s.solute, form))))
    }
}

/// Reads a document strictly; all mistakes at once.
pub fn read(document: &Document) -> Result<Scenario, Problems> {
    let reader = Reader::new(document, false);
    let mut declared = Declared::default();
    let mut scenario = {
        let root = reader.root();
        let scenario = read_root(&root, &mut declared);
        root.finish();
        scenario
    };
    if let Some(scenario) = &mut scenario
        && reader.problems.borrow().is_empty()
    {
        in_time(document, &reader, scenario, declared)?;
    }
    match scenario {
        Some(mut scenario) if reader.problems.borrow().is_empty() => {
            scenario.defaults = reader.defaults.map(std::cell::RefCell::into_inner).unwrap_or_default();
            Ok(scenario)
        }
        _ => Err(reader.into_problems()),
    }
}

/// Every key that a scenario may have, in the order in which they are read.
pub(super) fn describe() -> Vec<KeyInfo> {
    let empty = Document { sources: Vec::new(), root: super::document::Table::default() };
    let reader = Reader::new(&empty, true);
    // Only what is declared on the way is wanted.
    let _ = read_root(&reader.root(), &mut Declared::default());
    reader.into_keys()
}

/// What the file says of times in which something is otherwise.
#[derive(Default)]
struct Declared {
    periods: Vec<DeclaredPeriod>,
    faults: Vec<DeclaredFault>,
}

fn read_root(root: &Section<'_>, declared: &mut Declared) -> Option<Scenario> {
    let header = sections::header(root);
    *declared =
        Declared { periods: sections::periods(root, header.start), faults: sections::faults(root, header.start) };
    let (mut tank, co2) = sections::tank(&root.section("tank")).unzip();
    let (mut species, mut forms) = sections::solutes(root, tank.as_ref());
    let litres = tank.as_ref().map_or(1.0, |t| t.operating.litres());
    let laid_down_kg_per_d = sections::calcification(&root.section("calcification"), litres, &mut species);
    if let Some(tank) = &mut tank {
        sections::ph_of_air(root, tank, co2.flatten(), &species);
    }
    let products = sections::products(root);
    let mix = sections::mix(&root.section("mix"), &header, &species);
    let context = sections::Context {
        header: &header,
        tank: tank.as_ref(),
        species: &species,
        mix: &mix,
        products: &products,
        laid_down_kg_per_d,
    };
    let waters = sections::waters(root, &context);
    let bands = sections::bands(&root.section("bands"), &context, &mut forms);
    let regime = sections::regime(root, &context, &waters);
    let costs = sections::costs(&root.section("costs"));
    let uncertainty = sections::uncertainty(&root.section("uncertainty"));
    let variants = sections::variants(root);
    let plan = Plan {
        basis: header.basis,
        horizon: header.run,
        output_every: header.output,
        tank: tank?,
        waters,
        species,
        regime: regime?,
        periods: Vec::new(),
        bands,
        disturbances: Vec::new(),
        costs,
    };
    match plan.work().refusal() {
        Some(why) => root.complain("run", why, Some("example: run = \"365 d\"".into())),
        // A rule that no key has told of belongs to the file as a whole.
        None if root.reader.problems.borrow().is_empty() => {
            if let Err(why) = plan.rules() {
                root.complain("", why.to_string(), Some("example: brinecast new my-tank".into()));
            }
        }
        None => {}
    }
    Some(Scenario {
        name: document_stem(root.reader.document.sources.first().map_or("", |s| s.name.as_str())),
        title: header.title.clone(),
        question: header.question.clone(),
        units: header.units,
        start: header.start,
        plan,
        uncertainty,
        variants,
        faults: Vec::new(),
        defaults: Vec::new(),
        forms,
    })
}

fn document_stem(name: &str) -> String {
    let stem = std::path::Path::new(name).file_stem().and_then(|s| s.to_str()).unwrap_or("scenario");
    if stem.is_empty() { "scenario".into() } else { stem.into() }
}

/// Puts the periods and the faults into a scenario that is right without them.
fn in_time(
    document: &Document,
    reader: &Reader<'_>,
    scenario: &mut Scenario,
    declared: Declared,
) -> Result<(), Problems> {
    for period in declared.periods {
        let complain = |message: String, help: &str| reader.complain(&period.place, message, Some(help.into()));
        let mut other = document.clone();
        for table in ["periods", "faults"] {
            other.root.entries.retain(|e| e.key != table);
        }
        let mut all_put = true;
        for (path, place, value) in &period.sets {
            if other.root.put(path, place, value.clone()).is_err() {
                let message = format!("`{}` is a value, and stands here as a table", path.join("."));
                reader.complain(place, message, Some("see the key of the scenario itself".into()));
                all_put = false;
            }
        }
        if !all_put {
            continue;
        }
        let mut plan = read(&other)?.plan;
        // Loads are part of the regime.
        for (own, usual) in plan.species.iter_mut().zip(&scenario.plan.species) {
            own.load_per_day = usual.load_per_day;
        }
        let usual = &scenario.plan;
        let same = plan.tank == usual.tank
            && plan.waters == usual.waters
            && plan.species == usual.species
            && plan.bands == usual.bands
            && plan.basis == usual.basis
            && plan.horizon == usual.horizon
            && plan.output_every == usual.output_every
            && plan.costs == usual.costs;
        if !same {
            complain(
                format!("the period `{}` changes more than what is done", period.name),
                &format!(
                    "allowed below it: {}, of a solute its load alone; for another water name one under [waters]",
                    sections::OF_A_PERIOD.join(", ")
                ),
            );
            continue;
        }
        let new = Period {
            name: period.name.clone(),
            regime: plan.regime,
            begin: period.begin,
            end: period.end,
            yearly: period.yearly,
        };
        if let Some(met) = scenario.plan.periods.iter().find(|p| p.meets(&new)) {
            complain(
                format!("the periods `{}` and `{}` are on at the same time", met.name, new.name),
                "let one end where the other begins",
            );
            continue;
        }
        scenario.plan.periods.push(new);
    }
    for fault in declared.faults {
        let plan = &mut scenario.plan;
        if let Some(why) = fault.fault.cannot(plan) {
            let message = format!("`{}` cannot happen on this tank: {why}", fault.fault.key());
            reader.complain(&fault.place, message, Some("leave it out".into()));
            continue;
        }
        put(&fault.fault, plan, fault.begin, fault.end);
        scenario.faults.push(Meanwhile {
            kind: "fault",
            what: fault.fault.title().into(),
            from_d: fault.begin,
            to_d: fault.end.is_finite().then_some(fault.end),
        });
    }
    Ok(())
}
