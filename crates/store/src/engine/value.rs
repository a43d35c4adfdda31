//! What goes into a query and comes out of a row? A few plain types, the same on every engine.

use std::error::Error;

use postgres::types::{IsNull, Type, private::BytesMut, to_sql_checked};
use rusqlite::types::{FromSql, ToSqlOutput, ValueRef};

use crate::StoreError;

/// A parameter of a query.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Value<'a> {
    Nothing,
    Integer(i64),
    Text(&'a str),
    Bytes(&'a [u8]),
}

/// A value that was read, of whatever type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Kept {
    Nothing,
    Integer(i64),
    Text(String),
    Bytes(Vec<u8>),
}

impl Bind for Kept {
    fn value(&self) -> Value<'_> {
        match self {
            Self::Nothing => Value::Nothing,
            Self::Integer(integer) => Value::Integer(*integer),
            Self::Text(text) => Value::Text(text),
            Self::Bytes(bytes) => Value::Bytes(bytes),
        }
    }
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

impl rusqlite::types::ToSql for Value<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match *self {
            Self::Nothing => ValueRef::Null,
            Self::Integer(integer) => ValueRef::Integer(integer),
            Self::Text(text) => ValueRef::Text(text.as_bytes()),
            Self::Bytes(bytes) => ValueRef::Blob(bytes),
        }))
    }
}

impl postgres::types::ToSql for Value<'_> {
    fn to_sql(
        &self,
        wanted: &Type,
        out: &mut BytesMut,
    ) -> Result<IsNull, Box<dyn Error + Sync + Send>> {
        match *self {
            Self::Nothing => Ok(IsNull::Yes),
            Self::Integer(integer) if *wanted == Type::INT4 => {
                i32::try_from(integer)?.to_sql(wanted, out)
            }
            Self::Integer(integer) => integer.to_sql(wanted, out),
            // Refused here, before it is sent: there it would break the whole transaction.
            Self::Text(text) if text.contains('\0') => Err("a text with a NUL in it".into()),
            Self::Text(text) => text.to_sql(wanted, out),
            Self::Bytes(bytes) => bytes.to_sql(wanted, out),
        }
    }

    fn accepts(_: &Type) -> bool {
        true
    }

    to_sql_checked!();
}

/// One row of an answer.
pub(crate) enum Row<'a> {
    File(&'a rusqlite::Row<'a>),
    Server(&'a postgres::Row),
}

impl<'a> From<&'a postgres::Row> for Row<'a> {
    fn from(row: &'a postgres::Row) -> Self {
        Self::Server(row)
    }
}

impl Row<'_> {
    /// The column at `at`, counted from nought.
    pub fn get<T: Field>(&self, at: usize) -> Result<T, StoreError> {
        match self {
            Self::File(row) => Ok(row.get(at)?),
            Self::Server(row) => {
                let sent = row.try_get(at).map_err(unreadable)?;
                T::of(sent).ok_or_else(|| unreadable(format!("column {at} is out of bounds")))
            }
        }
    }

    /// The value at `at`, of whatever type it is.
    pub fn kept(&self, at: usize) -> Result<Kept, StoreError> {
        match self {
            Self::File(row) => Ok(match row.get_ref(at)? {
                ValueRef::Null => Kept::Nothing,
                ValueRef::Integer(integer) => Kept::Integer(integer),
                ValueRef::Text(text) => {
                    Kept::Text(str::from_utf8(text).map_err(unreadable)?.into())
                }
                ValueRef::Blob(bytes) => Kept::Bytes(bytes.into()),
                ValueRef::Real(_) => return Err(unreadable("a number that is not whole")),
            }),
            Self::Server(row) => Ok(match *row.columns()[at].type_() {
                Type::INT4 | Type::INT8 => self.get::<Option<i64>>(at)?.map(Kept::Integer),
                Type::BYTEA => self.get::<Option<Vec<u8>>>(at)?.map(Kept::Bytes),
                _ => self.get::<Option<String>>(at)?.map(Kept::Text),
            }
            .unwrap_or(Kept::Nothing)),
        }
    }

    /// The text at `at`, where it lies.
    pub fn text(&self, at: usize) -> Result<&str, StoreError> {
        match self {
            Self::File(row) => row.get_ref(at)?.as_str().map_err(unreadable),
            Self::Server(row) => row.try_get(at).map_err(unreadable),
        }
    }

    /// The text at `at`, readable however damaged.
    pub fn text_lossy(&self, at: usize) -> Result<String, StoreError> {
        match self {
            Self::File(row) => {
                let bytes = row.get_ref(at)?.as_bytes().map_err(unreadable)?;
                Ok(String::from_utf8_lossy(bytes).into_owned())
            }
            Self::Server(row) => row.try_get(at).map_err(unreadable),
        }
    }
}

fn unreadable(error: impl Into<Box<dyn Error + Send + Sync>>) -> StoreError {
    StoreError::Engine(error.into())
}

/// What a column of a row can be read as.
pub(crate) trait Field: FromSql {
    /// What a server sends for it.
    type Sent: for<'a> postgres::types::FromSql<'a>;

    /// `None` when what was sent is out of its bounds.
    fn of(sent: Self::Sent) -> Option<Self>;
}

/// A whole number of any width.
pub(crate) struct Whole(i64);

impl<'a> postgres::types::FromSql<'a> for Whole {
    fn from_sql(sent: &Type, raw: &'a [u8]) -> Result<Self, Box<dyn Error + Sync + Send>> {
        if *sent == Type::INT4 {
            i32::from_sql(sent, raw).map(|whole| Self(whole.into()))
        } else {
            i64::from_sql(sent, raw).map(Self)
        }
    }

    fn accepts(sent: &Type) -> bool {
        matches!(*sent, Type::INT4 | Type::INT8)
    }
}

macro_rules! whole_fields {
    ($($integer:ty),*) => { $(impl Field for $integer {
        type Sent = Whole;

        fn of(sent: Whole) -> Option<Self> {
            Self::try_from(sent.0).ok()
        }
    })* };
}
whole_fields!(i64, u64, u32, u16);

macro_rules! plain_fields {
    ($($plain:ty),*) => { $(impl Field for $plain {
        type Sent = Self;

        fn of(sent: Self) -> Option<Self> {
            Some(sent)
        }
    })* };
}
plain_fields!(bool, String, Vec<u8>);

impl<T: Field> Field for Option<T> {
    type Sent = Option<T::Sent>;

    fn of(sent: Self::Sent) -> Option<Self> {
        match sent {
            None => Some(None),
            Some(sent) => T::of(sent).map(Some),
        }
    }
}
