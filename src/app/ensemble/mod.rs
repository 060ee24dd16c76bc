//! `ensemble`: a scenario under uncertainty.

mod answer;
mod request;
mod words;

pub use answer::EnsembleResult;
pub use request::EnsembleRequest;

use std::path::PathBuf;

use sha2::{Digest, Sha256};

use crate::app::chemistry::chemistry;
use crate::app::dated::Dated;
use crate::app::files::Folder;
use crate::app::members::{Members, MembersHeader, open_together};
use crate::app::summary::warnings;
use crate::app::{AppError, Loaded, water, within_reach};
use crate::chart::{Head, Line, Picture, Series};
use crate::engine::run;
use crate::model::{Id, Plan, SoluteId, Timing, Variable};
use crate::numerics::{chance_error, quantile, quantiles};
use crate::results::{BandChance, Ensemble, EnsembleQuantity, Warning, spoken_first};
use crate::seawater::DENSITY_RANGE;
use crate::study::{Fate, Going, QUANTILES, grid_rows, interval, walk};
use crate::units::{Shown, trimmed};

use rayon::prelude::*;

/// Most members at once: their plans and states are held in memory.
const MOST_MEMBERS: u64 = 200_000;

/// Members of the first look, where members are added until the error is small.
const FIRST_LOOK: u64 = 200;

/// Quantiles by row of the grid, gathered while members walk or files are read.
struct Gathered {
    /// `[quantity][level][row]`.
    quantiles: Vec<Vec<Vec<Option<f64>>>>,
    /// Members that still hold water, by row.
    holding: Vec<usize>,
}

/// One quantity at one time, over the members.
struct Cell {
    quantiles: Vec<Option<f64>>,
    holding: usize,
}

impl Cell {
    /// Members whose tank is empty have no number.
    fn new(values: &[f64]) -> Self {
        let holding = values.iter().filter(|v| !v.is_nan()).count();
        let quantiles = quantiles(values, &QUANTILES).into_iter().map(|v| (holding > 0).then_some(v)).collect();
        Self { quantiles, holding }
    }
}

impl Gathered {
    fn new(quantities: usize) -> Self {
        Self { quantiles: vec![vec![Vec::new(); QUANTILES.len()]; quantities], holding: Vec::new() }
    }

    /// Takes the quantiles of cells: rows, in them quantities.
    fn take(&mut self, cells: &[Cell]) {
        let quantities = self.quantiles.len();
        for (k, cell) in cells.iter().enumerate() {
            if k % quantities == 0 {
                self.holding.push(cell.holding);
            }
            for (column, value) in self.quantiles[k % quantities].iter_mut().zip(&cell.quantiles) {
                column.push(*value);
            }
        }
    }
}

fn bytes_of(values: impl Iterator<Item = f64>) -> Vec<u8> {
    values.flat_map(f64::to_le_bytes).collect()
}

/// The file of members in a folder.
const MEMBERS_FILE: &str = "members.bin";

