"""The pictures: well formed, small, true to the counts, and inert whatever names say."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from cases.review import EVIL, buoy_view, exchanged
from conftest import board_paths

from renet.report.svg import after_svg, before_svg, svg_text
from renet.report.tables import net_shown
from renet.report.view import moved_pins

SVG = "{http://www.w3.org/2000/svg}"
MOST_BYTES = 2_000_000


def elements(text: str, kind: str) -> list[ElementTree.Element]:
    root = ElementTree.fromstring(text)
    return [node for node in root.iter() if kind == node.get("class")]


def pieces(text: str, kind: str) -> int:
    return sum(node.get("d", "").count("M") for node in elements(text, kind))


def test_every_connection_is_drawn_once_in_each_state() -> None:
    view = buoy_view()
    assert view.after is not None
    for text, tangle in ((before_svg(view), view.before), (after_svg(view), view.after)):
        found = pieces(text, "link") + pieces(text, "link own")
        assert found == len(tangle.connections) + 2, "one sample of each in the legend"


def test_every_crossing_has_its_mark() -> None:
    view = buoy_view()
    assert pieces(before_svg(view), "cross") <= view.before.figures.crossings + 1
    assert pieces(before_svg(view), "cross") > 0.9 * view.before.figures.crossings


def test_every_moved_pin_has_a_ring_with_words() -> None:
    view = buoy_view()
    rings = elements(after_svg(view), "moved")
    assert len(rings) == len(moved_pins(view)) == len(view.changes.moves)
    titles = {ring.findtext(f"{SVG}title") for ring in rings}
    swap = view.changes.swaps[0]
    move = swap.moves[0]
    was, now = net_shown(move.was), net_shown(move.is_)
    assert f"swap 1, {move.part}:{move.pin} {move.name}: {was} becomes {now}" in titles
    assert len(titles) == len(rings)


def test_one_document_shows_both_states_and_draws_the_board_once() -> None:
    text = svg_text(buoy_view())
    assert text.count('<use href="#board"/>') == 2
    assert text.count('<g id="board">') == 1


def test_names_are_text_and_nothing_else() -> None:
    text = svg_text(buoy_view(EVIL))
    root = ElementTree.fromstring(text)
    tags = {node.tag.removeprefix(SVG) for node in root.iter()}
    assert tags <= {
        "svg", "title", "desc", "style", "path", "defs", "pattern", "g", "use", "text", "circle",
    }  # fmt: skip
    assert any(EVIL in (node.text or "") for node in root.iter(f"{SVG}title"))
    assert "<img" not in text


def test_nothing_outside_the_document_is_asked_for() -> None:
    text = svg_text(buoy_view()).replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"https?:|//|@import|url\((?!#)", text)


def test_the_same_view_gives_the_same_text() -> None:
    assert svg_text(buoy_view()) == svg_text(buoy_view())


@pytest.mark.parametrize("path", board_paths(), ids=lambda path: path.stem)
def test_pictures_of_real_boards_are_well_formed_and_small(path: Path) -> None:
    text = svg_text(exchanged(path.name, path.read_bytes(), seed=1))
    ElementTree.fromstring(text)
    assert len(text.encode()) < MOST_BYTES
