"""renet: moves nets among pins that may be traded, and proves that nothing else changed.

    >>> from renet import load, untangle, verify
    >>> job = untangle(load("buoy.kicad_pcb", rules="buoy.rules.toml"))
    >>> job.tangle.figures.crossings
    27
    >>> verify(before_bytes, job.board.data, rules=job.scene.rules).ok
    True

``renet.pipeline`` is the place to read on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from renet.pipeline import apply_changes, survey, untangle
    from renet.public import load, verify

__all__ = ["apply_changes", "load", "survey", "untangle", "verify"]

_HOME = {
    "apply_changes": "renet.pipeline",
    "survey": "renet.pipeline",
    "untangle": "renet.pipeline",
    "load": "renet.public",
    "verify": "renet.public",
}


def __getattr__(name: str) -> Any:
    """Load the heavy stages when they are first used: start-up of the commands counts."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(_HOME[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
