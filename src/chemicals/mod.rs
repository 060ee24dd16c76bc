//! Plain chemicals that keepers dose, by their formula: what a gram of each brings.
//!
//! # Source
//! Stoichiometry with IUPAC abridged standard atomic weights 2021 (Pure Appl. Chem. 94:573). Volumes that salts take up in
//! solution: densities of aqueous solutions at 20 °C, CRC Handbook, "Concentrative properties of aqueous solutions" (read from
//! reprinted tables); where there is none, 0.25 mL/g, the usual size.
//!
//! Salinity counts conservative ions (Na, K, Mg, Ca, Cl, SO4) and no carbonate species and no hydroxide, so that exchange
//! of CO2 with the air moves no salt.

const SODIUM: f64 = 22.990;
const POTASSIUM: f64 = 39.098;
const MAGNESIUM: f64 = 24.305;
const CALCIUM: f64 = 40.078;
const CHLORINE: f64 = 35.45;
const SULFUR: f64 = 32.06;
const SULFATE: f64 = SULFUR + 4.0 * OXYGEN;
const OXYGEN: f64 = 15.999;
const HYDROGEN: f64 = 1.008;
const CARBON: f64 = 12.011;
const NITROGEN: f64 = 14.007;
const WATER: f64 = 2.0 * HYDROGEN + OXYGEN;
const CARBONATE: f64 = CARBON + 3.0 * OXYGEN;
const HYPOCHLORITE: f64 = CHLORINE + OXYGEN;
const THIOSULFATE: f64 = 2.0 * SULFUR + 3.0 * OXYGEN;
const HYDROXIDE: f64 = OXYGEN + HYDROGEN;
const NITRATE: f64 = NITROGEN + 3.0 * OXYGEN;
const AMMONIUM: f64 = NITROGEN + 4.0 * HYDROGEN;

/// Kilograms in a litre of the water that a solution is made with, at 20 °C.
const WATER_KG_PER_L: f64 = 0.9982;

/// A plain chemical.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chemical {
    /// As it is written in files.
    pub formula: &'static str,
    /// In words.
    pub name: &'static str,
    /// Molar mass \[g/mol\].
    pub molar_mass: f64,
    /// Conservative ions in a mole \[g\].
    pub ions: f64,
    /// Equivalents of alkalinity in a mole.
    pub alkalinity: f64,
    /// Moles of crystal water in a mole.
    pub crystal_water: f64,
    /// Solutes in a mole, by their key \[mg, nitrogen species but nitrate as mg of nitrogen\].
    pub solutes: &'static [(&'static str, f64)],
    /// Millilitres that a gram without crystal water takes up in solution.
    pub volume_ml_per_g: f64,
}

/// What some grams bring.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Brought {
    /// Water \[kg\].
    pub water_kg: f64,
    /// Conservative ions, which count as salt \[kg\].
    pub salt_kg: f64,
    /// Alkalinity \[meq\].
    pub alkalinity_meq: f64,
    /// Solutes by their key \[mg\].
    pub solutes_mg: Vec<(&'static str, f64)>,
}

impl Brought {
    /// Adds what something else brings.
    pub fn add(&mut self, other: &Self) {
        self.water_kg += other.water_kg;
        self.salt_kg += other.salt_kg;
        self.alkalinity_meq += other.alkalinity_meq;
        for (key, mg) in &other.solutes_mg {
            match self.solutes_mg.iter_mut().find(|(own, _)| own == key) {
                Some((_, own)) => *own += mg,
                None => self.solutes_mg.push((key, *mg)),
            }
        }
    }

    /// How much of a solute it brings \[meq of alkalinity, mg of another\]; none where it brings none.
    #[must_use]
    pub fn of(&self, key: &str) -> f64 {
        if key == "alkalinity" {
            return self.alkalinity_meq;
        }
        self.solutes_mg.iter().find(|(own, _)| *own == key).map_or(0.0, |(_, mg)| *mg)
    }
}

impl Chemical {
    /// What some grams of the solid bring.
    ///
    /// ```
    /// use brinecast::chemicals::chemical;
    /// let soda = chemical("NaHCO3").expect("a chemical of the list").brings(1.0);
    /// assert!((soda.alkalinity_meq - 11.904).abs() < 1e-3);
    /// assert!((1e3 * soda.salt_kg - 0.27367).abs() < 1e-5, "its sodium");
    /// ```
    #[must_use]
    pub fn brings(&self, grams: f64) -> Brought {
        let moles = grams / self.molar_mass;
        Brought {
            water_kg: 1e-3 * moles * self.crystal_water * WATER,
            salt_kg: 1e-3 * moles * self.ions,
            alkalinity_meq: 1e3 * moles * self.alkalinity,
            solutes_mg: self.solutes.iter().map(|(key, mg)| (*key, mg * moles)).collect(),
        }
    }

