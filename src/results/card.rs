//! The batch card as plain data: parts with lines, for text and print alike.

/// A part of the card.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct CardPart {
    /// Its heading.
    pub heading: String,
    /// Label and value.
    pub lines: Vec<(String, String)>,
}

/// A card.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Card {
    /// What it is for.
    pub title: String,
    /// The tank that it is mixed for, where that is known.
    pub tank: Option<String>,
    /// Its parts, from the top.
    pub parts: Vec<CardPart>,
    /// What is written on it by hand.
    pub to_write: Vec<String>,
    /// Boxes to tick.
    pub boxes: Vec<String>,
    /// Cautions at the foot.
    pub cautions: Vec<String>,
}