/// Runs an ensemble. Every member has its own stream of chance from (seed, member), so the answer does
/// not depend on the number of threads. With `keep`, the members go to a file as well.
pub fn ensemble(
    loaded: &Loaded,
    request: &EnsembleRequest,
    keep: Option<&Folder>,
    going: Going<'_>,
) -> Result<EnsembleResult, AppError> {
    if request.uncertainty.is_none() {
        return Err(AppError::Usage("nothing is uncertain: give --spread, --day-to-day, --missed or --batch-error, or a table [uncertainty] in the scenario\n  = help: example: --spread \"evaporation.rate=lognormal(6 L/d, 25 %)\"".into()));
    }
    let changes = &loaded.scenario.plan.regime.changes;
    let scheduled = loaded.scenario.plan.regime.goes_by_readings()
        || changes.iter().any(|c| matches!(c.timing, Timing::Scheduled(_)));
    if request.uncertainty.missed.is_some_and(|p| p > 0.0) && !scheduled {
        return Err(AppError::Usage(
            "no change is scheduled, so none can be missed\n  = help: give a change a time (example: --set \"change.every=7 d\"), or --missed \"0 %\"".into(),
        ));
    }
    let mut members = request.members.clone();
    if let Some(error) = request.until_error {
        members = members.start..members.start + enough(loaded, request, error, going)?;
    }
    let count = members.end.saturating_sub(members.start);
    if count == 0 || count > MOST_MEMBERS {
        return Err(AppError::Usage(format!(
            "{count} members are none or too many: at most {MOST_MEMBERS} at once; run ranges with --members A..B --keep-members and merge them"
        )));
    }
    let plan = &loaded.scenario.plan;
    within_reach([(plan.work(), count as f64)])?;
    let header = MembersHeader {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        checksum: loaded.checksum.clone(),
        seed: request.seed,
        uncertain: request.uncertainty.lines(),
        members: [members.start, members.end],
        rows: grid_rows(plan),
        quantities: plan.species.len() + 1,
        times: times(plan),
    };
    let mut kept = keep.map(|folder| folder.begin(MEMBERS_FILE)).transpose()?;
    if let Some(file) = &mut kept {
        file.write(&header.bytes()?)?;
    }
    let mut gathered = Gathered::new(header.quantities);
    let mut sum = Sha256::new();
    let drawn = Members::new(loaded, &request.uncertainty, request.seed);
    let member = |i| drawn.plan(members.start + i as u64);
    let fates = walk(plan, header.count(), &member, going, |block| {
        let keeps = kept.is_some();
        let of_cell = |cell: &[f64]| {
            let bytes = if keeps { bytes_of(cell.iter().copied()) } else { Vec::new() };
            (Cell::new(cell), bytes)
        };
        let (cells, bytes): (Vec<_>, Vec<_>) = block.cells(of_cell).into_iter().unzip();
        gathered.take(&cells);
        let Some(file) = &mut kept else { return Ok::<(), AppError>(()) };
        for bytes in bytes {
            sum.update(&bytes);
            file.write(&bytes)?;
        }
        Ok(())
    })?;
    if let Some(mut file) = kept {
        let of_water = |fate: &Fate| [fate.dry_d, fate.starved_d, fate.spilled_d];
        let times = fates.iter().flat_map(|fate| fate.left_d.iter().copied().chain(of_water(fate)));
        let bytes = bytes_of(times.map(|t| t.unwrap_or(f64::NAN)));
        sum.update(&bytes);
        file.write(&bytes)?;
        file.write(&sum.finalize())?;
        keep.map_or(Ok(()), |folder| folder.end(file))?;
    }
    Ok(answer(loaded, &header, gathered, &fates))
}

/// Times that are kept of each member of a plan: when it left each band, and when its reservoir ran dry, its return pump drew air
/// and water went over its rim.
const fn times(plan: &Plan) -> usize {
    plan.bands.len() + 3
}

/// Sums up files of members as if they had been run together.
pub fn merge(loaded: &Loaded, paths: &[PathBuf], going: Going<'_>) -> Result<EnsembleResult, AppError> {
    let (header, mut files) = open_together(paths)?;
    let plan = &loaded.scenario.plan;
    if header.checksum == loaded.checksum && header.times != times(plan) {
        return Err(AppError::Usage(
            "the files of members were written by another version: run these members again".into(),
        ));
    }
    let shape = (header.rows, header.quantities, header.times);
    if header.checksum != loaded.checksum || shape != (grid_rows(plan), plan.species.len() + 1, times(plan)) {
        return Err(AppError::Usage(format!(
            "the files of members were made from another scenario, or with other overrides, than {}",
            loaded.scenario.name
        )));
    }
    let mut gathered = Gathered::new(header.quantities);
    let mut row = vec![0.0; header.quantities * header.count()];
    for r in 0..header.rows {
        if !going(r as f64 / header.rows as f64) {
            return Err(AppError::Stopped);
        }
        for quantity in 0..header.quantities {
            let mut cell = &mut row[quantity * header.count()..(quantity + 1) * header.count()];
            for file in &mut files {
                let (own, rest) = cell.split_at_mut(file.header.count());
                file.numbers(own)?;
                cell = rest;
            }
        }
        let cells: Vec<Cell> = row.par_chunks(header.count()).map(Cell::new).collect();
        gathered.take(&cells);
    }
    let mut fates = Vec::new();
    for file in &mut files {
        for _ in 0..file.header.count() {
            let mut times = vec![0.0; header.times];
            file.numbers(&mut times)?;
            let mut times = times.into_iter().map(|t| (!t.is_nan()).then_some(t));
            let left_d = times.by_ref().take(plan.bands.len()).collect();
            let mut next = || times.next().flatten();
            fates.push(Fate { left_d, dry_d: next(), starved_d: next(), spilled_d: next() });
        }
    }
    files.into_iter().try_for_each(crate::app::members::MembersFile::check)?;
    Ok(answer(loaded, &header, gathered, &fates))
}

