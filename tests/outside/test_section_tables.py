"""Sections of 74-series logic and of amplifiers against the textbook pin tables.

Written down from memory (facts 4.8), section by section, as data books draw
them; not derived from the tables of the drafting.
"""

from __future__ import annotations

import pytest
from cases.structures import draft_of

# value -> pins, supply, ground, {inputs that are equal, ...} -> output, per section
GATES = {
    "74HC00": {8: (9, 10), 3: (1, 2), 6: (4, 5), 11: (12, 13)},
    "74HC08": {3: (1, 2), 6: (4, 5), 8: (9, 10), 11: (12, 13)},
    "74LVC32": {3: (1, 2), 6: (4, 5), 8: (9, 10), 11: (12, 13)},
    "74AHC86": {3: (1, 2), 6: (4, 5), 8: (9, 10), 11: (12, 13)},
    "74HC02": {1: (2, 3), 4: (5, 6), 10: (8, 9), 13: (11, 12)},
    "74HC04": {2: (1,), 4: (3,), 6: (5,), 8: (9,), 10: (11,), 12: (13,)},
    "74HC14": {2: (1,), 4: (3,), 6: (5,), 8: (9,), 10: (11,), 12: (13,)},
}
# output: (non-inverting, inverting)
AMPLIFIERS = {
    "LM324": {1: (3, 2), 7: (5, 6), 8: (10, 9), 14: (12, 13)},
    "TL074": {1: (3, 2), 7: (5, 6), 8: (10, 9), 14: (12, 13)},
    "LM358": {1: (3, 2), 7: (5, 6)},
    "NE5532": {1: (3, 2), 7: (5, 6)},
}
# one enable or clock: input -> output, or A -> B
OCTALS = {
    "74HC244": ({2: 18, 4: 16, 6: 14, 8: 12}, {11: 9, 13: 7, 15: 5, 17: 3}),
    "74LVC245": ({2: 18, 3: 17, 4: 16, 5: 15, 6: 14, 7: 13, 8: 12, 9: 11},),
    "74HC573": ({2: 19, 3: 18, 4: 17, 5: 16, 6: 15, 7: 14, 8: 13, 9: 12},),
    "74HC574": ({2: 19, 3: 18, 4: 17, 5: 16, 6: 15, 7: 14, 8: 13, 9: 12},),
    "74HC374": ({3: 2, 4: 5, 7: 6, 8: 9, 13: 12, 14: 15, 17: 16, 18: 19},),
}
SUPPLIES = {14: (14, 7), 20: (20, 10), 8: (8, 4)}


def found(
    value: str, count: int, supplies: tuple[int, int]
) -> list[tuple[set[frozenset[int]], object]]:
    """The groups of sections (as sets of pins) that a draft of such a part gives, with inner."""
    rails = dict(zip(supplies, ("+5V", "GND"), strict=True))
    pins = [[str(n), "", "", rails.get(n, f"/N{n}")] for n in range(1, count + 1)]
    draft = draft_of({"part": [{"ref": "U1", "value": value, "shape": "dual", "pins": pins}]})
    groups = []
    for entry in draft.entries:
        fields = dict(entry.fields)
        rows = [[int(pin.split(":")[1]) for pin in line.value] for line in fields["tuples"]]
        groups.append((rows, fields.get("inner")))
    return groups


@pytest.mark.parametrize("value", sorted(GATES))
def test_gates(value: str) -> None:
    ((rows, inner),) = found(value, 14, SUPPLIES[14])
    expected = {frozenset({*ins, out}) for out, ins in GATES[value].items()}
    assert {frozenset(row) for row in rows} == expected
    two = len(next(iter(GATES[value].values()))) == 2
    assert inner == ([[1, 2]] if two else None)
    for row in rows:
        places = {row[i - 1] for i in inner[0]} if inner else {row[0]}
        out = next(pin for pin in row if pin not in places)
        assert places == set(GATES[value][out])
        assert row.index(out) == rows[0].index(next(p for p in rows[0] if p in GATES[value]))


@pytest.mark.parametrize("value", sorted(AMPLIFIERS))
def test_amplifiers(value: str) -> None:
    count = 8 if len(AMPLIFIERS[value]) == 2 else 14
    ((rows, inner),) = found(value, count, (8, 4) if count == 8 else (4, 11))
    assert inner is None  # + and - never trade
    assert {row[2]: (row[0], row[1]) for row in rows} == AMPLIFIERS[value]


@pytest.mark.parametrize("value", sorted(OCTALS))
def test_octals(value: str) -> None:
    groups = [dict(rows) for rows, _ in found(value, 20, SUPPLIES[20])]
    assert groups == list(OCTALS[value])


@pytest.mark.parametrize("value", ["74HC00", "74HC244", "LM324"])
def test_a_part_with_its_supplies_elsewhere_is_not_guessed(value: str) -> None:
    count = 20 if value == "74HC244" else 14
    assert found(value, count, (1, 2)) == []
