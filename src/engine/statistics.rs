//! What a quantity does over a run: extremes, mean, and its stay outside a band.

use super::{Observer, Row, Segment};
use crate::model::{Band, Id, SoluteId, Variable};
use crate::numerics::{GAUSS_NODES, Sum, find_root, gauss};

/// Lowest, mean and highest of one quantity, and its stay outside a band.
#[derive(Clone, Debug)]
pub struct Statistic {
    /// Of what; `None` is the volume.
    pub of: Option<Variable>,
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
    /// Whether it was left upwards then.
    pub left_above: bool,
    /// Days outside.
    pub outside_d: f64,
    /// Worst excess and when.
    pub worst: (f64, f64),
}

impl Statistic {
    /// A statistic over a quantity.
    #[must_use]
    pub fn new(of: Option<Variable>, band: Option<Band>) -> Self {
        Self {
            of,
            band,
            first: f64::NAN,
            lowest: (f64::INFINITY, 0.0),
            highest: (f64::NEG_INFINITY, 0.0),
            last: f64::NAN,
            integral: Sum::default(),
            left_at_d: None,
            left_above: false,
            outside_d: 0.0,
            worst: (0.0, 0.0),
        }
    }

    pub(super) fn value(&self, row: &Row<'_>) -> f64 {
        self.of.map_or(row.volume_l, |of| row.value(of))
    }

    fn excess(&self, value: f64) -> f64 {
        let excess = self.band.map_or(0.0, |b| b.excess(value));
        // A value that rounds to the edge is on it; one without end is not.
        if excess.is_finite() && excess.abs() <= ON_THE_EDGE * value.abs() { 0.0 } else { excess }
    }

    /// Whether a value lies outside the band.
    pub(super) fn is_outside(&self, value: f64) -> bool {
        self.excess(value) != 0.0
    }

    /// Notes the time of a row outside the band, where none was noted before.
    pub(super) fn note_leaving(&mut self, row: &Row<'_>) {
        self.leaves(row.time_d, self.excess(self.value(row)));
    }

    /// Notes an excess at a time, where none was noted before.
    fn leaves(&mut self, t: f64, excess: f64) {
        if excess != 0.0 && self.left_at_d.is_none() {
            (self.left_at_d, self.left_above) = (Some(t), excess > 0.0);
        }
    }

    /// Takes a row into the extremes; gives its excess.
    fn see(&mut self, row: &Row<'_>) -> f64 {
        let value = self.value(row);
        let excess = self.excess(value);
        self.take(value, excess, row.time_d);
        excess
    }

