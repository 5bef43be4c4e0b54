"""Whether a board is within the freedom, and if not, what is wrong."""

from __future__ import annotations

from collections import Counter

import numpy as np

from renet.freedom.resolve import Freedom
from renet.model import IntArray


def complaints(freedom: Freedom, after: IntArray) -> list[str]:
    """Everything that these nets (one entry per pin) do against the rules, one sentence each."""
    names, before = freedom.names, freedom.names.input_nets
    why = dict(freedom.kept)
    found = [
        f"{names.label(pin)} moved, but {why.get(pin, 'no pool and no unit names it')}"
        for pin in names.in_order(np.flatnonzero((before != after) & ~freedom.movable).tolist())
    ]
    for group in freedom.groups:
        extra = Counter(group.keys(after)) - Counter(group.keys(before))
        for key in sorted(extra):
            told = ", ".join(names.net_label(net) for net in key)
            found.append(f"{group.rule}: {told} came from outside")
    for condition in freedom.conditions:
        new = sorted(condition.new(after), key=sorted)
        found += [f"{condition.rule}: {condition.why(violation)}" for violation in new]
    return found
