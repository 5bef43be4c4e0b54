"""The compiled module ``_kernel.c``, where the installation could build it.

Who asks it has a way of its own for ``None``, which says what the result is.
"""

from __future__ import annotations

import importlib
from types import ModuleType

_INTERFACE = 1
"""Goes up with that of ``_kernel.c``: a module left over from an older source is not used."""


def _built() -> ModuleType | None:
    try:
        found = importlib.import_module("renet._kernel")
    except ImportError:
        return None
    return found if getattr(found, "INTERFACE", 0) == _INTERFACE else None


KERNEL = _built()
