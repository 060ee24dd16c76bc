//! What a file may say that no example says: it is taken as it is meant, or refused with its remedy.

use brinecast::app::load_text;
use brinecast::model::{Component, Id, SoluteId, Variable};
use brinecast::units::{PracticalSalinity, Temperature};

use crate::support::{STILL, load, near};

fn refused(more: &str, overrides: &[&str]) -> String {
    let overrides: Vec<String> = overrides.iter().map(|o| (*o).to_owned()).collect();
    load_text("test.toml", &format!("{STILL}\n{more}"), &overrides).map(|_| ()).unwrap_err().to_string()
}

#[test]
fn a_band_may_have_a_lower_edge_alone() {
    let text = format!("{STILL}\n[solutes.calcium]\nstart = \"420 mg/L\"\n[bands]\ncalcium = \"above 380 mg/L\"\n");
    let plan = load(&text, &[]).scenario.plan;
    let band = plan.bands.iter().find(|b| b.of == Variable::Solute(SoluteId::of(0))).unwrap();
    assert_eq!((band.low, band.high), (Some(380.0), None));
}

/// A swing arm of plastic, a conductivity meter with a straight compensation of 2 %/°C and one with none show other numbers in the
/// same warm water than their exact kind; at 25 °C, where all compensate to, the conductivity meters agree.
#[test]
fn a_meter_is_of_the_kind_that_is_said() {
    let shows = |meter: &str, celsius: f64| {
        let plan = load(&format!("{STILL}\n[meter]\n{meter}\n"), &[]).scenario.plan;
        let truth = PracticalSalinity::from_psu(35.0);
        plan.regime.meter.shows(truth, Temperature::from_celsius(celsius)).unwrap().psu()
    };
    let conductivity = |how: &str| format!("kind = \"conductivity\"\ncompensation = \"{how}\"");
    for how in ["exact", "linear", "none"] {
        near(shows(&conductivity(how), 25.0), 35.0, 2e-3, how);
    }
    near(shows(&conductivity("exact"), 20.0), 35.0, 1e-6, "exact");
    let (linear, none) = (shows(&conductivity("linear"), 20.0), shows(&conductivity("none"), 20.0));
    // Conductivity rises by some 2.1 % a degree: five degrees colder without compensation is a tenth low.
    assert!((30.5..32.5).contains(&none) && (34.5..35.5).contains(&linear) && linear != 35.0, "{none} {linear}");
    let arm = |kind: &str| shows(&format!("kind = \"{kind}\"\npair = \"60F/60F\""), 30.0);
    assert!((arm("swing-arm") - arm("hydrometer")).abs() > 0.05, "{} {}", arm("swing-arm"), arm("hydrometer"));
}

/// 100 mL of a litre that holds 84.007 g of `NaHCO3` bring 100 meq.
#[test]
fn a_dose_of_a_product_is_a_volume() {
    let text = format!(
        "{STILL}\n[solutes.alkalinity]\nstart = \"8 dKH\"\n[products.soda]\nvolume = \"1 L\"\nholds = [\"84.007 g NaHCO3\"]\n[doses.soda]\nof = \"soda\"\namount = \"100 mL\"\nevery = \"7 d\"\n"
    );
    let plan = load(&text, &[]).scenario.plan;
    let brings = &plan.regime.doses[0].brings;
    let alkalinity = brings.iter().find(|b| b.0 == Component::Solute(SoluteId::of(0))).unwrap().1;
    near(alkalinity, 100.0, 1e-4, "meq");
}

