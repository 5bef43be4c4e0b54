"""Part outlines of our own: pads in the part's frame, pin 1 top left."""

from __future__ import annotations

from corpus_maker.design import Outline, PadDef, mm


def _pad(number: str, x: float, y: float, w: float, h: float, shape: str = "rect") -> PadDef:
    return PadDef(number, "smd", shape, mm(x), mm(y), mm(w), mm(h))


def _hole(number: str, x: float, y: float, size: float, drill: float) -> PadDef:
    shape = "rect" if number == "1" else "circle"
    return PadDef(number, "thru_hole", shape, mm(x), mm(y), mm(size), mm(size), mm(drill))


def _outline(
    name: str, descr: str, pads: list[PadDef], half_x: float, half_y: float, tags: str = ""
) -> Outline:
    return Outline(
        name, descr, tags or name.split("_")[0].lower(), tuple(pads), (mm(half_x), mm(half_y))
    )


def chip(name: str, span: float, width: float, height: float) -> Outline:
    """Two pads side by side, ``span`` between their centres."""
    pads = [
        _pad("1", -span / 2, 0, width, height, "roundrect"),
        _pad("2", span / 2, 0, width, height, "roundrect"),
    ]
    return _outline(name, "chip part with two ends", pads, span / 2, height / 2)


def dual_row(name: str, rows: int, pitch: float, reach: float, pad: tuple[float, float]) -> Outline:
    """Two columns: 1..n down the left, n+1..2n up the right; ``reach`` is centre to pad."""
    top = -(rows - 1) * pitch / 2
    pads = [_pad(str(i + 1), -reach, top + i * pitch, *pad) for i in range(rows)]
    pads += [_pad(str(2 * rows - i), reach, top + i * pitch, *pad) for i in range(rows)]
    half = (reach - pad[0] / 2 - 0.1, rows * pitch / 2)
    return _outline(name, f"{2 * rows} pins in two rows, {pitch} mm apart", pads, *half)


