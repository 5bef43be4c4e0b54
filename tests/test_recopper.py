"""What copper does to pins that may move, and what moving does to copper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from renet.changes import Left
from renet.columns import pad_columns
from renet.copper import Mode, join
from renet.model import NONE, Board
from renet.recopper import CopperChange, Opened, carry, held_pins, present
from tests.strategies.boards import (
    PadSpec,
    TrackSpec,
    ViaSpec,
    ZoneSpec,
    boards,
    build,
    rectangle,
)
from tests.twins.touching import foreign_touches, joined

ALL = list(Mode)
RIPS = [Mode.RIP, Mode.IGNORE]


def pin(board: Board, label: str) -> int:
    return next(i for i in range(len(board.pins)) if board.pin_label(i) == label)


def held(board: Board, mode: Mode, *labels: str) -> dict[str, str]:
    """Why pins are held, by label; all pins are asked when none is named."""
    movable = np.zeros(len(board.pins), dtype=bool)
    movable[[pin(board, label) for label in labels] or slice(None)] = True
    found = held_pins(board, pad_columns(board), mode, movable)
    return {board.pin_label(i): why for i, why in found.items()}


U1 = PadSpec("U1", "1", 0, 0, "A")
U2 = PadSpec("U2", "1", 10, 0, "A")
U3 = PadSpec("U3", "1", 0, 10, "B")
STUB = TrackSpec((0, 0, 3, 0), "A")
LINK = TrackSpec((0, 0, 10, 0), "A")
DROP = ZoneSpec("A", rectangle(0, -0.2, 1, 0.2), [(0, rectangle(0, -0.2, 1, 0.2))], teardrop=True)
POUR = ZoneSpec("A", rectangle(2, -1, 4, 1), [(0, rectangle(2, -1, 4, 1))])


# ------------------------------------------------------------------------- held pins


def test_kept_copper_that_reaches_another_pin_holds_both() -> None:
    board = build([U1, U2, U3], [LINK])
    assert held(board, Mode.KEEP) == {
        "U1:1": "its copper reaches U2:1",
        "U2:1": "its copper reaches U1:1",
    }
    for mode in RIPS:
        assert held(board, mode) == {}


@pytest.mark.parametrize("mode", ALL)
def test_a_fan_out_holds_nobody(mode: Mode) -> None:
    board = build([U1, U2, U3], [STUB], [ViaSpec(3, 0, "A")], [DROP])
    assert held(board, mode) == {}


def test_a_filled_area_holds_unless_it_is_a_teardrop() -> None:
    board = build([U1, U2, U3], [STUB], zones=[POUR])
    assert held(board, Mode.KEEP) == {"U1:1": "its copper reaches a filled area of A"}
    for mode in RIPS:
        assert held(board, mode) == {}
    empty = replace(board, zones=(board.zones[0]._replace(fills=()),))
    assert held(empty, Mode.KEEP) == {}


def test_a_teardrop_with_a_second_fill_elsewhere_holds() -> None:
    two = replace(DROP, fills=[*DROP.fills, (0, rectangle(8, 8, 9, 9))])
    board = build([U1, U2, U3], [STUB], zones=[two])
    for mode in ALL:
        assert held(board, mode) == {"U1:1": "its copper reaches a teardrop of A"}


@pytest.mark.parametrize("mode", ALL)
def test_pads_that_overlap_hold_each_other(mode: Mode) -> None:
    beside = PadSpec("U1", "2", 0.9, 0, "A")
    assert held(build([U1, beside]), mode) == {
        "U1:1": "its copper reaches U1:2",
        "U1:2": "its copper reaches U1:1",
    }
    blank = PadSpec("U1", "", 0.9, 0, "A")
    assert held(build([U1, blank]), mode) == {"U1:1": "its copper reaches an unnumbered pad of U1"}
    assert held(build([U1, PadSpec("U1", "1", 0.9, 0, "A")]), mode) == {}


@pytest.mark.parametrize("mode", ALL)
def test_locked_copper_holds(mode: Mode) -> None:
    locked = replace(STUB, locked=True)
    why = {"U1:1": "locked copper is tied to it"}
    assert held(build([U1, U2], [locked]), mode) == why
    assert held(build([U1, U2], [STUB], [ViaSpec(3, 0, "A", locked=True)]), mode) == why
    assert held(build([U1, U2], zones=[replace(POUR, locked=True)]), mode) == {}


@pytest.mark.parametrize("mode", RIPS)
def test_locked_copper_further_on_holds_only_what_it_touches(mode: Mode) -> None:
    tracks = [STUB, TrackSpec((3, 0, 10, 0), "A", locked=True)]
    assert held(build([U1, U2], tracks), mode) == {"U2:1": "locked copper is tied to it"}


@pytest.mark.parametrize("mode", ALL)
def test_copper_of_another_net_or_of_none_holds(mode: Mode) -> None:
    for net, name in (("B", "copper of B"), (None, "copper without a net")):
        board = build([U1, U2, U3], [TrackSpec((0, 0, 3, 0), net)])
        assert held(board, mode) == {"U1:1": f"its copper touches {name}"}
        board = build([U1, U2, U3], [STUB, TrackSpec((3, 0, 5, 5), net)])
        assert held(board, mode) == {"U1:1": f"its copper touches {name}"}
    spare = PadSpec("U1", "2", 5, 5)
    board = build([U1, U2, spare], [TrackSpec((5, 5, 6, 6), "A")])
    assert held(board, mode) == {"U1:2": "its copper touches copper of A"}


@pytest.mark.parametrize("mode", ALL)
def test_copper_without_a_net_is_a_spare_pins_own(mode: Mode) -> None:
    spares = [PadSpec("U1", "2", 0, 0), PadSpec("U1", "3", 5, 0)]
    assert held(build(spares, [TrackSpec((0, 0, 2, 0))]), mode) == {}
    assert held(build(spares, [TrackSpec((0, 0, 5, 0))]), mode) == {
        "U1:2": "its copper reaches U1:3",
        "U1:3": "its copper reaches U1:2",
    }
    dead = replace(POUR, net=None)
    assert held(build(spares, [TrackSpec((0, 0, 2, 0))], zones=[dead]), mode) == {
        "U1:2": "its copper reaches a filled area without a net"
    }


def test_present() -> None:
    board = build([U1, U2, U3, PadSpec("U4", "1", 5, 5)])
    movable = np.zeros(len(board.pins), dtype=bool)
    movable[[pin(board, "U1:1"), pin(board, "U4:1")]] = True
    assert present(board, Mode.KEEP, movable).tolist() == [True, True]
    assert present(board, Mode.RIP, movable).tolist() == [False, True]
    assert present(board, Mode.IGNORE, movable).tolist() == [False, False]


# ----------------------------------------------------------------------------- carry


@pytest.mark.parametrize("mode", ALL)
def test_nothing_moves_nothing_changes(mode: Mode) -> None:
    board = build([U1, U2, U3], [LINK])
    assert carry(board, {}, mode) == (board, CopperChange())
    assert carry(board, {pin(board, "U1:1"): 0}, mode) == (board, CopperChange())


def test_kept_fan_outs_take_the_new_net() -> None:
    board = build([U1, U2, U3], [STUB, TrackSpec((8, 8, 9, 9), "A")], [ViaSpec(3, 0, "A")], [DROP])
    after, change = carry(board, {pin(board, "U1:1"): 1}, Mode.KEEP)
    assert change == CopperChange(tracks=((0, 1),), vias=((0, 1),), zones=((0, 1),))
    assert after.tracks.net.tolist() == [1, 0]
    assert after.vias.net.tolist() == [1]
    assert after.zones[0].net == 1
    assert after.nets == board.nets
    assert [p.net for p in after.pins] == [p.net for p in after.pads] == [1, 0, 1]


def test_a_fan_out_loses_its_net_with_its_pin() -> None:
    board = build([U1, U2, U3], [STUB])
    after, change = carry(board, {pin(board, "U1:1"): NONE}, Mode.KEEP)
    opened = (Opened(pin(board, "U1:1"), (0,), (), ()),)
    assert change == CopperChange(tracks=((0, NONE),), opened=opened)
    assert after.tracks.net.tolist() == [NONE]
    back, _ = carry(after, {pin(board, "U1:1"): 0}, Mode.KEEP)
    assert back == board


@pytest.mark.parametrize("mode", RIPS)
def test_copper_of_changed_nets_leaves_but_fan_outs_of_moved_pins_stay(mode: Mode) -> None:
    tracks = [
        STUB,
        TrackSpec((10, 0, 12, 0), "A"),
        TrackSpec((0, 10, 5, 5), "B"),
        TrackSpec((5, 20, 6, 20), "C"),
        TrackSpec((7, 20, 8, 20), None),
    ]
    vias = [ViaSpec(3, 0, "A"), ViaSpec(12, 0, "A"), ViaSpec(6, 20, "C")]
    pour = replace(POUR, fills=[(0, rectangle(20, 0, 21, 1)), (1, rectangle(20, 0, 21, 1))])
    kept = ZoneSpec("C", rectangle(5, 19, 6, 21), [(0, rectangle(5, 19, 6, 21))])
    tear = replace(DROP, net="B", fills=[(0, rectangle(0, 9.9, 1, 10.1))])
    board = build([U1, U2, U3], tracks, vias, [DROP, pour, kept, tear])
    after, change = carry(board, {pin(board, "U1:1"): board.nets.index("B")}, mode)
    assert change == CopperChange(
        removed_tracks=(1, 2),
        removed_vias=(1,),
        removed_zones=(3,),
        removed_fills=((1, 0), (1, 1)),
        tracks=((0, 1),),
        vias=((0, 1),),
        zones=((0, 1),),
        left=(Left("A", 1, 1, 2), Left("B", 1, 0, 1)),
    )
    assert after.tracks.net.tolist() == [1, 2, NONE]
    assert after.tracks.ends.tolist() == board.tracks.ends[[0, 3, 4]].tolist()
    assert after.vias.net.tolist() == [1, 2]
    gone = board.zones[1]._replace(fills=())
    assert after.zones == (board.zones[0]._replace(net=1), gone, board.zones[2])


@pytest.mark.parametrize("mode", RIPS)
def test_copper_to_a_filled_area_leaves_like_copper_to_a_pin(mode: Mode) -> None:
    board = build([U1, U2, U3], [STUB], zones=[POUR])
    after, change = carry(board, {pin(board, "U1:1"): 1}, mode)
    left = (Left("A", 1, 0, 1),)
    assert change == CopperChange(removed_tracks=(0,), removed_fills=((0, 0),), left=left)
    assert after.zones == (board.zones[0]._replace(fills=()),)


@pytest.mark.parametrize("mode", RIPS)
def test_a_pin_with_one_routed_pad_leaves_its_other_stubs_behind_to_leave(mode: Mode) -> None:
    pads = [U1, PadSpec("U1", "1", 5, 5, "A"), U2, U3]
    board = build(pads, [LINK, TrackSpec((5, 5, 6, 6), "A")])
    _, change = carry(board, {pin(board, "U1:1"): 1}, mode)
    assert change == CopperChange(removed_tracks=(0, 1), left=(Left("A", 2, 0, 0),))


@pytest.mark.parametrize("mode", RIPS)
def test_locked_copper_stays(mode: Mode) -> None:
    tracks = [LINK, TrackSpec((10, 0, 10, 5), "A", locked=True), TrackSpec((9, 9, 9, 8), "B")]
    vias = [ViaSpec(10, 5, "A", locked=True), ViaSpec(9, 8, "B")]
    drop = replace(DROP, fills=[(0, rectangle(10, 0, 10.5, 5))], locked=True)
    board = build([U1, U2, U3], tracks, vias, [drop])
    after, change = carry(board, {pin(board, "U1:1"): 1}, mode)
    left = (Left("A", 1, 0, 0), Left("B", 1, 1, 0))
    assert change == CopperChange(removed_tracks=(0, 2), removed_vias=(1,), left=left)
    assert after.zones == board.zones


@pytest.mark.parametrize("mode", RIPS)
def test_a_track_between_a_moved_pin_and_another_leaves(mode: Mode) -> None:
    board = build([U1, U2, U3], [LINK])
    after, change = carry(board, {pin(board, "U1:1"): NONE}, mode)
    assert change == CopperChange(removed_tracks=(0,), left=(Left("A", 1, 0, 0),))
    assert len(after.tracks) == 0


@pytest.mark.parametrize("mode", RIPS)
def test_copper_without_a_net_stays_when_a_spare_pin_takes_a_net(mode: Mode) -> None:
    dead = [TrackSpec((5, 5, 6, 6)), TrackSpec((0, 0, 1, 0))]
    zone = ZoneSpec(None, rectangle(7, 7, 8, 8), [(0, rectangle(7, 7, 8, 8))])
    board = build([PadSpec("U1", "1", 0, 0), U2], dead, [ViaSpec(9, 9)], [zone])
    after, change = carry(board, {pin(board, "U1:1"): 0}, mode)
    assert change == CopperChange(tracks=((1, 0),))
    assert after.zones == board.zones


@pytest.mark.parametrize("mode", ALL)
def test_a_teardrop_of_a_spare_pin_goes_with_the_pin(mode: Mode) -> None:
    drop = replace(DROP, net=None)
    board = build([PadSpec("U1", "1", 0, 0), U2], [replace(STUB, net=None)], zones=[drop])
    after, change = carry(board, {pin(board, "U1:1"): 0}, mode)
    assert change == CopperChange(tracks=((0, 0),), zones=((0, 0),))
    assert after.zones == (board.zones[0]._replace(net=0),)


def test_all_pads_of_a_pin_move_with_all_their_fan_outs() -> None:
    pads = [U1, PadSpec("U1", "1", 5, 5, "A"), U2, U3]
    tracks = [STUB, TrackSpec((5, 5, 6, 6), "A"), TrackSpec((10, 0, 11, 0), "A")]
    after, change = carry(build(pads, tracks), {0: 1}, Mode.KEEP)
    assert change.tracks == ((0, 1), (1, 1))
    assert [p.net for p in after.pads] == [1, 1, 0, 1]


def test_marks_of_open_pins() -> None:
    spare = PadSpec("U1", "2", 5, 5, type="input", no_connect=True)
    typed = replace(U1, type="output")
    board = build([typed, spare, U2])
    swap = {pin(board, "U1:1"): NONE, pin(board, "U1:2"): 0}
    after, _ = carry(board, swap, Mode.KEEP)
    assert [p.no_connect for p in after.pins] == [True, False, False]
    unmarked = build([typed, replace(spare, no_connect=False), U2])
    after, _ = carry(unmarked, swap, Mode.KEEP)
    assert [p.no_connect for p in after.pins] == [False, False, False]
    untyped = build([U1, spare, U2])
    after, _ = carry(untyped, swap, Mode.KEEP)
    assert [p.no_connect for p in after.pins] == [False, False, False]


# ------------------------------------------------------------------------------ laws


@st.composite
def moves(draw: st.DrawFn) -> tuple[Board, Mode, dict[int, int], dict[int, str]]:
    """A board, a mode, new nets for pins that nothing holds, and the pins held."""
    board = draw(boards())
    mode = draw(st.sampled_from(ALL))
    movable = np.array([draw(st.booleans()) for _ in board.pins], dtype=bool)
    held = held_pins(board, pad_columns(board), mode, movable)
    free = [p for p in np.flatnonzero(movable).tolist() if p not in held]
    nets = st.integers(NONE, len(board.nets) - 1)
    return board, mode, {p: draw(nets) for p in free}, held


def touched_pads(board: Board) -> set[tuple[int, tuple[object, ...]]]:
    """(pad, what touches it) for copper of another net, the copper told by its place."""
    table = place_names(board)
    return {(pad, table[other]) for pad, other in foreign_touches(board)}


def place_names(board: Board) -> list[tuple[object, ...]]:
    """A name for every element that outlives a change of nets and of numbering."""
    tracks, vias = board.tracks, board.vias
    rows = zip(tracks.ends.tolist(), tracks.mid.tolist(), tracks.layer.tolist(), strict=True)
    return [
        *(("pad", i) for i in range(len(board.pads))),
        *(("track", *map(str, row)) for row in rows),
        *(("via", *row) for row in vias.at.tolist()),
        *(("fill", fill.text, fill.layer) for zone in board.zones for fill in zone.fills),
    ]


@given(moves())
@settings(max_examples=200)
def test_no_copper_touches_a_pad_of_another_net_that_did_not_before(case) -> None:  # type: ignore[no-untyped-def]
    board, mode, new, _ = case
    after, _ = carry(board, new, mode)
    assert touched_pads(after) <= touched_pads(board)


@given(moves())
@settings(max_examples=120)
def test_the_change_says_all_that_happened_to_copper(case) -> None:  # type: ignore[no-untyped-def]
    board, mode, new, _ = case
    after, change = carry(board, new, mode)
    moved = {p for p, net in new.items() if board.pins[p].net != net}
    for kind in ("tracks", "vias"):
        old, made = getattr(board, kind), getattr(after, kind)
        removed = set(getattr(change, f"removed_{kind}"))
        rest = [i for i in range(len(old)) if i not in removed]
        renet = dict(getattr(change, kind))
        assert made.net.tolist() == [renet.get(i, int(old.net[i])) for i in rest]
        assert not removed & set(renet)
    rest_zones = [z for i, z in enumerate(board.zones) if i not in set(change.removed_zones)]
    assert [z.outline for z in rest_zones] == [z.outline for z in after.zones]
    assert all(z.teardrop for z in board.zones if z not in rest_zones)
    assert [p.net for p in after.pins] == [new.get(i, p.net) for i, p in enumerate(board.pins)]
    assert all(after.pads[q].net == p.net for p in after.pins for q in p.pads)
    if not moved or mode is Mode.KEEP:
        assert change.left == ()
    counts = [sum(getattr(left, k) for left in change.left) for k in ("tracks", "vias")]
    assert counts == [len(change.removed_tracks), len(change.removed_vias)]


@given(moves())
@settings(max_examples=120)
def test_unmoved_nets_keep_their_copper(case) -> None:  # type: ignore[no-untyped-def]
    board, mode, new, _ = case
    after, change = carry(board, new, mode)
    moved = {p: net for p, net in new.items() if board.pins[p].net != net}
    changed = {net for p in moved for net in (moved[p], board.pins[p].net)}
    for i in range(len(board.tracks)):
        if int(board.tracks.net[i]) not in changed:
            assert i not in change.removed_tracks
            assert i not in dict(change.tracks)
    for net in set(range(len(board.nets))) - changed:
        assert [z for z in after.zones if z.net == net] == [z for z in board.zones if z.net == net]


@given(moves())
@settings(max_examples=150)
def test_copper_that_counts_joins_the_same_pads_before_and_after(case) -> None:  # type: ignore[no-untyped-def]
    board, mode, new, held = case
    movable = np.zeros(len(board.pins), dtype=bool)
    movable[[*new, *held]] = True
    nets = present(board, mode, movable)
    after, _ = carry(board, new, mode)
    cols = pad_columns(board)
    assert np.array_equal(join(board, cols, nets).pads, join(after, cols, nets).pads)


@given(boards())
@settings(max_examples=120)
def test_held_in_keep_is_what_the_clusters_of_the_slow_twin_say(board: Board) -> None:
    movable = np.ones(len(board.pins), dtype=bool)
    held = held_pins(board, pad_columns(board), Mode.KEEP, movable)
    clusters = joined(board, {-1, *range(len(board.nets))})
    pads = len(board.pads)
    for index, entry in enumerate(board.pins):
        mine = set().union(*(c for c in clusters if c & set(entry.pads)))
        others = {board.pads[p].pin for p in mine if p < pads} - {index}
        if others:
            assert held[index].startswith("its copper reaches")
    for index, why in held.items():
        assert why
        assert board.pins[index].pads


@given(moves())
@settings(max_examples=150)
def test_kept_fan_outs_can_be_taken_back(case) -> None:  # type: ignore[no-untyped-def]
    board, mode, new, _ = case
    after, change = carry(board, new, mode)
    if change.left:
        return
    old = {p: board.pins[p].net for p in new}
    back, _ = carry(after, old, mode)
    assert replace(back, pins=()) == replace(board, pins=())
    assert [p.net for p in back.pins] == [p.net for p in board.pins]
