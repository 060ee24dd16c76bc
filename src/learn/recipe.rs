//! The keeper's own recipe: grams for a litre, with what each batch adds to the knowledge, and changes of lot.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::strength::own_shares;
use super::{BatchRow, Learned, StrengthError, learn_strength};
use crate::sizing::SaltMix;

/// A batch with what else was noted.
#[derive(Clone, Debug, PartialEq)]
pub struct RecipeRow {
    /// Litres, grams, salinity, temperature.
    pub batch: BatchRow,
    /// Hours until it was clear.
    pub hours: Option<f64>,
    /// pH when it was used.
    pub ph: Option<f64>,
    /// Lot of the salt.
    pub lot: Option<String>,
}

/// The recipe.
#[derive(Clone, Debug)]
pub struct Recipe {
    /// Strength from all batches of the present lot.
    pub learned: Learned,
    /// Strength and its relative standard error after each batch, from the label on; after a change those of the batches
    /// since then, so that it ends where the recipe stands.
    pub course: Vec<(f64, f64)>,
    /// Mean and largest of the hours that were noted.
    pub hours: Option<(f64, f64)>,
    /// Mean and standard deviation of the pH that was noted.
    pub ph: Option<(f64, f64)>,
    /// Where the strength has changed: number of the first batch of the new kind, by what share it is stronger, and
    /// the chance of a step as large by chance.
    pub change: Option<(usize, f64, f64)>,
}

/// Chance below which a step in strength is believed; the place of the step is sought, so it is small.
const BELIEVED: f64 = 0.01;
/// Fewest batches on each side of a step.
const FEWEST: usize = 3;

/// Learns the recipe from batches in the order in which they were made, starting from the label.
pub fn learn_recipe(rows: &[RecipeRow], label: SaltMix) -> Result<Recipe, StrengthError> {
    let batches: Vec<BatchRow> = rows.iter().map(|r| r.batch).collect();
    let change = step(&own_shares(&batches)?, rows);
    let begin = change.map_or(0, |c| c.0);
    let mut course = vec![(label.salt(), label.spread)];
    for k in 1..=batches.len() {
        // What is known of a new strength begins with the label again.
        let learned = learn_strength(&batches[if k > begin { begin } else { 0 }..k], label)?;
        course.push((learned.mix.salt(), learned.error));
    }
    let learned = learn_strength(&batches[begin..], label)?;
    let noted = |of: &dyn Fn(&RecipeRow) -> Option<f64>| -> Vec<f64> { rows.iter().filter_map(of).collect() };
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let hours = noted(&|r| r.hours);
    let ph = noted(&|r| r.ph);
    Ok(Recipe {
        learned,
        course,
        hours: (!hours.is_empty()).then(|| (mean(&hours), hours.iter().copied().fold(0.0, f64::max))),
        ph: (!ph.is_empty()).then(|| {
            let m = mean(&ph);
            let squares: f64 = ph.iter().map(|p| (p - m).powi(2)).sum();
            (m, (squares / (ph.len() as f64 - 1.0).max(1.0)).sqrt())
        }),
        change,
    })
}

/// The most likely step: at changes of lot where lots were noted, anywhere else; by Student's t of two means, the
/// chance multiplied by the number of places that were tried (Bonferroni).
fn step(own: &[f64], rows: &[RecipeRow]) -> Option<(usize, f64, f64)> {
    let lots = rows.iter().any(|r| r.lot.is_some());
    let places: Vec<usize> =
        (FEWEST..own.len().saturating_sub(FEWEST - 1)).filter(|k| !lots || rows[*k].lot != rows[*k - 1].lot).collect();
    let tried = places.len() as f64;
    places
        .into_iter()
        .filter_map(|k| {
            let (before, after) = own.split_at(k);
            let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
            let (a, b) = (mean(before), mean(after));
            let squares: f64 =
                before.iter().map(|x| (x - a).powi(2)).chain(after.iter().map(|x| (x - b).powi(2))).sum();
            let free = own.len() as f64 - 2.0;
            let error = (squares / free * (1.0 / before.len() as f64 + 1.0 / after.len() as f64)).sqrt();
            let t = (b - a) / error.max(1e-12);
            let chance = StudentsT::new(0.0, 1.0, free).map_or(1.0, |law| 2.0 * law.sf(t.abs())) * tried;
            (chance < BELIEVED).then_some((k, b / a - 1.0, chance))
        })
        .min_by(|a, b| a.2.total_cmp(&b.2))
}

#[cfg(test)]
mod tests {
    use super::{RecipeRow, learn_recipe};
    use crate::learn::BatchRow;
    use crate::sizing::{SaltMix, batch_of_fresh};
    use crate::units::{PracticalSalinity, Temperature, Volume};

    fn row(water_share: f64, off_psu: f64, lot: &str) -> RecipeRow {
        let truth = SaltMix { water_share, spread: 0.0 };
        let (s, t) = (PracticalSalinity::from_psu(35.0), Temperature::from_celsius(24.0));
        let fresh = Volume::from_litres(60.0);
        let salt_mix = batch_of_fresh(fresh, s, t, &truth, None).unwrap().salt_mix;
        let salinity = PracticalSalinity::from_psu(35.0 + off_psu);
        let lot = (!lot.is_empty()).then(|| lot.to_owned());
        RecipeRow {
            batch: BatchRow { fresh, salt_mix, salinity, temperature: t },
            hours: Some(3.0),
            ph: Some(8.3),
            lot,
        }
    }

    /// A damp lot after six dry ones is found, whether or not it was noted, and the recipe is that of the new lot.
    #[test]
    fn a_new_lot_is_found() {
        let errors = [0.2, -0.3, 0.1, -0.1, 0.3, -0.2];
        for noted in [true, false] {
            let lot = |name: &'static str| if noted { name } else { "" };
            let mut rows: Vec<RecipeRow> = errors.iter().map(|e| row(0.08, *e, lot("A"))).collect();
            rows.extend(errors.iter().map(|e| row(0.14, *e, lot("B"))));
            let recipe = learn_recipe(&rows, SaltMix::default()).unwrap();
            let (at, by, chance) = recipe.change.expect("the step is seen");
            assert_eq!(at, 6, "noted: {noted}");
            assert!((by - (0.86 / 0.92 - 1.0)).abs() < 0.01 && chance < 0.01, "{by} {chance}");
            assert!((recipe.learned.mix.water_share - 0.14).abs() < 0.012, "{:?}", recipe.learned);
            assert_eq!(recipe.hours, Some((3.0, 3.0)));
            assert_eq!(recipe.course.last(), Some(&(recipe.learned.mix.salt(), recipe.learned.error)));
        }
        let same: Vec<RecipeRow> = errors.iter().chain(&errors).map(|e| row(0.08, *e, "")).collect();
        assert_eq!(learn_recipe(&same, SaltMix::default()).unwrap().change, None);
    }

    /// From the label on, the error falls with every batch.
    #[test]
    fn a_new_log_starts_from_the_label_and_converges() {
        let rows: Vec<RecipeRow> = (0..20).map(|_| row(0.14, 0.0, "")).collect();
        let recipe = learn_recipe(&rows, SaltMix::default()).unwrap();
        assert_eq!(recipe.course[0], (SaltMix::default().salt(), SaltMix::default().spread));
        assert!(recipe.course.windows(2).all(|w| (w[1].0 - 0.86).abs() <= (w[0].0 - 0.86).abs() + 1e-12));
        assert!((recipe.course[20].0 - 0.86).abs() < 0.003 && recipe.course[20].1 < 0.01);
    }
}
