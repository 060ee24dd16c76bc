//! Reading again what some overrides touch, and nothing else: studies change the same few keys thousands of times.

use super::document::{Document, Table, Value};
use super::reader::Reader;
use super::sections::{self, Context, Header};
use crate::model::{Plan, SoluteId};
use crate::units::Gallon;

/// A scenario, ready to be read again with other values of some keys.
///
/// Only keys whose tables stand by themselves are quick: those of the regime, and the numbers of a solute. The
/// tables are read by the same code as the whole file.
pub struct PartialReader {
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
    /// A number of a solute, which has this place in the plan: its name, and the key.
    Solute(SoluteId, [String; 2]),
}

impl PartialReader {
    /// Prepares to read `document`, of which `plan` was read, with other values of these dotted keys; nothing where
    /// more hangs on one of them than the table that it stands in.
    #[must_use]
    pub fn new<'k>(document: &Document, plan: &Plan, keys: impl IntoIterator<Item = &'k str>) -> Option<Self> {
        // A period says all that is done meanwhile, and a fault may hang on it.
        if ["periods", "series", "faults"].iter().any(|table| document.has_table(table)) {
            return None;
        }
        let reader = Reader::new(document, false);
        let header = sections::header(&reader.root());
        let mut parts = Vec::new();
        for key in keys {
            let path: Vec<&str> = key.split('.').map(str::trim).collect();
            let part = match path.as_slice() {
                ["solutes", name, number] => {
                    let place = plan.solute(name)?;
                    Part::Solute(place, [*name, *number].map(str::to_owned))
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
            match part {
                // A change may be written in two tables, which are read together.
                Part::Regime(table) if table.starts_with("change") => {
                    root.copy_from(&document.root, &["change"]);
                    root.copy_from(&document.root, &["changes"]);
                }
                Part::Regime(table) => root.copy_from(&document.root, &[table]),
                Part::Solute(_, [name, key]) => {
                    root.copy_from(&document.root, &["solutes", name, key]);
                    // One number of two keys.
                    for other in ["removal", "carbon"] {
                        root.copy_from(&document.root, &["solutes", name, other]);
                    }
                }
            }
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
            // What is wrong is said by the whole file's reading.
            tables.root.set(set, 0).ok()?;
        }
        let mut plan = self.plan.clone();
        let reader = Reader { defaults: None, ..Reader::new(&tables, false) };
        reader.gallon.set(self.gallon);
        let root = reader.root();
        let context = Context {
            header: &self.header,
            tank: Some(&self.plan.tank),
            species: &self.plan.species,
            mix: &[],
            products: &[],
            laid_down_kg_per_d: 0.0,
        };
        for part in &self.parts {
            match part {
                Part::Regime(table) => {
                    if !sections::read_again(table, &root, &context, &self.plan.waters, &mut plan.regime) {
                        return None;
                    }
                }
                Part::Solute(place, [name, key]) => {
                    let section = root.section("solutes").section(name.clone());
                    let litres = plan.tank.operating.litres();
                    if !sections::number_again(key, &section, litres, &mut plan.species[*place]) {
                        return None;
                    }
                    plan.regime.loads[*place] = plan.species[*place].load_per_day;
                }
            }
        }
        (reader.problems.borrow().is_empty() && plan.work().refusal().is_none()).then_some(plan)
    }
}

impl Table {
    /// Copies a table or a value of another in here, with the tables above it.
    fn copy_from(&mut self, other: &Self, path: &[&str]) {
        let Some((first, below)) = path.split_first() else { return };
        let Some(entry) = other.get(first) else { return };
        let own = self.entries.iter().position(|e| e.key == *first);
        match (&entry.value.value, below) {
            (Value::Table(inner), [_, ..]) => {
                let own = own.unwrap_or_else(|| {
                    let mut empty = entry.clone();
                    empty.value.value = Value::Table(Self::default());
                    self.entries.push(empty);
                    self.entries.len() - 1
                });
                if let Value::Table(own) = &mut self.entries[own].value.value {
                    own.copy_from(inner, below);
                }
            }
            _ if own.is_none() => self.entries.push(entry.clone()),
            _ => {}
        }
    }
}
