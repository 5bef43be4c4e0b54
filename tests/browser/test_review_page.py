"""The review page in a real browser: what it asks for, what it reckons, how it is worked."""

from __future__ import annotations

import random
import time
from itertools import chain, combinations
from pathlib import Path
from typing import Any

import pytest
from cases.review import EVIL, buoy_view, exchanged, figures_with
from conftest import board_paths

from renet.changes import Figures
from renet.read.swaps import read_swaps
from renet.report.page import view_page
from renet.report.swaps import swaps_text
from renet.report.tables import net_shown
from renet.report.view import View

pytest_plugins = ["cases.browser"]

BOARDS = [p for p in board_paths() if "z80" in p.stem or "carrier" in p.stem or "host" in p.stem]


def ids_of(view: View) -> list[int]:
    return [swap.id for swap in view.changes.swaps]


def subsets(ids: list[int]) -> list[frozenset[int]]:
    found = chain.from_iterable(combinations(ids, n) for n in range(len(ids) + 1))
    return [frozenset(one) for one in found]


def some(view: View, count: int, seed: int) -> list[frozenset[int]]:
    dice = random.Random(seed)
    ids = ids_of(view)
    return [frozenset(dice.sample(ids, dice.randint(0, len(ids)))) for _ in range(count)]


def told(shown: dict[str, float], prefix: str) -> Figures:
    whole = [int(shown[f"{prefix}-{name}"]) for name in Figures._fields[:3]]
    return Figures(*whole, shown[f"{prefix}-length_mm"])


def check(page: Any, view: View, ids: frozenset[int]) -> None:
    shown = page.tick(ids)
    total, change = figures_with(view, ids)
    assert told(shown, "before") == view.before.figures
    assert told(shown, "now") == total
    assert told(shown, "change") == change


def test_it_opens_from_its_file_and_asks_for_nothing(open_page: Any) -> None:
    page = open_page(view_page(buoy_view()))
    assert page.run("return document.documentElement.dataset.ready") == "yes"
    assert page.run("return document.getElementById('doubt').hidden")
    page.tick(frozenset({1}))
    page.run("document.getElementById('save').click()")
    assert page.console() == []
    assert {u for u in page.requests() if not u.startswith("blob:")} == {page.path.as_uri()}


def test_every_subset_of_the_buoys_swaps_has_its_true_figures(open_page: Any) -> None:
    """All subsets, or 200 at random where there are more than a thousand."""
    view = buoy_view()
    page = open_page(view_page(view))
    ids = ids_of(view)
    for taken in subsets(ids) if len(ids) <= 10 else some(view, 200, seed=1):
        check(page, view, taken)


def test_single_swaps_show_what_the_change_list_says_they_are_worth(open_page: Any) -> None:
    view = buoy_view()
    page = open_page(view_page(view))
    for swap in view.changes.swaps:
        assert told(page.tick(frozenset({swap.id})), "change") == swap.alone


@pytest.mark.parametrize("path", BOARDS, ids=lambda path: path.stem)
def test_real_boards_have_their_true_figures(path: Path, open_page: Any) -> None:
    view = exchanged(path.name, path.read_bytes(), seed=2)
    assert len(view.changes.swaps) > 3
    page = open_page(view_page(view))
    assert page.run("return document.getElementById('doubt').hidden")
    for taken in some(view, 10, seed=3):
        check(page, view, taken)
    assert page.console() == []


def test_a_hostile_name_stays_text(open_page: Any) -> None:
    page = open_page(view_page(buoy_view(EVIL)))
    assert page.run("return document.querySelectorAll('img').length") == 0
    assert page.run("return document.scripts.length") == 2
    assert EVIL in page.run("return document.querySelector('.swaps').innerText")
    page.run("document.querySelector('button[data-net]').focus()")
    net = page.run(
        "return [...document.querySelectorAll('button[data-net]')]"
        ".find((b) => b.textContent === arguments[0]).dataset.net",
        EVIL,
    )
    page.run(f"document.querySelector('button[data-net=\"{net}\"]').focus()")
    assert EVIL in page.run("return document.getElementById('told').textContent")
    assert page.console() == []


