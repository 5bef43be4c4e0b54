"""renet: moves nets among pins that may be traded, and proves that nothing else changed.

    >>> from renet import load, prove, untangle
    >>> inputs = load("corpus/demo/buoy.kicad_pcb")  # its rules lie beside it
    >>> job = untangle(inputs)
    >>> job.scene.tangle.figures.crossings, job.tangle.figures.crossings
    (79, 5)
    >>> prove(inputs.board.data, job.board.data, rules=job.scene.rules).ok
    True

``renet.pipeline`` is the place to read on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from renet.pipeline import apply_changes, survey, untangle
    from renet.public import load, prove

__all__ = ["apply_changes", "load", "prove", "survey", "untangle"]

_HOME = {
    "apply_changes": "renet.pipeline",
    "survey": "renet.pipeline",
    "untangle": "renet.pipeline",
    "load": "renet.public",
    "prove": "renet.public",
}


def __getattr__(name: str) -> Any:
    """Load the heavy stages when they are first used: start-up of the commands counts."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(_HOME[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
