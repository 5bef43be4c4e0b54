"""The second opinion on an updated EDIF netlist: portRefs went to other nets, nothing else.

Own reading: one pass over the tokens with a stack.  What stands outside the
portRefs of single pins of the board's own parts must be the same byte for byte;
of those, each stands where it stood or moved to the net that was meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from renet.errors import RenetError
from renet.model import Netlist
from renet.read.edif import EdifSpans, read_edif
from renet.verify.judge import judge
from renet.verify.permutable import TOKEN, with_declared
from renet.verify.seats import Seat
from renet.verify.verdict import BYTES, PINS, Expect, Finding, Verdict, unreadable

_SPACE = b" \t\n\r\f\v"
_SPACES = tuple(_SPACE[i : i + 1] for i in range(len(_SPACE)))
_NAMES = (b"rename", b"array", b"member", b"name")

_ONE = rb"(?:[^\s()\"]+|\(member [^\s()\"]+ [0-9]+\))"
_NEW = re.compile(rb"\(portRef " + _ONE + rb" \(instanceRef " + _ONE + rb"\)\)")

Key = tuple[str, str]


@dataclass(slots=True)
class Frame:
    """A list that is open: its atoms, and what the lists inside told of it."""

    start: int
    atoms: list[bytes] = field(default_factory=list)
    named: str = ""
    bus: bool = False
    told: dict[bytes, str] = field(default_factory=dict)

    @property
    def word(self) -> bytes:
        """Its keyword in lower case."""
        return self.atoms[0].lower() if self.atoms else b""

    @property
    def name(self) -> str:
        """The identifier it is called by, in lower case."""
        return self.named or (_text(self.atoms[1]) if len(self.atoms) > 1 else "")


class Ref(NamedTuple):
    """A portRef: where it stands, its pin, and the number of its net's list."""

    start: int
    end: int
    key: Key
    net: int
    bus: bool


class View(NamedTuple):
    """A view that holds instances or nets."""

    cell: Key
    start: int
    end: int
    drawing: bool


class Reading(NamedTuple):
    """The portRefs in the board's view in file order, and the identifier of each list of a net."""

    data: bytes
    refs: list[Ref]
    nets: dict[int, str]

    def of(self, pins: set[Key]) -> dict[Key, list[Ref]]:
        """The portRefs of these pins."""
        found: dict[Key, list[Ref]] = {}
        for ref in self.refs:
            if ref.key in pins:
                found.setdefault(ref.key, []).append(ref)
        return found

    def frame(self, pins: set[Key]) -> bytes:
        """The file without the portRefs of these pins and the white space before each."""
        kept, done = [], 0
        for ref in self.refs:
            if ref.key in pins:
                kept.append(self.data[done : ref.start].rstrip(_SPACE))
                done = ref.end
        return b"".join([*kept, self.data[done:]])

    def text(self, ref: Ref) -> bytes:
        """A portRef as it is written."""
        return self.data[ref.start : ref.end]

    def lead(self, ref: Ref) -> bytes:
        """The white space before a portRef."""
        start = ref.start
        while self.data[start - 1 : start] in _SPACES:
            start -= 1
        return self.data[start : ref.start]


def verify_edif(before: bytes, after: bytes, expect: Expect) -> Verdict:
    """Whether AFTER is BEFORE with pins moved as expected.

    What the file itself declares permutable is permitted beside the rules.
    Rules that measure distances are not asked: a netlist has none.
    """
    verdict = Verdict()
    netlist, spans = read_edif(before)
    try:
        read_edif(after)
    except RenetError as fault:
        verdict.findings.append(unreadable(fault))
        return verdict
    counts = verdict.counts
    counts.bytes_compared += len(after)
    old, new = _reading(before), _reading(after)
    pins = {key for node, key in enumerate(spans.keys) if node not in spans.fixed}
    verdict.findings += [*_frame(old, new, pins), *_refs(old, new, pins)]
    verdict.findings += _reader(netlist, spans, old)
    seats = _seats(netlist, spans, old, new)
    counts.pins_compared += len(seats)
    if expect.rules is not None:
        met = dict(enumerate(netlist.nodes))
        expect = expect._replace(rules=with_declared(expect.rules, before, seats, met))
    judge(verdict, seats, expect)
    return verdict


