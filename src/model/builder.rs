//! A plan made in code, part by part, which keeps to the rules of a file.

use std::sync::Arc;

use super::check::PlanError;
use super::{
    Band, Basis, Change, Costs, DisturbanceWindow, Dose, Evaporation, Exchange, Listed, Loss, Plan, Reading, Regime,
    SoluteId, Species, Stop, Tank, TopOff, TopOffKind, Water, WaterId,
};
use crate::instruments::{Meter, Straight};
use crate::units::{Duration, PracticalSalinity, Temperature, Volume, VolumeRate};

/// A plan that is being put together; see [`Plan::builder`].
#[derive(Clone, Debug)]
pub struct PlanBuilder {
    plan: Plan,
}

impl Plan {
    /// Begins a plan for a system of some volume: 35 psu at 25 °C, for a year, rows by the day, a float that holds the
    /// level with purified water, and nothing else. The waters [`WaterId::PURIFIED`] and [`WaterId::SALT_WATER`] are
    /// there; new salt water has the salinity of the tank.
    ///
    /// ```
    /// use brinecast::engine::run;
    /// use brinecast::model::{Amount, Change, Evaporation, Plan, SKIMMATE, WaterId};
    /// use brinecast::units::{Duration, Volume, VolumeRate};
    ///
    /// let litres = Volume::from_litres;
    /// let flow = VolumeRate::from_litres_per_day;
    /// let mut tank = Plan::builder(litres(400.0));
    /// tank.evaporation(Evaporation::Constant(flow(6.0))).outflow(&SKIMMATE, flow(0.2));
    /// tank.change(Change::every(Duration::from_days(7.0), Amount::Share(0.10), WaterId::SALT_WATER));
    /// let plan = tank.build()?;
    /// let end = *run(&plan)?.trace.salinity_psu.last().expect("a run has rows");
    /// assert!(end < 34.0, "skimmate takes salt out, and the float puts fresh water in its place");
    ///
    /// // The rules are those of a file.
    /// tank.change(Change::every(Duration::from_days(7.0), Amount::Share(30.0), WaterId::SALT_WATER));
    /// assert!(tank.build().is_err_and(|why| why.to_string().contains("change.amount")));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn builder(operating: Volume) -> PlanBuilder {
        let (salinity, temperature) = (PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0));
        let water = |name: &str, salinity| Water::new(name, salinity, temperature, []);
        let kind = TopOff::KINDS[0];
        let pump = VolumeRate::from_litres_per_day(USUAL_PUMP_L_PER_D);
        PlanBuilder {
            plan: Plan {
                basis: Basis::Mass,
                horizon: Duration::from_days(365.0),
                output_every: Some(Duration::from_days(1.0)),
                tank: Tank { operating, rim: None, starve: None, temperature, salinity, volume: operating, ph: None },
                waters: vec![water("purified", PracticalSalinity::default()), water("salt_water", salinity)].into(),
                species: Listed::default(),
                regime: Regime {
                    evaporation: Evaporation::Constant(VolumeRate::default()),
                    by_day: None,
                    top_off: TopOff::of(kind, pump, super::Schedule::Never, WaterId::PURIFIED),
                    outflows: Vec::new(),
                    intrusion: None,
                    exchange: None,
                    changes: Vec::new(),
                    doses: Vec::new(),
                    dosing: Vec::new(),
                    laid_down_kg_per_d: 0.0,
                    reading: None,
                    meter: Arc::new(Straight::default()),
                    loads: Listed::default(),
                    feed: Listed::default(),
                },
                periods: Vec::new(),
                bands: Vec::new(),
                disturbances: Vec::new(),
                costs: Costs::default(),
                stop: Stop::default(),
            },
        }
    }

    /// This plan, where it keeps to the rules of a file.
    ///
    /// # Errors
    ///
    /// Names the first rule that it breaks.
    pub fn checked(self) -> Result<Self, PlanError> {
        self.rules()?;
        Ok(self)
    }
}

/// Flow of a float's pump where none is given \[L/d\]: 20 L/h.
const USUAL_PUMP_L_PER_D: f64 = 480.0;

