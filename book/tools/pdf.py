"""The whole handbook as one PDF: ``python book/tools/pdf.py [--out FILE]``, after ``make book``.

Chromium prints each built page, without a network and with every folded answer open, and the pages are joined in the
order of the table of contents, with a bookmark for each part and page. Not by way of LaTeX or of one long page: both
lose what the chapters fold.
"""

from __future__ import annotations

import argparse
import io
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import built
import yaml

BOOK = Path(__file__).resolve().parents[1]
HTML = BOOK / "_build" / "html"
OUT = BOOK.parent / "out" / "same_sky.pdf"
#: What the browser prints under each page.
_FOOT = (
    '<div style="font-size:8px;width:100%;text-align:center;color:#555">'
    '<span class="title"></span> · <span class="pageNumber"></span></div>'
)
#: Paper instead of screen: light, no furniture, derivations and answers open; only the code of figures stays away.
_UNFOLD = """() => {
  document.documentElement.dataset.theme = 'light';
  document.querySelectorAll('details').forEach(e => { e.open = true; });
  document.querySelectorAll('.toggle-hidden').forEach(e => e.classList.remove('toggle-hidden'));
}"""
_STYLE = """
.bd-header-article, .bd-sidebar-primary, .bd-sidebar-secondary, .bd-sidebar, .prev-next-footer, .bd-footer,
.bd-footer-content, details.above-input, .toggle-button,
.copybtn, .toggle-button-hidden, #pst-back-to-top { display: none !important; }
.bd-main, .bd-content, .bd-article-container, .bd-page-width { display: block !important; max-width: 100% !important; }
.cell, .cell_input, .cell_output, .cell .highlight { display: block !important; }
figure, .cell_input, .cell_output img, tr, pre { break-inside: avoid; }
h1, h2, h3 { break-after: avoid; }
.bd-article table { font-size: 0.8rem; }
.bd-article .printed table, .bd-article .columns table { font-size: 0.66rem; margin-bottom: 0.4rem; }
.bd-article .printed td, .bd-article .printed th, .bd-article .columns td { padding: 0.08rem 0.3rem; }
"""


def chromium() -> str | None:
    """The browser's path; None where there is none."""
    return os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")


def parts(book: Path = BOOK) -> list[tuple[str, list[str]]]:
    """Captions and their documents, in the order of the table of contents; the first part has no caption."""
    toc = yaml.safe_load((book / "_toc.yml").read_text(encoding="utf-8"))
    found = [("", [toc["root"]])]
    for part in toc.get("parts", []):
        found.append((part["caption"], [one["file"] for one in part["chapters"] if one["file"] != "genindex"]))
    return found


def printed(html: Path, names: list[str], browser) -> Iterator[tuple[str, bytes]]:
    """Title and PDF of each page, from a running Chromium. Raises RuntimeError where a page asks the network for
    something.
    """
    context = browser.new_context(offline=True, color_scheme="light")
    try:
        for name in names:
            asked: list[str] = []
            page = context.new_page()
            page.on("request", lambda request, seen=asked: seen.append(request.url))
            page.goto((html / f"{name}.html").as_uri(), wait_until="load")
            page.wait_for_function("() => !window.MathJax || !MathJax.startup || MathJax.startup.document")
            page.evaluate("() => window.MathJax && MathJax.startup && MathJax.startup.promise")
            page.evaluate(_UNFOLD)
            page.add_style_tag(content=_STYLE)
            outside = [url for url in asked if not url.startswith(("file:", "data:", "blob:"))]
            if outside:
                raise RuntimeError(f"{name}: asks for {outside[0]}")
            title = page.title().partition(" — ")[0].partition(" - ")[0]
            margin = {"top": "16mm", "bottom": "18mm", "left": "16mm", "right": "16mm"}
            yield (
                title,
                page.pdf(
                    format="A4",
                    scale=0.72,
                    margin=margin,
                    print_background=True,
                    display_header_footer=True,
                    header_template="<span></span>",
                    footer_template=_FOOT,
                ),
            )
            page.close()
    finally:
        context.close()


def join(pages: Iterator[tuple[str, bytes]], order: list[tuple[str, list[str]]], out: Path) -> tuple[int, int]:
    """Join the pages with bookmarks; write beside the place, then put it there. Sheets and documents."""
    from pypdf import PdfWriter

    writer = PdfWriter()
    writer.add_metadata({"/Title": "Same Sky", "/Author": "the Same Sky authors"})
    documents = 0
    for caption, names in order:
        above = None
        for _ in names:
            title, contents = next(pages)
            first = len(writer.pages)
            writer.append(io.BytesIO(contents), import_outline=False)
            if caption and above is None:
                above = writer.add_outline_item(title=caption, page_number=first)
            writer.add_outline_item(title=title, page_number=first, parent=above)
            documents += 1
    out.parent.mkdir(parents=True, exist_ok=True)
    draft = out.with_suffix(".draft")
    writer.write(draft)
    draft.replace(out)
    return len(writer.pages), documents


def main(arguments: list[str] | None = None) -> int:
    """Print and join, and say how many sheets it became."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=OUT)
    given = parser.parse_args(arguments)
    browser = chromium()
    missing = [name for name in built.documents(BOOK) if not (HTML / f"{name}.html").is_file()]
    if missing:
        print(f"not built yet: {', '.join(missing[:3])}; run `make book` first", file=sys.stderr)
        return 2
    if browser is None:
        print("no Chromium here; CHROMIUM=/path names one", file=sys.stderr)
        return 2
    order = parts()
    names = [name for _, part in order for name in part]
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        sheets, documents = join(printed(HTML, names, running), order, given.out)
        running.close()
    print(f"{documents} documents on {sheets} sheets: {given.out}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
