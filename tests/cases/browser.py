"""A real browser for the review page, where one is installed; scripts/test_browser installs it."""

from __future__ import annotations

import importlib.util
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

FLAGS = ("--headless=new", "--no-sandbox", "--disable-gpu", "--window-size=1400,1000")


@pytest.fixture(scope="session")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Headless Chromium with its console and its requests on record; a skip without it."""
    browser, service = shutil.which("chromium"), shutil.which("chromedriver")
    if not (browser and service and importlib.util.find_spec("selenium")):
        pytest.skip("no chromium, chromedriver and selenium here: see scripts/test_browser")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = browser
    for flag in FLAGS:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    started = webdriver.Chrome(options=options, service=webdriver.ChromeService(service))
    started.set_script_timeout(120)
    yield started
    started.quit()


class Page:
    """One review page, opened from its file."""

    def __init__(self, driver: Any, folder: Path, text: str) -> None:
        self.driver, self.folder = driver, folder
        self.path = folder / "review.html"
        self.path.write_text(text, "utf-8")
        driver.get_log("browser")
        driver.get_log("performance")
        driver.execute_cdp_cmd(
            "Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(folder)}
        )
        driver.get(self.path.as_uri())

    def run(self, script: str, *args: object) -> Any:
        """What a script returns in the page."""
        return self.driver.execute_script(script, *args)

    def console(self) -> list[str]:
        """Everything the console has to say."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def requests(self) -> list[str]:
        """Addresses that were asked for since the page was opened."""
        messages = [json.loads(e["message"])["message"] for e in self.driver.get_log("performance")]
        return [
            m["params"]["request"]["url"]
            for m in messages
            if m["method"] == "Network.requestWillBeSent"
        ]

    def tick(self, ids: frozenset[int]) -> dict[str, float]:
        """Tick exactly these swaps; the figures that the page then shows, in full."""
        script = """
            const wanted = new Set(arguments[0]);
            let last = null;
            for (const box of document.querySelectorAll("input[data-swap]")) {
                box.checked = wanted.has(Number(box.dataset.swap));
                last = box;
            }
            last.dispatchEvent(new Event("change"));
            return Object.fromEntries([...document.querySelectorAll("data")].map(
                (cell) => [cell.id, Number(cell.value)]));
        """
        found: dict[str, float] = self.run(script, sorted(ids))
        return found


@pytest.fixture
def open_page(driver: Any, tmp_path: Path) -> Any:
    """Opens a page from its text."""
    return lambda text: Page(driver, tmp_path, text)