    /// Millilitres of solution that some grams take up, their crystal water counted as water.
    #[must_use]
    pub fn takes_up_ml(&self, grams: f64) -> f64 {
        let dry = grams * (1.0 - self.crystal_water * WATER / self.molar_mass);
        dry * self.volume_ml_per_g
    }
}

/// What a solution brings: some grams of chemicals in so many litres of it, the carrier water with them.
#[must_use]
pub fn solution(litres: f64, parts: &[(Chemical, f64)]) -> Brought {
    let mut all = Brought::default();
    let mut free_ml = 1e3 * litres;
    for (chemical, grams) in parts {
        // Crystal water is part of the solution's water.
        all.add(&Brought { water_kg: 0.0, ..chemical.brings(*grams) });
        free_ml -= chemical.takes_up_ml(*grams);
    }
    all.water_kg = 1e-3 * free_ml.max(0.0) * WATER_KG_PER_L;
    all
}

/// Grams of calcium hydroxide that a litre of water dissolves at a temperature \[°C\].
///
/// # Source
/// Solubility at 0 to 40 °C, handbook table as reprinted (0.185, 0.176, 0.165, 0.153, 0.141 g in 100 g), brought to the
/// 0.0203 mol/L at 25 °C of Bates, Bower & Smith (1956, J. Res. NBS 56:305); tables differ by 3 to 5 %.
#[must_use]
pub fn limewater_g_per_l(celsius: f64) -> f64 {
    const TABLE: [f64; 5] = [1.85, 1.76, 1.65, 1.53, 1.41];
    const AT_25_C: f64 = 0.0203 * (CALCIUM + 2.0 * HYDROXIDE);
    let read = |celsius: f64| {
        let place = (celsius / 10.0).clamp(0.0, 4.0);
        let at = place.floor().min(3.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a table of five")]
        let i = at as usize;
        TABLE[i] + (place - at) * (TABLE[i + 1] - TABLE[i])
    };
    AT_25_C * read(celsius) / read(25.0)
}

/// Every plain chemical, by formula.
pub static ALL: &[Chemical] = &[
    Chemical {
        formula: "NaHCO3",
        name: "sodium hydrogen carbonate",
        molar_mass: SODIUM + HYDROGEN + CARBONATE,
        ions: SODIUM,
        alkalinity: 1.0,
        crystal_water: 0.0,
        solutes: &[],
        volume_ml_per_g: 0.314,
    },
    Chemical {
        formula: "Na2CO3",
        name: "sodium carbonate",
        molar_mass: 2.0 * SODIUM + CARBONATE,
        ions: 2.0 * SODIUM,
        alkalinity: 2.0,
        crystal_water: 0.0,
        solutes: &[],
        volume_ml_per_g: 0.05,
    },
    Chemical {
        formula: "CaCl2",
        name: "calcium chloride without water",
        molar_mass: CALCIUM + 2.0 * CHLORINE,
        ions: CALCIUM + 2.0 * CHLORINE,
        alkalinity: 0.0,
        crystal_water: 0.0,
        solutes: &[("calcium", 1e3 * CALCIUM)],
        volume_ml_per_g: 0.226,
    },
    Chemical {
        formula: "CaCl2.2H2O",
        name: "calcium chloride dihydrate",
        molar_mass: CALCIUM + 2.0 * CHLORINE + 2.0 * WATER,
        ions: CALCIUM + 2.0 * CHLORINE,
        alkalinity: 0.0,
        crystal_water: 2.0,
        solutes: &[("calcium", 1e3 * CALCIUM)],
        volume_ml_per_g: 0.226,
    },
    Chemical {
        formula: "CaCl2.6H2O",
        name: "calcium chloride hexahydrate",
        molar_mass: CALCIUM + 2.0 * CHLORINE + 6.0 * WATER,
        ions: CALCIUM + 2.0 * CHLORINE,
        alkalinity: 0.0,
        crystal_water: 6.0,
        solutes: &[("calcium", 1e3 * CALCIUM)],
        volume_ml_per_g: 0.226,
    },
    Chemical {
        formula: "Ca(OH)2",
        name: "calcium hydroxide",
        molar_mass: CALCIUM + 2.0 * HYDROXIDE,
        ions: CALCIUM,
        alkalinity: 2.0,
        crystal_water: 0.0,
        solutes: &[("calcium", 1e3 * CALCIUM)],
        volume_ml_per_g: 0.0,
    },
    Chemical {
        formula: "MgCl2.6H2O",
        name: "magnesium chloride hexahydrate",
        molar_mass: MAGNESIUM + 2.0 * CHLORINE + 6.0 * WATER,
        ions: MAGNESIUM + 2.0 * CHLORINE,
        alkalinity: 0.0,
        crystal_water: 6.0,
        solutes: &[("magnesium", 1e3 * MAGNESIUM)],
        volume_ml_per_g: 0.22,
    },
    Chemical {
        formula: "MgSO4.7H2O",
        name: "magnesium sulfate heptahydrate",
        molar_mass: MAGNESIUM + SULFATE + 7.0 * WATER,
        ions: MAGNESIUM + SULFATE,
        alkalinity: 0.0,
        crystal_water: 7.0,
        solutes: &[("magnesium", 1e3 * MAGNESIUM)],
        volume_ml_per_g: 0.25,
    },
    Chemical {
        formula: "NaCl",
        name: "sodium chloride",
        molar_mass: SODIUM + CHLORINE,
        ions: SODIUM + CHLORINE,
        alkalinity: 0.0,
        crystal_water: 0.0,
        solutes: &[],
        volume_ml_per_g: 0.323,
    },
    Chemical {
        formula: "KCl",
        name: "potassium chloride",
        molar_mass: POTASSIUM + CHLORINE,
        ions: POTASSIUM + CHLORINE,
        alkalinity: 0.0,
        crystal_water: 0.0,
        solutes: &[("potassium", 1e3 * POTASSIUM)],
        volume_ml_per_g: 0.25,
    },
    Chemical {
        formula: "NaNO3",
        name: "sodium nitrate",
        molar_mass: SODIUM + NITRATE,
        ions: SODIUM,
        alkalinity: 0.0,
        crystal_water: 0.0,
        solutes: &[("nitrate", 1e3 * NITRATE)],
        volume_ml_per_g: 0.25,
    },
    Chemical {
        formula: "NH4Cl",
        name: "ammonium chloride",
        molar_mass: AMMONIUM + CHLORINE,
        ions: CHLORINE,
        alkalinity: 0.0,
        crystal_water: 0.0,
        solutes: &[("ammonia", 1e3 * NITROGEN)],
        volume_ml_per_g: 0.25,
    },
    // As it ends up: the hypochlorite has become chloride. What is sold as a solution holds as much sodium chloride again.
    Chemical {
        formula: "NaOCl",
        name: "sodium hypochlorite",
        molar_mass: SODIUM + HYPOCHLORITE,
        ions: SODIUM + CHLORINE,
        alkalinity: 0.0,
        crystal_water: 0.0,
        solutes: &[],
        volume_ml_per_g: 0.25,
    },
    // As it ends up, oxidised to sulfate: S2O3 + 4 HOCl + H2O -> 2 SO4 + 4 Cl + 6 H takes two equivalents more of
    // alkalinity than the four that the hypochlorite brought.
    Chemical {
        formula: "Na2S2O3",
        name: "sodium thiosulfate without water",
        molar_mass: 2.0 * SODIUM + THIOSULFATE,
        ions: 2.0 * SODIUM + 2.0 * SULFATE,
        alkalinity: -2.0,
        crystal_water: 0.0,
        solutes: &[],
        volume_ml_per_g: 0.25,
    },
    Chemical {
        formula: "Na2S2O3.5H2O",
        name: "sodium thiosulfate pentahydrate",
        molar_mass: 2.0 * SODIUM + THIOSULFATE + 5.0 * WATER,
        ions: 2.0 * SODIUM + 2.0 * SULFATE,
        alkalinity: -2.0,
        crystal_water: 5.0,
        solutes: &[],
        volume_ml_per_g: 0.25,
    },
];

/// The chemical of a formula, crystal water after a dot, a raised dot, a star or a gap.
#[must_use]
pub fn chemical(formula: &str) -> Option<Chemical> {
    let plain: String = formula.trim().chars().map(|c| if "·*• ".contains(c) { '.' } else { c }).collect();
    ALL.iter().copied().find(|c| c.formula == plain)
}

/// Every formula, for messages.
#[must_use]
pub fn formulas() -> String {
    ALL.iter().map(|c| c.formula).collect::<Vec<_>>().join(", ")
}

/// Calcium in a mole \[g\], of which calcification lays down half a mole for each equivalent of alkalinity.
pub const CALCIUM_G_PER_MOL: f64 = CALCIUM;

/// Magnesium in a mole \[g\].
pub const MAGNESIUM_G_PER_MOL: f64 = MAGNESIUM;
