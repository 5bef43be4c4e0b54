"""The places of keys and entries, held against a slow line-by-line look at the same text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.errors import RulesError
from renet.read.toml import MAX_BYTES, MAX_DEPTH, parse

SAMPLE = b"""# first
a.b = 1.5
"q.x" = ["one", # note ]
  "two", '''three
three''', 'four']
[[pool]]
pins = [
  "b[]]",
  { x = 1, y = [2,
   3] },
]
[[pool]]
"pa\\u0072t" = 2
[pool.sub]
x = 1979-05-27 07:32:00
[[pool.row]]
y = 1
[[pool.row]]
y = 2
"""

PLACES = {
    ("a",): (2, 1),
    ("a", "b"): (2, 3),
    ("q.x",): (3, 1),
    ("q.x", 0): (3, 10),
    ("q.x", 1): (4, 3),
    ("q.x", 2): (4, 10),
    ("q.x", 3): (5, 11),
    ("pool", 0): (6, 1),
    ("pool", 0, "pins"): (7, 1),
    ("pool", 0, "pins", 0): (8, 3),
    ("pool", 0, "pins", 1): (9, 3),
    ("pool", 0, "pins", 1, "x"): (9, 5),
    ("pool", 0, "pins", 1, "y", 0): (9, 17),
    ("pool", 0, "pins", 1, "y", 1): (10, 4),
    ("pool", 1): (12, 1),
    ("pool", 1, "part"): (13, 1),
    ("pool", 1, "sub", "x"): (15, 1),
    ("pool", 1, "row", 0, "y"): (17, 1),
    ("pool", 1, "row", 1): (18, 1),
    ("pool", 1, "row", 1, "y"): (19, 1),
}


@pytest.mark.parametrize("ends", [b"\n", b"\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_places_of_a_text_with_every_shape(ends: bytes, mark: bytes) -> None:
    document = parse(mark + SAMPLE.replace(b"\n", ends))
    for path, place in PLACES.items():
        assert document.place(path) == place, path
    assert document.place(("pool", 1, "row", 1, "gone")) == (18, 1)


def test_columns_count_bytes() -> None:
    assert parse('a = ["µΩ", "b"]'.encode()).place(("a", 1)) == (1, 14)


BAD = {
    b"a = ": (1, 0, "not TOML: "),
    b"a = [1,\n\n": (2, 0, "not TOML: "),
    b"a = 1\n[pool": (2, 0, "not TOML: "),
    'a = "µ" b'.encode(): (1, 10, "not TOML: "),
    b"a = 1\x00": (1, 6, "not TOML: "),
    b"a = 1\nb = \xff": (2, 5, "not UTF-8 text"),
    b"a = " + b"9" * 5000: (0, 0, "a number has too many digits"),
    b"a" + b".a" * 20 + b" = 1": (1, 34, "nested too deep"),
    b"a = " + b"[" * 100_000: (1, 21, "nested too deep"),
    b" " * (MAX_BYTES + 1): (0, 0, "larger than 1 MiB"),
}


@pytest.mark.parametrize("data", BAD, ids=range(len(BAD)))
def test_errors_name_line_and_column(data: bytes) -> None:
    with pytest.raises(RulesError) as caught:
        parse(data)
    line, column, what = BAD[data]
    assert (caught.value.line, caught.value.column) == (line, column)
    assert caught.value.what.startswith(what)


STRINGS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=6)


def _written(value: object, margin: str) -> str:
    """A value as TOML, one entry a line, so that the twin below can count lines."""
    if isinstance(value, list):
        inside = "".join(f"{margin}  {_written(v, margin + '  ')}, # ]\n" for v in value)
        return f"[\n{inside}{margin}]"
    if isinstance(value, str):
        body = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{body}"'
    return str(value).lower()


VALUES = st.recursive(
    STRINGS | st.integers(-99, 99) | st.booleans(), lambda v: st.lists(v, max_size=3), max_leaves=8
)


@given(st.dictionaries(st.sampled_from("abcdefgh"), VALUES, max_size=5))
def test_every_entry_stands_on_the_line_it_was_written_on(table: dict[str, object]) -> None:
    text, expected = "", {}
    for key, value in table.items():
        expected[(key,)] = text.count("\n") + 1
        todo: list[tuple[tuple[object, ...], object, int]] = [((key,), value, expected[(key,)])]
        while todo:
            path, inner, line = todo.pop()
            if isinstance(inner, list):
                line += 1
                for index, entry in enumerate(inner):
                    expected[(*path, index)] = line
                    todo.append(((*path, index), entry, line))
                    line += _written(entry, "").count("\n") + 1
        text += f"{key} = {_written(value, '')}\n"
    document = parse(text.encode())
    assert document.values == table
    assert {path: place.line for path, place in document.places.items()} == expected


@given(st.binary(max_size=60) | st.text("[]{}=,.\"'a1 \n#\\", max_size=60).map(str.encode))
def test_any_bytes_give_values_or_one_error(data: bytes) -> None:
    try:
        document = parse(data)
    except RulesError as error:
        assert str(error)
    else:
        assert set(document.values) == {str(path[0]) for path in document.places}


def test_nesting_up_to_the_bound_is_read() -> None:
    assert parse(b"a = " + b"[" * MAX_DEPTH + b"]" * MAX_DEPTH).values
