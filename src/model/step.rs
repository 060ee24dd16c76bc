//! The exact step: amounts after a time under constant flows.
//!
//! Volume is linear, `V(t) = V0 + a t`, and every amount obeys
//! ```text
//! x' = p − k x − (q/V(t)) x + Σ r_i x_i
//! ```
//! with supply `p`, first-order loss `k`, tank water leaving at `q` and what is made from other
//! solutes. With `τ = ∫ dt/V = (t/V0)·ln(1+z)/z`, `z = a t/V0`, and `b = a + q`, an amount without
//! reactions has the closed form
//! ```text
//! x(t) = e^{−qτ} x0 + V0 τ e^{−qτ} exprel(bτ) p,      exprel(y) = (e^y − 1)/y
//! ```
//! which holds through `a = 0`, `b = 0` and `q = 0`. With first-order loss and constant volume,
//! `λ = k + q/V` and
//! ```text
//! x(t) = e^{−λt} x0 + t·exprel(−λt) p,    ∫x dt = t·exprel(−λt) x0 + t²·exprel2(−λt) p
//! ```
//! Chains at constant volume have a closed form of their own ([`chain`](super::chain)); where the volume moves, what reacts
//! is a power series ([`series`](super::series)), solutes in the order in which they are made.
//!
//! Alkalinity goes with nitrogen ([`Coupling`](super::Coupling)): its sum with their equivalents obeys the first equation.

use super::chain::Chains;
use super::series::{LONGEST_EXPONENT, LONGEST_SHARE, Piece, Series, unreacted};
use super::{Amounts, Component, Coupling, Kinetics};
use crate::numerics::{Elementary, Recent, exprel, exprel2, gauss};

/// Largest exponent across a panel whose [`GAUSS_NODES`](crate::numerics::GAUSS_NODES) nodes are at round-off.
const PANEL_EXPONENT: f64 = 1.5;
/// Share of its volume below which a tank that runs dry is not looked at for how long a piece may be: the volume itself
/// bounds it there.
const LEAST_SHARE: f64 = 0.02;
/// Largest share by which the volume may change across one panel: `1/V` has a pole where the volume
/// is zero, and six nodes reach round-off only well away from it (Bernstein ellipse of radius 18).
const PANEL_VOLUME_SHARE: f64 = 0.2;
/// Most pieces into which a stretch is cut to be looked into.
const MOST_PIECES: f64 = 200.0;
/// Share of an uptake up to which what is made is less for certain, whatever the rounding.
const CLEAR: f64 = 0.999;
/// Newton steps after which the time at zero is as exact as it gets; five are usual.
const MOST_NEWTON_STEPS: usize = 40;
/// Constant-volume factors kept: a regime has a handful of step lengths, each looked into at a dozen places.
const KEPT: usize = 128;

/// Shares of the volume by which it changes and is renewed in a step so short that a few terms of a series are at
/// round-off; elsewhere the closed form takes three transcendental functions.
const SHORT: f64 = 0.05;

/// Stretches of which the nodes are kept.
const NODES_KEPT: usize = 8;

/// What happens to the tank between two events.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Flow {
    /// Volume at the start \[L\].
    pub volume: f64,
    /// Change of volume \[L/d\].
    pub drift: f64,
    /// Tank water leaving \[L/d\].
    pub out: f64,
    /// Supply of water, salt and each solute \[kg/d, kg/d, amount/d\], uptake not counted.
    pub supply: Amounts,
}

impl Flow {
    /// `∫ dt/V` over a time \[d/L\].
    #[must_use]
    pub fn turnover(&self, days: f64) -> f64 {
        turnover(self.volume, self.drift, days)
    }

    /// Pieces (begin, length) within which the nodes of one panel follow what does not react.
    pub fn pieces(&self, days: f64) -> impl Iterator<Item = (f64, f64)> + use<> {
        Panels::new(self, days, self.longest(days, 0.0, PANEL_EXPONENT).max(days / MOST_PIECES))
    }

