"""A real browser without a window, for the tests and for the pictures of the pages."""

import base64
import os
import shutil
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --hide-scrollbars "
    "--disable-background-networking --disable-component-update --disable-sync"
).split()
#: Seconds to wait for what a page should show.
PATIENCE_S = 15


def rules_of_accessibility():
    """Return the path of axe.min.js, or nothing: named by AXE_CORE, else out of its package."""
    named = os.environ.get("AXE_CORE", "")
    package = find_spec("axe_core_python")
    if named or package is None or package.origin is None:
        return named
    path = Path(package.origin).with_name("axe.min.js")
    return str(path) if path.is_file() else ""


AXE = rules_of_accessibility()


def chromium():
    """Return where Chromium and its driver are, or nothing."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("chrome")
    driver = shutil.which("chromedriver")
    return (found, driver) if found and driver else None


def missing():
    """Return what a browser test lacks here."""
    lacks = []
    if find_spec("selenium") is None:
        lacks.append("selenium")
    if chromium() is None:
        lacks.append("chromium and chromedriver")
    return lacks


class Browser:
    """One browser of a given width and theme, with or without script."""

    def __init__(self, width=1280, height=900, dark=False, script=True):
        from selenium import webdriver
        from selenium.webdriver.chrome.service import Service

        browser, driver = chromium()
        self.folder = tempfile.mkdtemp(prefix="kb-browser-")
        options = webdriver.ChromeOptions()
        options.binary_location = browser
        for flag in [*FLAGS, f"--user-data-dir={self.folder}"]:
            options.add_argument(flag)
        options.add_experimental_option(
            "prefs", {"download.default_directory": self.folder, "download.prompt_for_download": 0}
        )
        self.driver = webdriver.Chrome(options=options, service=Service(driver))
        self.driver.set_page_load_timeout(30)
        self.script = script
        self.tell(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 500,
        )
        self.theme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.tell("Emulation.setEmulatedMedia", features=[self.theme])
        if not script:
            self.tell("Emulation.setScriptExecutionDisabled", value=True)

    def tell(self, command, **arguments):
        return self.driver.execute_cdp_cmd(command, arguments)

    def close(self):
        self.driver.quit()
        shutil.rmtree(self.folder, ignore_errors=True)

    # -- looking -------------------------------------------------------------------------------

    def all(self, css):
        return self.driver.find_elements("css selector", css)

    def one(self, css, words=""):
        """Return an element that holds the words, as soon as there is one."""
        return self.soon(
            lambda: next((e for e in self.all(css) if words in e.text), None), f"{css} {words!r}"
        )

    def see(self, words):
        """Wait until the page shows some words."""
        self.one("body", words)

    def gone(self, words):
        """Wait until the page is another one, and does not show some words."""
        self.soon(lambda: [e for e in self.all("body") if words not in e.text], f"not {words!r}")

    def soon(self, look, what):
        """Return what a look finds, looking again while a page loads."""
        from selenium.common.exceptions import WebDriverException

        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            try:
                found = look()
            except WebDriverException:  # the page changes under the eye
                found = None
            if found:
                return found
            time.sleep(0.05)
        raise AssertionError(f"{what} is not on {self.driver.title!r}")

    def run(self, code, *arguments):
        return self.driver.execute_script(code, *arguments)

    def picture(self, path, tallest=2400, top=0):
        """Write a picture of the page from a height on, as far as it goes or as tall as wanted."""
        size = self.tell("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": top, "width": size["width"], "scale": 1}
        clip["height"] = min(size["height"] - top, tallest)
        shot = self.tell("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
        Path(path).write_bytes(base64.b64decode(shot["data"]))

    def printed(self):
        """Return the words of the page as it is printed, once it has gone through the printer."""
        paper = base64.b64decode(self.tell("Page.printToPDF", printBackground=False)["data"])
        assert paper.startswith(b"%PDF") and len(paper) > 10_000
        self.tell("Emulation.setEmulatedMedia", media="print", features=[self.theme])
        words = self.one("body").text
        self.tell("Emulation.setEmulatedMedia", media="", features=[self.theme])
        return words

    # -- doing ---------------------------------------------------------------------------------

    def press(self, *keys):
        from selenium.webdriver.common.action_chains import ActionChains

        ActionChains(self.driver).send_keys(*keys).perform()

    def tab_to(self, css, words="", most=250):
        """Move on with the Tab key alone until an element has the focus; return it."""
        from selenium.webdriver.common.keys import Keys

        self.one(css, words)
        wanted = [e for e in self.all(css) if words in e.text]
        for _ in range(most):
            self.press(Keys.TAB)
            active = self.driver.switch_to.active_element
            if active in wanted:
                return active
        raise AssertionError(f"{css} {words!r} is not reached by the keyboard")
