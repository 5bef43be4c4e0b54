from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.report.jsontext import json_pieces

atoms = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
values = st.recursive(
    atoms | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(st.text(), values, min_size=1, max_size=5))
def test_pieces_are_what_the_library_writes(record: dict[str, Any]) -> None:
    assert "".join(json_pieces(record)) == json.dumps(record, indent=1)
    lazy = {key: iter(one) if isinstance(one, list) else one for key, one in record.items()}
    assert "".join(json_pieces(lazy)) == json.dumps(record, indent=1)


def test_entries_of_an_iterator_are_asked_for_one_by_one() -> None:
    asked = []
    pieces = json_pieces({"of": (asked.append(number) or number for number in range(3))})
    while "1" not in next(pieces):
        pass
    assert asked == [0, 1]


def test_what_json_has_no_word_for_is_refused() -> None:
    with pytest.raises(ValueError):
        list(json_pieces({"x": float("nan")}))
