//! Parquet: one flat, typed column for each signal, compressed by Snappy.

use std::fs::File;
use std::io::{self, BufWriter};
use std::sync::Arc;

use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::{KeyValue, ParquetMetaDataReader};
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;

use super::signal::{Kind, Signal, Value};
use super::{About, NotExported, Sink};
use crate::trace::{Build, Tick};

/// True for a file whose metadata says that this program wrote it.
pub(super) fn is_ours(file: &mut File) -> io::Result<bool> {
    let read = ParquetMetaDataReader::new().parse_and_finish(file);
    // What cannot be read so is no Parquet, or one that is cut: not to be replaced.
    Ok(read.is_ok_and(|read| {
        let by = read.file_metadata().created_by();
        by.is_some_and(|by| by.starts_with("mastwright "))
    }))
}

/// Rows that are written at a time: 82 s.
const GROUP: usize = 8192;

/// A file of it, half written.
pub(super) struct Parquet<'a> {
    out: SerializedFileWriter<BufWriter<&'a mut File>>,
    columns: Vec<Column>,
    rows: usize,
}

/// A column of the rows not yet written.
enum Column {
    Flags(Vec<bool>),
    /// The numbers that there are, and for every row whether there is one.
    Wholes(Vec<i64>, Vec<i16>),
    Reals(Vec<f64>),
    Texts(Vec<ByteArray>),
}

impl<'a> Parquet<'a> {
    pub(super) fn new(
        file: &'a mut File,
        signals: &[Signal],
        about: &About,
    ) -> Result<Self, NotExported> {
        let units = signals
            .iter()
            .filter_map(|signal| Some((signal.name(), signal.unit()?)))
            .map(|(name, unit)| format!("{name}={}", unit.symbol()))
            .collect::<Vec<_>>()
            .join(";");
        let about = about
            .iter()
            .map(|(name, value)| KeyValue::new((*name).to_owned(), value.clone()))
            .chain([KeyValue::new("units".to_owned(), units)])
            .collect();
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_created_by(Build::this().to_string())
            .set_key_value_metadata(Some(about))
            .build();
        let fields = signals.iter().map(field).collect::<Result<Vec<_>, _>>();
        let schema = fields.and_then(|fields| {
            Type::group_type_builder("mastwright")
                .with_fields(fields)
                .build()
        });
        let out = SerializedFileWriter::new(
            BufWriter::new(file),
            Arc::new(schema.map_err(refused)?),
            Arc::new(properties),
        );
        Ok(Self {
            out: out.map_err(refused)?,
            columns: signals
                .iter()
                .map(|signal| Column::of(signal.kind()))
                .collect(),
            rows: 0,
        })
    }

    fn write_group(&mut self) -> Result<(), ParquetError> {
        if self.rows == 0 {
            return Ok(());
        }
        let mut group = self.out.next_row_group()?;
        for column in &mut self.columns {
            let Some(mut to) = group.next_column()? else {
                break;
            };
            column.write(&mut to)?;
            to.close()?;
        }
        group.close()?;
        self.rows = 0;
        Ok(())
    }
}

fn field(signal: &Signal) -> Result<Arc<Type>, ParquetError> {
    let (physical, repetition, logical) = match signal.kind() {
        Kind::Flag => (Physical::BOOLEAN, Repetition::REQUIRED, None),
        Kind::Whole => (Physical::INT64, Repetition::OPTIONAL, None),
        Kind::Real => (Physical::DOUBLE, Repetition::REQUIRED, None),
        Kind::Text => (
            Physical::BYTE_ARRAY,
            Repetition::REQUIRED,
            Some(LogicalType::String),
        ),
    };
    Type::primitive_type_builder(signal.name(), physical)
        .with_repetition(repetition)
        .with_logical_type(logical)
        .build()
        .map(Arc::new)
}

impl Column {
    const fn of(kind: Kind) -> Self {
        match kind {
            Kind::Flag => Self::Flags(Vec::new()),
            Kind::Whole => Self::Wholes(Vec::new(), Vec::new()),
            Kind::Real => Self::Reals(Vec::new()),
            Kind::Text => Self::Texts(Vec::new()),
        }
    }

    fn push(&mut self, value: &Value) {
        match (self, value) {
            (Self::Flags(flags), Value::Flag(flag)) => flags.push(*flag),
            (Self::Wholes(numbers, there), Value::Whole(number)) => {
                numbers.extend(number.map(i64::from));
                there.push(i16::from(number.is_some()));
            }
            (Self::Reals(numbers), Value::Real(number)) => numbers.push(*number),
            (Self::Texts(texts), Value::Text(text)) => {
                texts.push(ByteArray::from(text.as_ref()));
            }
            (column, value) => unreachable!("{value:?} in a column of {}", column.words()),
        }
    }

    const fn words(&self) -> &'static str {
        match self {
            Self::Flags(_) => "flags",
            Self::Wholes(..) => "whole numbers",
            Self::Reals(_) => "numbers",
            Self::Texts(_) => "texts",
        }
    }

    /// Writes what it holds, and is empty then.
    fn write(&mut self, to: &mut SerializedColumnWriter<'_>) -> Result<(), ParquetError> {
        match self {
            Self::Flags(flags) => {
                to.typed::<BoolType>().write_batch(flags, None, None)?;
                flags.clear();
            }
            Self::Wholes(numbers, there) => {
                let to = to.typed::<Int64Type>();
                to.write_batch(numbers, Some(there), None)?;
                numbers.clear();
                there.clear();
            }
            Self::Reals(numbers) => {
                to.typed::<DoubleType>().write_batch(numbers, None, None)?;
                numbers.clear();
            }
            Self::Texts(texts) => {
                to.typed::<ByteArrayType>().write_batch(texts, None, None)?;
                texts.clear();
            }
        }
        Ok(())
    }
}

impl Sink for Parquet<'_> {
    fn row(&mut self, _: &Tick, row: &[Value]) -> Result<(), NotExported> {
        for (column, value) in self.columns.iter_mut().zip(row) {
            column.push(value);
        }
        self.rows += 1;
        if self.rows == GROUP {
            self.write_group().map_err(refused)?;
        }
        Ok(())
    }

    fn gap(&mut self) -> Result<(), NotExported> {
        // The number of the tick in the next row tells.
        Ok(())
    }

    fn finish(mut self: Box<Self>) -> Result<(), NotExported> {
        self.write_group().map_err(refused)?;
        self.out.close().map_err(refused)?;
        Ok(())
    }
}

fn refused(error: ParquetError) -> NotExported {
    NotExported::Format(error.to_string())
}