/// How many members bring the standard error of every chance below `error`.
fn enough(loaded: &Loaded, request: &EnsembleRequest, error: f64, going: Going<'_>) -> Result<u64, AppError> {
    let plan = &loaded.scenario.plan;
    let drawn = Members::new(loaded, &request.uncertainty, request.seed);
    let member = |i| drawn.plan(request.members.start + i as u64);
    let mut count = FIRST_LOOK;
    loop {
        let fates =
            walk(plan, usize::try_from(count).unwrap_or(usize::MAX), &member, going, |_| Ok::<(), AppError>(()))?;
        let bands = plan.bands.len();
        let worst = (0..bands)
            .map(|b| chance_error(fates.iter().filter(|f| f.left_d[b].is_some()).count(), fates.len()))
            .fold(0.0, f64::max);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded below")]
        let needed = (count as f64 * (worst / error).powi(2)).ceil().clamp(1.0, 1e9) as u64;
        if needed <= count {
            return Ok(count);
        }
        if needed > MOST_MEMBERS {
            return Err(AppError::Usage(format!(
                "a standard error of {} % takes about {needed} members, more than {MOST_MEMBERS}: ask for less, or merge ranges",
                100.0 * error
            )));
        }
        // A little more than the first look says, so that a second seldom asks for a third.
        count = (needed + needed / 10).next_multiple_of(100).min(MOST_MEMBERS);
    }
}

fn answer(loaded: &Loaded, header: &MembersHeader, gathered: Gathered, fates: &[Fate]) -> EnsembleResult {
    let ensemble = sum_up(loaded, header, gathered, fates);
    let pictures = pictures(&ensemble, loaded);
    EnsembleResult { ensemble, pictures }
}

fn sum_up(loaded: &Loaded, header: &MembersHeader, gathered: Gathered, fates: &[Fate]) -> Ensemble {
    let plan = &loaded.scenario.plan;
    let names = plan.quantities().map(|of| plan.named(of)).map(|(key, unit)| (key.to_owned(), unit.to_owned()));
    let quantities: Vec<EnsembleQuantity> = names
        .zip(gathered.quantiles)
        .map(|((key, unit), quantiles)| EnsembleQuantity { key, unit, quantiles })
        .collect();
    let every = interval(plan).days();
    let time_d: Vec<f64> = (0..header.rows).map(|i| every * i as f64).collect();
    let n = fates.len() as f64;
    let chances: Vec<BandChance> = plan
        .bands
        .iter()
        .enumerate()
        .map(|(b, band)| {
            let mut left: Vec<f64> = fates.iter().filter_map(|f| f.left_d[b]).collect();
            left.sort_unstable_by(f64::total_cmp);
            BandChance {
                key: plan.named(band.of).0.to_owned(),
                chance: left.len() as f64 / n,
                standard_error: chance_error(left.len(), fates.len()),
                median_left_at_d: (!left.is_empty()).then(|| quantile(&left, 0.5)),
                by_time: time_d.iter().map(|t| left.partition_point(|l| l <= t) as f64 / n).collect(),
            }
        })
        .collect();
    let mut warnings = Vec::new();
    if chances.iter().any(|c| c.standard_error > COARSE) {
        warnings.push(Warning::new(
            "few-members",
            format!("{} members give a chance to within a few percent only", fates.len()),
            "use four times as many to halve the error, or --until-error \"1 %\"",
        ));
    }
    warnings.extend(emptied(&gathered.holding, &time_d, fates.len()));
    let highest = DENSITY_RANGE.0.high;
    // The level below which 95 of 100 members stay, at any time.
    let beyond = quantities
        .first()
        .and_then(|q| q.quantiles.last())
        .and_then(|q| q.iter().position(|s| s.is_some_and(|s| s > highest)));
    if let Some(row) = beyond {
        warnings.push(Warning::new(
            "outside-density-range",
            format!(
                "from day {} on, more than 5 % of the members are above {highest} psu, where these numbers are only a direction",
                trimmed(time_d[row], 1)
            ),
            "check whether the reservoir runs dry before it is filled again: see brinecast away",
        ));
    }
    warnings.extend(water::of_members(fates, Dated::of(&loaded.scenario)));
    warnings.extend(of_the_numbers(loaded));
    Ensemble {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        seed: header.seed,
        members: header.members,
        spreads: header.uncertain.clone(),
        levels: QUANTILES.to_vec(),
        time_d,
        span_d: plan.horizon.days(),
        holding: gathered.holding,
        quantities,
        chances,
        warnings,
    }
}

