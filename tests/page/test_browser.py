"""The page in a browser without a window: phone and desk, light and dark, by mouse and by keyboard, on paper.

Without a browser these are skipped; with LOOPNET_NEEDS_BROWSER set, as .ci/run sets it, they fail.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from loopnet.page import report_html

from .conftest import DATE, EVIL

WIDTHS = {"phone": 360, "desk": 1280}
SWITCHES = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
            "--disable-background-networking", "--disable-component-update", "--disable-sync")


def missing(why: str) -> None:
    if os.environ.get("LOOPNET_NEEDS_BROWSER"):
        pytest.fail(f"LOOPNET_NEEDS_BROWSER is set, but {why}")
    pytest.skip(why)


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """One browser for all tests; asked for first, so that nothing is assessed where there is none."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    driver = shutil.which("chromedriver")
    if program is None or driver is None:
        missing("there is no chromium with chromedriver (Debian: chromium, chromium-driver)")
    try:
        from selenium import webdriver
    except ImportError:
        missing("selenium is not installed (pip install 'loopnet[test]')")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for switch in (*SWITCHES, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(switch)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    made = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield made
    made.quit()


def open_at(browser: Any, page: Path, width: int, scheme: str) -> None:
    """Load the page afresh on a screen of this width, in this colour scheme; drop what was logged before."""
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
        "width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 500})
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": [
        {"name": "prefers-color-scheme", "value": scheme}]})
    for kind in ("browser", "performance"):
        browser.get_log(kind)
    browser.get(page.as_uri())


def asked_for(browser: Any) -> list[str]:
    """Addresses that the page asked for."""
    said = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    return [m["params"]["request"]["url"] for m in said if m["method"] == "Network.requestWillBeSent"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS.values(), ids=WIDTHS)
def test_no_error_no_request_no_sideways_scroll(browser, page, width, scheme):
    open_at(browser, page, width, scheme)
    assert browser.execute_script("return innerWidth") == width
    for open_all in (False, True):
        browser.execute_script("for (const d of document.querySelectorAll('details')) d.open = arguments[0]", open_all)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    paper = browser.execute_script("return getComputedStyle(document.body).backgroundColor")
    ink = browser.execute_script("return getComputedStyle(document.querySelector('svg text')).fill")
    assert (paper, ink != "rgb(34, 38, 43)") == (
        ("rgb(255, 255, 255)", False) if scheme == "light" else ("rgb(26, 27, 28)", True))
    assert browser.get_log("browser") == []
    assert asked_for(browser) == [page.as_uri()]


def test_tables_and_pictures_scroll_in_their_own_box(browser, page):
    open_at(browser, page, WIDTHS["phone"], "light")
    wide = browser.execute_script("""
        return [...document.querySelectorAll('.scroll, figure')].filter(b => b.scrollWidth > b.clientWidth)
          .map(b => [getComputedStyle(b).overflowX, b.tabIndex, b.getAttribute('aria-label') !== null])""")
    assert len(wide) > 5
    assert all(box == ["auto", 0, True] for box in wide)  # by keyboard too


def test_nothing_ran_and_the_name_is_shown(browser, page):
    from selenium.common.exceptions import NoAlertPresentException

    open_at(browser, page, WIDTHS["desk"], "light")
    with pytest.raises(NoAlertPresentException):
        browser.switch_to.alert.accept()
    assert EVIL in browser.find_element("css selector", "#ranking table").text
    assert browser.execute_script("return [...document.querySelectorAll('svg text')].some("
                                  "t => t.textContent.includes('<script>'))")
    assert browser.execute_script("return JSON.parse(document.getElementById('figures').textContent)[1].name") == EVIL


def test_the_policy_stops_what_is_slipped_in(browser, page, tmp_path):
    """Even if a text came through unescaped, it would not run, nor load."""
    marked = tmp_path / "slipped.html"
    text = page.read_text(encoding="utf-8")
    slipped = "<script>window.ran = 1</script><img src='https://127.0.0.1:9/x.png' onerror='window.ran = 2'>"
    marked.write_text(text.replace("</main>", f"{slipped}</main>"), encoding="utf-8")
    open_at(browser, marked, WIDTHS["desk"], "light")
    assert browser.execute_script("return window.ran === undefined")
    assert any("Content Security Policy" in entry["message"] for entry in browser.get_log("browser"))


# -- sorting -----------------------------------------------------------------------------------------------------------


def column(browser: Any, place: int) -> list[str]:
    return browser.execute_script(
        "return [...document.querySelectorAll('#ranking table.sortable tbody tr')].map(r => r.cells[arguments[0]]"
        ".textContent)", place)


def heads(browser: Any) -> list[Any]:
    return browser.find_elements("css selector", "#ranking table.sortable thead th")


