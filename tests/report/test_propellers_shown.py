"""The picture and words of propeller or pitch: every setting a mark, engine speeds by configuration, in report and
terminal.
"""

from __future__ import annotations

import io

import matplotlib as mpl
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from rich.console import Console

from samesky.inference.propellers.told import propellers
from samesky.report.picture import PAGE, PHONE
from samesky.report.propellers.figure import propeller_alt, propeller_figure, shown
from samesky.report.propellers.words import engine_speeds, sentences
from samesky.report.style import use_style
from samesky.report.terminal import print_answers


@pytest.fixture(scope="module")
def two_pitches(pages):
    one = pages["two_pitches"]
    return one, propellers(one.campaign, one.comparisons)


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_every_setting_is_a_mark_and_stands_free_in_the_picture(two_pitches, width):
    one, found = two_pitches
    with mpl.rc_context():
        use_style()
        drawn = propeller_figure(found, one.campaign, width)
        FigureCanvasAgg(drawn).draw()
        lines, speeds = drawn.axes
        said = [text.get_text() for text in lines.texts]
        assert {"A wood", "B", "C", "composite"} <= set(said)
        boxes = [text.get_window_extent() for text in lines.texts]
        for text in (*lines.texts, *speeds.texts):
            box = text.get_window_extent()
            assert box.x0 >= 0.0
            assert box.x1 <= drawn.bbox.x1
        assert not any(a.overlaps(b) for k, a in enumerate(boxes) for b in boxes[:k])
    (curve,) = (each for each in shown(found, one.campaign) if len(each.line))
    ends = [found.shown(curve.against, mark.x) for mark in curve.marks]
    drawn_line = next(each for each in lines.lines if len(each.get_xdata()) > 2)
    assert sorted([drawn_line.get_xdata()[0], drawn_line.get_xdata()[-1]]) == pytest.approx(sorted(ends))
    assert [text.get_text() for text in speeds.texts if len(text.get_text()) == 1] == ["A", "B", "C"]


def test_the_words_stand_in_report_and_terminal(two_pitches):
    one, found = two_pitches
    said = sentences(found)
    assert said[0].startswith("Static pull at the same rpm in level flight")
    assert "composite is better" in said[0]
    assert "in hand" in said[0]
    assert "Propeller or pitch?" in one.html
    assert said[0].split(":")[0] in one.html
    out = io.StringIO()
    print_answers(one.campaign, one.comparisons, Console(file=out, width=100), details=True)
    assert "Propeller or pitch?" in out.getvalue()


def test_the_table_has_static_climb_and_level_rpm_of_every_setting(two_pitches):
    _, found = two_pitches
    table = engine_speeds(found)
    assert table.header[2:] == ["static pull", "timed climb", "full-throttle level speed"]
    assert [row[0] for row in table.rows] == ["A", "B", "C"]
    assert all("rpm" in cell and "in hand" in cell for row in table.rows for cell in row[2:])


def test_the_alternative_text_names_every_setting(two_pitches):
    one, found = two_pitches
    said = propeller_alt(found, one.campaign)
    assert all(f"{key} " in said for key in "ABC")
    assert "engine speed against true airspeed" in said
