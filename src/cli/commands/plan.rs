//! `plan`: a calendar of everything to do, a shopping list and the batch card.

use brinecast::app::{self, AppError, Loaded, PlanRequest, plan};
use brinecast::sizing::Purifier;
use brinecast::units::{Duration, Gallon, Power, Pressure, VolumeRate};
use clap::Args;
use jiff::civil::Date;

use super::many::each;
use super::water::{positive, quantity, span_d, temperature};
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;

/// Example: brinecast plan mixed-reef --from 2026-03-02 --span "30 d" --purifier 75gpd
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast plan mixed-reef --from 2026-03-02 --span \"30 d\" --purifier 75gpd --feed-temperature 12C --zone Europe/Berlin"
)]
pub(crate) struct Plan {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// More of them: each has its own files, and the answer is a table over them.
    #[arg(value_name = "SCENARIO")]
    more: Vec<String>,
    /// First day; without it, the scenario's.
    #[arg(long, value_name = "MOMENT")]
    from: Option<String>,
    /// How long it is for.
    #[arg(long, value_name = "TIME", default_value = "60 d")]
    span: String,
    /// Time zone of the clock, as in Europe/Berlin; without it, floating local time.
    #[arg(long, value_name = "ZONE")]
    zone: Option<String>,
    /// How long before each item to be reminded.
    #[arg(long, value_name = "TIME", default_value = "30 min")]
    reminder: String,
    /// Rated flow of the purifier, where water must be made for each batch; without it, the fresh water stands ready.
    #[arg(long, value_name = "FLOW")]
    purifier: Option<String>,
    /// Temperature of the purifier's feed water.
    #[arg(long, value_name = "T", default_value = "15 C")]
    feed_temperature: String,
    /// Power of the heater, where the batch is heated; without it, no heating is planned.
    #[arg(long, value_name = "POWER")]
    heater: Option<String>,
    /// Temperature of the room.
    #[arg(long, value_name = "T", default_value = "20 C")]
    room: String,
    #[command(flatten)]
    output: OutputArgs,
}

impl Plan {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        if !self.more.is_empty() {
            if self.scenario.lab.is_some() {
                return Err(AppError::Usage("--lab is for one scenario: plan it by itself".into()));
            }
            let files = self.scenario.and(&self.more);
            let load = |file: &str| self.scenario.load_other(file, &[]);
            let answer = |loaded: &Loaded| plan(loaded, &self.request(loaded)?);
            return Ok(each(&files, &self.output, load, answer, app::PLANS, app::row_of_plan));
        }
        let loaded = self.scenario.load()?;
        let request = self.request(&loaded)?;
        let folder = self.output.folder(loaded.place())?;
        let result = plan(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }

    fn request(&self, loaded: &Loaded) -> Result<PlanRequest, AppError> {
        let gallon = loaded.scenario.units.gallon();
        let from = self
            .from
            .as_deref()
            .map(|text| {
                text.parse::<Date>().map_err(|_| {
                    AppError::Usage(format!("--from: `{text}` is no date\n  = help: example: --from 2026-03-02"))
                })
            })
            .transpose()?;
        let purifier = match &self.purifier {
            None => None,
            Some(flow) => Some(Purifier {
                rated: positive::<VolumeRate>("purifier", flow, gallon)?,
                rated_pressure: Pressure::from_bar(RATED_BAR),
                pressure: Pressure::from_bar(RATED_BAR),
                feed: temperature("feed-temperature", &self.feed_temperature)?,
                reject: 4.0,
            }),
        };
        let request = PlanRequest {
            from,
            days: span_d("span", &self.span)?,
            zone: self.zone.clone(),
            reminder: quantity::<Duration>("reminder", &self.reminder, Gallon::Unstated)?,
            purifier,
            heater: self.heater.as_deref().map(|p| positive::<Power>("heater", p, gallon)).transpose()?,
            room: temperature("room", &self.room)?,
        };
        if !(0.0..=30.0).contains(&request.reminder.days()) {
            return Err(AppError::Usage(format!("--reminder {}: allowed are 0 to 30 d", self.reminder)));
        }
        Ok(request)
    }
}

/// Pressure at which purifiers are rated: 60 psi (common practice, no source).
const RATED_BAR: f64 = 4.137;
