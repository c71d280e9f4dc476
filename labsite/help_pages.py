"""In-app help: Markdown-like text files kept beside the code they explain."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

FOLDERS = tuple(
    Path(__file__).resolve().parent.parent / app / "help"
    for app in ("labsite", "specimens", "trials", "reports", "calibration")
)


@dataclass(frozen=True, slots=True)
class HelpPage:
    """One page: its address, title and blocks (kind, text), where kind is "h2", "p", "li" or "code"."""

    slug: str
    title: str
    blocks: tuple[tuple[str, str], ...]


@cache
def index() -> tuple[HelpPage, ...]:
    """All pages by title."""
    files = (file for folder in FOLDERS for file in sorted(folder.glob("*.md")))
    return tuple(sorted((_read(file) for file in files), key=lambda page: page.title))


def page(slug: str) -> HelpPage | None:
    """One page, or None."""
    return next((found for found in index() if found.slug == slug), None)


def _read(file: Path) -> HelpPage:
    title, fenced = file.stem, False
    blocks: list[tuple[str, str]] = []
    paragraph: list[str] = []

    def close(kind: str = "p") -> None:
        if paragraph:
            blocks.append((kind, ("\n" if kind == "code" else " ").join(paragraph)))
            paragraph.clear()

    for line in file.read_text(encoding="utf-8").splitlines():
        if line.startswith("```"):
            close("code" if fenced else "p")
            fenced = not fenced
        elif fenced:
            paragraph.append(line)
        elif line.startswith("# "):
            title = line[2:].strip()
        elif line.startswith("## "):
            close()
            blocks.append(("h2", line[3:].strip()))
        elif line.startswith("- "):
            close()
            blocks.append(("li", line[2:].strip()))
        elif line.startswith("  ") and blocks and blocks[-1][0] == "li" and not paragraph and line.strip():
            blocks[-1] = ("li", f"{blocks[-1][1]} {line.strip()}")
        elif line.strip():
            paragraph.append(line.strip())
        else:
            close()
    close()
    return HelpPage(slug=file.stem, title=title, blocks=tuple(blocks))
