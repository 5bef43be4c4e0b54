"""Byte-level fuzzing of every reader and job: see ``scripts/fuzz``."""

import sys
from pathlib import Path

# The small sound files are those of the tests.
sys.path.append(str(Path(__file__).resolve().parent.parent.parent / "tests"))
