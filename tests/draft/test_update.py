"""Drafting over a file that a hand has edited: the edits stay, what is new comes in."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases.structures import FOLDER, draft_of, read
from freedom.buoy import buoy
from hypothesis import given
from hypothesis import strategies as st

from renet.draft import Draft, draft_rules, draft_text, gather, updated
from renet.errors import RulesError
from renet.read.rules import read_rules

NAME = "buoy.kicad_pcb"


def drafted() -> Draft:
    return draft_of(read(FOLDER / "peripheral.toml"))


def text_of(draft: Draft) -> str:
    return draft_text(draft, NAME)


def test_comments_and_edits_stay_byte_for_byte() -> None:
    draft = drafted()
    edited = text_of(draft).replace('"6",', '"6",  # the lamp may go anywhere: K. Moen')
    edited = edited.replace('part = "U3"\npins', 'part    = "U3"   \ncost_mm = 9.0\npins')
    assert updated(edited.encode(), draft).data == edited.encode()


def test_what_was_taken_out_stays_out() -> None:
    draft = drafted()
    lines = [line for line in text_of(draft).splitlines(True) if not line.startswith('    "7"')]
    edited = "".join(lines).encode()
    assert b'"7"' in text_of(draft).encode() and edited != text_of(draft).encode()
    assert updated(edited, draft).data == edited


def test_an_entry_that_was_deleted_stays_deleted() -> None:
    draft = drafted()
    text = text_of(draft)
    start = text.index("[[peripheral]]")
    edited = (text[:start] + text[text.index("# Kept pins") :]).encode()
    assert updated(edited, draft).data == edited


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_new_pin_joins_its_pool_and_nothing_else_changes(end: str) -> None:
    """The hatch pin is drafted later: as if the board had had no such pin before."""
    draft = drafted()
    pool = draft.entries[0]
    fields = tuple((k, v[1:] if k == "pins" else v) for k, v in pool.fields)  # type: ignore[index]
    before = Draft(
        draft.evidence,
        draft.kinds,
        draft.verdicts,
        (pool._replace(fields=fields), *draft.entries[1:]),
    )
    old = text_of(before).replace("\n", end).encode()
    found = updated(old, draft)
    new = read_rules(found.data)
    assert set(new.pools[0].pins) == {*read_rules(old).pools[0].pins, "2"}
    assert found.added == (pool.key,)
    kept = [line for line in old.decode().splitlines() if not line.startswith("#= ")]
    added = [line for line in found.data.decode().splitlines() if not line.startswith("#= ")]
    assert [line for line in added if line in kept] == kept
    assert (b"\r\n" in found.data) == (end == "\r\n")
    assert updated(found.data, draft).data == found.data


def test_new_entries_go_to_the_end_of_a_file_of_the_engineers_own() -> None:
    own = b'# mine\n[[pool]]\npart = "U3"\npins = ["2", "3"]\n'
    draft = drafted()
    found = updated(own, draft)
    assert found.data.startswith(own)
    rules = read_rules(found.data)
    assert len(rules.pools) == 1 and len(rules.peripherals) == 1
    assert updated(found.data, draft).data == found.data


def test_a_section_without_room_is_an_error_with_its_line() -> None:
    own = b'[peripheral]\nnets = ["/LAMP"]\nsignals = ["TX"]\ninstances = ["UART1"]\n'
    with pytest.raises(RulesError) as caught:
        updated(own, drafted())
    assert (caught.value.line, caught.value.do) == (1, "write [[peripheral]]")


def test_a_pin_that_the_draft_would_keep_is_mentioned() -> None:
    draft = draft_rules(gather(buoy()))
    found = updated(b'[[pool]]\npart = "U3"\npins = ["2", "6"]\n', draft)
    assert found.notes == (
        "line 1 names U3:6, which the draft would keep: a reset pin by its name",
    )


@given(st.data())
def test_any_lines_may_be_taken_out_of_a_draft(data: st.DataObject) -> None:
    """Without some pins of the pool the file stays as the hand left it."""
    draft = drafted()
    lines = text_of(draft).splitlines(True)
    pins = [i for i, line in enumerate(lines) if line.startswith('    "')]
    gone = data.draw(st.sets(st.sampled_from(pins), max_size=len(pins) - 2))
    edited = "".join(line for i, line in enumerate(lines) if i not in gone).encode()
    assert updated(edited, draft).data == edited


def test_names_from_the_board_cannot_break_the_file() -> None:
    """Quotes, line ends and marks in a net's name stay inside strings and comments."""
    board = buoy()
    odd = 'a"b\\\n]#= ["x"]\x7f\t'
    index = board.nets.index("/LED_A")
    nets = tuple(odd if i == index else net for i, net in enumerate(board.nets))
    draft = draft_rules(gather(replace(board, nets=nets)))
    text = draft_text(draft, odd).encode()
    assert read_rules(text).pools
    assert updated(text, draft).data == text
