"""Drafting over a file that a hand has edited: the edits stay, what is new comes in."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases.structures import FOLDER, draft_of, read
from freedom.buoy import buoy
from hypothesis import given
from hypothesis import strategies as st

from renet.draft import Draft, draft_rules, draft_text, gather, updated
from renet.draft.text import MEMORY_HEAD
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


def renamed(case: dict[str, object], was: str, now: str) -> Draft:
    """The draft of the same board with one net called otherwise."""
    for part in case["part"]:  # type: ignore[attr-defined]
        for pin in part["pins"]:
            pin[3] = now if pin[3] == was else pin[3]
    return draft_of(case)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_comments_that_no_hand_changed_follow_the_board(end: str) -> None:
    """A net of a pool is called otherwise; a kept pin gets another reason; the counts change."""
    old = text_of(drafted()).replace("\n", end)
    case = read(FOLDER / "peripheral.toml")
    case["part"][0]["pins"][6] = ["7", "PC2/SWDIO", "bidirectional", "/PUMP"]
    draft = renamed(case, "/LAMP", "/MAST_LAMP")
    found = updated(old.encode(), draft)
    said = found.data.decode().replace("\r\n", "\n")
    assert '    "6",  # PC1 /MAST_LAMP\n' in said and "/LAMP\n" in old.replace("\r\n", "\n")
    assert "#   a debug pin by its name: 7 PC2/SWDIO\n" in said
    assert "# Of 8 pins 5 are free, 1 asked about, 2 kept.\n" in said
    assert (found.remarked, found.added) == (True, ())
    assert ("\r\n" in found.data.decode()) == (end == "\r\n")
    assert updated(found.data, draft) == (found.data, (), found.notes, False)


def test_comments_that_a_hand_changed_do_not_follow() -> None:
    own = text_of(drafted())
    own = own.replace('"6",  # PC1 /LAMP', '"6",  # PC1 /LAMP (K. Moen)')
    own = own.replace("# U3 CTRL8:\n#   a supply pin", "# U3 CTRL8:\n#   certainly a supply pin")
    case = read(FOLDER / "peripheral.toml")
    case["part"][0]["pins"][0][1] = "VDDIO"
    found = updated(own.encode(), renamed(case, "/LAMP", "/MAST_LAMP"))
    assert found.data.decode() == own


def test_a_block_that_was_taken_out_stays_out_and_that_of_a_new_part_comes_in() -> None:
    case = read(FOLDER / "protection.toml") | read(FOLDER / "peripheral.toml")
    old = text_of(draft_of(case))
    new = {"ref": "D1", "value": "", "pins": [["1", "", "", "/A"], ["2", "", "", "/B"],
                                              ["3", "", "", "GND"]]}  # fmt: skip
    grown = draft_of({"part": [*case["part"], new]})
    said = updated(old.encode(), grown).data.decode()
    assert "# D1:\n#   keeps the order connector, suppressor, circuit: 1, 2\n" in said
    lines = said.splitlines(True)
    gone = "".join(line for line in lines if "D1:" not in line and "suppressor" not in line)
    assert updated(gone.encode(), grown).data.decode() == gone


@given(st.data())
def test_what_a_hand_wrote_is_still_there_after_any_change_of_the_board(
    data: st.DataObject,
) -> None:
    """Any lines of the draft get a mark of the engineer's; all of them survive."""
    lines = text_of(drafted()).splitlines()
    end = lines.index(MEMORY_HEAD)
    places = [i for i, line in enumerate(lines[:end]) if "#" in line]
    touched = data.draw(st.sets(st.sampled_from(places)))
    edited = [f"{line} !{i}!" if i in touched else line for i, line in enumerate(lines)]
    case = read(FOLDER / "peripheral.toml")
    was, now = data.draw(st.sampled_from([("/LAMP", "/X"), ("/PUMP", "GND"), ("/HATCH", "")]))
    found = updated("\n".join(edited).encode(), renamed(case, was, now)).data.decode()
    for i in touched:
        assert edited[i] in found.splitlines()
