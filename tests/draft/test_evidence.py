"""Where evidence is read, which goes before which, and what it makes of a pin."""

from __future__ import annotations

import pytest
from cases.structures import FOLDER, board_of, draft_of, read
from freedom.buoy import buoy

from renet.draft import SymbolPin, draft_rules, draft_text, explain, gather, read_symbols
from renet.draft.words import bus_word, clock_net, is_port, net_role, pin_role
from renet.errors import InputError, RulesError
from renet.freedom.offers import Functions
from renet.freedom.select import Names
from renet.model import Netlist, Node
from renet.read.rules import read_rules
from renet.rules import Offers

SHEET = b"""(kicad_sch (version 20231120)
  (lib_symbols
    (symbol "buoy:CTRL8"
      (symbol "CTRL8_1_1"
        (pin bidirectional line (at 0 0 0) (length 2.54)
          (name "PC1") (number "6")
          (alternate "UART3_TX" output line) (alternate "ADC1_IN1" input line))
        (pin bidirectional line (at 0 0 0) (length 2.54) (name "~") (number "7")))))
  (symbol (lib_id "buoy:CTRL8") (at 10 10 0) (unit 1)
    (property "Reference" "U9" (at 0 0 0))
    (pin "6" (uuid "a") (alternate "UART3_TX")) (pin "7" (uuid "b"))
    (instances (project "buoy" (path "/x" (reference "U3") (unit 1))
                               (path "/y" (reference "U4") (unit 1))))))
"""


def test_a_sheet_tells_names_alternates_and_the_chosen_one() -> None:
    assert read_symbols(SHEET) == tuple(
        pin
        for ref in ("U3", "U4")
        for pin in (
            SymbolPin(ref, "6", "PC1", "bidirectional", ("UART3_TX", "ADC1_IN1"), "UART3_TX"),
            SymbolPin(ref, "7", "", "bidirectional", (), ""),
        )
    )


def test_a_file_that_is_no_sheet_is_an_error() -> None:
    with pytest.raises(InputError, match="no S-expression schematic"):
        read_symbols(b"(export (version D))")


def test_the_function_chosen_in_the_schematic_is_a_need() -> None:
    board = board_of(read(FOLDER / "peripheral.toml"))
    draft = draft_rules(gather(board, symbols=read_symbols(SHEET)))
    assert "chosen in the schematic" in explain(draft, "U3:6")
    needs = [dict(entry.fields) for entry in draft.entries if entry.section == "needs"]
    assert needs == [{"nets": ["/LAMP"], "functions": ["UART*_TX"], "part": "U3"}]


def test_a_net_without_a_name_of_its_own_has_its_need_written_down_too() -> None:
    case = read(FOLDER / "peripheral.toml")
    case["part"][0]["pins"][5][3] = "Net-(R7-Pad1)"
    draft = draft_rules(gather(board_of(case), symbols=read_symbols(SHEET)))
    assert draft.verdicts[5].state == "free"
    needs = [dict(entry.fields)["nets"] for entry in draft.entries if entry.section == "needs"]
    assert needs == [["Net-(R7-Pad1)"]]


def test_a_table_adds_functions_and_a_word_that_finds_nothing_is_an_error() -> None:
    board = board_of(read(FOLDER / "like_for_like.toml"))
    draft = draft_rules(gather(board, tables=[Offers("U3", ("1",), ("TIMER1_CH1",))]))
    assert "U3:1" in explain(draft, "U3:1") and "asked" in explain(draft, "U3:1")
    with pytest.raises(RulesError, match="no pin"):
        gather(board, tables=[Offers("U3", ("77",), ("TIMER1_CH1",))])


def test_a_table_replaces_what_the_name_of_a_pin_and_the_schematic_say() -> None:
    """U3:2 is called PA9/UART1_TX/UART3_TX; the table knows better, and untangle must too."""
    board = board_of(read(FOLDER / "peripheral.toml"))
    tables = [Offers("U3", ("2",), ("UART3_TX",), only=True)]
    sheet = SymbolPin("U3", "2", "", "", ("SPI1_CK", "UART1_TX"), "")
    draft = draft_rules(gather(board, symbols=[sheet], tables=tables))
    found = {entry.key: entry for entry in draft.entries}
    assert "now UART3" in found["peripheral U3 /SONDE_RX"].title[0]
    assert dict(found["offers U3 2"].fields) == {
        "part": "U3", "pins": ["2"], "functions": ["UART3_TX"], "only": True
    }  # fmt: skip
    rules = read_rules(draft_text(draft, "buoy").encode())
    functions = Functions(Names(board), rules)
    assert functions.of_pin(1) == {"UART3_TX"}
    assert "UART1_RX" in functions.of_pin(2)  # the table does not name this one


