"""The application in this process: no port, no network."""

import asyncio
import re
import tomllib

import pytest

from kb.store.seed import seed_folder
from kb.web.app import make_app
from tests.web.browser import AXE, missing


class Visitor:
    """Asks for pages one after the other, on one event loop."""

    def __init__(self, app):
        self.app = app
        self.loop = asyncio.new_event_loop()

    def ask(self, method, path, **more):
        return self.loop.run_until_complete(self.app.client.request(method, path, **more))

    def get(self, path, **more):
        return self.ask("GET", path, **more)

    def post(self, path, **more):
        return self.ask("POST", path, **more)

    def follow(self, path, **more):
        """Return the page at the end of the redirects."""
        answer = self.get(path, **more)
        for _ in range(3):
            if answer.status_code not in (302, 303):
                break
            answer = self.get(answer.headers["location"])
        return answer

    def start(self, demo="oyster-barrier"):
        """Return the packed state of a demonstration formula."""
        place = self.get(f"/bench?demo={demo}").headers["location"]
        return re.fullmatch(r"/bench\?s=([\w-]+)", place)[1]


@pytest.fixture(scope="session")
def web(base_path, tmp_path_factory):
    app = make_app(base_path, own=tmp_path_factory.mktemp("own") / "own.sqlite")
    visitor = Visitor(app)
    yield visitor
    from kb.web.plugin import crew_of

    crew_of(app).close()
    visitor.loop.close()


@pytest.fixture(scope="session")
def demo_text():
    """The text of a demonstration formula."""
    return (seed_folder() / "formulas" / "oyster-barrier.toml").read_text("utf-8")


@pytest.fixture(scope="session")
def demo_lines(demo_text):
    return [line["ingredient"] for line in tomllib.loads(demo_text)["line"]]


def pytest_terminal_summary(terminalreporter):
    """Say aloud what of a browser is missing: a skipped page is not a good one."""
    lacks = missing()
    if lacks:
        terminalreporter.write_line(
            f"NOT CHECKED: pages in a browser, for want of {' and '.join(lacks)}.", yellow=True
        )
    elif not AXE:
        terminalreporter.write_line(
            "NOT CHECKED: rules of accessibility, for want of axe-core-python.", yellow=True
        )
