"""The page of a film: each value, its plus or minus and its state, read back out of figure, table and words."""

from __future__ import annotations

import film_campaign as filmed
import numpy as np
import pytest

from samesky.campaign.reading.read import read
from samesky.evidence.film.propose import propose
from samesky.report import film_figure, film_page
from samesky.report.picture import PAGE, PHONE
from samesky.report.style import INK, QUIET

FOOT = 0.3048


@pytest.fixture(params=["m", "ft"])
def proposal(request, tmp_path):
    """Two rolls read by hand: one as the film says, one quite another; the rest blank."""
    written = {3: f"{200.0 / (FOOT if request.param == 'ft' else 1.0):.1f}"}
    folder = filmed.put_campaign(tmp_path / "mine", takeoff_roll=filmed.roll_file(written, request.param))
    return propose(read(folder, flown=False))


def by_hand(proposal) -> float:
    """The reading of run 3, as written."""
    return round(float(in_unit(proposal, 200.0)), 1)


def in_unit(proposal, metres):
    return np.asarray(metres) / (FOOT if proposal.runs[0].unit == "ft" else 1.0)


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_every_roll_stands_at_its_value_with_twice_its_uncertainty(proposal, width):
    (key,) = film_figure.columns_of(proposal)
    runs = film_figure.of(proposal, *key)
    assert len(runs) == 12
    axes = film_figure.by_run(proposal, *key, width).axes[0]
    values = in_unit(proposal, [one.value for one in runs])
    spread = 2 * in_unit(proposal, [one.uncertainty for one in runs])
    film = next(line for line in axes.lines if line.get_marker() == film_figure._FILM.marker)
    assert film.get_xdata() == pytest.approx(values)
    assert list(film.get_ydata()) == list(range(12))
    segments = np.concatenate([np.array(one.get_segments()) for one in axes.collections])
    assert segments[:, :, 0] == pytest.approx(np.column_stack([values - spread, values + spread]))
    hand = next(line for line in axes.lines if line.get_marker() == film_figure._HAND.marker)
    assert (list(hand.get_xdata()), list(hand.get_ydata())) == ([pytest.approx(by_hand(proposal))], [2])
    low, high = axes.get_xlim()
    left, right = min(values - spread), max(by_hand(proposal), max(values + spread))
    assert (low, high) == pytest.approx((left - 0.06 * (right - left), right + 0.06 * (right - left)))
    assert [label.get_text() for label in axes.get_yticklabels()] == [f"run {k}" for k in range(1, 13)]
    assert axes.get_ylim() == pytest.approx((11.6, -0.6))
    assert axes.get_xlabel() == f"ground roll [{runs[0].unit}]"


def test_the_markers_stand_where_they_were_put(proposal):
    (key,) = film_figure.columns_of(proposal)
    axes = film_figure.by_run(proposal, *key, PAGE).axes[0]
    marks = [float(line.get_xdata()[0]) for line in axes.lines if line.get_color() == QUIET]
    assert marks == pytest.approx(in_unit(proposal, [90.0, 115.0, 140.0, 165.0]))
    named = {text.get_text(): text.xy[0] for text in axes.texts if text.get_color() == INK}
    assert named == pytest.approx({f"marker {k}": mark for k, mark in enumerate(marks, start=1)})


def test_the_rows_say_value_plus_or_minus_and_state(proposal):
    ((file, column, rows),) = film_page.tables(proposal)
    assert (file, column) == ("takeoff_roll.csv", "ground roll")
    for one, row in zip(proposal.runs, rows, strict=True):
        value, _, spread, unit = row.said.split(" ")
        room = 0.51 * 10.0 ** -len(spread.partition(".")[2])
        assert float(value) == pytest.approx(float(in_unit(proposal, one.value)), abs=room)
        assert float(spread) == pytest.approx(2 * float(in_unit(proposal, one.uncertainty)), abs=room)
        assert unit == one.unit
        assert row.state == film_page.STATES["apart" if one.run == "3" else "fill"]
    assert film_page.headline(proposal) == "11 blank cells of takeoff_roll.csv can be filled."


def test_the_words_of_the_figure_give_each_run_within_twice_its_uncertainty(proposal):
    (key,) = film_figure.columns_of(proposal)
    said = film_figure.alt(proposal, *key)
    for one in proposal.runs:
        assert f"run {one.run} {one.text} {one.unit} within {2 * float(in_unit(proposal, one.uncertainty)):.2f}" in said


def test_one_blank_cell_and_none(tmp_path):
    written = {k: f"{roll:.1f}" for k, roll in enumerate(filmed.TRUTH, start=1) if k != 5}
    folder = filmed.put_campaign(tmp_path / "one", takeoff_roll=filmed.roll_file(written))
    assert film_page.headline(propose(read(folder, flown=False))) == "1 blank cell of takeoff_roll.csv can be filled."
    written = {k: f"{roll:.1f}" for k, roll in enumerate(filmed.TRUTH, start=1)}
    folder = filmed.put_campaign(tmp_path / "none", takeoff_roll=filmed.roll_file(written))
    assert film_page.headline(propose(read(folder, flown=False))).startswith("Nothing to fill in")
