"""The second opinion on an updated netlist: nodes went to other nets, nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from renet.errors import RenetError
from renet.model import Netlist
from renet.read.netlist import read_netlist
from renet.syntax import parse
from renet.verify.judge import judge
from renet.verify.naming import tells_of
from renet.verify.nodes import NetEntry, NodeSheet, PinName, outline
from renet.verify.seats import Seat, Seats
from renet.verify.verdict import BYTES, PINS, Expect, Finding, Verdict, net_words, unreadable


def verify_netlist(before: bytes, after: bytes, expect: Expect) -> Verdict:
    """Whether AFTER is BEFORE with nodes moved as expected; names are those of the netlist.

    Rules that measure distances are not asked: a netlist has none.  Raises
    InputError and RulesError as ``verify_board`` does.
    """
    verdict = Verdict()
    netlist, spans = read_netlist(before)
    old = NodeSheet("before", before, spans.tree)
    try:
        new = NodeSheet("after", after, parse(after))
    except RenetError as fault:
        verdict.findings.append(unreadable(fault))
        return verdict
    counts = verdict.counts
    counts.bytes_compared += len(after)
    seats = _seats(netlist, new)
    counts.pins_compared += len(seats)
    moved = {(seat.ref, seat.number) for seat in Seats(seats).moved()}
    verdict.findings += [
        *_frame(old, new),
        *_nets(old, new, netlist, moved),
        *_pins(old, new, netlist),
        *_open_pins(old, new, seats),
        *_marks(old, new, seats),
    ]
    judge(verdict, seats, expect)
    return verdict


def _seats(netlist: Netlist, new: NodeSheet) -> list[Seat]:
    """All pins that BEFORE knows, those in no net as well."""
    now = new.where()
    order: dict[str, int] = {}
    return [
        Seat(
            part=order.setdefault(node.ref, len(order)),
            ref=node.ref,
            number=node.pin,
            name=node.name,
            type=node.type,
            at=(),
            alone=True,
            torn=False,
            was=node.net,
            is_=_real(now.get((node.ref, node.pin))),
        )
        for node in {(node.ref, node.pin): node for node in netlist.nodes}.values()
    ]


def _real(net: NetEntry | None) -> str | None:
    return None if net is None or net.private else net.name


def _frame(old: NodeSheet, new: NodeSheet) -> Iterator[Finding]:
    """Everything around the nets is the same."""
    for rule, was, is_ in (
        ("before the nets", old.before_nets, new.before_nets),
        ("after the nets", old.after_nets, new.after_nets),
    ):
        if was != is_:
            what = f"what stands {rule} is not the same in AFTER"
            yield Finding(BYTES, "unchanged", "file", what)


def _nets(
    old: NodeSheet, new: NodeSheet, netlist: Netlist, moved: set[PinName]
) -> Iterator[Finding]:
    """Net by net; private nets may come, go and be renamed."""
    had = [net for net in old.nets if not net.private]
    has = [net for net in new.nets if not net.private]
    if [net.head for net in had] != [net.head for net in has]:
        yield _difference(new, had, has)
        return
    yield from _private_nets(old, new)
    yield from _order(old, new)
    for was, is_ in zip(had, has, strict=True):
        if was.gap != is_.gap:
            what = "the white space before the net changed"
            yield Finding(BYTES, "white space", is_.name, what, new.place(is_.at))
        yield from _kept_nodes(was, is_, moved, new)
    yield from _moved_nodes(old, new, netlist, moved)


def _private_nets(old: NodeSheet, new: NodeSheet) -> Iterator[Finding]:
    """New private nets are written as others are; their codes are free ones or the next."""
    gaps = {net.gap for net in old.nets}
    shapes = {net.masked for net in old.nets}
    shapes |= {shape.replace(b"(name .)", b'(name ".")') for shape in shapes}
    known = {net.name for net in old.nets}
    stays = {net.code for net in new.nets if net.name in known}
    free = {net.code for net in old.nets} - stays
    codes = [int(net.code) for net in old.nets if net.code.isdecimal() and len(net.code) < 16]
    following = max(codes, default=0) + 1
    for net in new.nets:
        if net.name in known or not net.private:
            continue
        if net.gap not in gaps or net.masked not in shapes:
            what = "the net is not written as others of this file"
            yield Finding(BYTES, "white space", net.name, what, new.place(net.at))
        if net.code == str(following):
            following += 1
        elif net.code not in free:
            what = f"its code {net.code} is neither free nor the next one"
            yield Finding(PINS, "net table", net.name, what, new.place(net.at))


def _order(old: NodeSheet, new: NodeSheet) -> Iterator[Finding]:
    """Nets that both files have, private ones too, come one after the other as they did."""
    had, has = [net.name for net in old.nets], [net.name for net in new.nets]
    both = set(had) & set(has)
    stay, now = ([name for name in names if name in both] for names in (had, has))
    if stay != now:
        yield Finding(BYTES, "unchanged", "file", "its nets come in another order")


def _difference(new: NodeSheet, had: list[NetEntry], has: list[NetEntry]) -> Finding:
    rows = zip(had, has, strict=False)
    first = next((k for k, (a, b) in enumerate(rows) if a.head != b.head), min(len(had), len(has)))
    name = has[first].name if first < len(has) else had[first].name
    place = new.place(has[first].at) if first < len(has) else None
    return Finding(BYTES, "unchanged", name, "the net itself changed, not only its nodes", place)


def _kept_nodes(
    was: NetEntry, is_: NetEntry, moved: set[PinName], new: NodeSheet
) -> Iterator[Finding]:
    """Nodes that did not move are the same, in the same order, white space included."""
    mine = [(n.gap, n.plain, n.marked) for n in was.nodes if n.key not in moved]
    theirs = [(n.gap, n.plain, n.marked) for n in is_.nodes if n.key not in moved]
    if mine != theirs:
        what = "its nodes changed where no pin moved"
        yield Finding(BYTES, "unchanged", was.name, what, new.place(is_.at))


def _moved_nodes(
    old: NodeSheet, new: NodeSheet, netlist: Netlist, moved: set[PinName]
) -> Iterator[Finding]:
    """A node that moved is the same node; one that is new is written as others are."""
    known = {node.key: node for net in old.nets for node in net.nodes}
    gaps = {node.gap for node in known.values()}
    shapes = {outline(node.plain) for node in known.values()}
    facts = {(node.ref, node.pin): node for node in netlist.nodes}
    for net in new.nets:
        for node in net.nodes:
            if node.key not in moved:
                continue
            came, fact = known.get(node.key), facts[node.key]
            if came is not None:
                good = came.plain == node.plain
            else:
                good = outline(node.plain) in shapes and node.function in ("", fact.name)
                good = good and node.type.lower() in ("", fact.type)
            if not good:
                what = "the node is not the one of BEFORE nor written as others are"
                where = f"{node.ref}:{node.pin}"
                yield Finding(BYTES, "node", where, what, new.place(node.at))
            if node.gap not in gaps:
                what = "the white space before the node is not of this file's kind"
                yield Finding(BYTES, "white space", node.ref, what, new.place(node.at))


def _open_pins(old: NodeSheet, new: NodeSheet, seats: list[Seat]) -> Iterator[Finding]:
    """Private nets of pins that stay open stay; a new one tells of its pin."""
    had, has = old.where(), new.where()
    for seat in seats:
        was, is_ = had.get((seat.ref, seat.number)), has.get((seat.ref, seat.number))
        if not seat.moved and seat.was is None and (was is None) != (is_ is None):
            yield Finding(BYTES, "unchanged", seat.label, "its private net came or went")
        elif not seat.moved and was and is_ and was.private and _said(was) != _said(is_):
            yield Finding(BYTES, "unchanged", seat.label, "its private net changed")
        elif seat.moved and is_ and is_.private and not tells_of(is_.name, seat):
            what = f"its private name {is_.name} tells of another pin"
            yield Finding(PINS, "private names", seat.label, what, new.place(is_.at))


def _said(net: NetEntry) -> tuple[object, ...]:
    """All of a private net but its place and the mark of its pin, which are checked elsewhere."""
    return net.gap, net.head, [(node.gap, node.plain) for node in net.nodes]


def _marks(old: NodeSheet, new: NodeSheet, seats: list[Seat]) -> Iterator[Finding]:
    """The no-connect mark leaves a pin that gains a net and joins one that loses it."""
    had = {node.key: node for net in old.nets for node in net.nodes}
    has = {node.key: node for net in new.nets for node in net.nodes}
    used = any(node.marked for node in had.values())
    for seat in seats:
        was, is_ = had.get((seat.ref, seat.number)), has.get((seat.ref, seat.number))
        wanted = was is not None and was.marked
        if seat.moved and seat.was is None:
            wanted = False
        elif seat.moved and seat.is_ is None:
            wanted = used and is_ is not None and bool(is_.type)
        if is_ is not None and is_.marked != wanted:
            what = "it has the no-connect mark" if is_.marked else "it has no no-connect mark"
            what = f"{what} and is on {net_words(seat.is_)}"
            yield Finding(PINS, "mark", seat.label, what, new.place(is_.at))


def _pins(old: NodeSheet, new: NodeSheet, netlist: Netlist) -> Iterator[Finding]:
    """Every pin stands once, none is made up, codes and names are not used twice."""
    known = {(node.ref, node.pin) for node in netlist.nodes}
    count = Counter(node.key for net in new.nets for node in net.nodes)
    had = Counter(node.key for net in old.nets for node in net.nodes)
    for (ref, pin), times in sorted(count.items()):
        if times > max(1, had[ref, pin]):
            yield Finding(PINS, "once", f"{ref}:{pin}", f"it stands in {times} nodes")
        if (ref, pin) not in known:
            yield Finding(PINS, "known", f"{ref}:{pin}", "BEFORE knows no such pin")
    for kind, column in (
        ("code", [net.code for net in new.nets if net.code]),
        ("name", [net.name for net in new.nets]),
    ):
        for value, times in sorted(Counter(column).items()):
            if times > 1:
                what = f"the {kind} {value} stands at {times} nets"
                yield Finding(PINS, "net table", value, what)