def place_of(browser: Any, word: str) -> int:
    return next(k for k, head in enumerate(heads(browser)) if head.text.startswith(word))


def test_sorting_by_click_and_by_keyboard(browser, page):
    from selenium.webdriver.common.keys import Keys

    open_at(browser, page, WIDTHS["desk"], "light")
    place = place_of(browser, "cost")
    first = column(browser, place)
    assert first == sorted(first, key=float)
    assert len(set(first)) == 2
    assert [head.get_attribute("aria-sort") for head in heads(browser)] == ["none"] * len(heads(browser))
    button = heads(browser)[place].find_element("tag name", "button")
    button.click()
    assert (heads(browser)[place].get_attribute("aria-sort"), column(browser, place)) == ("ascending", first)
    button.send_keys(Keys.ENTER)
    assert (heads(browser)[place].get_attribute("aria-sort"), column(browser, place)) == ("descending", first[::-1])
    assert "Sorted by cost" in browser.find_element("id", "told").get_attribute("textContent")
    name = place_of(browser, "plant")
    heads(browser)[name].find_element("tag name", "button").send_keys(Keys.SPACE)
    assert column(browser, name) == sorted(column(browser, name), key=str.lower)
    assert [head.get_attribute("aria-sort") for head in heads(browser)].count("none") == len(heads(browser)) - 1


def test_numbers_are_sorted_as_numbers_and_blanks_come_last(browser, page):
    """1,000 comes after 9; what is not known is last both ways."""
    open_at(browser, page, WIDTHS["desk"], "light")
    place = place_of(browser, "capital")
    script = """
        const body = document.querySelector('#ranking table.sortable tbody');
        body.append(body.rows[0].cloneNode(true), body.rows[0].cloneNode(true));
        [['9', '9'], ['1,000', '1000'], ['none', null], ['10', '10']].forEach(([text, by], k) => {
          const cell = body.rows[k].cells[arguments[0]];
          cell.textContent = text;
          if (by === null) delete cell.dataset.by; else cell.dataset.by = by;
        })"""
    browser.execute_script(script, place)
    button = heads(browser)[place].find_element("tag name", "button")
    button.click()
    assert column(browser, place) == ["9", "10", "1,000", "none"]
    button.click()
    assert column(browser, place) == ["1,000", "10", "9", "none"]


def test_a_button_unfolds_every_table(browser, page):
    open_at(browser, page, WIDTHS["phone"], "dark")
    button = browser.find_element("css selector", "#unfold button")
    shut = "return document.querySelectorAll('details:not([open])').length"
    assert browser.execute_script(shut) > 10
    button.click()
    assert browser.execute_script(shut) == 0
    assert button.text == "Fold all tables"
    button.click()
    assert browser.execute_script("return document.querySelectorAll('details[open]').length") == 0


# -- without script, and on paper --------------------------------------------------------------------------------------


def test_whole_without_script(browser, page):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        open_at(browser, page, WIDTHS["desk"], "light")
        assert browser.find_elements("css selector", "button") == []
        browser.find_element("css selector", "details summary").click()
        assert browser.find_element("css selector", "details table").is_displayed()
        assert browser.get_log("browser") == []
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_prints_to_paper(browser, page):
    open_at(browser, page, WIDTHS["desk"], "dark")
    wide = "return document.documentElement.scrollWidth"  # of A4 less its margins, at 96 dots an inch
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    assert browser.execute_script("return getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    style = "return getComputedStyle(document.querySelector(arguments[0]))[arguments[1]]"
    assert [browser.execute_script(style, where, "overflowX") for where in (".scroll", "figure", "pre")] == [
        "visible"] * 3  # nothing is cut off where nobody can scroll
    assert browser.execute_script(style, "nav", "display") == "none"
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
        "width": 695, "height": 980, "deviceScaleFactor": 1, "mobile": False})
    assert browser.execute_script(wide) <= 696
    browser.execute_script("for (const d of document.querySelectorAll('details')) d.open = true")
    assert browser.execute_script(wide) <= 696
    browser.execute_script("for (const d of document.querySelectorAll('details')) d.open = false")
    made = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})["data"])
    assert made.startswith(b"%PDF-")
    assert 4 <= made.count(b"/Type /Page\n") + made.count(b"/Type /Page ") <= 40


def test_a_page_about_one_plant(browser, found, tmp_path):
    page = tmp_path / "one.html"
    page.write_text(report_html(found[0], date=DATE), encoding="utf-8")
    open_at(browser, page, WIDTHS["phone"], "light")
    assert browser.execute_script("return document.documentElement.scrollWidth") <= WIDTHS["phone"]
    assert browser.get_log("browser") == []
