"""The built-in example: shipped inside the package, or in the corpus of a checkout."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def example_files() -> dict[str, bytes]:
    """Board, netlist and rules of the buoy by file name, in name order."""
    shipped = files("renet") / "demo"
    folder = shipped if shipped.is_dir() else Path(__file__).parent.parent / "corpus" / "demo"
    found = sorted(
        (entry for entry in folder.iterdir() if not entry.name.startswith(".")),
        key=lambda entry: entry.name,
    )
    return {entry.name: entry.read_bytes() for entry in found}
