//! What goes into a query and comes out of a row? A few plain types, the same on every engine.

use rusqlite::types::{FromSql, ToSql, ToSqlOutput, ValueRef};

/// A parameter of a query.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Value<'a> {
    Nothing,
    Integer(i64),
    Text(&'a str),
    Bytes(&'a [u8]),
}

/// What can be a parameter.
pub(crate) trait Bind {
    fn value(&self) -> Value<'_>;
}

macro_rules! integers {
    ($($integer:ty),*) => { $(impl Bind for $integer {
        fn value(&self) -> Value<'_> {
            // No id or count comes near; a greater one that was made up names nothing either way.
            Value::Integer(i64::try_from(*self).unwrap_or(i64::MAX))
        }
    })* };
}
integers!(i64, u64, u32, u16, usize);

impl Bind for str {
    fn value(&self) -> Value<'_> {
        Value::Text(self)
    }
}

impl Bind for String {
    fn value(&self) -> Value<'_> {
        Value::Text(self)
    }
}

impl Bind for Vec<u8> {
    fn value(&self) -> Value<'_> {
        Value::Bytes(self)
    }
}

impl<T: Bind + ?Sized> Bind for &T {
    fn value(&self) -> Value<'_> {
        (**self).value()
    }
}

impl<T: Bind> Bind for Option<T> {
    fn value(&self) -> Value<'_> {
        self.as_ref().map_or(Value::Nothing, Bind::value)
    }
}

impl ToSql for Value<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match *self {
            Self::Nothing => ValueRef::Null,
            Self::Integer(integer) => ValueRef::Integer(integer),
            Self::Text(text) => ValueRef::Text(text.as_bytes()),
            Self::Bytes(bytes) => ValueRef::Blob(bytes),
        }))
    }
}

/// What a column of a row can be read as.
pub(crate) trait Field: FromSql {}

impl Field for i64 {}
impl Field for u64 {}
impl Field for u32 {}
impl Field for u16 {}
impl Field for bool {}
impl Field for String {}
impl Field for Vec<u8> {}
impl<T: Field> Field for Option<T> {}
