//! From a document to a plan.

use jiff::civil::Date;

use super::document::Document;
use super::in_time::{Declared, in_time};
use super::reader::{KeyInfo, Reader, Section};
use super::{Problems, sections};
use crate::model::{Plan, Stop};
use crate::results::{Assumed, Meanwhile};
use crate::seawater::Scale;
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
    /// The scale on which they show salinity: that of the keeper's meter.
    pub salinity_scale: Scale,
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
    /// What the tank is called: its title, or its name where it has none.
    #[must_use]
    pub fn called(&self) -> &str {
        if self.title == "untitled" { &self.name } else { &self.title }
    }

    /// How texts and pictures show this scenario's numbers.
    #[must_use]
    pub fn view(&self) -> View {
        let forms = self.plan.species.iter().zip(&self.forms);
        View::new(self.units, forms.filter_map(|(s, form)| form.map(|form| (&s.solute, form))))
            .with_salinity(self.salinity_scale, self.plan.tank.temperature)
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
        scenario.faults = in_time(document, &reader, &mut scenario.plan, &declared, &|d| Ok(read(d)?.plan))?;
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

fn read_root(root: &Section<'_>, declared: &mut Declared) -> Option<Scenario> {
    let header = sections::header(root);
    *declared = Declared {
        periods: sections::periods(root, header.start),
        series: sections::series(root, header.start),
        faults: sections::faults(root, header.start),
    };
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
    let (salinity_scale, shown_units) = sections::show(&root.section("show"));
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
        stop: Stop::default(),
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
        salinity_scale,
        units: shown_units.unwrap_or(header.units),
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