def test_a_choice_in_the_schematic_that_the_table_has_not_is_asked_about() -> None:
    board = board_of(read(FOLDER / "peripheral.toml"))
    sheet = SymbolPin("U3", "6", "", "", ("UART3_TX", "SPI1_CK"), "UART3_TX")
    tables = [Offers("U3", ("6",), ("SPI1_CK",), only=True)]
    sentence = explain(draft_rules(gather(board, symbols=[sheet], tables=tables)), "U3:6")
    assert "asked about: the schematic chooses UART3_TX, the table of functions" in sentence


def test_alternates_of_a_remap_group_move_only_as_a_set() -> None:
    board = board_of(read(FOLDER / "like_for_like.toml"))
    free = [pin for pin in board.pins if pin.net >= 0 and pin.type == "bidirectional"][:3]
    words = ("UART1_TX", "UART1_TX_REMAP", "UART1_CK")
    symbols = [
        SymbolPin("U3", pin.number, "", "", (word,), "")
        for pin, word in zip(free, words, strict=True)
    ]
    ev = gather(board, symbols=symbols)
    assert [ev.functions[board.pins.index(pin)] for pin in free] == [
        ("UART1@0_TX",), ("UART1@1_TX",), ("UART1@0_CK", "UART1@1_CK")
    ]  # fmt: skip


def test_a_netlist_names_pins_and_one_that_disagrees_keeps_them() -> None:
    board = board_of(read(FOLDER / "like_for_like.toml"))
    pins = board.pins
    bare = [Node("U3", pin.number, board.net_name(pin.net), pin.name, pin.type) for pin in pins]
    bare[0] = bare[0]._replace(net="/PUMP")
    draft = draft_rules(gather(board, Netlist("E", (), tuple(bare))))
    assert draft.verdicts[0].kind == "disagreement"
    assert draft.evidence.said_by[1] == "the board"


def test_keeping_wins_over_what_the_schematic_says() -> None:
    """A supply pin by the board's type stays one, whatever a symbol calls it."""
    symbol = SymbolPin("U3", "1", "PA1", "bidirectional", (), "")
    draft = draft_rules(gather(buoy(), symbols=[symbol]))
    assert draft.verdicts[0].kind == "supply"


@pytest.mark.parametrize(
    ("pin", "sentence"),
    [
        ("U3:6", "U3:6 (~{RESET}, net /RESET) is kept: a reset pin by its name"),
        ("U3:5", "U3:5 (IO_A4/SWDIO, net /DEBUG_IO) is kept: a debug pin by its name"),
        ("U3:11", "U3:11 (IO_B4, net GND) is kept: it carries GND"),
        ("U3:4", "U3:4 (IO_A3, net /LED_A) is free: a general-purpose pin"),
        ("U3:2", "U3:2 (IO_A1, net /SONDE_TX) is asked about: /SONDE_TX is called"),
    ],
)
def test_explain_says_why_in_a_sentence(pin: str, sentence: str) -> None:
    assert explain(draft_rules(gather(buoy())), pin).startswith(sentence)


def test_explain_of_a_pin_that_is_not_there_helps() -> None:
    draft = draft_rules(gather(buoy()))
    with pytest.raises(InputError, match="names no pin"):
        explain(draft, "U3")
    with pytest.raises(InputError, match="no pin"):
        explain(draft, "U3:99")


def test_every_verdict_of_a_case_explains_itself() -> None:
    draft = draft_of(read(FOLDER / "kept_roles.toml"))
    board = draft.evidence.board
    for pin in range(len(board.pins)):
        line = explain(draft, board.pin_label(pin))
        assert line.startswith(board.pin_label(pin)) and "(evidence: " in line


# The written forms of facts 4.2, from memory where marked there.
@pytest.mark.parametrize(
    "name",
    ["PA9 / USART1_TX (AF7)", "PB2/BOOT1", "GPIO14", "PB3 (MOSI/OC2A/PCINT3)", "IOL_1A", "PL11A/+"],
)
def test_ports_are_known_in_their_usual_written_forms(name: str) -> None:
    assert is_port(name)


@pytest.mark.parametrize("name", ["VDD", "OUT", "EN", "SDA", "DQ3", "A1", "1", ""])
def test_other_names_are_no_ports(name: str) -> None:
    assert not is_port(name)


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("PH0 - OSC_IN", "oscillator"),
        ("PB2/BOOT1", "boot"),
        ("USB_DP", "USB"),
        ("ANT", "radio"),
        ("QSPI_SD3", "flash bus"),
        ("MTMS", "debug"),
        ("PA9", ""),
    ],
)
def test_roles_of_pin_names(name: str, role: str) -> None:
    assert pin_role(name) == role


def test_roles_and_words_of_nets() -> None:
    assert net_role("/Sheet/USB_DP") == "USB"
    assert net_role("/USB/LAMP") == ""  # the name of a sheet says nothing of its nets
    assert net_role("Net-(U7-NRST)") == ""
    assert bus_word("/SONDE_TX") and bus_word("/USART2_DE") and not bus_word("/LAMP")
    assert clock_net("/CLK_25M") and not clock_net("/SONDE_SCK")
