//! Meters: the trade's conflict table, round trips, and what a biased meter does to a tank.

use brinecast::instruments::{
    Body, Compensation, ConductivityMeter, Errors, Hydrometer, Meter, Refractometer, RefractometerScale, Straight,
};
use brinecast::seawater::{Pair, Scale, parse_salinity};
use brinecast::units::{PracticalSalinity, Temperature};

use crate::support::{last, near, simulate};

fn psu(s: f64) -> PracticalSalinity {
    PracticalSalinity::from_psu(s)
}

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

/// TRADE sections 2.2 and 7 (computed from the equations of state).
#[test]
fn the_conflict_table_of_the_trade_is_settled() {
    let at_25 = celsius(25.0);
    let read = |text: &str| parse_salinity(text, at_25).unwrap().psu();
    assert!((read("1.025 sg 25C/25C") - 33.2).abs() < 0.05, "1.025 is not 35");
    // one number, four meanings (REFERENCE 2.3): SG 1.026374 on four scales
    for (pair, s) in [("25C/25C", 35.0), ("60F/60F", 34.4), ("20C/4C", 37.1), ("15C/4C", 35.5)] {
        assert!((read(&format!("1.026374 sg {pair}")) - s).abs() < 0.05, "{pair}");
    }
    // a 60/60 °F glass at 25 °C shows 1.0244 in 35 and would be taken for 31.7 (no glass correction)
    let glass = Hydrometer {
        pair: Pair::parse("60F/60F").unwrap(),
        body: Body::Glass,
        corrected: false,
        errors: Errors::default(),
    };
    let stem = glass.stem(psu(35.0), at_25).unwrap().ratio();
    assert!((stem - 1.0246).abs() < 5e-5, "{stem}");
    assert!((glass.shows(psu(35.0), at_25).unwrap().psu() - 32.0).abs() < 0.1);
    // SG 25/25 to S, the trade's table
    for (sg, s) in [(1.008, 10.6), (1.015, 19.9), (1.020, 26.6), (1.023, 30.5), (1.027, 35.8), (1.030, 39.8)] {
        assert!((read(&format!("{sg} sg 25C/25C")) - s).abs() < 0.06, "{sg}");
    }
}

#[test]
fn every_scale_takes_a_salinity_there_and_back() {
    let pair = Pair::parse("60F/60F").unwrap();
    for scale in [
        Scale::Practical,
        Scale::Absolute,
        Scale::GramsPerLitre,
        Scale::Gravity(pair),
        Scale::Conductivity,
        Scale::Index,
        Scale::Density,
    ] {
        let mut before = f64::NEG_INFINITY;
        for tenth in 1..=400 {
            let s = f64::from(tenth) * 0.1;
            let value = scale.value(psu(s), celsius(25.0)).unwrap();
            assert!(value > before, "{} is not monotone at {s}", scale.name());
            before = value;
            near(scale.practical(value, celsius(25.0)).unwrap().psu(), s, 1e-9, &scale.name());
        }
    }
}

#[test]
fn every_meter_gives_back_the_truth_behind_its_reading() {
    let errors = Errors { bias_psu: 0.4, slope: 0.02, noise_psu: 0.3 };
    let pair = Pair::parse("60F/60F").unwrap();
    let meters: Vec<Box<dyn Meter>> = vec![
        Box::new(Straight(errors)),
        Box::new(Hydrometer { pair, body: Body::Glass, corrected: false, errors }),
        Box::new(Hydrometer { pair, body: Body::PlasticArm, corrected: true, errors }),
        Box::new(Refractometer { scale: RefractometerScale::Brine, compensated: true, errors }),
        Box::new(Refractometer { scale: RefractometerScale::SeaWater, compensated: false, errors }),
        Box::new(ConductivityMeter { compensation: Compensation::Linear, errors }),
        Box::new(ConductivityMeter { compensation: Compensation::None, errors }),
    ];
    for meter in meters {
        for s in [11.0, 25.0, 33.0, 36.0] {
            let shown = meter.shows(psu(s), celsius(24.0)).unwrap();
            near(meter.truth(shown, celsius(24.0)).unwrap().psu(), s, 1e-9, &meter.assumption());
        }
        assert!(!meter.reading(psu(35.0), celsius(24.0)).unwrap().is_empty());
    }
}

/// A linear 2 %/°C compensation reads high in cool sea water and right at 25 °C (1.97 %/°C, TRADE 2.2).
#[test]
fn linear_compensation_is_right_only_at_its_own_temperature() {
    let meter = ConductivityMeter { compensation: Compensation::Linear, errors: Errors::default() };
    near(meter.shows(psu(35.0), celsius(25.0)).unwrap().psu(), 35.0, 1e-9, "at 25 °C");
    let cool = meter.shows(psu(35.0), celsius(15.0)).unwrap().psu();
    assert!(cool > 35.2 && cool < 35.7, "{cool}");
}

/// Tank and batch agree on the meter and are both wrong: a slope of +4 % puts both 1.35 psu low (TRADE 0.8).
#[test]
fn a_meter_with_a_slope_pulls_the_tank_where_it_reads_right() {
    let text = "format = 1\nbasis = \"ideal\"\nrun = \"3000 d\"\noutput = \"events\"\n[tank]\nvolume = \"400 L\"\n[change]\n\
                [waters.salt_water]\nsalinity = \"35 psu\"\nmixed_by = \"meter\"\n[meter]\nslope = \"4 %\"\n";
    let (_, outcome) = simulate(text, &[]);
    near(last(&outcome.trace.salinity_psu), 35.0 / 1.04, 1e-9, "settled");
    // a brine-scaled refractometer: 35 on it is 33.6
    let (_, outcome) = simulate(text, &["meter.kind=refractometer", "meter.scale=brine", "meter.slope=0 %"]);
    assert!((last(&outcome.trace.salinity_psu) - 33.6).abs() < 0.05);
}

/// The room gives the middle of the two forms, and the scenario says so among its defaults.
#[test]
fn a_room_gives_a_rate_and_says_how_uncertain_it_is() {
    let text = "format = 1\nrun = \"1 d\"\n[tank]\nvolume = \"400 L\"\ntemperature = \"25.5 C\"\n\
                [evaporation.room]\narea = \"0.6 m2\"\nair = \"22 C\"\nhumidity = \"45 %\"\n";
    let (loaded, outcome) = simulate(text, &[]);
    let said = loaded.scenario.defaults.iter().find(|d| d.key == "evaporation.room.rate").unwrap();
    assert!(said.value.contains("two published forms"), "{}", said.value);
    // TRADE 2.5: 3.5 by free convection and 6.3 by the short form, in still air, for this room
    let per_area = outcome.tally.evaporated_l / 0.6;
    assert!(per_area > 3.5 && per_area < 6.3, "{per_area}");
}
