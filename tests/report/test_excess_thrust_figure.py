"""The picture of excess thrust: every mark, both winners by name, a sentence that is true of its line."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.together.told import excess_thrust
from samesky.report.excess_thrust_figure import band, excess_thrust_alt, excess_thrust_figure, sentence
from samesky.report.picture import PAGE, PHONE
from samesky.simulator.examples.catalogue import write_example


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("figure") / "campaign"
    write_example("one_saturday", folder)
    campaign = read(folder)
    return excess_thrust(campaign, compare(campaign))[0]


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_every_measure_is_a_mark_and_both_sides_are_named(found, width):
    axes = excess_thrust_figure(found, width).axes[0]
    said = [text.get_text() for text in axes.texts]
    assert {"B pulls more", "A pulls more"} <= set(said)
    heights = {text.get_text(): text.get_position()[1] for text in axes.texts}
    assert heights["B pulls more"] > 0 > heights["A pulls more"]
    for one in found.points:
        assert one.title.replace("full-throttle ", "") in said
    marks = [line for line in axes.lines if line.get_marker() == "^"]
    assert [line.get_ydata()[0] for line in marks] == [one.force for one in found.points]


def test_the_sentence_is_true_of_the_band(found):
    speeds, values, halves = band(found)
    knots = speeds / (1852.0 / 3600.0)
    said = sentence(found).replace("\u00a0", " ")
    end = float(re.match(r"B pulls more up to (\d+) kt; elsewhere it is not settled", said)[1])
    sure = values - halves > 0
    assert sure[knots < end - 1].all()
    assert not sure[knots > end + 1].any()
    assert not (values + halves < 0).any()
    crossing = float(re.search(r"near (\d+) kt", said)[1])
    assert np.interp(crossing, knots, values) == pytest.approx(0.0, abs=3.0)
    assert said in excess_thrust_alt(found).replace("\u00a0", " ")


def test_without_a_line_nothing_is_drawn(found):
    assert sentence(replace(found, line=None)) == ""
    with pytest.raises(ValueError, match="no line"):
        band(replace(found, line=None))
