"""In-app help: Markdown files kept beside the code they explain, and the file formats of the worked examples."""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings
from django.utils.safestring import SafeString, mark_safe
from markdown_it import MarkdownIt

APPS = ("labsite", "specimens", "trials", "reports", "calibration")
FORMATS = {"judge-file": "worked/README.md", "climate-file": "worked/climate/README.md"}
"""Slug to the page in fixtures/ that documents a format; the same text serves both readers."""
_TITLE = re.compile(r"^# (.+)\n", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class HelpPage:
    """One page: its address, its title, and the rest as HTML."""

    slug: str
    title: str
    html: SafeString


@cache
def index() -> tuple[HelpPage, ...]:
    """All pages by title."""
    files = {file.stem: file for app in APPS for file in sorted((settings.BASE_DIR / app / "help").glob("*.md"))}
    files |= {slug: settings.FIXTURES_DIR / name for slug, name in FORMATS.items()}
    return tuple(sorted((_read(slug, file) for slug, file in files.items()), key=lambda page: page.title))


def page(slug: str) -> HelpPage | None:
    """One page, or None."""
    return next((found for found in index() if found.slug == slug), None)


def _read(slug: str, file: Path) -> HelpPage:
    text = file.read_text(encoding="utf-8")
    title = _TITLE.search(text)
    # The preset with raw HTML switched off: what looks like markup in a text is shown, never run.
    html = MarkdownIt("js-default").render(_TITLE.sub("", text, count=1))
    return HelpPage(slug, title[1].strip() if title else slug, mark_safe(html))  # noqa: S308  (rendered without raw HTML)
