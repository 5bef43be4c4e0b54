"""Bytes to model: one module per file format, each with a side table of spans."""
