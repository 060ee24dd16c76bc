//! The answer of `batch` in words: the card.

use super::answer::BatchAnswer;
use super::card::{TopOffOfCard, batch_card};
use crate::app::Answer;
use crate::export::card_text;
use crate::units::UnitSystem;

impl Answer for BatchAnswer {
    type Of = UnitSystem;
    type Data = Self;

    const COMMAND: &'static str = "batch";

    fn data(&self) -> &Self {
        self
    }

    fn text(&self, of: &UnitSystem, width: usize) -> String {
        card_text(&batch_card(self, *of, TopOffOfCard::Unknown), width)
    }

    fn cautions(&self) -> &[String] {
        &self.cautions
    }
}
