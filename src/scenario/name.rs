//! One rule for every name that a keeper gives: waters, doses, changes, solutes, vessels, tanks, variants.

/// Most letters of a name.
const LONGEST: usize = 40;

/// What a name may be, for a help line.
pub const NAME_HELP: &str =
    "allowed: 1 to 40 letters, digits, spaces, - and _, beginning with a letter or a digit; example: winter-rate";

/// Refuses a name that would not stand in a table, a picture, a calendar or a file's name as it was written.
///
/// # Errors
///
/// Says what is wrong with it; [`NAME_HELP`] says what is allowed.
///
/// ```
/// use brinecast::scenario::check_name;
/// assert!(check_name("trace elements 2").is_ok());
/// assert!(check_name("=SUM(A1)").is_err());
/// ```
pub fn check_name(name: &str) -> Result<(), String> {
    let shown: String = name.escape_debug().take(LONGEST).collect();
    let letters = name.chars().count();
    if letters == 0 {
        return Err("a name is empty".into());
    }
    if letters > LONGEST {
        return Err(format!("the name `{shown}…` has {letters} letters"));
    }
    if let Some(wrong) = name.chars().find(|c| !(c.is_alphanumeric() || " -_".contains(*c))) {
        return Err(format!("`{shown}` is no name: it holds `{}`", wrong.escape_debug()));
    }
    if !name.starts_with(char::is_alphanumeric) || name.ends_with(' ') {
        return Err(format!("`{shown}` is no name: it begins or ends with a sign or a space"));
    }
    Ok(())
}

/// Refuses a line of words with signs that no screen shows.
///
/// # Errors
///
/// Names the sign.
pub fn check_words(text: &str) -> Result<(), String> {
    match text.chars().find(|c| c.is_control()) {
        Some(sign) => {
            Err(format!("it holds `{}`, which no screen shows: keep it to one line of words", sign.escape_debug()))
        }
        None => Ok(()),
    }
}
