//! Tables and curves made once for the whole process and shared by all students.
//!
//! A table depends on what was seen ("7 of 10 letters") and on nothing about a
//! student, so it is kept when it was made. What is kept has a bound; beyond it
//! the oldest goes. Whether a table is kept never changes a figure. Does not know
//! students, sizes or devices.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::grid::DAYS_DIFFER;
use super::table::{Curve, TABLE_BYTES, Table};
use super::{Guess, Saw};

/// All that is kept together, in bytes. Source: the project's budget for a process.
const MOST_BYTES: usize = 56 * 1024 * 1024;

/// Curves are a tenth of a table, and few guess rates are in use.
const MOST_CURVES: usize = 32;

/// Tallies of more items are rare, and a comparison of two devices needs a table for
/// each count: they are made and dropped.
const MOST_ITEMS: u32 = 40;

/// What a table holds, for one guess rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Of {
    /// The log-likelihood of what was seen.
    Likelihood(Saw),
    /// The share of a slip in it.
    Slip(Saw),
    /// The chance of these counts of so many items: on an average day, or on any.
    Count {
        /// Items.
        items: u32,
        /// The smallest count.
        least: u32,
        /// The largest.
        most: u32,
        /// On which day.
        day: Day,
    },
}

/// A day of a student.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Day {
    /// One in the middle of all.
    Average,
    /// One like any other.
    Any,
}

impl Of {
    fn make(self, curve: &Curve) -> Table {
        match self {
            Self::Likelihood(saw) => Table::log_likelihood(curve, saw),
            Self::Slip(saw) => Table::slip(curve, saw),
            Self::Count { items, least, most, day } => {
                let average = Table::count(curve, items, least..=most);
                match day {
                    Day::Average => average,
                    Day::Any => average.on_any_day(DAYS_DIFFER),
                }
            }
        }
    }

    fn items(self) -> u32 {
        match self {
            Self::Likelihood(saw) | Self::Slip(saw) => saw.items(),
            Self::Count { items, .. } => items,
        }
    }
}

/// What is kept, the oldest first to go.
struct Kept<K, V> {
    found: BTreeMap<K, Arc<V>>,
    order: VecDeque<K>,
    most: usize,
}

impl<K: Ord + Copy, V> Kept<K, V> {
    const fn new(most: usize) -> Self {
        Self { found: BTreeMap::new(), order: VecDeque::new(), most }
    }

    fn put(&mut self, key: K, made: &Arc<V>) {
        if self.found.insert(key, Arc::clone(made)).is_none() {
            self.order.push_back(key);
        }
        while self.order.len() > self.most {
            if let Some(oldest) = self.order.pop_front() {
                self.found.remove(&oldest);
            }
        }
    }
}

/// What was made is given, or made outside the lock: two who need the same at once
/// make it twice, and nobody waits for the making.
fn kept<K: Ord + Copy, V>(shelf: &Mutex<Kept<K, V>>, key: K, make: impl FnOnce() -> V) -> Arc<V> {
    // A panic elsewhere leaves whole tables behind: they are put in as a whole.
    if let Some(found) = shelf.lock().unwrap_or_else(PoisonError::into_inner).found.get(&key) {
        return Arc::clone(found);
    }
    let made = Arc::new(make());
    shelf.lock().unwrap_or_else(PoisonError::into_inner).put(key, &made);
    made
}

type Curves = Mutex<Kept<u64, Curve>>;
type Tables = Mutex<Kept<(u64, Of), Table>>;

/// The course of chances for a guess rate.
pub(super) fn curve(guess: Guess) -> Arc<Curve> {
    static CURVES: OnceLock<Curves> = OnceLock::new();
    let shelf = CURVES.get_or_init(|| Mutex::new(Kept::new(MOST_CURVES)));
    kept(shelf, guess.get().to_bits(), || Curve::of(guess))
}

/// A table for a guess rate.
pub(super) fn table(guess: Guess, of: Of) -> Arc<Table> {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    let make = || of.make(&curve(guess));
    if of.items() > MOST_ITEMS {
        return Arc::new(make());
    }
    let shelf = TABLES.get_or_init(|| Mutex::new(Kept::new(MOST_BYTES / TABLE_BYTES)));
    kept(shelf, (guess.get().to_bits(), of), make)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_goes_and_the_rest_stays() {
        let shelf = Mutex::new(Kept::new(2));
        for key in [1, 2, 1, 3] {
            assert_eq!(*kept(&shelf, key, || 10 * key), 10 * key);
        }
        let shelf = shelf.into_inner().expect("nobody panicked");
        assert_eq!(shelf.found.keys().copied().collect::<Vec<i32>>(), [2, 3]);
        assert_eq!(shelf.order.len(), 2);
    }

    #[test]
    fn what_is_kept_stays_within_its_bound() {
        const { assert!(MOST_BYTES / TABLE_BYTES * TABLE_BYTES + MOST_CURVES * TABLE_BYTES <= 64 * 1024 * 1024) };
        let of = Of::Count { items: 10, least: 8, most: 10, day: Day::Any };
        let guess = Guess::LETTERS;
        assert!(Arc::ptr_eq(&table(guess, of), &table(guess, of)), "it is made once");
    }
}
