from __future__ import annotations

import math

import pytest
from cases.buoys import NEWEST
from hypothesis import given
from hypothesis import strategies as st

from renet.model import Core, Shape
from renet.read.board import read_board
from renet.read.padshape import Geometry, box_of, geometry, pad_shape

MM = 1_000_000


def form(text: bytes) -> Geometry:
    found = geometry(text)
    assert found is not None
    return found


def shape(kind: bytes, text: bytes) -> Shape:
    return pad_shape(kind, form(text))


def custom(lists: str, size: str = "1 1") -> Shape:
    """The first pad of the buoy with these lists and a custom shape."""
    old = b'(pad "1" smd rect\n\t\t\t(at -3 -1 90)\n\t\t\t(size 1 0.5)'
    new = f'(pad "1" smd custom (at -3 -1 90) (size {size}) {lists}'.encode()
    assert NEWEST.count(old) == 1
    return read_board(NEWEST.replace(old, new))[0].pads[0].shape


def test_circle_and_oval() -> None:
    assert shape(b"circle", b"(size 1.5 1.5)").cores == (Core(((0, 0),), 750_000),)
    assert shape(b"oval", b"(size 1 3)").cores == (Core(((0, -MM), (0, MM)), 500_000),)
    assert shape(b"oval", b"(size 2 2)").cores == (Core(((0, 0),), MM),)


def test_rectangles() -> None:
    assert shape(b"rect", b"(size 2 1)").cores[0].radius == 0
    rounded = shape(b"roundrect", b"(size 2 1) (roundrect_rratio 0.25)")
    assert rounded.cores == (
        Core(
            ((-750_000, -250_000), (750_000, -250_000), (750_000, 250_000), (-750_000, 250_000)),
            250_000,
        ),
    )
    assert rounded.box == (-MM, -500_000, MM, 500_000)
    full = shape(b"roundrect", b"(size 2 1) (roundrect_rratio 0.5)")
    assert full.cores == (Core(((-500_000, 0), (500_000, 0)), 500_000),)


def test_an_offset_moves_all_copper() -> None:
    found = shape(b"rect", b"(size 2 1) (drill 0.8 (offset 0.5 -0.25))")
    assert found.box == (-500_000, -750_000, 1_500_000, 250_000)
    assert shape(b"circle", b"(size 2 2) (drill (offset 1 0))").cores == (Core(((MM, 0),), MM),)


def test_chamfered_corners_are_cut_and_the_others_stay() -> None:
    text = b"(size 2 2) (roundrect_rratio 0) (chamfer_ratio 0.25) (chamfer top_left bottom_right)"
    ((corners, radius),) = shape(b"roundrect", text).cores
    assert radius == 0
    half = 500_000
    assert corners == ((-MM, -half), (-half, -MM), (MM, -MM), (MM, half), (half, MM), (-MM, MM))


def test_chamfered_and_rounded_corners_go_round_in_order() -> None:
    text = b"(size 4 2) (roundrect_rratio 0.25) (chamfer_ratio 0.5) (chamfer top_right)"
    ((corners, _),) = shape(b"roundrect", text).cores
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    doubled = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs) / MM**2
    # 4 x 2 less one cut corner of 1 x 1 / 2 and three rounds of (1 - pi/4) * 0.5^2.
    assert doubled / 2 == pytest.approx(8 - 0.5 - 3 * (1 - math.pi / 4) * 0.25, rel=1e-3)


def test_trapezoid_keeps_its_mean_width() -> None:
    found = shape(b"trapezoid", b"(size 2 1) (rect_delta 0.2 0)")
    ((corners, _),) = found.cores
    assert sorted(corners) == [(-MM, -600_000), (-MM, 600_000), (MM, -400_000), (MM, 400_000)]


def test_custom_pads_are_anchor_and_pieces() -> None:
    found = custom(
        "(options (clearance outline) (anchor circle)) (primitives"
        " (gr_poly (pts (xy 0 0) (xy 2 0) (xy 2 1)) (width 0.1) (fill yes))"
        " (gr_circle (center 0 -2) (end 0.5 -2) (width 0))"
        " (gr_line (start 0 0) (end 0 3) (width 0.2)))"
    )
    assert found.cores == (
        Core(((0, 0),), 500_000),
        Core(((0, 0), (2 * MM, 0), (2 * MM, MM)), 50_000),
        Core(((0, -2 * MM),), 500_000),
        Core(((0, 0), (0, 3 * MM)), 100_000),
    )
    assert found.box == (-500_000, -2_500_000, 2_050_000, 3_100_000)


def test_unfilled_pieces_are_drawn_lines() -> None:
    ring = custom("(primitives (gr_circle (center 0 0) (end 2 0) (width 0.2) (fill no)))")
    assert {core.radius for core in ring.cores[1:]} == {100_000}
    assert all(len(core.points) == 2 for core in ring.cores[1:])
    assert ring.box == (-2_100_000, -2_100_000, 2_100_000, 2_100_000)
    frame = custom("(primitives (gr_rect (start 0 0) (end 2 1) (width 0.2) (fill none)))")
    assert len(frame.cores) == 5
    outline = custom(
        "(primitives (gr_poly (pts (xy 0 0) (xy 2 0) (xy 2 1)) (width 0.2) (fill none)))"
    )
    assert [len(core.points) for core in outline.cores[1:]] == [2, 2, 2]


def test_arcs_and_curves_are_pieces_too() -> None:
    bow = custom("(primitives (gr_arc (start -1 0) (mid 0 -1) (end 1 0) (width 0.2)))")
    assert bow.box == (-1_100_000, -1_100_000, 1_100_000, 500_000)
    old = custom("(primitives (gr_arc (start 0 0) (end -1 0) (angle 180) (width 0.2)))")
    assert old.box == bow.box
    curve = custom("(primitives (gr_curve (pts (xy 0 0) (xy 0 2) (xy 4 2) (xy 4 0)) (width 0.2)))")
    assert curve.box == (-500_000, -500_000, 4_100_000, 1_600_000)


def test_a_pad_that_differs_by_layer_has_all_its_copper() -> None:
    old = b'(pad "2" thru_hole circle\n\t\t\t(at 0 2.54)'
    stack = old + b' (padstack (mode front_inner_back) (layer "Inner" (shape rect) (size 3 1)))'
    pad = read_board(NEWEST.replace(old, stack))[0].pads[8]
    assert pad.shape.box == (-1_500_000, -600_000, 1_500_000, 600_000)
    assert len(pad.shape.cores) == 2


sizes = st.integers(1, 4_000_000)


@given(
    st.sampled_from([b"circle", b"oval", b"rect", b"roundrect"]), sizes, sizes, st.floats(0, 0.5)
)
def test_the_box_is_the_size_of_the_pad(kind: bytes, w: int, h: int, ratio: float) -> None:
    if kind == b"circle":
        h = w
    text = b"(size %.6f %.6f) (roundrect_rratio %.6f)" % (w / MM, h / MM, ratio)
    found = shape(kind, text)
    assert found.box == box_of(found.cores)
    u0, v0, u1, v1 = found.box
    assert (u0 + u1, v0 + v1) == (0, 0)
    assert w <= u1 - u0 <= w + 2
    assert h <= v1 - v0 <= h + 2


def test_what_has_no_size_has_no_geometry() -> None:
    for text in (b"", b"(size)", b"(size 1)", b"(size a b)", b"(drill 1)"):
        assert geometry(text) is None
