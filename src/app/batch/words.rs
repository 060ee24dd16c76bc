//! The answer of `batch` in words: the card.

use super::answer::BatchAnswer;
use super::card::{TopOffOfCard, batch_card};
use crate::app::answer::answers_itself;
use crate::export::card_text;
use crate::units::UnitSystem;

answers_itself!(BatchAnswer, UnitSystem, "batch", |a, of, width| card_text(
    &batch_card(a, *of, TopOffOfCard::Unknown),
    width
));
