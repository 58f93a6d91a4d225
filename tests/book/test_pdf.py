"""The PDF of the book: in order, with bookmarks, nothing folded, and no page that asks the network."""

from __future__ import annotations

import io

import pdf
import pytest
from pypdf import PdfReader, PdfWriter

CONTENTS = (
    "format: jb-book\nroot: intro\nparts:\n"
    "  - caption: One\n    chapters:\n      - file: chapters/a\n      - file: genindex\n"
    "  - caption: Two\n    chapters:\n      - file: chapters/b\n"
)


def blank(sheets: int) -> bytes:
    writer, contents = PdfWriter(), io.BytesIO()
    for _ in range(sheets):
        writer.add_blank_page(200, 200)
    writer.write(contents)
    return contents.getvalue()


@pytest.fixture
def book(tmp_path):
    (tmp_path / "_toc.yml").write_text(CONTENTS)
    return tmp_path


def test_parts_are_those_of_the_contents_without_the_index(book):
    assert pdf.parts(book) == [("", ["intro"]), ("One", ["chapters/a"]), ("Two", ["chapters/b"])]


def test_joined_in_order_with_bookmarks(book):
    out = book / "out" / "x.pdf"
    pages = iter([("Start", blank(1)), ("A", blank(3)), ("B", blank(2))])
    assert pdf.join(pages, pdf.parts(book), out) == (6, 3)
    read = PdfReader(out)
    start, one, below_one, two, below_two = read.outline
    named = [start, one, below_one[0], two, below_two[0]]
    assert [each.title for each in named] == ["Start", "One", "A", "Two", "B"]
    assert [read.get_destination_page_number(each) for each in named] == [0, 1, 1, 4, 4]
    assert not list(out.parent.glob("*.draft"))


def test_what_is_not_built_is_named(book, monkeypatch, capsys):
    monkeypatch.setattr(pdf, "BOOK", book)
    monkeypatch.setattr(pdf, "HTML", book)
    assert pdf.main(["--out", str(book / "x.pdf")]) == 2
    assert "not built yet: intro" in capsys.readouterr().err
    assert not (book / "x.pdf").exists()


@pytest.mark.browser
def test_folded_answers_are_printed(book, browser):
    (book / "a.html").write_text(
        "<html><head><title>A — Same Sky</title></head><body><h1>Plain</h1>"
        "<details><summary>more</summary>unfolded</details></body></html>"
    )
    ((title, contents),) = pdf.printed(book, ["a"], browser)
    assert title == "A"
    text = PdfReader(io.BytesIO(contents)).pages[0].extract_text()
    assert "Plain" in text
    assert "unfolded" in text


@pytest.mark.browser
def test_a_page_that_asks_the_network_stops_it(book, browser):
    (book / "a.html").write_text("<html><body><img alt='x' src='http://pictures.invalid/x.png'></body></html>")
    with pytest.raises(RuntimeError, match=r"a: asks for http://pictures\.invalid"):
        list(pdf.printed(book, ["a"], browser))