/// The same pH is a higher share of NH3 on the total scale than on the buffers' scale, which reads some 0.13 higher in sea water
/// (Zeebe & Wolf-Gladrow 2001).
#[test]
fn a_ph_is_on_the_scale_that_is_said() {
    let ammonia = "[solutes.ammonia]\nstart = \"1 mg/L NH3-N\"\n";
    let share = |scale: &str| {
        let text = format!("{STILL}\n{ammonia}");
        let text =
            text.replace("volume = \"400 L\"", &format!("volume = \"400 L\"\nph = \"8.2\"\nph_scale = \"{scale}\""));
        let loaded = load(&text, &["run=1 d"]);
        let of = brinecast::study::Measure::parse("toxic_ammonia.peak").unwrap();
        brinecast::study::measure(&loaded.scenario.plan, &of).unwrap()
    };
    let (nbs, total) = (share("nbs"), share("total"));
    assert!((1.2..1.5).contains(&(total / nbs)), "{total} {nbs}");
}

#[test]
fn what_cannot_be_meant_is_refused_with_its_remedy() {
    let nitrogen = "[solutes.ammonia]\nstart = \"0 mg/L\"\n";
    let cases = [
        (
            format!(
                "{nitrogen}[solutes.alkalinity]\nstart = \"8 dKH\"\nremoval = \"1 %/d\"\nfollows_nitrogen = \"yes\"\n"
            ),
            "cannot go with nitrogen too",
        ),
        ("[products.x]\nvolume = \"1 L\"\nholds = [\"0 g NaHCO3\"]\n".to_owned(), "more than nothing"),
        ("[doses.x]\nof = \"ambrosia\"\namount = \"1 g\"\nevery = \"1 d\"\n".to_owned(), "neither salt nor a solute"),
        ("[bands]\nsalinity = \"about 35 psu\"\n".to_owned(), "is no band"),
    ];
    for (more, why) in cases {
        let said = refused(&more, &[]);
        assert!(said.contains(why), "{more}: {said}");
    }
    let day = refused("", &["evaporation.by_day=60 %", "evaporation.day=[\"08:00\", \"08:00\"]"]);
    assert!(day.contains("has no length") || day.contains("day"), "{day}");
}

/// A fault of two hundred times its usual size is no fault of this library, nor one of none.
#[test]
fn a_fault_has_a_size_within_reason() {
    let fault = |times: &str| {
        format!(
            "[faults.x]\nfault = \"leak\"\nfrom = \"2026-03-06\"\nto = \"2026-03-09\"\ntimes = \"{times}\"\n[tank]\nvolume = \"400 L\"\n"
        )
    };
    for times in ["0", "200", "-1"] {
        let more = fault(times).replace("[tank]\nvolume = \"400 L\"\n", "");
        let said = refused(&more, &["start=2026-03-01"]);
        assert!(said.contains("more than 0 and at most 100"), "{times}: {said}");
    }
}

/// What two chemicals bring of the same ion is added, and of another stands beside it: 147.01 g of CaCl2·2H2O hold 40.078 g of
/// calcium, and 203.30 g of MgCl2·6H2O 24.305 g of magnesium.
#[test]
fn what_chemicals_bring_is_added_ion_by_ion() {
    let chemical = |formula: &str| brinecast::chemicals::chemical(formula).expect("a chemical of the list");
    let mut brought = chemical("CaCl2.2H2O").brings(147.01);
    brought.add(&chemical("CaCl2.2H2O").brings(147.01));
    brought.add(&chemical("MgCl2.6H2O").brings(203.30));
    near(brought.of("calcium"), 2.0 * 40_078.0, 1e-3, "mg");
    near(brought.of("magnesium"), 24_305.0, 1e-3, "mg");
}

/// A full vessel of two hundred litres is too heavy to lift, one of ten is not.
#[test]
fn a_heavy_vessel_is_cautioned_against() {
    let folder = tempfile::tempdir().unwrap();
    let said = |litres: &str| {
        let args = ["batch", "--finished", litres, "--full"];
        crate::cli::stdout(&crate::cli::brinecast(folder.path(), &args)).to_lowercase()
    };
    let weight = brinecast::results::Caution::Weight.text().to_lowercase();
    let first: String = weight.split_whitespace().take(3).collect::<Vec<_>>().join(" ");
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(said("200 L")).contains(&first), "{first}");
    assert!(!flat(said("10 L")).contains(&first), "{first}");
}
