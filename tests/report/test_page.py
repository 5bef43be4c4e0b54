"""The review page as text: its policy, its escapes, and the change lists it can save."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from itertools import combinations
from typing import Any

from cases.review import EVIL, buoy_view

from renet.report.page import view_page
from renet.report.swaps import swaps_text


class Reader(HTMLParser):
    """Tags with their attributes, and the text of script, style and title."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: dict[int, str] = {}
        self.open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

        self.open = True

    def handle_endtag(self, tag: str) -> None:
        self.open = False

    def handle_data(self, data: str) -> None:
        if self.open:
            index = len(self.tags) - 1
            self.texts[index] = self.texts.get(index, "") + data


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    return reader


def inner(reader: Reader, tag: str, **attrs: str) -> str:
    return next(
        reader.texts[i]
        for i, (name, found) in enumerate(reader.tags)
        if name == tag and attrs.items() <= found.items()
    )


def data_of(text: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(inner(read(text), "script", id="data"))
    return found


def test_the_policy_allows_the_pages_own_script_and_style_only() -> None:
    reader = read(view_page(buoy_view()))
    policy = next(a["content"] for t, a in reader.tags if t == "meta" and "http-equiv" in a)
    assert policy is not None and policy.startswith("default-src 'none'; ")
    scripts = [i for i, (t, a) in enumerate(reader.tags) if t == "script" and not a]
    styles = [i for i, (t, _) in enumerate(reader.tags) if t == "style"]
    assert len(scripts) == len(styles) == 1
    for kind, index in (("script", scripts[0]), ("style", styles[0])):
        digest = base64.b64encode(hashlib.sha256(reader.texts[index].encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy and "http" not in policy


def test_nothing_is_loaded_and_nothing_runs_from_an_attribute() -> None:
    text = view_page(buoy_view(EVIL))
    for tag, attrs in read(text).tags:
        assert tag not in {"img", "link", "iframe", "object", "embed", "base", "form"}
        assert not any(name.startswith("on") or name in ("src", "style") for name in attrs)
        assert (attrs.get("href") or "#").startswith("#")


def test_a_hostile_name_is_text() -> None:
    text = view_page(buoy_view(EVIL))
    assert "<img" not in text
    assert EVIL in data_of(text)["nets"]
    assert text.count("</script>") == 2
    assert any(EVIL in part for part in read(text).texts.values())


def test_saved_lists_are_the_change_list_with_these_swaps() -> None:
    """Joined here as the page's script joins them."""
    view = buoy_view()
    data = data_of(view_page(view))
    ids = [swap["id"] for swap in data["swaps"]]
    for taken in (set(), {ids[0]}, *map(set, combinations(ids, 2)), set(ids)):
        pieces = "".join(swap["text"] for swap in data["swaps"] if swap["id"] in taken)
        assert data["head"] + pieces + ")\n" == swaps_text(view.changes.only(frozenset(taken)))


def test_pads_come_in_the_order_of_ends() -> None:
    pads = data_of(view_page(buoy_view()))["pads"]
    places = list(zip(pads["x"], pads["y"], strict=True))
    assert places == sorted(places)
    assert len(pads["corners"]) == 8 * len(places)


def test_every_control_has_a_name() -> None:
    reader = read(view_page(buoy_view()))
    for index, (tag, attrs) in enumerate(reader.tags):
        if tag == "button":
            assert attrs.get("aria-label") or reader.texts[index].strip()
        if tag == "svg":
            assert attrs.get("aria-hidden") == "true" or attrs.get("aria-labelledby")


def test_ids_are_used_once_and_every_reference_is_there() -> None:
    text = view_page(buoy_view())
    reader = read(text)
    ids = [attrs["id"] for _, attrs in reader.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    script = inner(reader, "script")
    wanted = set(re.findall(r'byId\("([\w-]+)"\)', text))
    for _, attrs in reader.tags:
        for name in ("aria-labelledby", "aria-describedby", "for", "list"):
            wanted |= set((attrs.get(name) or "").split())
    assert wanted <= set(ids)
    assert script
