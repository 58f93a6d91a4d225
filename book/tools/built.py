"""Is the built book whole, and does it stay at home?"""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import yaml

#: Tags and attributes through which a page loads something by itself; a link that a reader follows is not one.
LOADS = {
    "script": ("src",),
    "link": ("href",),
    "img": ("src", "srcset"),
    "source": ("src", "srcset"),
    "iframe": ("src",),
    "object": ("data",),
    "embed": ("src",),
    "video": ("src", "poster"),
    "audio": ("src",),
    "form": ("action",),
    "base": ("href",),
}
OUTSIDE = re.compile(r"(?:https?:)?//[\w.-]+\.\w+", re.IGNORECASE)
_STYLE_LOADS = re.compile(r"(?:url\(\s*|@import\s+)['\"]?((?:https?:)?//[^'\")\s]+)", re.IGNORECASE)


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.loads: list[str] = []
        self.targets: list[str] = []
        self.ids: set[str] = set()
        self.images: list[dict[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.loads += [given[name] for name in LOADS.get(tag, ()) if given.get(name)]
        self.ids |= {given[name] for name in ("id", "name") if given.get(name)}
        if tag == "a" and given.get("href"):
            self.targets.append(given["href"])
        if tag == "img":
            self.images.append(given)


def page(path: Path) -> _Page:
    """The page, taken apart."""
    parsed = _Page()
    parsed.feed(path.read_text(encoding="utf-8"))
    return parsed


def documents(book: Path) -> list[str]:
    """Every document that the table of contents promises, without ending."""
    contents = yaml.safe_load((book / "_toc.yml").read_text(encoding="utf-8"))
    found = [contents["root"]]

    def walk(node) -> None:
        if isinstance(node, dict):
            found.extend([node["file"]] if "file" in node else [])
            for value in node.values():
                walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    walk(contents.get("parts", contents.get("chapters", [])))
    return found


def pages(html: Path) -> list[Path]:
    """Every built page."""
    return sorted(path for path in html.rglob("*.html") if "_static" not in path.parts)


def complaints(book: Path, html: Path) -> list[str]:
    """What is wrong with the built book, in sentences; empty if nothing is."""
    return _missing(book, html) + _outside(html) + _dead_ends(html) + _unspoken(html)


def _missing(book: Path, html: Path) -> list[str]:
    """A green build can be an empty site."""
    said = []
    for name in documents(book):
        path = html / f"{name}.html"
        if not path.is_file():
            said.append(f"{name}: no page was built")
            continue
        text = path.read_text(encoding="utf-8")
        if "<h1" not in text or len(text) < 4_000:
            said.append(f"{name}: the page is empty")
        if (book / f"{name}.ipynb").is_file() and 'class="cell_output' not in text:
            said.append(f"{name}: no cell was run")
    return said


def _outside(html: Path) -> list[str]:
    """Whatever would be fetched from another machine as soon as a page is opened."""
    said = []
    for path in pages(html):
        text = path.read_text(encoding="utf-8")
        found = [address for address in page(path).loads if OUTSIDE.match(address.strip())]
        found += _STYLE_LOADS.findall(text)
        # Text of scripts inside the page: a library that asks a server later, when a button is pressed.
        for script in re.findall(r"<script[^>]*>(.*?)</script>", text, re.DOTALL):
            found += OUTSIDE.findall(script)
        said += [f"{path.relative_to(html)}: loads {address}" for address in sorted(set(found))]
    for path in html.rglob("*.css"):
        found = _STYLE_LOADS.findall(path.read_text(encoding="utf-8"))
        said += [f"{path.relative_to(html)}: loads {address}" for address in sorted(set(found))]
    return said


def _dead_ends(html: Path) -> list[str]:
    """Links and loads that lead nowhere inside the book."""
    parsed = {path.resolve(): page(path) for path in pages(html)}
    said = []
    for path, each in parsed.items():
        for target in {*each.targets, *each.loads}:
            if re.match(r"[a-z]+:|//", target) or target in ("", "#"):
                continue
            address, _, anchor = target.partition("#")
            place = (path.parent / address.partition("?")[0]).resolve() if address.partition("?")[0] else path
            if not place.exists():
                said.append(f"{path.relative_to(html.resolve())}: {target} leads nowhere")
            elif anchor and place in parsed and anchor not in parsed[place].ids:
                said.append(f"{path.relative_to(html.resolve())}: nothing is called {target}")
    return sorted(said)


def _unspoken(html: Path) -> list[str]:
    """Pictures that a reader who cannot see them knows nothing about."""
    said = []
    for path in pages(html):
        for image in page(path).images:
            alt = image.get("alt", "")
            if not alt or alt.endswith((".png", ".svg")):
                said.append(f"{path.relative_to(html)}: picture without words: {image.get('src')}")
    return said