    /// Longest piece of a stretch across which no exponent is more than `most`, losses up to `fastest` among them.
    fn longest(&self, days: f64, fastest: f64, most: f64) -> f64 {
        // By the smallest volume on the way: a bound without a logarithm.
        let least = (self.volume + (self.drift * days).min(0.0)).max(LEAST_SHARE * self.volume);
        let turnover = self.out.max((self.drift + self.out).abs());
        let exponent = (fastest * least + turnover) * days;
        if exponent <= most * least { days } else { days / (exponent / (most * least)).ceil() }
    }

    /// Water and salt \[kg\] after a time \[d\], as [`Stepper::step`] gives them.
    #[must_use]
    pub fn water_and_salt(&self, amounts: [f64; 2], days: f64) -> [f64; 2] {
        let (keep, gain) = self.unreacted(days);
        let supply = self.supply.water_and_salt();
        [0, 1].map(|j| keep * amounts[j] + gain * supply[j])
    }

    /// What is left of an amount without reactions, and what a unit of supply comes to.
    fn unreacted(&self, days: f64) -> (f64, f64) {
        if self.out == 0.0 {
            return (1.0, days);
        }
        let share = days / self.volume;
        let (z, theta) = (self.drift * share, self.out * share);
        if z.abs() + theta < SHORT {
            let (keep, gain) = unreacted(z, theta);
            return (keep, days * gain);
        }
        let tau = self.turnover(days);
        let keep = (-self.out * tau).to_exp();
        let exponent = (self.drift + self.out) * tau;
        // The two are one: the second keeps its sense where hundreds of volumes pass in a step.
        let shape =
            if exponent < 1.0 { keep * exprel(exponent) } else { (self.drift * tau).to_exp() * exprel(-exponent) };
        (keep, self.volume * tau * shape)
    }

    /// When an amount without reactions is nothing, where it is so at all: what comes in has the other sign.
    ///
    /// `e^{bτ} = 1 − b x0/(V0 p)` solved for `τ`, and that for the time.
    #[must_use]
    pub fn time_at_nothing(&self, amount: f64, supply: f64) -> f64 {
        let turns = -amount / (supply * self.volume);
        let y = (self.drift + self.out) * turns;
        let tau = turns * if y.abs() < 1e-9 { 1.0 - 0.5 * y } else { y.to_ln_1p() / y };
        self.volume * tau * exprel(self.drift * tau)
    }
}

fn turnover(volume: f64, drift: f64, days: f64) -> f64 {
    let z = drift * days / volume;
    let shape = if z.abs() < 1e-9 { 1.0 - 0.5 * z } else { z.to_ln_1p() / z };
    days / volume * shape
}

/// The panels (begin, length) of a stretch: as long as the exponents allow, and no longer than the volume
/// allows where they are.
struct Panels {
    volume: f64,
    drift: f64,
    days: f64,
    longest: f64,
    /// Largest share by which the volume may change across one.
    share: f64,
    done: f64,
}

impl Panels {
    fn new(flow: &Flow, days: f64, longest: f64) -> Self {
        Self { volume: flow.volume, drift: flow.drift, days, longest, share: PANEL_VOLUME_SHARE, done: 0.0 }
    }
}

impl Iterator for Panels {
    type Item = (f64, f64);

    fn next(&mut self) -> Option<(f64, f64)> {
        if self.done >= self.days {
            return None;
        }
        let volume = self.volume + self.drift * self.done;
        let bound =
            if self.drift == 0.0 { self.longest } else { self.longest.min(self.share * volume / self.drift.abs()) };
        let left = self.days - self.done;
        // A last sliver is taken with the panel before it.
        let step = if left <= bound * (1.0 + 1e-9) { left } else { bound };
        let begin = self.done;
        self.done = if step >= left { self.days } else { begin + step };
        Some((begin, step))
    }
}

/// A moment within a stretch, for an integral over it: its weight \[d\], the moment \[d\], and what is left then of an amount
/// without reactions and what a unit of supply has come to.
#[derive(Clone, Copy, Debug)]
pub struct Node {
    /// Weight in the integral \[d\].
    pub weight: f64,
    /// Days from the begin of the stretch.
    pub at: f64,
    /// Share left of an amount.
    pub keep: f64,
    /// What a supply of one a day has come to.
    pub gain: f64,
}

/// Moments of a stretch, and over all of it the integrals of what is left of one and of what one a day has come to.
#[derive(Clone, Debug)]
pub struct Nodes {
    /// The moments.
    pub each: Vec<Node>,
    /// `∫ keep dt`.
    pub kept: f64,
    /// `∫ gain dt`.
    pub gained: f64,
}