/// What a run at the stated values says of its own numbers, which members share.
const OF_THE_NUMBERS: [&str; 3] = ["alkalinity-gone", "change-short", "top-off-on-during-change"];

fn of_the_numbers(loaded: &Loaded) -> Vec<Warning> {
    let (plan, view) = (&loaded.scenario.plan, loaded.scenario.view());
    let Ok(outcome) = run(plan) else { return Vec::new() };
    let said = warnings(plan, &outcome, &view, Dated::of(&loaded.scenario));
    let own = said.into_iter().chain(chemistry(plan, &outcome, &view)).filter(|w| OF_THE_NUMBERS.contains(&&*w.code));
    own.map(|w| water::named(w, "at the stated values")).collect()
}

/// Members whose tank runs empty within the run, and from when on the quantiles are those of the others.
fn emptied(holding: &[usize], time_d: &[f64], members: usize) -> Option<Warning> {
    let first = holding.iter().position(|n| *n < members)?;
    let left = holding.last().copied().unwrap_or(members);
    Some(water::emptied(format!(
        "in {} of {members} members the tank is nearly empty before the end, first on day {}; later quantiles leave these out",
        members - left,
        trimmed(time_d[first], 1)
    )))
}

/// A standard error of a chance above which it is called coarse.
const COARSE: f64 = 0.02;

/// Where nine in ten members end, and how many leave the band.
fn likely(ensemble: &Ensemble, q: &EnsembleQuantity, shown: &Shown, dated: Dated) -> String {
    let what = spoken_first(&q.key);
    if let Some(chance) = ensemble.chances.iter().find(|c| c.key == q.key).filter(|c| c.chance > 0.0) {
        let percent = trimmed(100.0 * chance.chance, 0);
        let when =
            chance.median_left_at_d.map_or(String::new(), |d| format!(", half of these before {}", dated.day(d)));
        return format!("{what} leaves its band in {percent} % of the members{when}");
    }
    let last = |level: usize| q.quantiles.get(level).and_then(|v| v.last().copied().flatten());
    match (last(0), last(ensemble.levels.len().saturating_sub(1))) {
        (Some(low), Some(high)) => {
            let [low, high] = [low, high].map(|v| shown.number(v, 4));
            format!("{what} ends between {low} and {high} {} in nine of ten members", shown.unit)
        }
        _ => format!("{what} over time"),
    }
}

fn pictures(ensemble: &Ensemble, loaded: &Loaded) -> Vec<(String, Picture)> {
    let plan = &loaded.scenario.plan;
    let view = loaded.scenario.view();
    let dated = Dated::of(&loaded.scenario);
    let mut pictures: Vec<(String, Picture)> = ensemble
        .quantities
        .iter()
        .enumerate()
        .map(|(k, q)| {
            let of = if k == 0 { Variable::Salinity } else { Variable::Solute(SoluteId::of(k - 1)) };
            let band = plan.bands.iter().find(|b| b.of == of).map_or((None, None), |b| (b.low, b.high));
            let count = ensemble.members[1] - ensemble.members[0];
            let shown = view.of(&q.key, &q.unit);
            let line = |level: usize| shown.points(&q.points(level, &ensemble.time_d));
            let picture = Series {
                head: Head {
                    finding: likely(ensemble, q, &shown, dated),
                    question: format!("Where is {} likely to be?", q.key.replace('_', " ")),
                    note: format!(
                        "{}, {} basis; {count} members; shaded in blue: 5 to 95 % and 25 to 75 %; line: median",
                        ensemble.scenario, ensemble.basis
                    ),
                },
                x_label: format!("days from {}", loaded.scenario.start),
                since: dated.start(),
                y_label: format!("{}, {}", q.key.replace('_', " "), shown.unit),
                band_name: "allowed".into(),
                unit: shown.unit.clone(),
                band: shown.edges(band),
                fans: vec![(line(0), line(4)), (line(1), line(3))],
                lines: vec![Line::new("median", line(2))],
                ..Series::default()
            };
            (format!("fan_{}", q.key), Picture::Series(picture))
        })
        .collect();
    // What is most at risk leads.
    let risk = ensemble.chances.iter().filter(|b| b.chance > 0.0).max_by(|a, b| a.chance.total_cmp(&b.chance));
    if let Some(at) = risk.and_then(|b| pictures.iter().position(|(name, _)| *name == format!("fan_{}", b.key))) {
        pictures[..=at].rotate_right(1);
    }
    pictures
}