def _reading(data: bytes) -> Reading:
    """Lists are known by their first token; what is not in the board's view is no pin of it."""
    refs: list[Ref] = []
    views: list[View] = []
    nets: dict[int, str] = {}
    stack: list[Frame] = [Frame(0)]
    top: Key = ("", "")
    for token in TOKEN.finditer(data):
        text = token[0]
        if text == b"(":
            stack.append(Frame(token.start()))
        elif text != b")":
            stack[-1].atoms.append(text)
        else:
            frame = stack.pop()
            _tell(frame, stack[-1])
            if frame.word == b"portref" and (at := _net_around(stack)) is not None:
                key = frame.told.get(b"instanceref", ""), frame.name
                net = stack[at]
                refs.append(Ref(frame.start, token.end(), key, net.start, net.bus))
            elif frame.word == b"net" and _is_outermost(stack):
                nets[frame.start] = frame.name
            elif frame.word in (b"view", b"cell") and b"holds" in frame.told:
                home, own = (stack[-2], stack[-1]) if frame.word == b"view" else (stack[-1], frame)
                cell = home.name, own.name
                kind = frame.told.get(b"viewtype", "")
                views.append(View(cell, frame.start, token.end(), kind != "netlist"))
            elif frame.word == b"design" and not top[1]:
                top = frame.told.get(b"libraryref", ""), frame.told.get(b"cellref", "")
    mine = sorted((view for view in views if view.cell == top), key=lambda v: v.drawing)
    view = mine[0] if mine else View(top, 0, len(data), False)
    starts = sorted(at for at in nets if view.start <= at < view.end)
    order = {at: number for number, at in enumerate(starts)}
    inside = [ref._replace(net=order[ref.net]) for ref in refs if ref.net in order]
    return Reading(data, inside, {order[at]: nets[at] for at in starts})


def _tell(frame: Frame, around: Frame) -> None:
    """What a closed list tells the one around it."""
    word = frame.word
    if word in _NAMES:
        around.named = around.named or frame.name
        around.bus = around.bus or word == b"array" or frame.bus
        if word == b"member":
            around.named += f"[{int(frame.atoms[-1])}]" if frame.atoms[-1].isdigit() else ""
    elif word in (b"instanceref", b"libraryref", b"cellref", b"viewtype"):
        around.told[word] = frame.name
    elif word in (b"instance", b"net"):
        around.told[b"holds"] = ""
    if word in (b"contents", b"page", b"netbundle", b"listofnets", b"cellref"):
        around.told.update(frame.told)


def _net_around(stack: list[Frame]) -> int | None:
    """The place in the stack of the outermost net of contents; None where there is no joined."""
    words = [frame.word for frame in stack]
    if not {b"joined", b"contents", b"net"} <= set(words) or b"portref" in words:
        return None
    return words.index(b"net")


def _is_outermost(stack: list[Frame]) -> bool:
    """Whether a net below these lists is one of some contents and in no other net."""
    words = {frame.word for frame in stack}
    return b"contents" in words and b"net" not in words


def _text(raw: bytes) -> str:
    return raw.decode("utf-8", "replace").lower()


def _frame(old: Reading, new: Reading, pins: set[Key]) -> Iterator[Finding]:
    if old.frame(pins) != new.frame(pins):
        what = "something else than the pins of nets changed"
        yield Finding(BYTES, "unchanged", "file", what)


