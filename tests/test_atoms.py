from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from twins.tokens import tokens

from renet.atoms import decode, encode

names = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)


@given(names, st.booleans())
def test_what_is_written_reads_back(name: str, quoted: bool) -> None:
    assert decode(encode(name, quoted=quoted)) == name


@given(names.filter(lambda name: "\0" not in name), st.booleans())
def test_what_is_written_is_one_atom(name: str, quoted: bool) -> None:
    raw = encode(name, quoted=quoted)
    found = tokens(b"(" + raw + b")")
    assert found is not None
    assert [(start, end) for start, end, _ in found.atoms] == [(1, 1 + len(raw))]
    assert found.atoms[0][2] or not quoted


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b'""', ""),
        (b'"a\\nb"', "a\nb"),
        (b'"a\\bb\\f"', "a\bb\f"),
        (b'"say \\"hi\\""', 'say "hi"'),
        (b'"back\\\\slash"', "back\\slash"),
        (b"/GPIO17\\U1TXD", "/GPIO17\\U1TXD"),
        (b'0.96"', '0.96"'),
        ('"Ω µ"'.encode(), "Ω µ"),
    ],
)
def test_escapes_count_in_strings_only(raw: bytes, text: str) -> None:
    assert decode(raw) == text


@pytest.mark.parametrize(
    "name", ["", "a b", "a(b", "a)b", 'a"b', "#a", "-a", "a\tb", "{x}", "~{x}"]
)
def test_names_that_could_be_misread_are_quoted_in_old_files_too(name: str) -> None:
    assert encode(name, quoted=False).startswith(b'"')


@pytest.mark.parametrize("name", ["GND", "+3V3", "/SONDE_TX", "R1", "7", "~RESET"])
def test_plain_names_stay_bare_in_old_files(name: str) -> None:
    assert encode(name, quoted=False) == name.encode()
