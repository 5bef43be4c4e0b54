"""Laws of the second opinion, on random exchanges and random damage."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest
from cases.scene import SHAPES, Scene, exchange, scene
from hypothesis import given
from hypothesis import strategies as st

import renet.verify
from renet.changes import ChangeList, Move, Swap
from renet.rules import Pool, Rules
from renet.verify import BYTES, Expect, verify_board

TRADED = ("U3:41", "U3:42", "U3:43", "U3:44", "U3:45", "U3:46", "J7:1", "J7:2", "J7:3", "J7:4")


@st.composite
def exchanges(draw: st.DrawFn, whole: bool) -> tuple[Scene, dict[str, str | None]]:
    """A scene and moves; a permutation of the nets if ``whole``, else any nets at all."""
    before = scene(draw(st.sampled_from(SHAPES)))
    pins = draw(st.lists(st.sampled_from(TRADED), unique=True, min_size=1))
    nets = [before.net(pin) for pin in pins]
    dealt = draw(
        st.permutations(nets)
        if whole
        else st.lists(st.sampled_from(nets), min_size=len(pins), max_size=len(pins))
    )
    moves = {p: n for p, n, had in zip(pins, dealt, nets, strict=True) if n != had}
    return before, moves


def pools(numbers: dict[str, list[str]]) -> Rules:
    return Rules(pools=tuple(Pool(ref, tuple(pins)) for ref, pins in numbers.items() if pins))


def listed(before: Scene, moves: dict[str, str | None]) -> ChangeList:
    made = tuple(Move(*pin.split(":"), "", before.net(pin), net) for pin, net in moves.items())
    return ChangeList((), (Swap(1, made),))


@given(st.booleans().flatmap(exchanges), st.sets(st.sampled_from(TRADED)), st.booleans())
def test_an_exchange_is_accepted_exactly_if_it_is_legal(
    drawn: tuple[Scene, dict[str, str | None]], named: set[str], rip: bool
) -> None:
    before, moves = drawn
    free = {ref: sorted(p[3:] for p in named if p[:2] == ref) for ref in ("U3", "J7")}
    after = exchange(before, moves, rip=rip)
    expect = Expect(pools(free), None, "rip" if rip else "keep")
    verdict = verify_board(before.text(), after.text(), expect)
    legal = moves.keys() <= named and all(
        Counter(before.net(p) for p in moves if p[:2] == ref)
        == Counter(net for p, net in moves.items() if p[:2] == ref)
        for ref in ("U3", "J7")
    )
    assert verdict.ok == legal
    assert {move.label: move.is_ for move in verdict.moved} == moves


@given(exchanges(True), exchanges(True))
def test_a_change_list_is_accepted_exactly_if_it_was_carried_out(
    done: tuple[Scene, dict[str, str | None]], other: tuple[Scene, dict[str, str | None]]
) -> None:
    before, moves = done
    after = exchange(before, moves)
    right, wrong = listed(before, moves), listed(before, other[1])
    assert verify_board(before.text(), after.text(), Expect(changes=right)).findings == []
    verdict = verify_board(before.text(), after.text(), Expect(changes=wrong))
    assert verdict.ok == (other[1] == moves)


@given(exchanges(True), st.data())
def test_any_single_byte_that_changes_is_found(
    drawn: tuple[Scene, dict[str, str | None]], data: st.DataObject
) -> None:
    before, moves = drawn
    text = bytearray(exchange(before, moves).text())
    offset = data.draw(st.integers(0, len(text) - 1))
    near = st.sampled_from(b'0123456789 \n\t\r()"-+/._AXaz\xff\x00')
    text[offset] = data.draw(near.filter(lambda byte: byte != text[offset]))
    verdict = verify_board(before.text(), bytes(text), Expect(changes=listed(before, moves)))
    assert not verdict.ok


@given(exchanges(True), st.data())
def test_any_piece_that_is_cut_out_or_doubled_is_found(
    drawn: tuple[Scene, dict[str, str | None]], data: st.DataObject
) -> None:
    before, moves = drawn
    text = exchange(before, moves).text()
    start = data.draw(st.integers(0, len(text) - 1))
    stop = data.draw(st.integers(start + 1, len(text)))
    for damaged in (text[:start] + text[stop:], text[:stop] + text[start:]):
        verdict = verify_board(before.text(), damaged, Expect(changes=listed(before, moves)))
        assert not verdict.ok


@given(exchanges(True), exchanges(True))
def test_findings_do_not_hang_on_what_was_asked_first(
    one: tuple[Scene, dict[str, str | None]], two: tuple[Scene, dict[str, str | None]]
) -> None:
    """The same question twice gives the same words."""
    before, after = one[0].text(), exchange(*two).text()
    said = [[str(f) for f in verify_board(before, after, Expect()).findings] for _ in range(2)]
    assert said[0] == said[1]


@given(exchanges(True))
def test_boards_of_other_shapes_are_told_apart(drawn: tuple[Scene, dict[str, str | None]]) -> None:
    before = drawn[0]
    other = scene(next(s for s in SHAPES if s != before.shape))
    assert verify_board(before.text(), other.text(), Expect()).of(BYTES)


# what verify may know

ALLOWED = {"syntax", "scan", "read", "rules", "geometry", "model", "changes", "errors", "verify"}
MODULES = sorted(Path(renet.verify.__file__).parent.glob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.stem)
def test_verify_imports_nothing_that_made_the_files(path: Path) -> None:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom):
            base = node.module or ""
            names |= {base} if base != "renet" else {f"renet.{a.name}" for a in node.names}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    own = {name.split(".")[1] for name in names if name.startswith("renet.")}
    assert own <= ALLOWED
