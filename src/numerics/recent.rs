//! What was worked out last, kept for when it is asked for again.

/// At most `MOST` results with what they hang on; the oldest gives way. Questions that come back in the order in which they
/// came before are found at once.
#[derive(Clone, Debug)]
pub struct Recent<K, V, const MOST: usize> {
    known: Vec<(K, V)>,
    oldest: usize,
    last: usize,
}

impl<K, V, const MOST: usize> Default for Recent<K, V, MOST> {
    fn default() -> Self {
        Self { known: Vec::new(), oldest: 0, last: 0 }
    }
}

impl<K, V, const MOST: usize> Recent<K, V, MOST> {
    /// The result of which the key `is` the one asked for, or else the one that is made now.
    pub fn find_or(&mut self, is: impl Fn(&K) -> bool, make: impl FnOnce() -> (K, V)) -> &V {
        let place = self.place_of(is, make);
        self.at(place)
    }

    /// The same as a place, good until the next question.
    pub fn place_of(&mut self, is: impl Fn(&K) -> bool, make: impl FnOnce() -> (K, V)) -> usize {
        let here = |k: &usize| self.known.get(*k).is_some_and(|(key, _)| is(key));
        let guess = [self.last, self.last + 1].into_iter().find(here);
        self.last = guess.or_else(|| self.known.iter().position(|(key, _)| is(key))).unwrap_or_else(|| {
            let made = make();
            if self.known.len() < MOST {
                self.known.push(made);
                return self.known.len() - 1;
            }
            let slot = self.oldest;
            self.oldest = (slot + 1) % MOST;
            self.known[slot] = made;
            slot
        });
        self.last
    }

    /// The result at a place.
    #[must_use]
    pub fn at(&self, place: usize) -> &V {
        &self.known[place].1
    }
}

#[cfg(test)]
mod tests {
    use super::Recent;

    #[test]
    fn what_is_known_is_not_made_again_and_the_oldest_gives_way() {
        let mut recent: Recent<u32, u32, 3> = Recent::default();
        let mut made = Vec::new();
        let mut ask = |key: u32| {
            *recent.find_or(
                |k| *k == key,
                || {
                    made.push(key);
                    (key, 10 * key)
                },
            )
        };
        for key in [1, 2, 3, 1, 2, 3, 4, 2, 3, 1] {
            assert_eq!(ask(key), 10 * key);
        }
        assert_eq!(made, [1, 2, 3, 4, 1]);
    }
}