/// Factors of a constant-volume step for one first-order loss.
#[derive(Clone, Copy, Debug)]
struct Factors {
    keep: f64,
    once: f64,
    twice: f64,
}

/// A stretch of time between two events, and what there is at its begin.
struct Stretch<'a> {
    flow: &'a Flow,
    at_zero: &'a [bool],
    amounts: &'a Amounts,
    days: f64,
}

/// Steps amounts forward, with what it has worked out before.
#[derive(Clone, Debug)]
pub struct Stepper {
    kinetics: Kinetics,
    factors: Recent<(u64, u64), Vec<Factors>, KEPT>,
    unreacted: Recent<[u64; 4], Nodes, NODES_KEPT>,
    chains: Chains,
    series: Series,
}

impl Stepper {
    /// A stepper for a reaction network.
    #[must_use]
    pub fn new(kinetics: Kinetics) -> Self {
        let n = kinetics.loss.len();
        Self {
            kinetics,
            factors: Recent::default(),
            unreacted: Recent::default(),
            chains: Chains::default(),
            series: Series::new(n),
        }
    }

    /// Takes other first-order losses \[1/d\] where nothing turns into anything, and forgets what it has worked out.
    pub fn lose(&mut self, losses: impl IntoIterator<Item = f64>) {
        let kinetics = &mut self.kinetics;
        for ((own, removal), loss) in kinetics.loss.iter_mut().zip(&mut kinetics.removal).zip(losses) {
            (*own, *removal) = (loss, loss);
        }
        kinetics.order.clear();
        kinetics.order.extend((0..kinetics.loss.len()).filter(|i| kinetics.loss[*i] != 0.0));
        (self.factors, self.chains) = (Recent::default(), Chains::default());
    }

    /// Takes another coupling of alkalinity to nitrogen.
    pub fn couple(&mut self, coupling: Option<Coupling>) {
        self.kinetics.coupling = coupling;
    }

    /// The reaction network.
    #[must_use]
    pub const fn kinetics(&self) -> &Kinetics {
        &self.kinetics
    }

    /// Moves `amounts` (water kg, salt kg, solutes) over `days` under `flow` into `after`.
    ///
    /// `at_zero` marks solutes that an uptake holds at zero. `integral` receives `∫x dt` of every
    /// solute that reacts, and zero for the others.
    pub fn step(
        &mut self,
        flow: &Flow,
        at_zero: &[bool],
        amounts: &Amounts,
        days: f64,
        after: &mut Amounts,
        integral: &mut [f64],
    ) {
        let (keep, gain) = flow.unreacted(days);
        after[Component::Water] = keep * amounts.water_kg() + gain * flow.supply.water_kg();
        after[Component::Salt] = keep * amounts.salt_kg() + gain * flow.supply.salt_kg();
        for (i, held) in at_zero.iter().enumerate() {
            let supply = flow.supply.solutes()[i] - self.kinetics.uptake[i];
            after.solutes_mut()[i] = if *held { 0.0 } else { keep * amounts.solutes()[i] + gain * supply };
            integral[i] = 0.0;
        }
        if !self.kinetics.order.is_empty() {
            let stretch = Stretch { flow, at_zero, amounts, days };
            if flow.drift == 0.0 {
                self.singles(&stretch, after, integral);
                self.chains(&stretch, after, integral);
            } else {
                self.moving(&stretch, after, integral);
            }
        }
        if let Some(coupling) = self.kinetics.coupling.as_ref().filter(|c| !at_zero[c.alkalinity]) {
            // Alkalinity and the nitrogen that moves it come to a sum that does not react.
            let i = coupling.alkalinity;
            let supply = flow.supply.solutes();
            let sum = amounts.solutes()[i] + coupling.parts_of(amounts.solutes());
            let come = supply[i] - self.kinetics.uptake[i] + coupling.parts_of(supply);
            after.solutes_mut()[i] = keep * sum + gain * come - coupling.parts_of(after.solutes());
        }
    }

