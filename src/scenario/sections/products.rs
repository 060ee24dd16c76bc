//! `[products.NAME]`: a solution of the keeper's own, as grams of plain chemicals in a volume of it.

use crate::chemicals::{Brought, Chemical, chemical, formulas, solution};
use crate::scenario::reader::Section;
use crate::units::{Gallon, Mass, Volume, parse};

/// A product: what a litre of it brings, the water that carries it with it.
pub(in crate::scenario) struct Product {
    pub(in crate::scenario) name: String,
    pub(in crate::scenario) litre: Brought,
}

pub(in crate::scenario) fn products(root: &Section<'_>) -> Vec<Product> {
    root.named("products").into_iter().filter_map(|(name, section)| product(name, &section)).collect()
}

const EXAMPLE: &str = "[\"84 g NaHCO3\"]";

fn product(name: String, section: &Section<'_>) -> Option<Product> {
    let volume = section
        .quantity::<Volume>("volume", "Volume of the finished solution, not of the water that it is made with.")
        .like("1 L")
        .positive()
        .required();
    let listed = section.list(
        "holds",
        "Grams of plain chemicals in it, by formula.",
        "a list of amounts with their formula",
        EXAMPLE,
    );
    let mut parts: Vec<(Chemical, f64)> = Vec::new();
    for node in listed.iter().flatten() {
        match amount_of(&node.value.text(), section.reader.gallon.get()) {
            Ok(part) => parts.push(part),
            Err(why) => section.reader.complain(&node.place, why, Some(format!("example: holds = {EXAMPLE}"))),
        }
    }
    section.finish();
    if parts.is_empty() && !section.reader.describing && listed.is_none_or(|l| l.is_empty()) {
        section.complain_here(
            format!("`products.{name}` does not say what it holds"),
            Some(format!("write the grams of each chemical in that volume; example: holds = {EXAMPLE}")),
        );
    }
    let litres = volume?.litres();
    let solids: f64 = parts.iter().map(|(_, grams)| grams).sum();
    if solids > 1000.0 * litres {
        section.complain(
            "holds",
            format!("{solids} g do not dissolve in {litres} L"),
            Some("allowed: up to 1000 g/L together; a solution, not a solid: dose a solid by its formula".into()),
        );
        return None;
    }
    let all = solution(litres, &parts);
    let mut litre = Brought {
        water_kg: all.water_kg / litres,
        salt_kg: all.salt_kg / litres,
        alkalinity_meq: all.alkalinity_meq / litres,
        solutes_mg: all.solutes_mg,
    };
    litre.solutes_mg.iter_mut().for_each(|(_, mg)| *mg /= litres);
    Some(Product { name, litre })
}

/// Reads `84 g NaHCO3`.
fn amount_of(text: &str, gallon: Gallon) -> Result<(Chemical, f64), String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let [number, unit, formula @ ..] = words.as_slice() else {
        return Err(format!("`{text}` is not an amount with its formula"));
    };
    let mass: Mass = parse(&format!("{number} {unit}"), gallon).map_err(|e| e.to_string())?;
    let formula = formula.join(" ");
    let found =
        chemical(&formula).ok_or_else(|| format!("the chemical `{formula}` is not known here: {}", formulas()))?;
    if mass.kg() <= 0.0 {
        return Err(format!("`{text}`: more than nothing"));
    }
    Ok((found, 1e3 * mass.kg()))
}