impl PlanBuilder {
    /// By mass or ideal.
    pub fn basis(&mut self, basis: Basis) -> &mut Self {
        self.plan.basis = basis;
        self
    }

    /// How long it runs, and the spacing of its rows; none between events where that is left out.
    pub fn run(&mut self, horizon: Duration, output_every: Option<Duration>) -> &mut Self {
        (self.plan.horizon, self.plan.output_every) = (horizon, output_every);
        self
    }

    /// The tank, all of it.
    pub fn tank(&mut self, tank: Tank) -> &mut Self {
        self.plan.tank = tank;
        self
    }

    /// Tracks a solute, of which no water holds any until [`Self::holds`] says so.
    pub fn solute(&mut self, species: Species) -> SoluteId {
        self.plan.regime.loads.push(species.load_per_day);
        self.plan.regime.feed.push(0.0);
        for water in &mut self.plan.waters {
            water.solutes.push(0.0);
            water.per_salt_kg.push(0.0);
        }
        self.plan.species.push(species)
    }

    /// Adds a water, which holds none of the solutes until [`Self::holds`] says so.
    pub fn water(&mut self, name: &str, salinity: PracticalSalinity, temperature: Temperature) -> WaterId {
        let nothing = self.plan.species.iter().map(|_| 0.0);
        self.plan.waters.push(Water::new(name, salinity, temperature, nothing))
    }

    /// Says how much of a solute a water holds \[mg/L or meq/L\]; nothing where the plan has not both.
    pub fn holds(&mut self, water: WaterId, solute: SoluteId, concentration: f64) -> &mut Self {
        use super::Id;
        if let Some(water) = self.plan.waters.get_mut(water.place())
            && solute.place() < water.solutes.len()
        {
            water.hold(solute, concentration);
        }
        self
    }

    /// Fresh water lost to the air.
    pub fn evaporation(&mut self, evaporation: Evaporation) -> &mut Self {
        self.plan.regime.evaporation = evaporation;
        self
    }

    /// How that is made up.
    pub fn top_off(&mut self, top_off: TopOff) -> &mut Self {
        self.plan.regime.top_off = top_off;
        self
    }

    /// How that is made up, by kind alone: a pump of 20 L/h, or once a day by hand.
    pub fn top_off_by(&mut self, kind: TopOffKind) -> &mut Self {
        let pump = VolumeRate::from_litres_per_day(USUAL_PUMP_L_PER_D);
        self.top_off(TopOff::of(kind, pump, super::Schedule::every(1.0, 1.0), WaterId::PURIFIED))
    }

    /// Tank water that leaves unasked.
    pub fn outflow(&mut self, loss: &'static Loss, rate: VolumeRate) -> &mut Self {
        self.plan.regime.set_outflow(loss, rate);
        self
    }

    /// A continuous exchange.
    pub fn exchange(&mut self, exchange: Exchange) -> &mut Self {
        self.plan.regime.exchange = Some(exchange);
        self
    }

    /// One more change.
    pub fn change(&mut self, change: Change) -> &mut Self {
        self.plan.regime.changes.push(change);
        self
    }

    /// One more dose.
    pub fn dose(&mut self, dose: Dose) -> &mut Self {
        self.plan.regime.doses.push(dose);
        self
    }

    /// Readings of the tank.
    pub fn reading(&mut self, reading: Reading) -> &mut Self {
        self.plan.regime.reading = Some(reading);
        self
    }

    /// The keeper's meter.
    pub fn meter(&mut self, meter: Arc<dyn Meter>) -> &mut Self {
        self.plan.regime.meter = meter;
        self
    }

    /// One more band.
    pub fn band(&mut self, band: Band) -> &mut Self {
        self.plan.bands.push(band);
        self
    }

    /// Something that goes wrong.
    pub fn disturbance(&mut self, window: DisturbanceWindow) -> &mut Self {
        self.plan.disturbances.push(window);
        self
    }

    /// The plan.
    ///
    /// # Errors
    ///
    /// Names the first rule of a file that it breaks.
    pub fn build(&self) -> Result<Plan, PlanError> {
        self.plan.clone().checked()
    }
}
