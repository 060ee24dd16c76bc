//! What the trade calls otherwise: words that a keeper may look for, and the word that this program has for it.

/// A keeper's word, and ours.
const WORDS: [(&str, &str); 24] = [
    ("ato", "float"),
    ("auto top off", "float"),
    ("automatic top off", "float"),
    ("top up", "top_off"),
    ("topup", "top_off"),
    ("topoff", "top_off"),
    ("water change", "change"),
    ("wc", "change"),
    ("skimmer", "skimmate"),
    ("protein skimmer", "skimmate"),
    ("ro", "purif"),
    ("rodi", "purif"),
    ("ro/di", "purif"),
    ("sg", "salinity"),
    ("gravity", "salinity"),
    ("ppt", "salinity"),
    ("hydrometer", "meter"),
    ("refractometer", "meter"),
    ("kh", "alkalinity"),
    ("limewater", "adds"),
    ("price", "costs"),
    ("vacation", "periods"),
    ("holiday", "periods"),
    ("sump", "rim"),
];

/// What a word of the trade is called here; nothing where it is not known.
#[must_use]
pub fn meant(word: &str) -> Option<&'static str> {
    let word = word.to_lowercase().replace(['_', '-'], " ");
    WORDS.iter().find(|(theirs, _)| *theirs == word).map(|(_, ours)| *ours)
}
