//! `explore`: the page with the knobs, in the browser.

use std::sync::Arc;

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
    /// Let a phone on the same network open the page too, with the secret in the address that is shown. Whoever is on that
    /// network and sees the traffic can read along: use it on a network that you trust, and end it when you are done.
    #[arg(long)]
    phone: bool,
}

impl Explore {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let state = match &self.scenario {
            None => String::new(),
            Some(name) => app::address_of(name)?,
        };
        let share = self.phone.then(web::Share::new).transpose()?.map(Arc::new);
        web::serve(self.port, share.clone(), |port| {
            let local = format!("http://127.0.0.1:{port}/");
            let url = match &share {
                None => {
                    let url = local + &state;
                    print::answer(&format!(
                        "The page is at {url}\nOnly this computer can open it. Press Ctrl-C to end it.\n"
                    ));
                    url
                }
                Some(share) => {
                    print::answer(&share.told(port, &state));
                    format!("{local}{}{state}", share.query())
                }
            };
            if !self.no_browser && open::that_detached(&url).is_err() {
                print::note("no browser could be opened: open the address yourself");
            }
        })?;
        Ok(Exit::Fine)
    }
}
