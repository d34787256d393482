//! How dates, times, ids, codes and flags become columns, and come back.
//!
//! Both engines see only text, bigint and double precision. A value that no
//! longer parses is a broken row, reported with its column and never with its
//! content. Knows no table.

use std::fmt::Display;
use std::str::FromStr;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::{AnyRow, AnyTypeInfo};
use sqlx::encode::{Encode, IsNull};
use sqlx::error::BoxDynError;
use sqlx::{Any, Database, Error, Row, Type};

/// An instant as fixed-width UTC text, so that text order is time order.
pub fn stamp(at: Timestamp) -> String {
    format!("{at:.3}")
}

/// An optional value as text.
pub fn text<T: Display>(value: Option<T>) -> Option<String> {
    value.map(|value| value.to_string())
}

/// A flag as 0 or 1.
pub fn flag(value: bool) -> i64 {
    i64::from(value)
}

/// A number that may be missing.
///
/// sqlx 0.9 sends a missing `f64` as a missing `f32` under its common driver:
/// PostgreSQL then keeps the statement for the narrow type and refuses the next
/// number. A missing `f32` goes out as the wide type, so that is what is sent.
/// `tests/store/numbers.rs` holds it.
pub fn number(value: Option<f64>) -> impl for<'q> Encode<'q, Any> + Type<Any> + Send {
    Number(value)
}

struct Number(Option<f64>);

impl Type<Any> for Number {
    fn type_info() -> AnyTypeInfo {
        <f64 as Type<Any>>::type_info()
    }
}

impl<'q> Encode<'q, Any> for Number {
    fn encode_by_ref(&self, buffer: &mut <Any as Database>::ArgumentBuffer) -> Result<IsNull, BoxDynError> {
        match self.0 {
            Some(number) => Encode::<Any>::encode_by_ref(&number, buffer),
            None => Encode::<Any>::encode_by_ref(&None::<f32>, buffer),
        }
    }
}

/// A list as JSON text.
pub fn json<T: serde::Serialize>(value: &T) -> String {
    // Lists of codes and plain figures: serialising them cannot fail.
    serde_json::to_string(value).unwrap_or_else(|_| "[]".to_owned())
}

/// Reads typed values out of a row.
pub trait Columns {
    /// Text that is always there.
    fn text(&self, column: &'static str) -> Result<String, Error>;
    /// Text or nothing.
    fn opt_text(&self, column: &'static str) -> Result<Option<String>, Error>;
    /// A whole number.
    fn whole(&self, column: &'static str) -> Result<i64, Error>;
    /// A whole number or nothing.
    fn opt_whole(&self, column: &'static str) -> Result<Option<i64>, Error>;
    /// A number.
    fn number(&self, column: &'static str) -> Result<f64, Error>;
    /// A number or nothing.
    fn opt_number(&self, column: &'static str) -> Result<Option<f64>, Error>;
    /// A flag.
    fn flag(&self, column: &'static str) -> Result<bool, Error>;
    /// An id, a code, a date: anything that parses from its text.
    fn parsed<T: FromStr>(&self, column: &'static str) -> Result<T, Error>;
    /// The same, where empty text and null are nothing.
    fn opt_parsed<T: FromStr>(&self, column: &'static str) -> Result<Option<T>, Error>;
    /// An instant.
    fn instant(&self, column: &'static str) -> Result<Timestamp, Error> {
        self.parsed(column)
    }
    /// An instant or nothing.
    fn opt_instant(&self, column: &'static str) -> Result<Option<Timestamp>, Error> {
        self.opt_parsed(column)
    }
    /// A date.
    fn date(&self, column: &'static str) -> Result<Date, Error> {
        self.parsed(column)
    }
    /// A date or nothing.
    fn opt_date(&self, column: &'static str) -> Result<Option<Date>, Error> {
        self.opt_parsed(column)
    }
    /// A JSON value.
    fn json<T: serde::de::DeserializeOwned>(&self, column: &'static str) -> Result<T, Error>;
    /// A number in its unit, through the unit's checked constructor.
    fn opt_unit<T, E>(&self, column: &'static str, unit: impl FnOnce(f64) -> Result<T, E>) -> Result<Option<T>, Error>;
}

/// The column holds something its type cannot be made from.
#[derive(Debug, thiserror::Error)]
#[error("does not hold what its type needs")]
struct Unreadable;

fn unreadable(column: &'static str) -> Error {
    Error::ColumnDecode { index: column.to_owned(), source: Box::new(Unreadable) }
}

impl Columns for AnyRow {
    fn text(&self, column: &'static str) -> Result<String, Error> {
        self.try_get(column)
    }
    fn opt_text(&self, column: &'static str) -> Result<Option<String>, Error> {
        self.try_get(column)
    }
    fn whole(&self, column: &'static str) -> Result<i64, Error> {
        self.try_get(column)
    }
    fn opt_whole(&self, column: &'static str) -> Result<Option<i64>, Error> {
        self.try_get(column)
    }
    fn number(&self, column: &'static str) -> Result<f64, Error> {
        self.try_get(column)
    }
    fn opt_number(&self, column: &'static str) -> Result<Option<f64>, Error> {
        self.try_get(column)
    }
    fn flag(&self, column: &'static str) -> Result<bool, Error> {
        Ok(self.whole(column)? != 0)
    }
    fn parsed<T: FromStr>(&self, column: &'static str) -> Result<T, Error> {
        self.text(column)?.parse().map_err(|_| unreadable(column))
    }
    fn opt_parsed<T: FromStr>(&self, column: &'static str) -> Result<Option<T>, Error> {
        match self.opt_text(column)?.filter(|text| !text.is_empty()) {
            Some(text) => text.parse().map(Some).map_err(|_| unreadable(column)),
            None => Ok(None),
        }
    }
    fn json<T: serde::de::DeserializeOwned>(&self, column: &'static str) -> Result<T, Error> {
        serde_json::from_str(&self.text(column)?).map_err(|_| unreadable(column))
    }
    fn opt_unit<T, E>(&self, column: &'static str, unit: impl FnOnce(f64) -> Result<T, E>) -> Result<Option<T>, Error> {
        self.opt_number(column)?.map(unit).transpose().map_err(|_| unreadable(column))
    }
}
