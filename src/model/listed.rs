//! Waters and solutes by number, each number good for its own list alone.

use std::fmt::Debug;
use std::marker::PhantomData;
use std::ops::{Deref, DerefMut, Index, IndexMut};

/// The number of a thing in its list.
pub trait Id: Copy + Debug + PartialEq {
    /// From its place.
    fn of(place: usize) -> Self;
    /// Its place.
    fn place(self) -> usize;
}

macro_rules! ids {
    ($($(#[doc = $doc:literal])+ $name:ident,)+) => {$(
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(usize);

        impl Id for $name {
            fn of(place: usize) -> Self {
                Self(place)
            }
            fn place(self) -> usize {
                self.0
            }
        }
    )+};
}

ids! {
    /// A water of a plan.
    WaterId,
    /// A solute of a plan.
    SoluteId,
}

impl WaterId {
    /// Purified water, which every plan has.
    pub const PURIFIED: Self = Self(0);
    /// New salt water, which every plan has.
    pub const SALT_WATER: Self = Self(1);
}

/// A list whose things are known by their own kind of number, so that the number of a solute cannot stand for a water.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed<I, T> {
    things: Vec<T>,
    by: PhantomData<I>,
}

impl<I: Id, T> Listed<I, T> {
    /// Adds a thing; gives its number.
    pub fn push(&mut self, thing: T) -> I {
        self.things.push(thing);
        I::of(self.things.len() - 1)
    }

    /// Adds things.
    pub fn extend(&mut self, things: impl IntoIterator<Item = T>) {
        self.things.extend(things);
    }

    /// Each with its number.
    #[must_use]
    pub fn each(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator + Clone {
        self.things.iter().enumerate().map(|(place, thing)| (I::of(place), thing))
    }

    /// The numbers.
    #[must_use]
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + ExactSizeIterator + Clone + use<I, T> {
        (0..self.things.len()).map(I::of)
    }

    /// The first of which something holds.
    pub fn find(&self, holds: impl Fn(&T) -> bool) -> Option<I> {
        self.things.iter().position(holds).map(I::of)
    }
}

impl<I: Id, T> Index<I> for Listed<I, T> {
    type Output = T;
    fn index(&self, id: I) -> &T {
        &self.things[id.place()]
    }
}

impl<I: Id, T> IndexMut<I> for Listed<I, T> {
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.things[id.place()]
    }
}

impl<I, T> Deref for Listed<I, T> {
    type Target = [T];
    fn deref(&self) -> &[T] {
        &self.things
    }
}

impl<I, T> DerefMut for Listed<I, T> {
    fn deref_mut(&mut self) -> &mut [T] {
        &mut self.things
    }
}

impl<I, T> From<Vec<T>> for Listed<I, T> {
    fn from(things: Vec<T>) -> Self {
        Self { things, by: PhantomData }
    }
}

impl<I, T> FromIterator<T> for Listed<I, T> {
    fn from_iter<A: IntoIterator<Item = T>>(things: A) -> Self {
        Vec::from_iter(things).into()
    }
}

impl<I, T> Default for Listed<I, T> {
    fn default() -> Self {
        Vec::new().into()
    }
}

impl<'a, I, T> IntoIterator for &'a Listed<I, T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.things.iter()
    }
}

impl<'a, I, T> IntoIterator for &'a mut Listed<I, T> {
    type Item = &'a mut T;
    type IntoIter = std::slice::IterMut<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.things.iter_mut()
    }
}
