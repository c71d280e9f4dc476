"""A real Chromium for the browser tests; every page is watched for errors and broken policy."""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import axe_playwright_python
import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from labsite.ledger.models import User

LAUNCH = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
"""Without these a closed network sees attempts to connect."""
AXE = Path(axe_playwright_python.__file__).parent / "axe.min.js"
RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
}
DESK, TABLET = (1280, 900), (820, 1180)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One Chromium for a module of tests.

    Playwright keeps an event loop running in this thread while it lives, and Django refuses database work beside a
    running loop. No coroutine of ours touches the database, so the refusal is lifted exactly as long as the loop runs.
    """
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        executable = os.environ.get("CHROMIUM", "/usr/bin/chromium")
        browser = playwright.chromium.launch(executable_path=executable, headless=True, args=list(LAUNCH))
        yield browser
        browser.close()


@dataclass
class Problems:
    """What the browsers complained about, apart from what a test causes on purpose."""

    found: list[str] = field(default_factory=list)
    expected: list[str] = field(default_factory=list)

    def expect(self, part: str) -> None:
        """A complaint with `part` in it is caused on purpose."""
        self.expected.append(part)

    def left(self) -> list[str]:
        """Complaints that nobody expected."""
        return [one for one in self.found if not any(part in one for part in self.expected)]


@pytest.fixture
def problems() -> Problems:
    """Where the browsers' complaints are gathered; they are looked at when the browsers close."""
    return Problems()


@pytest.fixture
def opened(chromium: Browser, live_server: object, problems: Problems) -> Iterator[Callable[..., Page]]:
    """Open a browser of its own, signed in as a person; at the end nothing may have gone wrong in any of them."""
    contexts: list[BrowserContext] = []

    def make(person: User | None = None, size: tuple[int, int] = DESK) -> Page:
        base = str(live_server)
        context = chromium.new_context(base_url=base, viewport={"width": size[0], "height": size[1]})
        contexts.append(context)
        if person is not None:
            client = Client()
            client.force_login(person)
            cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": base}])
        page = context.new_page()
        page.on("pageerror", lambda error: problems.found.append(f"error: {error}"))
        page.on("console", lambda said: problems.found.append(_console(said)) if said.type == "error" else None)
        return page

    yield make
    for context in contexts:
        context.close()
    assert problems.left() == []


def _console(said: ConsoleMessage) -> str:
    return f"console: {said.text} {said.location['url']}"


@pytest.fixture
def accessible() -> Callable[[Page], None]:
    """Hold a page against axe (WCAG 2 A to 2.2 AA and best practice), also while its clock stands still."""

    def hold(page: Page) -> None:
        page.evaluate(AXE.read_text(encoding="utf-8"))
        page.evaluate("options => { axe.run(options).then((found) => { window.axeFound = found; }); }", RULES)
        while not page.evaluate("Boolean(window.axeFound)"):
            page.clock.run_for(1)  # axe takes breaths by timers, which stand still with the clock
        found = page.evaluate("() => { const found = window.axeFound; delete window.axeFound; return found; }")
        assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]] == []

    return hold
