//! Reading again what some overrides touch, and nothing else: studies change the same few keys thousands of times.

use super::document::{Document, Table, Value};
use super::reader::Reader;
use super::sections::{self, Context, Header};
use crate::model::Plan;
use crate::units::Gallon;

/// A scenario, ready to be read again with other values of some keys.
///
/// Only keys whose tables stand by themselves are quick: those of the regime, and the numbers of a solute. The
/// tables are read by the same code as the whole file.
pub struct Again {
    plan: Plan,
    header: Header,
    gallon: Gallon,
    /// The tables that are read again, alone.
    tables: Document,
    parts: Vec<Part>,
}

#[derive(PartialEq, Eq)]
enum Part {
    /// A table of the regime.
    Regime(String),
    /// A solute, by its place in the plan.
    Solute(usize, String),
}

/// The keys of a solute on which nothing hangs but the solute. New salt water takes its composition from the start.
const NUMBERS: [&str; 3] = ["load", "removal", "uptake"];

impl Again {
    /// Prepares to read `document`, of which `plan` was read, with other values of these dotted keys; nothing where
    /// more hangs on one of them than the table that it stands in.
    #[must_use]
    pub fn new<'k>(document: &Document, plan: &Plan, keys: impl IntoIterator<Item = &'k str>) -> Option<Self> {
        let reader = Reader::new(document, false);
        let header = sections::header(&reader.root());
        let mut parts = Vec::new();
        for key in keys {
            let path: Vec<&str> = key.split('.').map(str::trim).collect();
            let part = match path.as_slice() {
                ["solutes", name, number] if NUMBERS.contains(number) => {
                    let place = plan.species.iter().position(|s| s.solute.key == *name)?;
                    Part::Solute(place, (*name).to_owned())
                }
                [table, _, ..] if *table != "solutes" => Part::Regime((*table).to_owned()),
                _ => return None,
            };
            if !parts.contains(&part) {
                parts.push(part);
            }
        }
        let mut root = Table::default();
        for part in &parts {
            root.copy_from(&document.root, part.path());
        }
        // A change may be written in two tables, which are read together.
        if parts.iter().any(|p| p.path()[0].starts_with("change")) {
            root.copy_from(&document.root, ["change", ""]);
            root.copy_from(&document.root, ["changes", ""]);
        }
        let tables = Document { sources: Vec::new(), root };
        let again = Self { plan: plan.clone(), header, gallon: reader.gallon.get(), tables, parts };
        // What cannot be read as it stands cannot be read with other values.
        again.plan(&[]).is_some().then_some(again)
    }

    /// The plan with these overrides of the keys; nothing where the whole file must be read, be it for what is
    /// wrong.
    #[must_use]
    pub fn plan(&self, sets: &[String]) -> Option<Plan> {
        let mut tables = self.tables.clone();
        for set in sets {
            tables.set(set).ok()?;
        }
        let mut plan = self.plan.clone();
        let reader = Reader { defaults: None, ..Reader::new(&tables, false) };
        reader.gallon.set(self.gallon);
        let root = reader.root();
        let context = Context { header: &self.header, tank: Some(&self.plan.tank), species: &self.plan.species };
        for part in &self.parts {
            match part {
                Part::Regime(table) => {
                    if !sections::read_again(table, &root, &context, &self.plan.waters, &mut plan.regime) {
                        return None;
                    }
                }
                Part::Solute(place, name) => {
                    let section = root.section("solutes").section(name.clone());
                    let read = sections::solute(name, &section, plan.tank.operating.litres())?;
                    let conversion = plan.species[*place].conversion;
                    plan.regime.loads[*place] = read.species.load_per_day;
                    plan.species[*place] = crate::model::Species { conversion, ..read.species };
                }
            }
        }
        reader.problems.borrow().is_empty().then_some(plan)
    }
}

impl Part {
    /// The table's name, and that of the one below it which is meant, or nothing for all of it.
    fn path(&self) -> [&str; 2] {
        match self {
            Self::Regime(table) => [table, ""],
            Self::Solute(_, name) => ["solutes", name],
        }
    }
}

impl Table {
    /// Copies a table of another in here, or one of those below it.
    fn copy_from(&mut self, other: &Self, [table, below]: [&str; 2]) {
        let Some(entry) = other.get(table) else { return };
        if below.is_empty() {
            if self.get(table).is_none() {
                self.entries.push(entry.clone());
            }
            return;
        }
        let Value::Table(inner) = &entry.value.value else { return };
        if !self.entries.iter().any(|e| e.key == table) {
            let mut empty = entry.clone();
            empty.value.value = Value::Table(Self::default());
            self.entries.push(empty);
        }
        for own in self.entries.iter_mut().filter(|e| e.key == table) {
            if let Value::Table(own) = &mut own.value.value {
                own.copy_from(inner, [below, ""]);
            }
        }
    }
}
