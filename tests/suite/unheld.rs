//! What mutants of the sources found that no test held, each by a hand calculation.

use brinecast::instruments::{Errors, Meter, Refractometer, RefractometerScale};
use brinecast::model::{Id, SoluteId};
use brinecast::sizing::{Heating, supplement};
use brinecast::units::{Power, PracticalSalinity, Temperature, Volume};

use crate::support::{STILL, load, near};

/// 100 L in a cylinder as high as it is wide: d = (0.4/pi)^(1/3) = 0.5031 m, wall and surface 1.5 pi d² = 1.1927 m², at
/// 6 W/(m² K) over 10 K.
#[test]
fn a_warm_vessel_loses_by_its_wall_and_surface() {
    let celsius = Temperature::from_celsius;
    let vessel = Heating {
        volume: Volume::from_litres(100.0),
        salinity: PracticalSalinity::from_psu(35.0),
        from: celsius(15.0),
        to: celsius(25.0),
        room: celsius(15.0),
        heater: Power::from_watts(300.0),
        evaporation_kg_per_day: 0.0,
    };
    near(vessel.losses(25.0).unwrap(), 6.0 * 1.192_66 * 10.0, 1e-3, "W");
}

/// A reading rounded to a step is uniform within it: variance step²/12 beside that of the noise.
#[test]
fn a_reading_is_as_uncertain_as_its_noise_and_its_step() {
    let meter = |compensated: bool| Refractometer {
        scale: RefractometerScale::SeaWater,
        compensated,
        errors: Errors { noise_psu: 0.3, ..Errors::default() },
    };
    let (with, step) = (meter(true), meter(true).resolution_psu());
    near(with.uncertainty_psu(), (with.noise_psu().powi(2) + step * step / 12.0).sqrt(), 1e-12, "psu");
    assert!(step > 0.0 && with.uncertainty_psu() > with.noise_psu());
    assert!(with.assumption().contains("temperature compensated"));
    assert!(meter(false).assumption().contains("read at 20 °C or wrong"));
}

/// Removal of 5 % a day and nothing else: 10 mg/L are held by 5 % of what the tank then holds, a day.
#[test]
fn a_supplement_is_what_is_taken_out() {
    let text = format!("{STILL}\n[solutes.nitrate]\nstart = \"10 mg/L\"\nremoval = \"5 %/d\"\n");
    let plan = load(&text, &[]).scenario.plan;
    let litres = plan.tank.operating.litres();
    let held = supplement(&plan, SoluteId::of(0), 10.0).unwrap().unwrap();
    near(held, 0.05 * 10.0 * litres, 1e-6, "mg/d");
}
