//! A treatment: salinity down within a safe rate, held there, and up again; and the medicines that each change takes out,
//! which must be dosed again.

use super::correct::{By, CorrectError, CorrectRequest, Work, correct};
use crate::model::{Id, Plan, SoluteId};
use crate::solutes::Role;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Treatment {
    /// Where the tank is, and where it comes back to \[psu\].
    pub from: f64,
    /// Where it is held \[psu\].
    pub at: f64,
    /// Days held.
    pub hold_d: u32,
    /// Most that it may rise and fall in a day \[psu/d\].
    pub up_per_d: f64,
    /// See above.
    pub down_per_d: f64,
    /// Share changed a day on the way down and up.
    pub share: f64,
    /// Share changed while it is held.
    pub hold_share: f64,
    /// Days from one of these changes to the next.
    pub hold_every_d: u32,
}

/// Where in the treatment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// To the salinity that is held.
    Down,
    /// There.
    Hold,
    /// Back.
    Up,
}

/// A day on which something is done.
#[derive(Clone, Debug, PartialEq)]
pub struct TreatmentDay {
    /// Its number, from 1; day 0 is the evening before.
    pub day: u32,
    /// Where in the treatment.
    pub phase: Phase,
    /// New water \[L\].
    pub litres: f64,
    /// Salinity to mix it to \[psu\].
    pub mix_psu: f64,
    /// Salinity of the tank in the evening \[psu\].
    pub evening_psu: f64,
    /// What to dose in the evening of each medicine, in the order of the scenario \[mg or meq\].
    pub doses: Vec<f64>,
}

/// The solutes that are medicines.
pub(crate) fn medicines(plan: &Plan) -> Vec<SoluteId> {
    plan.species.each().filter(|(_, s)| s.solute.role == Role::Medicine).map(|(i, _)| i).collect()
}

/// The days of a treatment, found with the simulation itself. The medicines of the scenario are dosed to what it starts
/// with once the salinity is held, and brought back to that in the evening of each change; on the way up they wash out.
pub fn treatment(plan: &Plan, asked: &Treatment) -> Result<Vec<TreatmentDay>, CorrectError> {
    let medicines = medicines(plan);
    let moves = (asked.from - asked.at).abs() > 1e-6;
    let way = |from: f64, to: f64| CorrectRequest {
        from,
        to,
        up_per_d: asked.up_per_d,
        down_per_d: asked.down_per_d,
        days: None,
        by: By::Changes { share: asked.share },
    };
    let mut days = Vec::new();
    if moves {
        add(&mut days, Phase::Down, &correct(plan, &way(asked.from, asked.at))?, medicines.len());
    }
    hold(plan, asked, &medicines, &mut days)?;
    if moves {
        add(&mut days, Phase::Up, &correct(plan, &way(asked.at, asked.from))?, medicines.len());
    }
    Ok(days)
}

/// Adds the days of a correction.
fn add(days: &mut Vec<TreatmentDay>, phase: Phase, list: &[super::CorrectDay], medicines: usize) {
    let before = days.last().map_or(0, |d| d.day);
    days.extend(list.iter().map(|d| TreatmentDay {
        day: before + d.day,
        phase,
        litres: d.litres,
        mix_psu: d.mix_psu,
        evening_psu: d.after_psu,
        doses: vec![0.0; medicines],
    }));
}

/// The days that it is held: the first dose of the medicines, then changes with what they dilute.
fn hold(
    plan: &Plan,
    asked: &Treatment,
    medicines: &[SoluteId],
    days: &mut Vec<TreatmentDay>,
) -> Result<(), CorrectError> {
    let begin = days.last().map_or(0, |d| d.day);
    let request = CorrectRequest {
        from: asked.at,
        to: asked.at,
        up_per_d: asked.up_per_d,
        down_per_d: asked.down_per_d,
        days: None,
        by: By::Changes { share: asked.hold_share },
    };
    let wanted = |i: &SoluteId| plan.species[*i].initial;
    // Its amounts begin at what the scenario starts with: that is the first dose.
    let mut work = Work::new(plan, &request)?;
    let litres = plan.tank.operating.litres();
    days.push(TreatmentDay {
        day: begin,
        phase: Phase::Hold,
        litres: 0.0,
        mix_psu: asked.at,
        evening_psu: asked.at,
        doses: medicines.iter().map(|i| wanted(i) * litres).collect(),
    });
    let mut done = 0;
    while done + asked.hold_every_d < asked.hold_d {
        let span = (f64::from(begin + done), f64::from(begin + done + asked.hold_every_d));
        let mix_psu = work.knob(span, asked.at)?;
        let (evening_psu, mut amounts, volume_l) = work.try_until(span, mix_psu)?;
        let doses = medicines.iter().map(|i| {
            let missing = (wanted(i) * volume_l - amounts.solutes()[i.place()]).max(0.0);
            amounts.solutes_mut()[i.place()] += missing;
            missing
        });
        let doses = doses.collect();
        work.amounts = amounts;
        done += asked.hold_every_d;
        let litres = asked.hold_share * litres;
        days.push(TreatmentDay { day: begin + done, phase: Phase::Hold, litres, mix_psu, evening_psu, doses });
    }
    // To its end without another change.
    let evening_psu = work.left_alone((f64::from(begin + done), f64::from(begin + asked.hold_d)))?;
    days.push(TreatmentDay {
        day: begin + asked.hold_d,
        phase: Phase::Hold,
        litres: 0.0,
        mix_psu: asked.at,
        evening_psu,
        doses: vec![0.0; medicines.len()],
    });
    Ok(())
}
