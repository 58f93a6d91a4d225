"""The check of a built book sees an empty site, a dead link, an outside load and a picture without words."""

from __future__ import annotations

import built
import pytest

FILLER = "<p>" + "words " * 1000 + "</p>"


def site(tmp_path, **pages):
    """A book of one document and its built pages."""
    book, html = tmp_path / "book", tmp_path / "html"
    html.mkdir()
    book.mkdir()
    (book / "_toc.yml").write_text(
        "format: jb-book\nroot: intro\nparts:\n  - caption: One\n    chapters:\n      - file: chapters/one\n"
    )
    (book / "chapters").mkdir()
    (book / "chapters" / "one.ipynb").write_text("{}")
    (html / "chapters").mkdir()
    whole = {
        "intro": f"<html><body><h1>Book</h1>{FILLER}<a href='chapters/one.html#there'>x</a></body></html>",
        "one": f"<html><body><h1 id='there'>One</h1><div class=\"cell_output x\"></div>{FILLER}</body></html>",
    }
    for name, text in {**whole, **pages}.items():
        if text is not None:
            (html / ("intro.html" if name == "intro" else f"chapters/{name}.html")).write_text(text)
    return book, html


def page(inside: str) -> str:
    return f"<html><body><h1 id='there'>One</h1><div class=\"cell_output\"></div>{FILLER}{inside}</body></html>"


def test_a_whole_site_passes(tmp_path):
    assert built.complaints(*site(tmp_path)) == []


def test_documents_are_those_of_the_table_of_contents(tmp_path):
    book, _ = site(tmp_path)
    assert built.documents(book) == ["intro", "chapters/one"]


@pytest.mark.parametrize(
    ("one", "says"),
    [
        (None, "no page was built"),
        ("<html><body><h1 id='there'>One</h1><div class=\"cell_output\"></div></body></html>", "the page is empty"),
        (f"<html><body><h1 id='there'>One</h1>{FILLER}</body></html>", "no cell was run"),
        (page("<script src='https://cdn.example.org/x.js'></script>"), "loads https://cdn.example.org"),
        (page("<script src='//cdn.example.org/x.js'></script>"), "loads //cdn.example.org"),
        (page("<link rel='stylesheet' href='https://fonts.example.org/css'>"), "loads https://fonts.example.org"),
        (page("<img alt='a' src='http://pictures.example.org/a.gif'>"), "loads http://pictures.example.org"),
        (page("<style>@import 'https://fonts.example.org/a.css';</style>"), "loads https://fonts.example.org"),
        (page("<style>p{background:url(//fonts.example.org/a)}</style>"), "loads //fonts.example.org"),
        (page("<script>const later = 'https://server.example.org/x'</script>"), "loads https://server.example.org"),
        (page("<a href='nowhere.html'>x</a>"), "nowhere.html leads nowhere"),
        (page("<a href='../intro.html#missing'>x</a>"), "nothing is called ../intro.html#missing"),
        (page("<img src='../intro.html'>"), "picture without words"),
        (page("<img alt='../_images/x.png' src='../intro.html'>"), "picture without words"),
    ],
)
def test_what_is_wrong_is_said(tmp_path, one, says):
    found = built.complaints(*site(tmp_path, one=one))
    assert any(says in sentence for sentence in found), found


def test_a_link_that_a_reader_follows_is_no_load(tmp_path):
    found = built.complaints(*site(tmp_path, one=page("<a href='https://example.org/'>x</a>")))
    assert found == []


def test_a_style_sheet_is_read_too(tmp_path):
    book, html = site(tmp_path)
    (html / "x.css").write_text("@font-face{src:url(https://fonts.example.org/a.woff)}")
    assert built.complaints(book, html) == ["x.css: loads https://fonts.example.org/a.woff"]