def quad_flat(
    name: str, side: int, pitch: float, reach: float, pad: tuple[float, float]
) -> Outline:
    """Four sides of ``side`` pins each, counted against the clock from the top left."""
    long, wide = pad
    first = -(side - 1) * pitch / 2
    pads: list[PadDef] = []
    for i in range(4 * side):
        run = first + (i % side) * pitch
        place = ((-reach, run), (run, reach), (reach, -run), (-run, -reach))[i // side]
        size = (long, wide) if i // side in (0, 2) else (wide, long)
        pads.append(_pad(str(i + 1), *place, *size))
    half = reach - long / 2 - 0.1
    return _outline(name, f"{4 * side} pins on four sides, {pitch} mm apart", pads, half, half)


def header(name: str, columns: int, rows: int, pitch: float = 2.54) -> Outline:
    """Pins in rows, numbered along each row first."""
    left, top = -(columns - 1) * pitch / 2, -(rows - 1) * pitch / 2
    pads = [
        _hole(str(r * columns + c + 1), left + c * pitch, top + r * pitch, 1.7, 1.0)
        for r in range(rows)
        for c in range(columns)
    ]
    return _outline(
        name, f"pin header, {pitch} mm", pads, columns * pitch / 2, rows * pitch / 2, "header"
    )


def _shell(number: str, x: float, y: float) -> PadDef:
    """A long plated hole for a shell lug."""
    return PadDef(number, "thru_hole", "oval", mm(x), mm(y), mm(1.2), mm(2.0), mm(0.7), mm(1.5))


def card_slot() -> Outline:
    """Nine contacts on the right, four shell pads that share a number."""
    pads = [_pad(str(i + 1), 8, -4.4 + 1.1 * i, 1.6, 0.7) for i in range(9)]
    pads += [_pad("SH", x, y, 1.6, 1.4) for x in (-6.5, 5.5) for y in (-7.25, 7.25)]
    return _outline("card_slot_9", "memory card slot, contacts on one side", pads, 7, 7.5)


def bus_socket() -> Outline:
    """Five contacts towards the board, four shell lugs that share a number."""
    pads = [_pad(str(i + 1), -1.3 + 0.65 * i, -2.6, 0.4, 1.4) for i in range(5)]
    pads += [_shell("SH", x, y) for x in (-3.6, 3.6) for y in (-2.4, 0.8)]
    return _outline("bus_socket_5", "serial bus socket, five contacts", pads, 3.8, 2.5)


def coax() -> Outline:
    """A small coaxial socket: the centre and two ground pads of one number."""
    pads = [_pad("1", 0, 0, 1.0, 1.0)]
    pads += [_pad("2", x, 0, 1.0, 2.2) for x in (-1.5, 1.5)]
    return _outline("coax_small", "small coaxial socket", pads, 1.3, 1.3)


def crystal() -> Outline:
    """Four pads, the crystal across one diagonal."""
    spots = {"1": (-1.125, 0.875), "2": (1.125, 0.875), "3": (1.125, -0.875), "4": (-1.125, -0.875)}
    pads = [_pad(n, x, y, 1.2, 1.0) for n, (x, y) in spots.items()]
    return _outline("crystal_3225", "crystal, 3.2 x 2.5 mm", pads, 1.6, 1.25)


def regulator() -> Outline:
    """Three pins on the left, two on the right."""
    pads = [_pad(str(i + 1), -1.25, -0.95 + 0.95 * i, 1.1, 0.6) for i in range(3)]
    pads += [_pad("4", 1.25, 0.95, 1.1, 0.6), _pad("5", 1.25, -0.95, 1.1, 0.6)]
    return _outline("small_5", "five pins, 0.95 mm apart", pads, 0.8, 1.45)


def button() -> Outline:
    """A push button: two pads per contact, sharing the contact's number."""
    pads = [_pad(n, x, y, 1.4, 1.0) for n, y in (("1", -1.75), ("2", 1.75)) for x in (-3.0, 3.0)]
    return _outline("button_6", "push button, 6 mm", pads, 2.2, 2.0)


def battery() -> Outline:
    """Two pins and two unplated pegs."""
    pads = [_hole(str(i + 1), -1.25 + 2.5 * i, 0, 1.8, 1.1) for i in range(2)]
    peg = mm(1.2)
    pads += [PadDef("", "np_thru_hole", "circle", mm(x), mm(2), peg, peg, peg) for x in (-3.5, 3.5)]
    return _outline("battery_2", "battery connector, two pins", pads, 4.2, 2.7)


def mounting_hole() -> Outline:
    """An unplated 3.2 mm hole."""
    size = mm(3.2)
    pads = [PadDef("", "np_thru_hole", "circle", 0, 0, size, size, size)]
    return _outline("hole_3.2", "mounting hole, 3.2 mm", pads, 1.8, 1.8)


def fiducial() -> Outline:
    """A bare round pad without a number."""
    return _outline("fiducial_1", "placement mark", [_pad("", 0, 0, 1, 1, "circle")], 1, 1)


def test_point() -> Outline:
    """One round pad."""
    pads = [_pad("1", 0, 0, 1.5, 1.5, "circle")]
    return _outline("test_1.5", "test point, 1.5 mm", pads, 0.75, 0.75)


SMALL_CHIP = chip("chip_0603", 1.5, 0.8, 0.9)
LARGE_CHIP = chip("chip_1206", 3.0, 1.1, 1.75)
LIGHT = chip("light_0603", 1.5, 0.8, 0.9)
QUAD_100 = quad_flat("quad_100_14x14", 25, 0.5, 7.75, (1.5, 0.3))
QUAD_32 = quad_flat("quad_32_7x7", 8, 0.8, 4.25, (1.5, 0.5))
NARROW_14 = dual_row("dual_14_narrow", 7, 1.27, 2.7, (1.55, 0.6))
ARRAY_4 = dual_row("array_4x_0603", 4, 0.8, 0.85, (0.9, 0.5))
ARRAY_8 = dual_row("array_8x_0402", 8, 0.5, 0.75, (0.8, 0.3))
RADIO = dual_row("radio_module_20", 10, 1.5, 8.0, (1.5, 0.9))
HEADER_2X10 = header("header_2x10", 2, 10)
HEADER_1X6 = header("header_1x6", 6, 1)
HEADER_1X5 = header("header_1x5", 1, 5)
HEADER_1X4 = header("header_1x4", 4, 1)
