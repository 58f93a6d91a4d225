"""The page and the terminal of a rehearsal: whole, alone, the same twice, and readable in a small window."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from rich.console import Console

from samesky.campaign.reading.read import read
from samesky.rehearsal.rehearse import rehearse
from samesky.rehearsal.through_files import Both
from samesky.report import rehearsal_words as words
from samesky.report.rehearsal_page import rehearsal_page, write_rehearsal
from samesky.report.rehearsal_terminal import print_rehearsal

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"


@pytest.fixture(scope="module")
def found():
    return rehearse(read(DATA / "warming_day"), campaigns=60, seed=3)


@pytest.fixture(scope="module")
def page(found):
    return rehearsal_page(found, [Both("takeoff_roll", (0.0, 0.1, 4), (0.0, 0.1, 4), ())])


def test_the_page_stands_alone_and_closes_every_element(page):
    assert not re.search(r'(?:src|href|srcset)="(?!data:|#)', page)
    opened = []

    class Check(HTMLParser):
        def handle_starttag(self, tag, attrs):
            if tag not in ("meta", "img", "source", "br"):
                opened.append(tag)
            if tag == "img":
                assert len(dict(attrs)["alt"]) > 40

        def handle_endtag(self, tag):
            assert opened.pop() == tag

    Check().feed(page)
    assert opened == []


def test_the_same_rehearsal_gives_the_same_page(found, page):
    assert rehearsal_page(found, [Both("takeoff_roll", (0.0, 0.1, 4), (0.0, 0.1, 4), ())]) == page


def test_the_page_says_what_the_terminal_says(found, page):
    text = re.sub(r"<[^>]+>", "", page)
    console = Console(file=io.StringIO(), width=80)
    print_rehearsal(found, console)
    said = " ".join(console.file.getvalue().split())
    for sentence in (words.headline(found), words.none_there(found), words.averaged(found), words.CAUTION):
        plain = sentence.replace("&", "&amp;").replace("'", "&#39;")
        assert plain in text.replace("\n", " ") or sentence in text
        assert " ".join(sentence.split()) in said


def test_every_line_of_the_terminal_fits_its_window(found):
    console = Console(file=io.StringIO(), width=80)
    print_rehearsal(found, console)
    assert max(len(line) for line in console.file.getvalue().splitlines()) <= 80


def test_shares_are_whole_and_never_a_small_zero():
    assert words.share(0.001).startswith("<")
    assert words.share(0.0).startswith("0")
    assert words.share(float("nan")) == "none"


def test_the_single_swap_is_called_what_it_is(found):
    assert "0 find a real 5 % difference" in words.headline(found)
    assert words.order_of(found, "takeoff_roll") == "A A A A A B B B B B"


def test_it_is_written_whole(found, tmp_path):
    path = write_rehearsal(found, tmp_path / "new" / "rehearsal.html")
    assert path.read_text(encoding="utf-8").rstrip().endswith("</html>")
