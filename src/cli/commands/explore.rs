//! `explore`: the page with the knobs, in the browser.

use brinecast::app::{self, AppError};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;
use crate::web;

/// Example: brinecast explore mixed-reef
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast explore mixed-reef")]
pub(crate) struct Explore {
    /// Scenario file, or the name of a built-in one; without it, a page of choices.
    scenario: Option<String>,
    /// Port of this machine that the page is served on; 0 takes any free one.
    #[arg(long, value_name = "PORT", default_value_t = 8423)]
    port: u16,
    /// Do not open the browser.
    #[arg(long)]
    no_browser: bool,
}

impl Explore {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let state = match &self.scenario {
            None => String::new(),
            Some(name) => app::address_of(name)?,
        };
        web::serve(self.port, |address| {
            let url = format!("http://{address}/{state}");
            print::answer(&format!("The page is at {url}\nIt answers to this machine alone. Ctrl-C ends it.\n"));
            if !self.no_browser && open::that_detached(&url).is_err() {
                print::note("no browser could be opened: open the address yourself");
            }
        })?;
        Ok(Exit::Fine)
    }
}
