"""Functions from a CSV, held against a plain split of the same text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.errors import RulesError
from renet.read.functions import read_functions, with_functions
from renet.rules import Offers, Rules, file_of, line_of

WORDS = st.text("ABZ019_/", min_size=1, max_size=4)
ROWS = st.lists(st.tuples(WORDS, WORDS, WORDS), max_size=8)


def _offered(records: list[Offers]) -> set[tuple[str, str, str]]:
    return {(r.part, r.pins[0], function) for r in records for function in r.functions}


@given(ROWS, st.sampled_from(["\n", "\r\n"]))
def test_every_row_is_one_function_of_one_pin(rows: list[tuple[str, str, str]], end: str) -> None:
    text = end.join(["part,pin,function", *(",".join(row) for row in rows)])
    assert _offered(read_functions(text.encode(), "u.csv")) == set(rows)


def test_columns_in_any_order_with_others_beside_them() -> None:
    text = b'\xef\xbb\xbf Function ,note,PART,Pin\nUART1_TX,"a, b",U3,12\n\nUART3_TX,,U3,12\n'
    (record,) = read_functions(text, "u.csv")
    assert record == Offers("U3", ("12",), ("UART1_TX", "UART3_TX"), only=True, line=2)
    assert (line_of(record.pins[0]), file_of(record.pins[0])) == (2, "u.csv")


def test_a_mapping_puts_a_function_into_a_remap_group() -> None:
    """TX moves between two mappings, CK stays where it is in both, UART2 has none."""
    text = b"""part,pin,function,mapping
U3,1,UART1_TX,
U3,2,UART1_TX,1
U3,3,UART1 CK,
U3,4,UART2_TX,
U4,1,UART1_TX,
"""
    assert _offered(read_functions(text, "u.csv")) == {
        ("U3", "1", "UART1@0_TX"),
        ("U3", "2", "UART1@1_TX"),
        ("U3", "3", "UART1@0_CK"),
        ("U3", "3", "UART1@1_CK"),
        ("U3", "4", "UART2_TX"),
        ("U4", "1", "UART1_TX"),
    }


BAD = {
    b"part,pin,function,mapping\nU3,1,PWM,1\n": 'u.csv:2: "PWM" cannot be in mapping "1"; '
    "write the function as INSTANCE_SIGNAL",
    b"part,pin,function,mapping\nU3,1,UART1@2_TX,1\n": 'u.csv:2: "UART1@2_TX" cannot be in '
    'mapping "1"; write the function as INSTANCE_SIGNAL',
    b"part,pin,function,mapping\nU3,1,UART1_TX,a b\n": 'u.csv:2: "a b" is no mapping; '
    "write letters and digits",
    b"part,pin\n": 'u.csv:1: the first row has no column "function"; '
    "the first row must be part,pin,function",
    b"parts,pin,function\n": 'u.csv:1: the first row has no column "part"; did you mean "parts"?',
    b"part,pin,function\nU3,,X\n": "u.csv:2: no pin in this row; fill it in",
    b"part,pin,function\nU3\n": "u.csv:2: no pin in this row; fill it in",
    b"part,pin,function\nU3,\xff,X\n": "u.csv:2: not UTF-8 text; save the file as UTF-8",
}


@pytest.mark.parametrize("data", BAD, ids=range(len(BAD)))
def test_bad_rows_are_told_with_file_and_line(data: bytes) -> None:
    with pytest.raises(RulesError) as caught:
        read_functions(data, "u.csv")
    assert str(caught.value) == BAD[data]


def test_an_open_quote_is_told() -> None:
    with pytest.raises(RulesError, match=r"^u\.csv:2: not CSV: "):
        read_functions(b'part,pin,function\nU3,"12,X\n', "u.csv")


@given(st.binary(max_size=60))
def test_any_bytes_give_records_or_one_error(data: bytes) -> None:
    try:
        records = read_functions(data, "u.csv")
    except RulesError as error:
        assert error.file == "u.csv"
    else:
        assert all(record.pins and record.functions for record in records)


def test_rows_stand_in_the_place_of_the_record() -> None:
    own = Offers("U1", ("1",), ("A",))
    rules = Rules(offers=(own, Offers(file="f.csv", line=9), own))
    files = {"f.csv": b"part,pin,function\nU3,12,X\n"}
    found = with_functions(rules, files.__getitem__).offers
    assert found == (own, Offers("U3", ("12",), ("X",), only=True, line=2), own)