def _refs(old: Reading, new: Reading, pins: set[Key]) -> Iterator[Finding]:
    """PortRefs are the same, those that stay in their order; new ones are written plainly."""
    leads = {old.lead(ref) for ref in old.refs}
    had, has = old.of(pins), new.of(pins)
    stay = {key for key in had if [r.net for r in had[key]] == [r.net for r in has.get(key, [])]}
    kept, now = (
        [(ref.key, reading.lead(ref)) for ref in reading.refs if ref.key in stay]
        for reading in (old, new)
    )
    if kept != now:
        what = "portRefs that stay come in another order or with other white space"
        yield Finding(BYTES, "unchanged", "file", what)
    for key, refs in has.items():
        where = ":".join(key)
        text = new.text(refs[0])
        was = had.get(key)
        same = _NEW.fullmatch(text) if was is None else old.text(was[0]) == text
        if not same:
            yield Finding(BYTES, "unchanged", where, "its portRef is written another way")
        if new.lead(refs[0]) not in leads:
            yield Finding(BYTES, "white space", where, "no other portRef has this white space")
        if len(refs) > 1:
            yield Finding(PINS, "once", where, f"it stands in {len(refs)} portRefs")


def _names(netlist: Netlist, spans: EdifSpans, old: Reading) -> dict[int, str]:
    """What the reader calls each net of BEFORE that a single pin stands in."""
    found: dict[int, str] = {}
    at = {ref.key: ref.net for ref in old.refs if not ref.bus}
    for node, key in zip(netlist.nodes, spans.keys, strict=True):
        if key in at and node.net is not None:
            found.setdefault(at[key], node.net)
    return found


def _reader(netlist: Netlist, spans: EdifSpans, old: Reading) -> Iterator[Finding]:
    """The reader must see the same pins in the same nets, and the same lists as one net."""
    names = _names(netlist, spans, old)
    pins = {key for node, key in enumerate(spans.keys) if node not in spans.fixed}
    mine = {key: names.get(refs[0].net) for key, refs in old.of(pins).items()}
    theirs = {
        key: node.net
        for node, key in zip(netlist.nodes, spans.keys, strict=True)
        if node.net is not None and key in pins
    }
    what = "the reader and verify read other pins or nets in BEFORE"
    if mine != theirs:
        yield Finding(PINS, "reader", "file", what)
    group = _groups(old)
    called = {(group[at], name) for at, name in names.items()}
    together = len({one for one, _ in called}) == len(called)
    apart = len({name for _, name in called}) == len(called)
    if not together or not (apart or _has_blocks(spans, old)):
        yield Finding(PINS, "reader", "file", what)


def _groups(old: Reading) -> dict[int, int]:
    """Lists of nets that are one net, as the first of them: by identifier, or by a common port.

    What is joined by blocks inside only is left to the reader.
    """
    group = {at: at for at in old.nets}
    shared: dict[tuple[str, str], list[int]] = {}
    for at, name in old.nets.items():
        shared.setdefault(("net", name), []).append(at)
    for ref in old.refs:
        if not ref.key[0]:
            shared.setdefault(("port", ref.key[1]), []).append(ref.net)
    changed = True
    while changed:
        changed = False
        for lists in shared.values():
            low = min(group[at] for at in lists)
            for at in lists:
                changed = changed or group[at] != low
                group[at] = low
    return group


def _has_blocks(spans: EdifSpans, old: Reading) -> bool:
    """Whether a net joins an instance that is no part."""
    parts = {instance for instance, _ in spans.keys}
    return any(ref.key[0] and ref.key[0] not in parts for ref in old.refs)


def _seats(netlist: Netlist, spans: EdifSpans, old: Reading, new: Reading) -> list[Seat]:
    names = _names(netlist, spans, old)
    order: dict[str, int] = {}
    pins = {key for node, key in enumerate(spans.keys) if node not in spans.fixed}
    had, has = old.of(pins), new.of(pins)
    unknown = "a net that no pin had"
    while unknown in names.values():
        unknown += " before"
    made = []
    for index, (node, key) in enumerate(zip(netlist.nodes, spans.keys, strict=True)):
        was = is_ = node.net
        if index not in spans.fixed:
            was = names.get(had[key][0].net) if key in had else None
            is_ = names.get(has[key][0].net, unknown) if key in has else None
        seat = Seat(
            part=order.setdefault(node.ref, len(order)),
            ref=node.ref,
            number=node.pin,
            name=node.name,
            type="",
            at=(),
            alone=True,
            torn=False,
            was=was,
            is_=is_,
        )
        made.append(seat)
    return made