    /// The amount of solute `i` alone after `days`, from `amount`, as [`Self::step`] gives it; nothing where it has no
    /// closed form.
    #[must_use]
    pub fn single(&self, flow: &Flow, at_zero: bool, i: usize, amount: f64, days: f64) -> Option<f64> {
        if at_zero {
            return Some(0.0);
        }
        let supply = flow.supply.solutes()[i] - self.kinetics.uptake[i];
        if self.kinetics.loss[i] == 0.0 && !self.kinetics.hangs_on_others(i) {
            let (keep, gain) = flow.unreacted(days);
            return Some(keep * amount + gain * supply);
        }
        let y = self.exponent(flow, i, days)?;
        Some(y.to_exp() * amount + days * exprel(y) * supply)
    }

    /// Moments over which what does not react can be summed to its integral, to round-off.
    pub fn unreacted_nodes(&mut self, flow: &Flow, days: f64) -> &Nodes {
        let key = [flow.volume, flow.drift, flow.out, days].map(f64::to_bits);
        let nodes = || {
            let of = |(begin, length): (f64, f64)| {
                gauss().node.iter().zip(gauss().weight).map(move |(node, weight)| {
                    let at = begin + node * length;
                    let (keep, gain) = flow.unreacted(at);
                    Node { weight: weight * length, at, keep, gain }
                })
            };
            let each: Vec<Node> = flow.pieces(days).flat_map(of).collect();
            let sum = |of: fn(&Node) -> f64| each.iter().map(|node| node.weight * of(node)).sum();
            let (kept, gained) = (sum(|node| node.keep), sum(|node| node.gain));
            (key, Nodes { each, kept, gained })
        };
        self.unreacted.find_or(|k| *k == key, nodes)
    }

    /// `−λt` of a solute outside chains at constant volume.
    fn exponent(&self, flow: &Flow, i: usize, days: f64) -> Option<f64> {
        let closed = flow.drift == 0.0 && !self.kinetics.hangs_on_others(i);
        closed.then(|| -(self.kinetics.loss[i] + flow.out / flow.volume) * days)
    }

    /// Closed forms of the solutes outside chains, at constant volume.
    fn singles(&mut self, of: &Stretch<'_>, after: &mut Amounts, integral: &mut [f64]) {
        let (dilution, days) = (of.flow.out / of.flow.volume, of.days);
        let (key, kinetics) = ((dilution.to_bits(), days.to_bits()), &self.kinetics);
        let factor = |k: &f64| {
            let y = -(k + dilution) * days;
            Factors { keep: y.to_exp(), once: days * exprel(y), twice: days * days * exprel2(y) }
        };
        let factors = self.factors.find_or(|k| *k == key, || (key, kinetics.loss.iter().map(factor).collect()));
        for &i in &kinetics.order {
            if of.at_zero[i] || kinetics.chained[i] {
                continue;
            }
            let supply = of.flow.supply.solutes()[i] - kinetics.uptake[i];
            let (f, amount) = (factors[i], of.amounts.solutes()[i]);
            after.solutes_mut()[i] = f.keep * amount + f.once * supply;
            integral[i] = f.once * amount + f.twice * supply;
        }
    }

    /// Closed forms of the chains, at constant volume.
    fn chains(&mut self, of: &Stretch<'_>, after: &mut Amounts, integral: &mut [f64]) {
        if !self.kinetics.chained.contains(&true) {
            return;
        }
        let kinetics = &self.kinetics;
        let chain = self.chains.over(kinetics, of.at_zero, of.flow.out / of.flow.volume, of.days);
        for (row, &i) in chain.solutes.iter().enumerate() {
            let supply = |j: usize| of.flow.supply.solutes()[j] - kinetics.uptake[j];
            (after.solutes_mut()[i], integral[i]) = chain.after(row, |j| of.amounts.solutes()[j], supply);
        }
    }

    /// Power series where the volume changes.
    fn moving(&mut self, of: &Stretch<'_>, after: &mut Amounts, integral: &mut [f64]) {
        let flow = of.flow;
        for &i in &self.kinetics.order {
            after.solutes_mut()[i] = of.amounts.solutes()[i];
        }
        let longest = flow.longest(of.days, self.fastest(), LONGEST_EXPONENT);
        for (begin, days) in (Panels { share: LONGEST_SHARE, ..Panels::new(flow, of.days, longest) }) {
            let volume = flow.volume + flow.drift * begin;
            let (drift, out, supply, at_zero) = (flow.drift, flow.out, &flow.supply, of.at_zero);
            let piece = Piece { volume, drift, out, supply, at_zero, days };
            self.series.over(&piece, &self.kinetics, after, integral);
        }
    }

