//! Watching a run: rows for the trace, statistics over time.

use crate::model::{Band, Flow, Stepper, VolumeLaw, Watched};
use crate::numerics::{GAUSS_NODES, Sum, find_root, gauss};
use crate::results::{EventRecord, Trace};

/// The tank at an instant.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// Days from the start.
    pub time_d: f64,
    /// What happened; empty on the grid and just before an event.
    pub event: &'static str,
    /// System volume \[L\].
    pub volume_l: f64,
    /// Practical salinity \[psu\].
    pub salinity_psu: f64,
    /// Water kg, salt kg, then the solutes.
    pub amounts: &'a [f64],
}

impl Row<'_> {
    /// The value of a watched quantity in its own unit.
    #[must_use]
    pub fn value(&self, of: Watched) -> f64 {
        match of {
            Watched::Salinity => self.salinity_psu,
            Watched::Solute(i) => self.amounts[i + 2] / self.volume_l,
        }
    }
}

/// A stretch of time under constant flows, to be looked into.
pub struct Segment<'a> {
    pub(super) stepper: &'a mut Stepper,
    pub(super) flow: &'a Flow,
    pub(super) at_zero: &'a [bool],
    pub(super) law: &'a VolumeLaw,
    pub(super) amounts: &'a [f64],
    pub(super) after: &'a [f64],
    pub(super) scratch: &'a mut [f64],
    pub(super) integral: &'a mut [f64],
    /// Days from the start of the run to the start of the segment.
    pub from_d: f64,
    /// Its length \[d\].
    pub days: f64,
}

impl Segment<'_> {
    /// The tank at its beginning and at its end.
    pub(super) fn ends(&self) -> [Row<'_>; 2] {
        [(self.from_d, self.amounts), (self.from_d + self.days, self.after)].map(|(time_d, amounts)| Row {
            time_d,
            event: "",
            volume_l: self.law.volume(amounts[0], amounts[1]),
            salinity_psu: self.law.salinity_psu(amounts[0], amounts[1]),
            amounts,
        })
    }

    /// Whether a quantity only rises or only falls within the segment.
    ///
    /// Salinity is a ratio of two amounts that are diluted alike, and moves towards the salinity of what
    /// comes in. So does a concentration, where nothing is made of it and either the volume or the
    /// amount without dilution stays.
    pub(super) fn goes_one_way(&self, of: Watched) -> bool {
        match of {
            Watched::Salinity => true,
            Watched::Solute(i) => {
                let kinetics = self.stepper.kinetics();
                !kinetics.chained[i] && (self.flow.drift == 0.0 || kinetics.loss[i] == 0.0)
            }
        }
    }

    /// Four values between which a concentration stays within the segment; nothing where no bound is known. Where it turns it equals what it would settle at in the volume of that moment,
    /// `p/(kV + a + q)`, so it stays between its ends and those two.
    pub(super) fn reach(&self, of: Option<Watched>) -> Option<[f64; 4]> {
        let Some(of @ Watched::Solute(i)) = of else { return None };
        let kinetics = self.stepper.kinetics();
        if kinetics.chained[i] || self.at_zero[i] {
            return None;
        }
        let [begin, end] = self.ends();
        let supply = self.flow.supply[i + 2] - kinetics.uptake[i];
        let settled = |row: &Row<'_>| {
            let sink = kinetics.loss[i] * row.volume_l + self.flow.drift + self.flow.out;
            (sink > 0.0).then(|| supply / sink)
        };
        Some([begin.value(of), end.value(of), settled(&begin)?, settled(&end)?])
    }

    /// Pieces (begin, length) within which Gauss–Legendre nodes are at round-off.
    pub fn pieces(&self) -> impl Iterator<Item = (f64, f64)> + use<> {
        self.stepper.pieces(self.flow, self.days)
    }

    /// The value of a quantity (`None` is the volume) `days` into the segment.
    fn value_at(&mut self, of: Option<Watched>, days: f64) -> f64 {
        if let Some(of @ Watched::Solute(i)) = of {
            return match self.stepper.single(self.flow, self.at_zero[i], i, self.amounts[i + 2], days) {
                Some(amount) => {
                    let volume = self.law.volume(self.amounts[0], self.amounts[1]);
                    amount / (volume + self.flow.drift * days)
                }
                None => self.at(days).value(of),
            };
        }
        // Water and salt know nothing of the solutes.
        let [water, salt] = self.flow.water_and_salt([self.amounts[0], self.amounts[1]], days);
        if of.is_some() { self.law.salinity_psu(water, salt) } else { self.law.volume(water, salt) }
    }

    /// `∫ dt` of a concentration over the segment, where it has a closed form.
    fn integral(&self, of: Option<Watched>) -> Option<f64> {
        let Some(Watched::Solute(i)) = of else { return None };
        let volume = self.law.volume(self.amounts[0], self.amounts[1]);
        let amount = self.stepper.single_integral(self.flow, self.at_zero[i], i, self.amounts[i + 2], self.days)?;
        Some(amount / volume)
    }

    /// The tank `days` into the segment.
    pub fn at(&mut self, days: f64) -> Row<'_> {
        self.stepper.step(self.flow, self.at_zero, self.amounts, days, self.scratch, self.integral);
        let (water, salt) = (self.scratch[0], self.scratch[1]);
        Row {
            time_d: self.from_d + days,
            event: "",
            volume_l: self.law.volume(water, salt),
            salinity_psu: self.law.salinity_psu(water, salt),
            amounts: self.scratch,
        }
    }
}

