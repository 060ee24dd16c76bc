//! What a run recorded: rows in time, and the list of events.

/// Rows of a run, column by column: time, event, volume, salinity, then the solutes.
#[derive(Clone, Debug, Default)]
pub struct Trace {
    /// Days from the start.
    pub time_d: Vec<f64>,
    /// What happened at this instant; empty on the output grid and just before an event.
    pub event: Vec<&'static str>,
    /// System volume \[L\].
    pub volume_l: Vec<f64>,
    /// Practical salinity \[psu\].
    pub salinity_psu: Vec<f64>,
    /// One column a solute \[mg/L or meq/L\].
    pub solutes: Vec<Vec<f64>>,
}

impl Trace {
    /// An empty trace for a number of solutes.
    #[must_use]
    pub fn new(solutes: usize) -> Self {
        Self { solutes: vec![Vec::new(); solutes], ..Self::default() }
    }

    /// The same with room for so many rows.
    #[must_use]
    pub fn with_room(solutes: usize, rows: usize) -> Self {
        let column = || Vec::with_capacity(rows);
        Self {
            time_d: column(),
            event: Vec::with_capacity(rows),
            volume_l: column(),
            salinity_psu: column(),
            solutes: (0..solutes).map(|_| column()).collect(),
        }
    }

    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.time_d.len()
    }

    /// Whether nothing was recorded.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.time_d.is_empty()
    }
}

/// One event: what was done, with how much water, and what it did to the salinity.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema, PartialEq)]
pub struct EventRecord {
    /// Days from the start.
    pub time_d: f64,
    /// What happened.
    pub event: &'static str,
    /// Particulars in words.
    pub detail: String,
    /// Litres taken out.
    #[serde(rename = "out_L")]
    pub out_l: f64,
    /// Litres put in.
    #[serde(rename = "in_L")]
    pub in_l: f64,
    /// Salinity just before \[psu\].
    pub salinity_before_psu: f64,
    /// Salinity just after \[psu\].
    pub salinity_after_psu: f64,
}