    /// The fastest first-order loss \[1/d\].
    fn fastest(&self) -> f64 {
        self.kinetics.loss.iter().fold(0.0, |m: f64, k| m.max(*k))
    }

    /// Pieces (begin, length) of a stretch within which the nodes of one panel follow everything; at most
    /// about 200, which a reaction of up to 300/d over a day does not reach.
    pub fn pieces(&self, flow: &Flow, days: f64) -> impl Iterator<Item = (f64, f64)> + use<> {
        Panels::new(flow, days, flow.longest(days, self.fastest(), PANEL_EXPONENT).max(days / MOST_PIECES))
    }

    /// Whether a solute of a chain that an uptake draws on might come to zero within so many days, or leave it. It does not
    /// come there while what there is would last without what comes in and is made: `x' ≥ −(k + q/V) x − uptake`. It does
    /// not leave while the most that can be made of the others is less than the uptake.
    #[must_use]
    pub fn may_turn(&self, flow: &Flow, at_zero: &[bool], amounts: &Amounts, days: f64) -> bool {
        let kinetics = &self.kinetics;
        let least_volume = flow.volume + flow.drift.min(0.0) * days;
        kinetics.taking.iter().filter(|i| kinetics.chained[**i]).any(|&i| {
            let (supply, uptake) = (flow.supply.solutes()[i], kinetics.uptake[i]);
            if at_zero[i] {
                return supply + kinetics.most_made(i, amounts.solutes(), flow.supply.solutes(), days)
                    >= CLEAR * uptake;
            }
            let left = (-(kinetics.loss[i] + flow.out / least_volume) * days).to_exp() * amounts.solutes()[i];
            !(least_volume > 0.0 && supply >= 0.0 && left > uptake * days)
        })
    }

    /// When, within `days`, a solute outside chains falls to zero from `amount`; its net supply is negative.
    ///
    /// At constant volume `x0 e^{−λt} + s t exprel(−λt) = 0` has the root `ln(1 − λ x0/s)/λ`; elsewhere
    /// Newton finds it.
    #[must_use]
    pub fn time_at_zero(&self, flow: &Flow, i: usize, amount: f64, days: f64) -> f64 {
        let supply = flow.supply.solutes()[i] - self.kinetics.uptake[i];
        let loss = self.kinetics.loss[i];
        if loss == 0.0 {
            return flow.time_at_nothing(amount, supply).clamp(0.0, days);
        }
        if flow.drift == 0.0 {
            let lambda = loss + flow.out / flow.volume;
            let ratio = -amount / supply;
            let y = lambda * ratio;
            return ratio * if y.abs() < 1e-9 { 1.0 - 0.5 * y } else { y.to_ln_1p() / y };
        }
        let left = |t: f64| {
            // x(t) e^{kt + qτ(t)}: the same sign, one integral.
            let mut gained = 0.0;
            let panels = ((loss * t + flow.out * flow.turnover(t)) / PANEL_EXPONENT)
                .max((flow.drift * t / flow.volume).abs() / PANEL_VOLUME_SHARE)
                .ceil()
                .max(1.0);
            let mut panel = 0.0;
            while panel < panels {
                for (c, w) in gauss().node.iter().zip(gauss().weight) {
                    let s = t * (panel + c) / panels;
                    gained += w * t / panels * (loss * s + flow.out * flow.turnover(s)).to_exp();
                }
                panel += 1.0;
            }
            amount + supply * gained
        };
        // The function falls ever faster, so Newton's steps come to the root from the right and stay there.
        let mut t = (-amount / supply).min(days);
        for _ in 0..MOST_NEWTON_STEPS {
            let slope = supply * (loss * t + flow.out * flow.turnover(t)).to_exp();
            let back = left(t) / slope;
            t -= back;
            if back.abs() <= f64::EPSILON * days {
                break;
            }
        }
        t.clamp(0.0, days)
    }
}