/// Something that watches a run.
pub trait Observer {
    /// A row of the output grid, or just before or after an event.
    fn row(&mut self, row: &Row<'_>);
    /// An event with its particulars.
    fn event(&mut self, _event: EventRecord) {}
    /// Whether [`Observer::segment`] is to be called.
    fn looks_inside(&self) -> bool {
        false
    }
    /// Whether [`Observer::event`] is to be called.
    fn wants_words(&self) -> bool {
        self.looks_inside()
    }
    /// A stretch of constant flows, before it is stepped over.
    fn segment(&mut self, _segment: &mut Segment<'_>) {}
}

/// Watches nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Nothing;

impl Observer for Nothing {
    fn row(&mut self, _: &Row<'_>) {}
}

/// Lowest, mean and highest of one quantity, and its stay outside a band.
#[derive(Clone, Debug)]
pub struct Watch {
    /// Of what; `None` is the volume.
    pub of: Option<Watched>,
    /// The band, where there is one.
    pub band: Option<Band>,
    /// First value.
    pub first: f64,
    /// Lowest value and when.
    pub lowest: (f64, f64),
    /// Highest value and when.
    pub highest: (f64, f64),
    /// Last value.
    pub last: f64,
    /// Integral over time.
    pub integral: Sum,
    /// When the band was first left.
    pub left_at_d: Option<f64>,
    /// Days outside.
    pub outside_d: f64,
    /// Worst excess and when.
    pub worst: (f64, f64),
}

impl Watch {
    /// A watch over a quantity.
    #[must_use]
    pub fn new(of: Option<Watched>, band: Option<Band>) -> Self {
        Self {
            of,
            band,
            first: f64::NAN,
            lowest: (f64::INFINITY, 0.0),
            highest: (f64::NEG_INFINITY, 0.0),
            last: f64::NAN,
            integral: Sum::default(),
            left_at_d: None,
            outside_d: 0.0,
            worst: (0.0, 0.0),
        }
    }

    pub(super) fn value(&self, row: &Row<'_>) -> f64 {
        self.of.map_or(row.volume_l, |of| row.value(of))
    }

    fn excess(&self, value: f64) -> f64 {
        let excess = self.band.map_or(0.0, |b| b.excess(value));
        // A value that rounds to the edge is on it.
        if excess.abs() <= ON_THE_EDGE * value.abs() { 0.0 } else { excess }
    }

    /// Whether a value lies outside the band.
    pub(super) fn is_outside(&self, value: f64) -> bool {
        self.excess(value) != 0.0
    }

    /// Notes the time of a row outside the band, where none was noted before.
    pub(super) fn note_leaving(&mut self, row: &Row<'_>) {
        if self.is_outside(self.value(row)) {
            self.left_at_d.get_or_insert(row.time_d);
        }
    }

    /// Takes a row into the extremes.
    fn see(&mut self, row: &Row<'_>) {
        self.take(self.value(row), row.time_d);
    }

    /// Takes a value at a time into the extremes.
    fn take(&mut self, value: f64, t: f64) {
        if self.first.is_nan() {
            self.first = value;
        }
        self.last = value;
        if value < self.lowest.0 {
            self.lowest = (value, t);
        }
        if value > self.highest.0 {
            self.highest = (value, t);
        }
        let excess = self.excess(value);
        if excess.abs() > self.worst.0.abs() {
            self.worst = (excess, t);
        }
    }

    /// When, between two times, the value is highest (or lowest): golden section (Kiefer 1953, Proc. Am.
    /// Math. Soc. 4:502-506), to where the value no longer tells.
    fn turning(&self, segment: &mut Segment<'_>, from: f64, to: f64, highest: bool) -> f64 {
        const GOLDEN: f64 = 0.618_033_988_749_894_9;
        let mut value = |t: f64| {
            let value = segment.value_at(self.of, t);
            if highest { value } else { -value }
        };
        let (mut low, mut high) = (from, to);
        let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (mut at_a, mut at_b) = (value(a), value(b));
        while high - low > 1e-8 * (to - from) {
            if at_a > at_b {
                (high, b, at_b) = (b, a, at_a);
                a = high - GOLDEN * (high - low);
                at_a = value(a);
            } else {
                (low, a, at_a) = (a, b, at_b);
                b = low + GOLDEN * (high - low);
                at_b = value(b);
            }
        }
        0.5 * (low + high)
    }

    /// Time outside between two times of a segment over which the value only rises or only falls.
    pub(super) fn outside(&mut self, segment: &mut Segment<'_>, from: f64, to: f64) {
        let Some(band) = self.band else { return };
        let of = self.of;
        let value_at = |segment: &mut Segment<'_>, t: f64| segment.value_at(of, t);
        let (before, after) = (value_at(segment, from), value_at(segment, to));
        let cell = std::cell::RefCell::new(segment);
        let mut cuts = vec![from];
        for edge in [band.low, band.high].into_iter().flatten() {
            // A value that rounds to the edge is on it, and crosses there.
            let past = |v: f64| if (v - edge).abs() <= ON_THE_EDGE * edge.abs() { 0.0 } else { (v - edge).signum() };
            if past(before) * past(after) < 0.0 {
                let root = find_root(|t| value_at(&mut cell.borrow_mut(), t) - edge, from, to, 0.0);
                cuts.push(root.unwrap_or(to));
            }
        }
        cuts.push(to);
        cuts.sort_unstable_by(f64::total_cmp);
        let begin = cell.borrow().from_d;
        for cut in cuts.windows(2) {
            let middle = value_at(&mut cell.borrow_mut(), 0.5 * (cut[0] + cut[1]));
            if self.excess(middle) != 0.0 {
                self.outside_d += cut[1] - cut[0];
                self.left_at_d.get_or_insert(begin + cut[0]);
            }
        }
    }
}

/// Share of a piece from each end at which its slope is looked at.
const CLOSE_TO_END: f64 = 1e-5;
/// Share of a band's edge within which a value is on the edge.
const ON_THE_EDGE: f64 = 1e-9;

/// Statistics over time of volume, salinity and every solute, taken inside the steps.
#[derive(Clone, Debug)]
pub struct Statistics {
    /// Volume first, then salinity, then the solutes.
    pub watches: Vec<Watch>,
    /// Length watched \[d\].
    pub days: f64,
}

impl Statistics {
    /// Watches for a number of solutes, with their bands.
    #[must_use]
    pub fn new(solutes: usize, bands: &[Band]) -> Self {
        let mut all = Self::of(&[Watched::Salinity], bands);
        all.watches.insert(0, Watch::new(None, None));
        all.watches.extend(Self::of(&(0..solutes).map(Watched::Solute).collect::<Vec<_>>(), bands).watches);
        all
    }

    /// Watches these quantities alone, in this order, with their bands.
    #[must_use]
    pub fn of(quantities: &[Watched], bands: &[Band]) -> Self {
        let watch = |of: &Watched| Watch::new(Some(*of), bands.iter().find(|b| b.of == *of).copied());
        Self { watches: quantities.iter().map(watch).collect(), days: 0.0 }
    }

    /// Mean over time of a watch.
    #[must_use]
    pub fn mean(&self, watch: usize) -> f64 {
        if self.days > 0.0 { self.watches[watch].integral.value() / self.days } else { self.watches[watch].last }
    }
}

impl Observer for Statistics {
    fn row(&mut self, row: &Row<'_>) {
        for watch in &mut self.watches {
            watch.see(row);
            watch.note_leaving(row);
        }
    }

    fn looks_inside(&self) -> bool {
        true
    }

    fn wants_words(&self) -> bool {
        false
    }

    fn segment(&mut self, segment: &mut Segment<'_>) {
        let mut turning = Vec::new();
        for watch in &mut self.watches {
            if watch.of.is_none_or(|of| segment.goes_one_way(of)) {
                watch.along(segment);
            } else {
                turning.push(watch);
            }
        }
        look_closely(&mut turning, segment);
        self.days += segment.days;
    }
}

impl Watch {
    /// A segment over which the value only rises or only falls: its ends tell all but the mean.
    fn along(&mut self, segment: &mut Segment<'_>) {
        let ends = segment.ends().map(|row| self.value(&row));
        for (value, t) in ends.into_iter().zip([segment.from_d, segment.from_d + segment.days]) {
            self.take(value, t);
        }
        match (self.of, segment.integral(self.of)) {
            // The volume is linear.
            (None, _) => self.integral.add(0.5 * (ends[0] + ends[1]) * segment.days),
            (_, Some(integral)) => self.integral.add(integral),
            (of, None) => {
                for (begin, length) in segment.flow.pieces(segment.days) {
                    for (node, weight) in gauss().node.iter().zip(gauss().weight) {
                        self.integral.add(weight * length * segment.value_at(of, begin + node * length));
                    }
                }
            }
        }
        if ends.into_iter().any(|value| self.is_outside(value)) {
            self.outside(segment, 0.0, segment.days);
        }
    }
}

/// Looks at quantities that may turn within a segment, piece by piece.
pub(super) fn look_closely(watches: &mut [&mut Watch], segment: &mut Segment<'_>) {
    if watches.is_empty() {
        return;
    }
    for (begin, length) in segment.pieces() {
        piece(watches, segment, begin, begin + length);
    }
}

/// A piece of a segment short enough for one Gauss–Legendre panel, looked at closely.
fn piece(watches: &mut [&mut Watch], segment: &mut Segment<'_>, from: f64, to: f64) {
    let length = to - from;
    // Close to both ends too, so that a turn between an end and its nearest node shows.
    let close = CLOSE_TO_END * length;
    let times: Vec<f64> = [from, from + close]
        .into_iter()
        .chain(gauss().node.iter().map(|node| from + node * length))
        .chain([to - close, to])
        .collect();
    let mut values = vec![[0.0; GAUSS_NODES + 4]; watches.len()];
    for (k, t) in times.iter().enumerate() {
        let row = segment.at(*t);
        for (watch, values) in watches.iter_mut().zip(&mut values) {
            values[k] = watch.value(&row);
            watch.see(&row);
        }
    }
    for (watch, values) in watches.iter_mut().zip(&values) {
        for (weight, value) in gauss().weight.iter().zip(&values[2..GAUSS_NODES + 2]) {
            watch.integral.add(weight * length * value);
        }
        // Single amounts only rise or only fall within a segment; what is made from others may turn.
        let turn = (1..GAUSS_NODES + 3).find(|k| (values[*k] - values[k - 1]) * (values[k + 1] - values[*k]) < 0.0);
        let flat = 1e-12 * values.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let turn = turn.filter(|k| (values[*k] - values[k - 1]).abs().max((values[k + 1] - values[*k]).abs()) > flat);
        let mut cuts = vec![from];
        if let Some(k) = turn {
            let at = watch.turning(segment, times[k - 1], times[k + 1], values[k] > values[k - 1]);
            watch.see(&segment.at(at));
            cuts.push(at);
        }
        cuts.push(to);
        for cut in cuts.windows(2) {
            watch.outside(segment, cut[0], cut[1]);
        }
        watch.last = values[GAUSS_NODES + 3];
    }
}

/// Records the trace, the events and the statistics.
#[derive(Clone, Debug)]
pub struct Recorder {
    /// Rows.
    pub trace: Trace,
    /// Events.
    pub events: Vec<EventRecord>,
    /// Statistics.
    pub statistics: Statistics,
}

impl Recorder {
    /// A recorder for a number of solutes and their bands.
    #[must_use]
    pub fn new(solutes: usize, bands: &[Band]) -> Self {
        Self { trace: Trace::new(solutes), events: Vec::new(), statistics: Statistics::new(solutes, bands) }
    }
}

impl Observer for Recorder {
    fn row(&mut self, row: &Row<'_>) {
        self.trace.row(row);
        self.statistics.row(row);
    }
    fn event(&mut self, event: EventRecord) {
        self.events.push(event);
    }
    fn looks_inside(&self) -> bool {
        true
    }
    fn segment(&mut self, segment: &mut Segment<'_>) {
        self.statistics.segment(segment);
    }
}

impl Observer for Trace {
    fn row(&mut self, row: &Row<'_>) {
        self.time_d.push(row.time_d);
        self.event.push(row.event);
        self.volume_l.push(row.volume_l);
        self.salinity_psu.push(row.salinity_psu);
        for (column, amount) in self.solutes.iter_mut().zip(&row.amounts[2..]) {
            column.push(amount / row.volume_l);
        }
    }
}
