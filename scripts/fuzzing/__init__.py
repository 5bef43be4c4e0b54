"""Byte-level fuzzing of every reader and job: see ``scripts/fuzz``."""