def test_a_list_is_saved_with_the_ticked_swaps_only(open_page: Any) -> None:
    view = buoy_view()
    page = open_page(view_page(view))
    page.tick(frozenset({2, 5}))
    page.run("document.getElementById('save').click()")
    command = page.run("return document.getElementById('command').textContent")
    assert command == (
        "renet apply buoy.swaps buoy.kicad_pcb -o buoy-accepted.kicad_pcb --only 2,5"
    )
    page.run("document.getElementById('file').click()")
    saved = page.folder / "buoy-selected.swaps"
    for _ in range(400):  # a loaded machine may take seconds
        if saved.exists() and saved.stat().st_size:
            break
        time.sleep(0.05)
    assert saved.read_text("utf-8") == swaps_text(view.changes.only(frozenset({2, 5})))
    assert [swap.id for swap in read_swaps(saved.read_bytes()).swaps] == [2, 5]


def press(page: Any, *keys: str) -> None:
    from selenium.webdriver.common.action_chains import ActionChains

    ActionChains(page.driver).send_keys(*keys).perform()


def test_the_keyboard_ticks_walks_and_puts_out(open_page: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    view = buoy_view()
    count = len(view.changes.swaps)
    page = open_page(view_page(view))
    page.run("document.querySelector('input[data-swap]').focus()")
    press(page, Keys.SPACE)
    taken = page.run("return document.getElementById('taken').textContent")
    assert taken.startswith(f"{count - 1} of {count} ")
    page.run("document.getElementById('before').focus()")
    press(page, Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    second = view.changes.swaps[0].moves[1]
    told_now = page.run("return document.getElementById('told').textContent")
    assert told_now == f"{second.part}:{second.pin} {second.name}: {net_shown(second.was)}"
    lit = "return document.querySelectorAll('.lit > *').length"
    assert page.run(lit) > 0
    press(page, "+")
    width = page.run("return document.getElementById('after').viewBox.baseVal.width")
    press(page, Keys.ESCAPE)
    assert page.run(lit) == 0
    press(page, "-")
    assert page.run("return document.getElementById('before').viewBox.baseVal.width") > width


def test_pointing_at_a_pin_lights_up_its_net_on_both_pictures(open_page: Any) -> None:
    from selenium.webdriver.common.action_chains import ActionChains

    page = open_page(view_page(buoy_view()))
    ring = page.driver.find_element("css selector", "#before circle.moved")
    ActionChains(page.driver).scroll_to_element(ring).move_to_element(ring).perform()
    for side in ("before", "after"):
        assert page.run(f"return document.querySelectorAll('#{side} .lit > .here').length") == 1
    assert "U1:" in page.run("return document.getElementById('told').textContent")


def test_the_search_finds_nets_and_pins(open_page: Any) -> None:
    page = open_page(view_page(buoy_view()))
    for text, words in (("/SONDE_CLK", "Net /SONDE_CLK"), ("J7:5", "J7:5: /SONDE_CLK")):
        page.run(
            "const f = document.getElementById('find'); f.value = arguments[0];"
            "f.dispatchEvent(new Event('input'))",
            text,
        )
        assert page.run("return document.getElementById('told').textContent") == words


def test_every_control_can_be_reached_and_has_a_name(open_page: Any) -> None:
    """Names as the browser gives them to screen readers."""
    page = open_page(view_page(buoy_view()))
    nodes = page.driver.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    roles = {"button", "checkbox", "link", "searchbox", "application", "table"}
    found = [n for n in nodes if not n["ignored"] and n.get("role", {}).get("value") in roles]
    assert len(found) > 30
    nameless = [n for n in found if not n.get("name", {}).get("value")]
    assert [n["role"]["value"] for n in nameless if n["role"]["value"] != "table"] == []
