"""Updated netlists and netlists that come back from the schematic."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from cases.scene import SHAPES, exchange, scene
from hypothesis import given
from hypothesis import strategies as st

from renet.changes import ChangeList, Move, Swap
from renet.errors import InputError
from renet.rules import Apart, Needs, Pair, Pool, Rules
from renet.verify import (
    BYTES,
    MOVES,
    PARTITION,
    PINS,
    RULES,
    Expect,
    Verdict,
    verify_netlist,
    verify_returned,
)

Node = tuple[str, str]

PINS_OF_U3 = {"41": "IO_B0", "42": "IO_B1", "43": "IO_B2", "45": "IO_B4", "46": "IO_B5"}
NETS: dict[str, tuple[Node, ...]] = {
    "/SONDE_TX": (("U3", "41"), ("J7", "1")),
    "/SONDE_RX": (("J7", "2"), ("U3", "42")),
    "Net-(J7-Pad3)": (("U3", "43"), ("J7", "3")),
    "unconnected-(U3-IO_B4-Pad45)": (("U3", "45"),),
    "unconnected-(U3-IO_B5-Pad46)": (("U3", "46"),),
}
POOL = Rules(pools=(Pool("U3", ("41-46",)),))


@dataclass(frozen=True)
class Listing:
    """A netlist in version D (bare, open pins left out) or E (quoted, open pins in nets).

    ``codes`` are net names by code from 1; names that are not in it take the next codes.
    """

    version: str
    nets: tuple[tuple[str, tuple[Node, ...]], ...]
    codes: tuple[str, ...]
    marked: frozenset[str] = frozenset({"45", "46"})

    def text(self) -> bytes:
        q = "" if self.version == "D" else '"'
        lines = [f"(export (version {q}{self.version}{q})", "  (design (source buoy.sch))"]
        lines += ["  (components"]
        for ref, part in (("U3", "MCU"), ("J7", "HEADER")):
            source = f"(libsource (lib {q}buoy{q}) (part {q}{part}{q}))"
            lines.append(f"    (comp (ref {q}{ref}{q}) (value {q}{part}{q}) {source})")
        lines += [
            "  )",
            "  (libparts",
            f"    (libpart (lib {q}buoy{q}) (part {q}MCU{q})",
            "      (pins",
        ]
        lines += [
            f"        (pin (num {q}{n}{q}) (name {q}{name}{q}) (type {q}bidirectional{q}))"
            for n, name in PINS_OF_U3.items()
        ]
        lines += ["      ))", "  )", "  (nets"]
        codes = list(dict.fromkeys([*self.codes, *(name for name, _ in self.nets)]))
        for name, nodes in self.nets:
            code = codes.index(name) + 1
            quoted = f'"{name}"' if q or "(" in name else name
            lines.append(f"    (net (code {q}{code}{q}) (name {quoted})")
            lines += [f"      {self._node(*node)}" for node in nodes]
            lines[-1] += ")"
        return ("\n".join(lines) + "))\n").encode()

    def _node(self, ref: str, pin: str) -> str:
        if self.version == "D":
            return f"(node (ref {ref}) (pin {pin}))"
        mark = "+no_connect" if ref == "U3" and pin in self.marked else ""
        name = PINS_OF_U3.get(pin, f"Pin_{pin}")
        return (
            f'(node (ref "{ref}") (pin "{pin}") (pinfunction "{name}") '
            f'(pintype "bidirectional{mark}"))'
        )

    def moved(self, moves: dict[str, str | None]) -> Listing:
        """Pins of U3 on other nets; a node goes to the end of its new net, or its private one."""
        nets = {}
        for name, nodes in self.nets:
            left = tuple(n for n in nodes if n[0] != "U3" or n[1] not in moves)
            came = tuple(("U3", pin) for pin, net in moves.items() if net == name)
            if left + came:
                nets[name] = left + came
        for pin, net in moves.items():
            if net is None and self.version == "E":
                nets[f"unconnected-(U3-{PINS_OF_U3[pin]}-Pad{pin})"] = (("U3", pin),)
        open_ = {pin for pin, net in moves.items() if net is None}
        return replace(self, nets=tuple(nets.items()), marked=(self.marked - moves.keys()) | open_)


def listing(version: str) -> Listing:
    nets = [n for n in NETS.items() if version == "E" or not n[0].startswith("unconnected-(")]
    return Listing(version, tuple(nets), tuple(name for name, _ in nets))


def changes(*moves: tuple[str, str | None, str | None]) -> ChangeList:
    made = tuple(Move("U3", pin, "", was, is_) for pin, was, is_ in moves)
    return ChangeList((), (Swap(1, made),))


TRADE: dict[str, str | None] = {"41": "/SONDE_RX", "42": "/SONDE_TX"}
TRADE_LIST = changes(("41", "/SONDE_TX", "/SONDE_RX"), ("42", "/SONDE_RX", "/SONDE_TX"))
TO_SPARE: dict[str, str | None] = {"41": None, "46": "/SONDE_TX"}
TO_SPARE_LIST = changes(("41", "/SONDE_TX", None), ("46", None, "/SONDE_TX"))


def judged(before: Listing, after: Listing | bytes, **expect: object) -> Verdict:
    data = after if isinstance(after, bytes) else after.text()
    return verify_netlist(before.text(), data, Expect(**{"rules": POOL, **expect}))  # type: ignore[arg-type]


def only(verdict: Verdict, check: str, *rules: str) -> None:
    assert {(f.check, f.rule) for f in verdict.findings} == {(check, rule) for rule in rules}


@pytest.mark.parametrize("version", ["D", "E"])
@pytest.mark.parametrize(
    ("moves", "listed"), [({}, changes()), (TRADE, TRADE_LIST), (TO_SPARE, TO_SPARE_LIST)]
)
def test_a_right_exchange_passes(
    version: str, moves: dict[str, str | None], listed: ChangeList
) -> None:
    before = listing(version)
    after = before.moved(moves)
    for expect in ({}, {"changes": listed}, {"rules": None, "changes": listed}):
        verdict = judged(before, after, **expect)
        assert verdict.findings == []
        assert {m.pin: m.is_ for m in verdict.moved} == moves


@pytest.mark.parametrize("version", ["D", "E"])
def test_what_stands_round_the_nets_stays(version: str) -> None:
    before = listing(version)
    text = before.moved(TRADE).text()
    only(judged(before, text.replace(b"buoy.sch", b"buoy.scx")), BYTES, "unchanged")
    only(judged(before, text + b"\n"), BYTES, "unchanged")
    only(judged(before, text.replace(b"\n    (net ", b"\n     (net ", 1)), BYTES, "white space")
    head, _, tail = text.rpartition(b"\n    (net ")
    odd = judged(before, head + b"\n     (net " + tail)
    assert {f.check for f in odd.findings} == {BYTES}


def test_nets_keep_their_names_codes_and_order() -> None:
    before = listing("E")
    swapped = replace(before, nets=(before.nets[1], before.nets[0], *before.nets[2:]))
    only(judged(before, swapped), BYTES, "unchanged")
    coded = before.text().replace(b'(code "1")', b'(code "7")')
    only(judged(before, coded), BYTES, "unchanged")


def test_nodes_that_did_not_move_stay() -> None:
    before = listing("E")
    nets = dict(before.nets)
    nets["/SONDE_RX"] = nets["/SONDE_RX"][::-1]
    only(judged(before, replace(before, nets=tuple(nets.items()))), BYTES, "unchanged")
    odd = before.text().replace(b'"Pin_1"', b'"Pin_9"')
    only(judged(before, odd), BYTES, "unchanged")


def test_a_node_that_moved_is_the_same_node() -> None:
    before = listing("E")
    text = before.moved(TRADE).text()
    only(
        judged(before, text.replace(b'(pinfunction "IO_B0")', b'(pinfunction "IO_X")')),
        BYTES,
        "node",
    )
    wide = text.replace(
        b'\n      (node (ref "U3") (pin "41")', b'\n       (node (ref "U3") (pin "41")'
    )
    only(judged(before, wide), BYTES, "white space")
    plain = listing("D").moved(TO_SPARE).text()
    loose = plain.replace(b"(node (ref U3) (pin 46))", b"(node  (ref U3) (pin 46))")
    only(judged(listing("D"), loose), BYTES, "node")


def test_private_nets_of_open_pins_stay() -> None:
    before = listing("E")
    text = before.text().replace(b"-IO_B4-Pad45", b"-Pad45")
    only(judged(before, text), BYTES, "unchanged")
    gone = replace(before, nets=tuple(n for n in before.nets if "Pad45" not in n[0]))
    only(judged(before, gone), BYTES, "unchanged")


def test_a_new_private_net_tells_of_its_pin() -> None:
    before = listing("E")
    text = before.moved(TO_SPARE).text()
    only(judged(before, text.replace(b"IO_B0-Pad41", b"IO_B0-Pad44")), PINS, "private names")
    shaped = text.replace(b'(code "6") (name "unc', b'(code  "6") (name "unc')
    only(judged(before, shaped), BYTES, "white space")


def test_the_mark_follows_the_net() -> None:
    before = listing("E")
    after = before.moved(TO_SPARE)
    only(judged(before, replace(after, marked=after.marked | {"46"})), PINS, "mark")
    only(judged(before, replace(after, marked=after.marked - {"41"})), PINS, "mark")
    only(judged(before, replace(after, marked=after.marked - {"45"})), PINS, "mark")


@pytest.mark.parametrize("version", ["D", "E"])
def test_pins_and_nets_stand_once_and_are_known(version: str) -> None:
    before = listing(version)
    nets = dict(before.nets)
    nets["/SONDE_RX"] = (*nets["/SONDE_RX"], ("U3", "41"))
    found = judged(before, replace(before, nets=tuple(nets.items())))
    assert (PINS, "once") in {(f.check, f.rule) for f in found.findings}
    nets["/SONDE_RX"] = (*dict(before.nets)["/SONDE_RX"], ("U9", "1"))
    found = judged(before, replace(before, nets=tuple(nets.items())))
    assert (PINS, "known") in {(f.check, f.rule) for f in found.findings}


def test_codes_are_not_used_twice() -> None:
    before = listing("E")
    text = before.moved(TO_SPARE).text().replace(b'(code "6")', b'(code "4")')
    only(judged(before, text), PINS, "net table")


def test_nets_keep_their_number_of_pins() -> None:
    before = listing("D")
    nets = {"/SONDE_TX": (("J7", "1"),), **{k: v for k, v in before.nets if k != "/SONDE_TX"}}
    nets["/SONDE_RX"] = (*nets["/SONDE_RX"], ("U3", "41"))
    only(judged(before, replace(before, nets=tuple(nets.items()))), PARTITION, "number of pins")


def test_pins_outside_the_rules_stay() -> None:
    before = listing("E")
    only(judged(before, before.moved(TRADE), rules=Rules()), RULES, "scope")
    only(judged(before, before.moved(TRADE), rules=None), RULES, "scope")
    far = POOL._replace(
        aparts=(Apart(("/SONDE_TX", "/SONDE_RX")),), pairs=(Pair(("/SONDE_TX", "/SONDE_RX")),)
    )
    assert judged(before, before.moved(TRADE), rules=far).ok
    named = POOL._replace(needs=(Needs(("/SONDE_TX",), ("IO_B0",)),))
    only(judged(before, before.moved(TRADE), rules=named), RULES, "needs (line 0)")


def test_exactly_the_moves_of_the_list() -> None:
    before = listing("E")
    only(judged(before, before.moved(TRADE), changes=changes()), MOVES, "no further pin")
    only(judged(before, before, changes=TRADE_LIST), MOVES, "is")
    only(judged(before.moved(TRADE), before.moved(TRADE), changes=TRADE_LIST), MOVES, "was")


def test_bad_files() -> None:
    before = listing("E")
    only(judged(before, before.text()[:-4]), BYTES, "readable")
    with pytest.raises(InputError):
        verify_netlist(before.text()[:-4], before.text(), Expect())
    with pytest.raises(InputError, match="no nets"):
        verify_netlist(b'(export (version "E"))', b'(export (version "E"))', Expect())
    with pytest.raises(InputError):
        verify_returned(before.text()[:-4], before.text(), changes())


# back from the schematic


def renamed(after: Listing) -> Listing:
    """What another export calls the nets that nobody named."""
    again = [
        (name.replace("Net-(J7-Pad3)", "Net-(U3-Pad43)"), nodes[::-1]) for name, nodes in after.nets
    ]
    return replace(after, nets=tuple(reversed(again)))


@pytest.mark.parametrize("version", ["D", "E"])
@pytest.mark.parametrize("came", ["D", "E"])
@pytest.mark.parametrize(("moves", "listed"), [(TRADE, TRADE_LIST), (TO_SPARE, TO_SPARE_LIST)])
def test_nets_that_come_back_are_compared_by_their_pins(
    version: str, came: str, moves: dict[str, str | None], listed: ChangeList
) -> None:
    before, after = listing(version), renamed(listing(came).moved(moves))
    verdict = verify_returned(after.text(), before.text(), listed)
    assert verdict.findings == []
    assert {m.pin for m in verdict.moved} == moves.keys()


def test_a_move_that_the_schematic_lacks_is_told_by_pin() -> None:
    before = listing("E")
    verdict = verify_returned(renamed(before).text(), before.text(), TRADE_LIST)
    only(verdict, MOVES, "is")
    assert [str(f) for f in verdict.findings] == [
        "U3:41: it should be on /SONDE_RX, the netlist has it on /SONDE_TX, with J7:1 [moves: is]",
        "U3:42: it should be on /SONDE_TX, the netlist has it on /SONDE_RX, with J7:2 [moves: is]",
    ]
    assert verdict.moved == ()


def test_a_further_change_in_the_schematic_is_found() -> None:
    before = listing("E")
    after = before.moved({**TRADE, "43": None, "45": "Net-(J7-Pad3)"})
    verdict = verify_returned(renamed(after).text(), before.text(), TRADE_LIST)
    only(verdict, PARTITION, "no further pin")
    assert {f.where for f in verdict.findings} == {"U3:43", "U3:45"}


def test_nets_that_were_joined_or_cut_are_found() -> None:
    before = listing("D")
    nets = dict(before.nets)
    joined = replace(
        before, nets=(("/SONDE_TX", nets["/SONDE_TX"] + nets["/SONDE_RX"]), *before.nets[2:])
    )
    only(verify_returned(joined.text(), before.text(), changes()), PARTITION, "no further pin")
    cut = replace(
        before,
        nets=(("/X", nets["/SONDE_TX"][:1]), ("/Y", nets["/SONDE_TX"][1:]), *before.nets[1:]),
    )
    only(verify_returned(cut.text(), before.text(), changes()), PARTITION, "no further pin")


def test_pins_and_parts_that_came_or_went_are_told() -> None:
    before = listing("D")
    nets = dict(before.nets)
    less = replace(before, nets=(("/SONDE_TX", nets["/SONDE_TX"][:1]), *before.nets[1:]))
    verdict = verify_returned(less.text(), before.text(), changes())
    only(verdict, PINS, "missing")
    assert verdict.findings[0].where == "J7:1"
    more = replace(
        before,
        nets=(("/SONDE_TX", (*nets["/SONDE_TX"], ("R9", "1"), ("J7", "9"))), *before.nets[1:]),
    )
    verdict = verify_returned(more.text(), before.text(), changes())
    only(verdict, PINS, "additional")
    assert [f.where for f in verdict.findings] == ["R9", "J7:9"]


def test_the_list_is_held_against_before_as_well() -> None:
    before = listing("E")
    after = before.moved(TRADE).text()
    assert {(f.check, f.rule) for f in verify_returned(after, after, TRADE_LIST).findings} == {
        (MOVES, "was")
    }
    wrong = changes(("41", "/SONDE_TX", None), ("43", None, "/SONDE_TX"))
    assert (MOVES, "was") in {
        (f.check, f.rule) for f in verify_returned(before.text(), before.text(), wrong).findings
    }
    strange = ChangeList((), (Swap(1, (Move("U9", "1", "", "/A", "/B"),)),))
    only(verify_returned(before.text(), before.text(), strange), MOVES, "was")


@pytest.mark.parametrize("shape", SHAPES)
def test_a_board_and_the_netlist_that_comes_back(shape: str) -> None:
    board = scene(shape)
    moves = {"U3:41": "/SONDE_RX", "U3:42": "/SONDE_TX"}
    after = exchange(board, moves)
    refs = dict.fromkeys(pad.ref for pad in board.pads)
    comps = "".join(f"(comp (ref {ref}) (value X))" for ref in refs)
    nets: dict[str, dict[tuple[str, str], None]] = {}
    for pad in after.pads:
        if after.net(pad.label):
            nets.setdefault(pad.net, {})[pad.ref, pad.number] = None
    listed = "".join(
        f"(net (code {k}) (name N{k}) "
        + "".join(f"(node (ref {ref}) (pin {pin}))" for ref, pin in nodes)
        + ")"
        for k, nodes in enumerate(nets.values(), 1)
    )
    data = f"(export (version D) (components {comps}) (nets {listed}))".encode()
    assert verify_returned(data, board.text(), TRADE_LIST).findings == []
    only(verify_returned(data, board.text(), changes()), PARTITION, "no further pin")


@given(st.sampled_from("DE"), st.permutations(["41", "42", "43", "45", "46"]), st.data())
def test_any_single_byte_that_changes_is_found(
    version: str, order: list[str], data: st.DataObject
) -> None:
    before = listing(version)
    nets = {"41": "/SONDE_TX", "42": "/SONDE_RX", "43": "Net-(J7-Pad3)"}
    dealt = {pin: nets.get(order[k]) for k, pin in enumerate(sorted(order))}
    moves = {pin: net for pin, net in dealt.items() if net != nets.get(pin)}
    listed = changes(*((pin, nets.get(pin), net) for pin, net in moves.items()))
    text = bytearray(before.moved(moves).text())
    assert verify_netlist(before.text(), bytes(text), Expect(changes=listed)).findings == []
    offset = data.draw(st.integers(0, len(text) - 1))
    near = st.sampled_from(b'0123456789 \n\t\r()"-+/._AXaz\xff\x00')
    text[offset] = data.draw(near.filter(lambda byte: byte != text[offset]))
    assert not verify_netlist(before.text(), bytes(text), Expect(changes=listed)).ok
