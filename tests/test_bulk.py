from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.bulk import Bulk
from renet.decimals import LIMIT_MM, decimal_nm

plain = st.builds(
    lambda sign, whole, fraction: f"{sign}{whole}{fraction}",
    st.sampled_from(["", "-", "+"]),
    st.integers(0, LIMIT_MM - 1).map(str) | st.sampled_from(["0", "007", "000000012"]),
    st.just("") | st.just(".") | st.text("0123456789", max_size=9).map(lambda d: "." + d),
)
"""Decimals around the plain pattern: too long on either side, signs, bare points."""

scientific = st.builds(
    lambda mantissa, exponent: f"{mantissa}e{exponent}",
    st.decimals(-99, 99, places=5).map(lambda d: format(d, "f")),
    st.integers(-30, 3),
)
numbers = plain | scientific
no_numbers = st.sampled_from(
    ["nan", "inf", "-inf", "0x10", "1_000", "", "-", ".", "1.2.3", "1e", "12a", "1,5", "--1", "٣"]
)


def exact(text: str) -> int:
    """The nanometres of decimal millimetres, by the standard library's exact decimals."""
    return int((Decimal(text) * 1_000_000).to_integral_value(ROUND_HALF_EVEN))


tokens = st.tuples(numbers, st.just(True)) | st.tuples(no_numbers, st.just(False))


@given(st.lists(tokens, min_size=1, max_size=60), st.sampled_from([" ", ")", "\r\n"]))
def test_decimals_are_exact_wherever_they_stand(found: list[tuple[str, bool]], after: str) -> None:
    data = "".join(text + after for text, _ in found).encode()
    sizes = [len((text + after).encode()) for text, _ in found]
    begins = np.cumsum([0, *sizes[:-1]])
    read = Bulk(data).decimals(begins)
    for k, (text, number) in enumerate(found):
        good = number and abs(Decimal(text)) < LIMIT_MM
        assert read.good[k] == good, text
        if good:
            assert (read.value[k], read.end[k]) == (exact(text), begins[k] + len(text))


@given(st.lists(plain, min_size=1, max_size=60))
def test_the_plain_pattern_agrees_with_the_exact_way_wherever_it_fits(texts: list[str]) -> None:
    data = " ".join([*texts, ""]).encode()
    begins = np.cumsum([0] + [len(text) + 1 for text in texts[:-1]])
    read = Bulk(data).plain(begins)
    for k in np.flatnonzero(read.good).tolist():
        assert (read.value[k], len(texts[k])) == decimal_nm(texts[k].encode())
    fitting = [
        k
        for k, text in enumerate(texts)
        if text[:1] != "+"
        and len(text.strip("-").split(".")[0]) <= 6
        and len(text.partition(".")[2]) <= 6
    ]
    assert read.good[fitting].all()


@pytest.mark.parametrize(
    ("text", "value"),
    [
        (b"0.0000005", 0),
        (b"0.0000015", 2),
        (b"-0.0000025", -2),
        (b"1.23456750000000000001", 1_234_568),
        (b"-1e-05", -10),
        (b"1E2", 100_000_000),
        (b"0e999", 0),
        (b"1e-400", 0),
        (b"999999.999999", 999_999_999_999),
    ],
)
def test_ties_go_to_the_even_nanometre(text: bytes, value: int) -> None:
    assert decimal_nm(text) == (value, len(text))


@pytest.mark.parametrize(
    "text",
    [b"9" * 400, b"0." + b"1" * 400, b"1e999999999", b"1000000", b"1e6", b"NaN", b"Infinity"],
)
def test_what_is_no_length_is_no_number(text: bytes) -> None:
    assert decimal_nm(text) == (0, 0)


@given(st.lists(st.binary(max_size=20).filter(lambda t: b"\0" not in t), min_size=1, max_size=60))
def test_groups_are_those_of_equal_bytes(texts: list[bytes]) -> None:
    data = b"".join(texts)
    begin = np.cumsum([0] + [len(text) for text in texts[:-1]])
    end = np.cumsum([len(text) for text in texts])
    codes, rows = Bulk(data).groups(begin, end)
    distinct = [texts[row] for row in rows.tolist()]
    assert [distinct[code] for code in codes.tolist()] == texts
    assert distinct == list(dict.fromkeys(texts))
    assert rows.tolist() == [texts.index(text) for text in distinct]


@given(st.binary(min_size=1, max_size=20), st.data())
def test_words_are_the_bytes_from_there_on(data: bytes, draw: st.DataObject) -> None:
    at = draw.draw(st.lists(st.integers(0, len(data) + 9)))
    found = Bulk(data).words(np.array(at, dtype=np.int64))
    assert [int(word).to_bytes(8, "little") for word in found] == [
        data[begin : begin + 8].ljust(8, b"\0") for begin in at
    ]


def test_a_file_is_looked_at_where_it_is() -> None:
    data = b"(at 1.5 2)" * 100
    assert np.shares_memory(Bulk(data).raw, np.frombuffer(data, dtype=np.uint8))


@given(st.lists(st.sampled_from(["net", "net_name", "net_tie_pad_groups", "ne", "nets"])))
def test_tokens_are_whole_words(words: list[str]) -> None:
    data = "".join(f"({word} " for word in words).encode()
    begins = np.cumsum([1] + [len(word) + 2 for word in words])[: len(words)].astype(np.int64)
    bulk = Bulk(data)
    for wanted in ("net", "net_name", "net_tie_pad_groups", "nobody"):
        found = bulk.tokens(begins, wanted.encode()).tolist()
        assert found == [k for k, word in enumerate(words) if word == wanted]
