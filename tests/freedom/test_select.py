"""What words find, held against a plain look at every pin and net."""

from __future__ import annotations

from dataclasses import replace
from fnmatch import fnmatchcase

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies.rules import Spec, pinned_board

from renet.errors import RulesError
from renet.freedom.select import BY_GLOB, BY_NAME, BY_NUMBER, BY_RANGE, IN_FULL, Names
from renet.rules import Word

NUMBERS = ("1", "2", "10", "12", "A1", "1-2", "EP", "IO", "")
PIN_NAMES = ("", "IO", "IO_1", "IO[3]", "A1", "~{CS}", "1-2", "io", "3-4")
PIN_WORDS = st.sampled_from(
    ("1", "A1", "1-2", "1-12", "3-9", "2-1", "3-4", "IO", "IO*", "IO[3]", "*", "?O", "~{C*}", "x")
)


@st.composite
def parts(draw: st.DrawFn) -> list[Spec]:
    numbers = draw(st.lists(st.sampled_from(NUMBERS), min_size=1, max_size=6, unique=True))
    names = st.sampled_from(PIN_NAMES)
    return [Spec(number, draw(names), at=(i, 0)) for i, number in enumerate(numbers)]


def plain(specs: list[Spec], word: str) -> tuple[int, list[int]]:
    """How a word finds pins of a part, and which."""
    exact = [i for i, spec in enumerate(specs) if spec.number == word]
    if exact:
        return BY_NUMBER, exact
    low, _, high = word.partition("-")
    if low.isdigit() and high.isdigit():
        digits = [(i, spec.number) for i, spec in enumerate(specs) if spec.number.isdigit()]
        inside = [i for i, number in digits if int(low) <= int(number) <= int(high)]
        if inside:
            return BY_RANGE, inside
    return BY_NAME, [
        i for i, spec in enumerate(specs) if spec.name == word or fnmatchcase(spec.name, word)
    ]


@given(parts(), PIN_WORDS)
def test_a_pin_word_is_a_number_then_a_range_then_a_name(specs: list[Spec], word: str) -> None:
    names = Names(pinned_board({"U1": specs}))
    how, expected = plain(specs, word)
    if not expected:
        with pytest.raises(RulesError):
            names.pins("U1", (word,), 1)
    else:
        assert names.pins("U1", (word,), 1) == dict.fromkeys(expected, how)
        assert names.far_pins((f"U1:{word}",), 1) == dict.fromkeys(expected, how)


@given(parts(), PIN_WORDS, PIN_WORDS)
def test_the_most_definite_of_several_words_counts(specs: list[Spec], a: str, b: str) -> None:
    names = Names(pinned_board({"U1": specs}))
    try:
        found = names.pins("U1", (a, b), 1)
    except RulesError:
        return
    assert found == names.pins("U1", (b, a), 1)
    for word in (a, b):
        for pin, how in names.pins("U1", (word,), 1).items():
            assert found[pin] <= how


def test_the_part_of_a_far_word_is_a_reference_before_it_is_a_glob() -> None:
    pin = [Spec("1")]
    names = Names(pinned_board({"U1": pin, "U2": pin, "U[12]": pin}))
    assert list(names.far_pins(("U[12]:1",), 1)) == [2]
    assert list(names.far_pins(("U?:1",), 1)) == [0, 1]
    assert list(names.far_pins(("*:*",), 1)) == [0, 1, 2]


def test_a_glob_on_parts_needs_the_pin_on_one_of_them_only() -> None:
    names = Names(pinned_board({"U1": [Spec("1")], "U2": [Spec("2")]}))
    assert list(names.far_pins(("U*:2",), 1)) == [1]


def test_a_repeated_reference_stands_for_all_its_parts() -> None:
    board = pinned_board({"U1": [Spec("1")], "U2": [Spec("1")]})
    twins = tuple(part._replace(ref="U1") for part in board.parts)
    names = Names(replace(board, parts=twins))
    assert list(names.pins("U1", ("1",), 1)) == [0, 1]


def test_nets_are_found_in_full_or_by_glob_and_only_with_a_pin() -> None:
    nets = ("/A", "/A*", "/AB", "/D[0]", "/OLD")
    pins = [Spec(str(i), net=net) for i, net in enumerate(nets[:4])]
    names = Names(pinned_board({"U1": pins}, nets))
    assert names.nets(("/A*",), 1) == {1: IN_FULL}
    assert names.nets(("/A?",), 1) == {1: BY_GLOB, 2: BY_GLOB}
    assert names.nets(("/A?", "/AB"), 1) == {1: BY_GLOB, 2: IN_FULL}
    assert names.nets(("/D[0]",), 1) == {3: IN_FULL}
    assert names.nets(("nothing",), 1, may_fail=True) == {}
    with pytest.raises(RulesError, match=r'^:7: net "/OLD" has no pin on the board; '):
        names.nets((Word("/OLD", 7),), 1)


def test_a_word_from_a_file_of_functions_names_that_file() -> None:
    names = Names(pinned_board({"U1": [Spec("1", "IO")]}))
    with pytest.raises(RulesError, match=r'^f\.csv:3: U1 has no pin "IOO"; did you mean "IO"\?'):
        names.pins("U1", (Word("IOO", 3, "f.csv"),), 12)
    with pytest.raises(RulesError, match=r'^f\.csv:3: part "U11" is not on the board; '):
        names.pins(Word("U11", 3, "f.csv"), ("1",), 12)


def test_a_part_without_pins_is_told_apart() -> None:
    names = Names(pinned_board({"U1": [Spec("1")], "H1": []}))
    with pytest.raises(RulesError, match=r"^:1: H1 has no pins; its pads have no numbers"):
        names.pins("H1", ("*",), 1)


def test_pins_are_ordered_by_part_and_then_naturally() -> None:
    numbers = ("10", "2", "A10", "A2", "B1")
    names = Names(pinned_board({"U2": [Spec(n) for n in numbers], "U1": [Spec("1")]}))
    ordered = [names.label(pin) for pin in names.in_order(range(6))]
    assert ordered == ["U1:1", "U2:2", "U2:10", "U2:A2", "U2:A10", "U2:B1"]


@given(st.text(max_size=12))
def test_no_word_is_too_strange_to_be_refused(word: str) -> None:
    names = Names(pinned_board({"U1": [Spec("1", "IO")]}))
    try:
        assert set(names.pins("U1", (word,), 4)) == {0}
    except RulesError as error:
        assert error.line == 4
        assert "\n" not in str(error)
