//! Watching a run: rows for the trace, statistics over time.

use crate::model::{Band, Flow, Stepper, VolumeLaw, Watched};
use crate::numerics::{Sum, find_root, gauss};
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
    pub(super) scratch: &'a mut [f64],
    pub(super) integral: &'a mut [f64],
    /// Days from the start of the run to the start of the segment.
    pub from_d: f64,
    /// Its length \[d\].
    pub days: f64,
}

impl Segment<'_> {
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
    /// Whether [`Observer::segment`] and [`Observer::event`] are to be called.
    fn looks_inside(&self) -> bool {
        false
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

    fn value(&self, row: &Row<'_>) -> f64 {
        self.of.map_or(row.volume_l, |of| row.value(of))
    }

    fn excess(&self, value: f64) -> f64 {
        let excess = self.band.map_or(0.0, |b| b.excess(value));
        // A value that rounds to the edge is on it.
        if excess.abs() <= 1e-9 * value.abs() { 0.0 } else { excess }
    }

    fn see(&mut self, row: &Row<'_>) {
        let (value, t) = (self.value(row), row.time_d);
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
        if excess != 0.0 {
            self.left_at_d.get_or_insert(t);
            if excess.abs() > self.worst.0.abs() {
                self.worst = (excess, t);
            }
        }
    }

    /// Time outside within a segment, whose ends have these excesses.
    fn outside(&mut self, segment: &mut Segment<'_>, before: f64, after: f64) {
        let days = segment.days;
        match (before != 0.0, after != 0.0) {
            (false, false) => {}
            (true, true) => self.outside_d += days,
            (was_outside, _) => {
                let band = self.band;
                let of = self.of;
                let edge = |t: f64, segment: &mut Segment<'_>| {
                    let row = segment.at(t);
                    let value = of.map_or(row.volume_l, |of| row.value(of));
                    let sign = (before + after).signum();
                    let limit = band.and_then(|b| if sign > 0.0 { b.high } else { b.low }).unwrap_or(value);
                    (value - limit) * sign
                };
                let cell = std::cell::RefCell::new(segment);
                let crossing = find_root(|t| edge(t, &mut cell.borrow_mut()), 0.0, days, 1e-9).unwrap_or(0.5 * days);
                let from = cell.borrow().from_d;
                if was_outside {
                    self.outside_d += crossing;
                } else {
                    self.outside_d += days - crossing;
                    self.left_at_d.get_or_insert(from + crossing);
                }
            }
        }
    }
}

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
        let band = |of| bands.iter().find(|b| b.of == of).copied();
        let mut watches = vec![Watch::new(None, None), Watch::new(Some(Watched::Salinity), band(Watched::Salinity))];
        watches.extend((0..solutes).map(|i| Watch::new(Some(Watched::Solute(i)), band(Watched::Solute(i)))));
        Self { watches, days: 0.0 }
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
        }
    }

    fn looks_inside(&self) -> bool {
        true
    }

    fn segment(&mut self, segment: &mut Segment<'_>) {
        let days = segment.days;
        let start: Vec<f64> = {
            let row = segment.at(0.0);
            self.watches
                .iter_mut()
                .map(|w| {
                    w.see(&row);
                    w.excess(w.value(&row))
                })
                .collect()
        };
        for (node, weight) in gauss().node.iter().zip(gauss().weight) {
            let row = segment.at(node * days);
            for watch in &mut self.watches {
                watch.integral.add(weight * days * watch.value(&row));
                watch.see(&row);
            }
        }
        let end: Vec<f64> = {
            let row = segment.at(days);
            self.watches
                .iter_mut()
                .map(|w| {
                    w.see(&row);
                    w.excess(w.value(&row))
                })
                .collect()
        };
        for ((watch, before), after) in self.watches.iter_mut().zip(start).zip(end) {
            if watch.band.is_some() {
                watch.outside(segment, before, after);
            }
        }
        self.days += days;
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
