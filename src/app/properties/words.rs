//! The answer of `properties` in words.

use super::answer::PropertiesAnswer;
use crate::app::Answer;

impl Answer for PropertiesAnswer {
    type Of = ();
    type Data = Self;

    const COMMAND: &'static str = "properties";

    fn data(&self) -> &Self {
        self
    }

    fn text(&self, _of: &(), _width: usize) -> String {
        text(self)
    }

    fn cautions(&self) -> &[String] {
        &[]
    }
}

pub(super) fn text(a: &PropertiesAnswer) -> String {
    let mut text = format!("Sea water at {} (a dash: outside the range of the formula)\n", a.temperature);
    let toxic = a.rows.iter().any(|row| row.toxic_ammonia_share.is_some());
    let (head, unit) = if toxic { ("   NH3", "     %") } else { ("", "") };
    text += &format!("     S   density  sg 25/25    conduct.        n      heat   vapour  oxygen{head}\n");
    text += &format!("   psu     kg/m3              mS/cm            J/(kg K)     Pa   umol/kg{unit}\n");
    for row in &a.rows {
        let cell = |value: Option<f64>, width: usize, decimals: usize| {
            value.map_or_else(|| format!("{:>width$}", "-"), |v| format!("{v:>width$.decimals$}"))
        };
        text += &format!(
            "{:>6.1}{}{}{}{}{}{}{}{}\n",
            row.salinity_psu,
            cell(row.density_kg_per_m3, 10, 2),
            cell(row.sg_25_25, 10, 5),
            cell(row.conductivity_ms_per_cm, 12, 2),
            cell(row.refractive_index, 9, 5),
            cell(row.heat_capacity, 10, 0),
            cell(row.vapour_pressure_pa, 9, 0),
            cell(row.oxygen_umol_per_kg, 8, 1),
            if toxic { cell(row.toxic_ammonia_share.map(|share| 100.0 * share), 6, 2) } else { String::new() },
        );
    }
    text
}
