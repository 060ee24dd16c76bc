//! The answer of `acclimate` in words.

use super::answer::AcclimateAnswer;
use crate::app::answer::answers_itself;
use crate::export::warnings_text;
use crate::units::{Duration, InUnits, UnitSystem, Volume, significant, trimmed};

answers_itself!(AcclimateAnswer, UnitSystem, "acclimate", |a, of, _| text(a, *of));

fn text(a: &AcclimateAnswer, units: UnitSystem) -> String {
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let between = format!("From {} to {} psu in {}", trimmed(a.from_psu, 2), trimmed(a.to_psu, 2), litres(a.vessel_l));
    if a.hours == 0.0 {
        return format!("{between}: close enough as it is.\n") + &warnings_text(&a.warnings);
    }
    let mut text = format!(
        "{between}: drip {} mL of tank water a minute, {} drops a second (20 in a mL).\n",
        significant(1e3 * a.flow_l_per_h / 60.0, 2),
        significant(a.drops_per_s, 2)
    );
    text += &match a.rounds {
        0 => "There is no need to pour any off.\n".to_owned(),
        1 => "When the water has doubled, pour half off, once.\n".to_owned(),
        n => format!("Whenever the water has doubled, pour half off: {n} times.\n"),
    };
    text += &format!(
        "It takes {} and {} of tank water. Read the salinity before you move the animals; keep the vessel warm, dark and aerated.\n",
        Duration::from_days(a.hours / 24.0).show(units),
        litres(a.litres)
    );
    text + &warnings_text(&a.warnings)
}
