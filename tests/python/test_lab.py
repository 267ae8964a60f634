"""A lesson as a reader meets it: in JupyterLab, and as a plain page, in Chromium."""

from __future__ import annotations

import math
import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote
from urllib.request import urlopen
from xml.etree import ElementTree

import hangarc as ha
import nbformat
import pytest
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

LESSON = Path(__file__).parents[2] / "notebooks" / "04_closing_chain.ipynb"
SVG = "{http://www.w3.org/2000/svg}"
LAPTOP_PX = (1366, 768)
FLAGS = (
    *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
CHROMIUM = shutil.which("chromium")
DRIVER = shutil.which("chromedriver")

RUN_ALL = """
const done = arguments[0], app = window.jupyterapp, all = "notebook:run-all-cells";
if (!app || !app.commands.isEnabled(all)) done(false);
else app.commands.execute(all).then(() => done(true), () => done(false));
"""

pytestmark = pytest.mark.skipif(
    not (CHROMIUM and DRIVER), reason="no chromium and chromedriver (Debian: chromium-driver)"
)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    options = webdriver.ChromeOptions()
    options.binary_location = str(CHROMIUM)
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('chromium')}"):
        options.add_argument(flag)
    options.add_argument(f"--window-size={LAPTOP_PX[0]},{LAPTOP_PX[1]}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """JupyterLab over a copy of the lesson; gives the lesson's address."""
    folder = tmp_path_factory.mktemp("lab")
    shutil.copy(LESSON, folder)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    token = secrets.token_hex(8)
    asked = [
        *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"),
        *("--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"),
        *(f"--IdentityProvider.token={token}", f"--ServerApp.root_dir={folder}"),
        *("--LabApp.expose_app_in_browser=True", "--LabApp.news_url=None"),
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    ]
    own = {
        name: str(folder / f".{name.lower()}")
        for name in (
            *("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR"),
            *("JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR"),
        )
    }
    # Its reader trusts the lesson; a page that is not trusted shows what it stores, at rest.
    trust = [sys.executable, "-m", "jupyter", "trust", str(folder / LESSON.name)]
    subprocess.run(trust, env={**os.environ, **own}, check=True, capture_output=True)
    with (folder / "log").open("w") as log:
        server = subprocess.Popen(asked, env={**os.environ, **own}, stdout=log, stderr=log)
    try:
        within(30.0, lambda: urlopen(f"http://127.0.0.1:{port}/api?token={token}").status == 200)
        yield f"http://127.0.0.1:{port}/lab/tree/{LESSON.name}?token={token}&reset"
    finally:
        server.terminate()
        server.wait(20.0)


def within(seconds: float, done: Callable[[], Any]) -> Any:
    """Ask until the answer is true, and give it."""
    ends = time.monotonic() + seconds
    while True:
        try:
            if answer := done():
                return answer
        except Exception:
            # Not there yet: a server that starts, an element that a page is about to draw.
            if time.monotonic() > ends:
                raise
        assert time.monotonic() < ends, "it did not come"
        time.sleep(0.2)


def drawing(browser: webdriver.Chrome, picture: str) -> ElementTree.Element:
    """The one drawing that is in sight."""
    (shown,) = (
        image.get_attribute("src")
        for image in browser.find_elements(By.CSS_SELECTOR, f"{picture} img")
        if image.is_displayed()
    )
    return ElementTree.fromstring(unquote(str(shown).split(",", 1)[1]))


def chain_force_n(browser: webdriver.Chrome, picture: str) -> float:
    """The chain's force that the picture in sight says."""
    words = [text.text or "" for text in drawing(browser, picture).iter(f"{SVG}text")]
    (force,) = (match for match in words if re.fullmatch(r"chain \d+ N", match))
    return float(force.split()[1])


def longest_chain_arrow(browser: webdriver.Chrome, picture: str) -> float:
    """Length in pixels of the pull drawn at the chain's ends, the only lines 3 wide."""
    lengths = [0.0]
    for line in drawing(browser, picture).iter(f"{SVG}polyline"):
        if line.get("stroke-width") == "3.0":
            ends = [tuple(map(float, at.split(","))) for at in line.attrib["points"].split()]
            lengths.append(math.dist(ends[0], ends[-1]))
    return max(lengths)


def press(element: WebElement, key: str, times: int) -> None:
    for _ in range(times):
        element.send_keys(key)


def errors_of(browser: webdriver.Chrome) -> list[str]:
    """What the browser's console calls severe, but for what is not to be had without a network."""
    return [
        entry["message"]
        for entry in browser.get_log("browser")
        if entry["level"] == "SEVERE" and "net::ERR" not in entry["message"]
    ]


def test_the_slider_moves_the_force_on_a_plain_page(
    browser: webdriver.Chrome, tmp_path: Path
) -> None:
    """No server, no kernel, no network: the stored output alone."""
    cells = nbformat.read(LESSON, as_version=4).cells
    (stored,) = (
        output.data["text/html"]
        for cell in cells
        for output in cell.get("outputs", ())
        if "hangarc-slider" in output.get("data", {}).get("text/html", "")
    )
    page = tmp_path / "page.html"
    page.write_text(f"<!doctype html><meta charset='utf-8'>{stored}", encoding="utf-8")
    errors_of(browser)
    browser.get(page.as_uri())
    slider = browser.find_element(By.CSS_SELECTOR, "input[type=range]")
    assert chain_force_n(browser, ".hangarc-slider") == 0.0
    press(slider, Keys.ARROW_RIGHT, 20)
    force_n = chain_force_n(browser, ".hangarc-slider")
    closing = ha.close(ha.lesson.small_hang(5, splays_deg=[2, 3, 4, 5]), 0.0)
    assert force_n == round(closing.closing_force_n)
    said = browser.find_element(By.TAG_NAME, "output").text
    assert f"pulling with {force_n:.0f} N; 4 of 4" in said
    assert longest_chain_arrow(browser, ".hangarc-slider") > 0.0
    assert errors_of(browser) == []


def test_the_slider_moves_the_force_in_jupyterlab(browser: webdriver.Chrome, lab: str) -> None:
    closing = ha.close(ha.lesson.small_hang(5, splays_deg=[2, 3, 4, 5]), 0.0)
    browser.get(lab)
    # Stored states: it moves before any cell has run.
    slide(browser, closing)
    browser.find_element(By.CSS_SELECTOR, ".jp-MarkdownCell").click()
    browser.set_script_timeout(30.0)
    within(20.0, lambda: run_all(browser))
    slide(browser, closing)
    shot(browser, "lab")
    assert errors_of(browser) == []


def slide(browser: webdriver.Chrome, closing: ha.closing.Closing) -> None:
    """Move the slider from the free hang to the closed one, and see the drawn force follow."""
    picture = ".jp-OutputArea-output .widget-vbox"
    handle = within(
        30.0, lambda: browser.find_element(By.CSS_SELECTOR, ".widget-hslider .noUi-handle")
    )
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", handle)
    assert within(10.0, lambda: f"{chain_force_n(browser, picture):.0f}") == "0"
    assert longest_chain_arrow(browser, picture) == 0.0
    press(handle, Keys.ARROW_RIGHT, 10)
    half_n = within(5.0, lambda: chain_force_n(browser, picture))
    drawn = longest_chain_arrow(browser, picture)
    assert 0.0 < half_n < closing.closing_force_n
    assert drawn > 0.0
    press(handle, Keys.END, 1)
    closed_n = within(5.0, lambda: max(chain_force_n(browser, picture) - half_n, 0.0)) + half_n
    assert closed_n == round(closing.closing_force_n)
    # To scale, but for the head in which an arrow ends.
    assert longest_chain_arrow(browser, picture) > drawn


def run_all(browser: webdriver.Chrome) -> bool:
    """Run every cell once the kernel is there; whether all have run."""
    return bool(browser.execute_async_script(RUN_ALL))


def shot(browser: webdriver.Chrome, name: str) -> None:
    """Keep a picture of the window where the environment asks for it."""
    if folder := os.environ.get("HANGARC_SCREENSHOTS"):
        browser.save_screenshot(str(Path(folder) / f"{name}.png"))
