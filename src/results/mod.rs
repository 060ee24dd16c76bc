//! Plain data that runs and studies produce. No behaviour beyond summaries.

mod card;
mod cause;
mod ledger;
mod settled;
mod summary;
mod trace;
mod warning;

pub use card::{Card, CardPart};
pub use cause::Cause;
pub use ledger::Ledger;
pub use settled::{Settled, SettledSolute};
pub use summary::{Assumed, BandReport, Drift, Span, Summary, Totals};
pub use trace::{EventRecord, Trace};
pub use warning::{Caution, Warning};
