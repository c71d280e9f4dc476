"""From HTML to PDF: shipped fonts only, nothing fetched from anywhere, the same bytes every time."""

import atexit
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from weasyprint import Attachment

FONT_FOLDER = Path(__file__).resolve().parent / "fonts"
FONT_FAMILY = "'Lab Sans', 'Lab Math', 'Lab Marks'"
"""What every print sheet names as its font-family."""
FONT_FILES = {
    "NotoSans-Regular.ttf": ("Lab Sans", 400),
    "NotoSans-Bold.ttf": ("Lab Sans", 700),
    "NotoSansMath-operators.ttf": ("Lab Math", 400),
    "NotoSansSymbols2-marks.ttf": ("Lab Marks", 400),
}
_FONT_ADDRESS = "lab-font:"


@cache
def _print_setup() -> tuple[Any, Any, Any]:
    """The fetcher, the font configuration and the font sheet; loaded once per process, never at start."""
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    class ClosedFetcher(URLFetcher):
        """Hands out our fonts and data: addresses; anything else ends the rendering with an error."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            name = url.removeprefix(_FONT_ADDRESS)
            if url.startswith(_FONT_ADDRESS) and name in FONT_FILES:
                return URLFetcherResponse(url, body=(FONT_FOLDER / name).read_bytes())
            raise FatalURLFetchingError(f"a document asked for {url}")

    fetcher, fonts = ClosedFetcher(), FontConfiguration()
    # Let go of the fonts while Python still stands; at the very end their library complains.
    atexit.register(_print_setup.cache_clear)
    faces = "".join(
        f"@font-face {{ font-family: '{family}'; font-weight: {weight}; src: url('{_FONT_ADDRESS}{name}'); }}"
        for name, (family, weight) in FONT_FILES.items()
    )
    return fetcher, fonts, CSS(string=faces, font_config=fonts, url_fetcher=fetcher)


def pdf_from_html(
    html: str, *, css: str, attachments: tuple["Attachment", ...] = (), variant: str | None = None
) -> bytes:
    """Render one document. Raises weasyprint's FatalURLFetchingError when a template asks for a foreign address.

    The document's fonts must name only `FONT_FAMILY`. Dates come from the HTML's own meta elements, so that the
    same input gives the same bytes.
    """
    from weasyprint import CSS, HTML

    fetcher, fonts, faces = _print_setup()
    sheet = CSS(string=css, font_config=fonts, url_fetcher=fetcher)
    document = HTML(string=html, url_fetcher=fetcher, base_url="lab:")
    options: dict[str, Any] = {"pdf_variant": variant, "pdf_tags": True} if variant else {}
    return bytes(
        document.write_pdf(
            stylesheets=[faces, sheet], font_config=fonts, attachments=list(attachments) or None, **options
        )
    )


def missing_glyphs(text: str) -> tuple[str, ...]:
    """Characters of `text` that no shipped font can show, in the order of their first appearance."""
    covered = _covered()
    return tuple(
        dict.fromkeys(character for character in text if character.isprintable() and ord(character) not in covered)
    )


@cache
def _covered() -> frozenset[int]:
    from fontTools.ttLib import TTFont

    characters: set[int] = set()
    for name in FONT_FILES:
        with TTFont(FONT_FOLDER / name, lazy=True) as font:
            characters.update(font.getBestCmap())
    return frozenset(characters)
