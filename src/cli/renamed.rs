//! Options that once had another name: who types the old one is told the new one.

/// Command, or `*` for every one; the old name; the new one.
const RENAMED: [(&str, &str, &str); 39] = [
    ("acclimate", "--from", "--reads"),
    ("acclimate", "--to", "--salinity"),
    ("acclimate", "--vessel", "--volume"),
    ("adjust", "--capacity", "--vessel"),
    ("adjust", "--want", "--salinity"),
    ("away", "--days", "--span"),
    ("batch", "--by", "--ready-by"),
    ("batch", "--feed", "--feed-temperature"),
    ("batch", "--overshoot", "--chance, the chance that no dose overshoots"),
    ("convert", "--to", "--in"),
    ("correct", "--by", "--with"),
    ("correct", "--days", "--span"),
    ("correct", "--for", "--animals"),
    ("correct", "--from", "--reads"),
    ("correct", "--to", "--salinity"),
    ("drift", "--deviation", "--meter-noise"),
    ("drift", "--every", "--read-every"),
    ("drift", "--target", "--salinity"),
    ("faults", "--at", "--from"),
    ("faults", "--back", "--to"),
    ("faults", "--look", "--look-every"),
    ("faults", "--read", "--read-every"),
    ("fit", "--reads", "--read-when"),
    ("fit", "--want", "--measure"),
    ("mix-to", "--target", "--salinity"),
    ("new", "--us", "--units us"),
    ("now", "--ahead", "--span"),
    ("now", "--reads", "--read-when"),
    ("plan", "--days", "--span"),
    ("plan", "--feed", "--feed-temperature"),
    ("properties", "--from", "--salinity FROM..TO:COUNT"),
    ("rescue", "--from", "--reads"),
    ("rescue", "--most", "--share"),
    ("rescue", "--new", "--new-water"),
    ("rescue", "--of", "--solute"),
    ("rescue", "--to", "--down-to"),
    ("run", "--at", "--from"),
    ("run", "--until", "--to"),
    ("station", "--accept", "--chance, the chance that there is enough"),
];

/// What an option of a command is called now.
pub(super) fn renamed(command: &str, option: &str) -> Option<&'static str> {
    let option = option.split('=').next().unwrap_or(option);
    RENAMED.iter().find(|(of, old, _)| *of == command && *old == option).map(|(_, _, new)| *new)
}

#[cfg(test)]
mod tests {
    use super::RENAMED;
    use clap::CommandFactory;

    /// An old name is no name of today, and a new one is.
    #[test]
    fn old_names_are_gone_and_new_ones_are_there() {
        let cli = crate::cli::args::Cli::command();
        for (command, old, new) in RENAMED {
            let command = cli.find_subcommand(command).unwrap_or_else(|| panic!("{command} is no command"));
            let has = |name: &str| command.get_arguments().any(|a| a.get_long() == name.strip_prefix("--"));
            assert!(!has(old), "{} {old}", command.get_name());
            let new = new.split([' ', ',']).next().unwrap_or_default();
            assert!(has(new), "{} {new}", command.get_name());
        }
    }
}
