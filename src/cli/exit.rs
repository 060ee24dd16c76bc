//! Exit codes.

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    /// It did what was asked.
    Fine = 0,
    /// The answer is no: a band is broken and `--check` was asked.
    No = 1,
    /// Bad input or usage.
    Usage = 2,
    /// Stopped by Ctrl-C.
    Stopped = 130,
}

impl From<Exit> for std::process::ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