    /// Takes a value at a time, with its excess, into the extremes.
    fn take(&mut self, value: f64, excess: f64, t: f64) {
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
            let excess = self.excess(middle);
            if excess != 0.0 {
                self.outside_d += cut[1] - cut[0];
                self.leaves(begin + cut[0], excess);
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
    pub variables: Vec<Statistic>,
    /// Length watched \[d\].
    pub days: f64,
    /// Whether the last that was seen is the end of a segment.
    at_end: bool,
}

impl Statistics {
    /// Watches for a number of solutes, with their bands.
    #[must_use]
    pub fn new(solutes: usize, bands: &[Band]) -> Self {
        let mut all = Self::of(&[Variable::Salinity], bands);
        all.variables.insert(0, Statistic::new(None, None));
        all.variables.extend(
            Self::of(&(0..solutes).map(|i| Variable::Solute(SoluteId::of(i))).collect::<Vec<_>>(), bands).variables,
        );
        all
    }

    /// Watches these quantities alone, in this order, with their bands.
    #[must_use]
    pub fn of(quantities: &[Variable], bands: &[Band]) -> Self {
        let statistic = |of: &Variable| Statistic::new(Some(*of), bands.iter().find(|b| b.of == *of).copied());
        Self { variables: quantities.iter().map(statistic).collect(), days: 0.0, at_end: false }
    }

    /// The statistic of a quantity, where it is kept.
    #[must_use]
    pub fn variable(&self, of: Variable) -> Option<&Statistic> {
        self.variables.iter().find(|statistic| statistic.of == Some(of))
    }

    /// Mean over time of a statistic.
    #[must_use]
    pub fn mean(&self, statistic: usize) -> f64 {
        if self.days > 0.0 {
            self.variables[statistic].integral.value() / self.days
        } else {
            self.variables[statistic].last
        }
    }
}

impl Observer for Statistics {
    fn row(&mut self, row: &Row<'_>) {
        // A row of the grid, or before an act, is the end of the segment again.
        if std::mem::take(&mut self.at_end) && row.event.is_empty() {
            return;
        }
        for statistic in &mut self.variables {
            let excess = statistic.see(row);
            statistic.leaves(row.time_d, excess);
        }
    }

    fn looks_inside(&self) -> bool {
        true
    }

    fn segment(&mut self, segment: &mut Segment<'_>) {
        look_inside(self.variables.iter_mut(), segment, Statistic::along);
        self.days += segment.days;
        self.at_end = true;
    }
}

impl Statistic {
    /// Notes a stay outside the band within a segment. Says whether no closer look is needed: the value only rises or only
    /// falls, or stays within the band for certain.
    pub(super) fn cross(&mut self, segment: &mut Segment<'_>) -> bool {
        if self.of.is_some_and(|of| !segment.goes_one_way(of)) {
            let reach = segment.reach(self.of);
            let keeps = |bounds| self.keeps(bounds);
            return reach.is_some_and(|(reach, i)| reach.roughly(i).is_some_and(keeps) || keeps(reach.of(i)));
        }
        let ends = segment.ends(self.of);
        self.passes(segment, ends);
        true
    }

    /// The same with extremes and mean. What may turn needs no closer look where it cannot go beyond the extremes so far
    /// either, and its integral has a closed form.
    fn along(&mut self, segment: &mut Segment<'_>) -> bool {
        if self.of.is_some_and(|of| !segment.goes_one_way(of)) {
            let within = |[low, high]: [f64; 2]| low >= self.lowest.0 && high <= self.highest.0;
            let reach = segment.reach(self.of).map(|(reach, i)| reach.of(i));
            if !reach.is_some_and(|reach| within(reach) && self.keeps(reach)) {
                return false;
            }
        }
        let ends = segment.ends(self.of);
        let Some(integral) = segment.integral(self.of, ends) else { return false };
        self.integral.add(integral);
        let excess = ends.map(|end| self.excess(end));
        if excess != [0.0; 2] {
            self.outside(segment, 0.0, segment.days);
        }
        // It goes on from where it was, unless an act or another law of the volume has moved it.
        if ends[0] != self.last {
            self.take(ends[0], excess[0], segment.from_d);
        }
        self.take(ends[1], excess[1], segment.from_d + segment.days);
        true
    }

    /// Whether all values between two are within the band.
    fn keeps(&self, reach: [f64; 2]) -> bool {
        !reach.iter().any(|value| self.is_outside(*value))
    }

    /// Notes a stay outside the band of a value that only rises or only falls: there is one where it is outside at an end.
    fn passes(&mut self, segment: &mut Segment<'_>, ends: [f64; 2]) {
        if self.band.is_some() && ends.iter().any(|end| self.is_outside(*end)) {
            self.outside(segment, 0.0, segment.days);
        }
    }
}

/// Looks into a segment: closely at what `needs_no_more` does not do for.
pub(super) fn look_inside<'w>(
    variables: impl Iterator<Item = &'w mut Statistic>,
    segment: &mut Segment<'_>,
    needs_no_more: fn(&mut Statistic, &mut Segment<'_>) -> bool,
) {
    let mut turning = Vec::new();
    for statistic in variables {
        if !needs_no_more(statistic, segment) {
            turning.push(statistic);
        }
    }
    look_closely(&mut turning, segment);
}

/// Looks at quantities that may turn within a segment, piece by piece, each from where the one before it ended.
fn look_closely(variables: &mut [&mut Statistic], segment: &mut Segment<'_>) {
    if variables.is_empty() {
        return;
    }
    let mut flow = segment.flow.clone();
    let mut now = segment.amounts.clone();
    let mut then = now.clone();
    for (begin, length) in segment.pieces() {
        segment.stepper.step(&flow, segment.at_zero, &now, length, &mut then, segment.integral);
        let mut part = Segment {
            stepper: segment.stepper,
            flow: &flow,
            at_zero: segment.at_zero,
            law: segment.law,
            amounts: &now,
            after: &then,
            scratch: segment.scratch,
            integral: segment.integral,
            over: &[],
            weighed: [&now, &then].map(|amounts| segment.law.weigh(amounts.water_and_salt())),
            from_d: segment.from_d + begin,
            days: length,
        };
        piece(variables, &mut part, length);
        std::mem::swap(&mut now, &mut then);
        flow.volume += flow.drift * length;
    }
}

/// A piece short enough for one Gauss–Legendre panel, looked at closely.
fn piece(variables: &mut [&mut Statistic], segment: &mut Segment<'_>, length: f64) {
    // Close to both ends too, so that a turn between an end and its nearest node shows.
    let close = CLOSE_TO_END * length;
    let times: Vec<f64> = [0.0, close]
        .into_iter()
        .chain(gauss().node.iter().map(|node| node * length))
        .chain([length - close, length])
        .collect();
    let mut values = vec![[0.0; GAUSS_NODES + 4]; variables.len()];
    for (k, t) in times.iter().enumerate() {
        let row = segment.at(*t);
        for (statistic, values) in variables.iter_mut().zip(&mut values) {
            values[k] = statistic.value(&row);
            statistic.see(&row);
        }
    }
    for (statistic, values) in variables.iter_mut().zip(&values) {
        for (weight, value) in gauss().weight.iter().zip(&values[2..GAUSS_NODES + 2]) {
            statistic.integral.add(weight * length * value);
        }
        // Single amounts only rise or only fall within a segment; what is made from others may turn.
        let turn = (1..GAUSS_NODES + 3).find(|k| (values[*k] - values[k - 1]) * (values[k + 1] - values[*k]) < 0.0);
        let flat = 1e-12 * values.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let turn = turn.filter(|k| (values[*k] - values[k - 1]).abs().max((values[k + 1] - values[*k]).abs()) > flat);
        let mut cuts = vec![0.0];
        if let Some(k) = turn {
            let at = statistic.turning(segment, times[k - 1], times[k + 1], values[k] > values[k - 1]);
            statistic.see(&segment.at(at));
            cuts.push(at);
        }
        cuts.push(length);
        for cut in cuts.windows(2) {
            statistic.outside(segment, cut[0], cut[1]);
        }
        statistic.last = values[GAUSS_NODES + 3];
    }
}
