"""Reads an exported Parquet file with Apache Arrow's C++ reader (pyarrow)."""

import sys

import pyarrow.parquet

from summary import Summary

file = pyarrow.parquet.ParquetFile(sys.argv[1])
summary = Summary()
for name, column in zip(file.schema_arrow.names, file.read().columns):
    for value in column.to_pylist():
        summary.add(name, value)
metadata = file.schema_arrow.metadata or {}
summary.tell(
    types={field.name: str(field.type) for field in file.schema_arrow},
    about={key.decode(): value.decode() for key, value in metadata.items()},
)
