//! How a value of the database is written as a field of a sheet, and read back: exactly, for every
//! kind of column. How fields make a sheet is in `sheet`.

use data_encoding::BASE64;
use uuid::Uuid;

use crate::store::tables::{Column, Kind, Value};

/// The words for a kind of column in a manifest.
pub(super) const fn name(kind: Kind) -> &'static str {
    match kind {
        Kind::Integer => "integer",
        Kind::Real => "real",
        Kind::Text => "text",
        Kind::Uuid => "uuid",
        Kind::Boolean => "boolean",
        Kind::Bytes => "base64",
    }
}

/// A value as a field; nothing stays nothing.
pub(super) fn write(value: Option<Value>) -> Option<String> {
    Some(match value? {
        Value::Integer(value) => value.to_string(),
        // The shortest digits that read back as the same number.
        Value::Real(value) => format!("{value:?}"),
        Value::Text(value) => value,
        Value::Uuid(value) => value.to_string(),
        Value::Boolean(value) => value.to_string(),
        Value::Bytes(value) => BASE64.encode(&value),
    })
}

/// A field as a value of its column.
///
/// # Errors
/// What is wrong with it and what to give instead, without the field itself.
pub(super) fn read(field: Option<&str>, column: &Column) -> Result<Option<Value>, &'static str> {
    let Some(field) = field else {
        return match (column.may_be_null, column.kind) {
            (true, _) => Ok(None),
            (false, Kind::Text) => {
                Err("is missing; an empty text is written as two quotation marks")
            }
            (false, _) => Err("is missing; this column always has a value"),
        };
    };
    let value = match column.kind {
        Kind::Integer => field.parse().map(Value::Integer).map_err(|_| WHOLE),
        Kind::Real => match field.parse() {
            Ok(number) if f64::is_finite(number) => Ok(Value::Real(number)),
            Ok(_) | Err(_) => Err("is not a number; give digits with a point, such as 0.25"),
        },
        Kind::Text => Ok(Value::Text(field.to_owned())),
        Kind::Uuid => Uuid::parse_str(field)
            .map(Value::Uuid)
            .map_err(|_| "is not a UUID; give 32 hexadecimal digits with hyphens"),
        Kind::Boolean => match field {
            "true" => Ok(Value::Boolean(true)),
            "false" => Ok(Value::Boolean(false)),
            _ => Err("is neither true nor false; give one of them"),
        },
        Kind::Bytes => BASE64
            .decode(field.as_bytes())
            .map(Value::Bytes)
            .map_err(|_| "is not base64; give the bytes in the base64 of RFC 4648, with padding"),
    };
    value.map(Some)
}

const WHOLE: &str = "is not a whole number of 64 bits; give digits only";

#[cfg(test)]
mod tests {
    use super::*;

    fn column(kind: Kind) -> Column {
        Column {
            name: "it".to_owned(),
            kind,
            may_be_null: false,
        }
    }

    #[test]
    fn every_value_reads_back_as_itself() {
        let values = [
            (Kind::Integer, Value::Integer(i64::MIN)),
            (Kind::Integer, Value::Integer(i64::MAX)),
            (Kind::Real, Value::Real(0.1 + 0.2)),
            (Kind::Real, Value::Real(5e-324)),
            (Kind::Real, Value::Real(1.797_693_134_862_315_7e308)),
            (Kind::Text, Value::Text(String::new())),
            (
                Kind::Text,
                Value::Text("=1+1, \"two\"\r\nthree 🔥".to_owned()),
            ),
            (Kind::Uuid, Value::Uuid(Uuid::from_u128(7))),
            (Kind::Boolean, Value::Boolean(true)),
            (Kind::Bytes, Value::Bytes(vec![0, 255, 10])),
        ];
        for (kind, value) in values {
            let field = write(Some(value.clone()));
            assert_eq!(read(field.as_deref(), &column(kind)), Ok(Some(value)));
        }
    }

    #[test]
    fn nothing_is_taken_only_where_it_may_be() {
        let mut column = column(Kind::Text);
        assert!(read(None, &column).is_err());
        column.may_be_null = true;
        assert_eq!(read(None, &column), Ok(None));
        assert_eq!(
            read(Some(""), &column),
            Ok(Some(Value::Text(String::new())))
        );
    }

    #[test]
    fn a_field_of_another_kind_is_refused() {
        for (kind, field) in [
            (Kind::Integer, "1.5"),
            (Kind::Integer, "9223372036854775808"),
            (Kind::Integer, ""),
            (Kind::Real, "NaN"),
            (Kind::Real, "1e999"),
            (Kind::Uuid, "7"),
            (Kind::Boolean, "1"),
            (Kind::Bytes, "a"),
        ] {
            assert!(read(Some(field), &column(kind)).is_err(), "{field}");
        }
    }
}
