"""One look for all figures: told apart in grey print, and on their own axes by shape."""

from __future__ import annotations

from itertools import pairwise

import matplotlib as mpl
import pytest
from matplotlib.colors import to_rgb

from samesky.report.style import INK, LOOKS, QUIET, WRONG, look, looks, shown_together, use_style


def luminance(colour: str) -> float:
    """Relative luminance, W3C WCAG 2.1 definition."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def lightness(colour: str) -> float:
    """CIE 1976 L*, of a luminance relative to white."""
    y = luminance(colour)
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y


def test_configurations_differ_in_shape_and_in_grey():
    assert len({each.marker for each in LOOKS}) == len({each.line for each in LOOKS}) == len(LOOKS)
    steps = sorted(lightness(each.colour) for each in LOOKS)
    assert min(b - a for a, b in pairwise(steps)) > 8


def test_the_two_that_are_compared_most_are_far_apart_in_grey():
    assert abs(lightness(LOOKS[0].colour) - lightness(LOOKS[1].colour)) > 35


@pytest.mark.parametrize(("colour", "contrast"), [(INK, 7.0), (WRONG, 4.5), (QUIET, 3.0)])
def test_text_and_lines_stand_out_on_white(colour, contrast):
    """Contrast ratios of WCAG 2.1, success criteria 1.4.3, 1.4.6 and 1.4.11."""
    assert 1.05 / (luminance(colour) + 0.05) >= contrast


def test_open_markers_are_as_flown_and_filled_ones_reduced():
    assert look(0).as_flown()["markerfacecolor"] == "white"
    assert "markerfacecolor" not in look(0).reduced()


def test_the_baseline_shares_its_look_with_no_other():
    assert look(len(LOOKS)) is look(1)
    keys = ["b", "a", "c", "d", "e", "f", "g", "h"]
    assert looks(keys, "a")["a"] is LOOKS[0]
    groups = shown_together(keys, "a")
    assert [key for group in groups for key in group if key != "a"] == ["b", "c", "d", "e", "f", "g", "h"]
    for group in groups:
        assert group[0] == "a"
        assert len({looks(keys, "a")[key].marker for key in group}) == len(group)
    assert shown_together(["a"], "a") == [["a"]]


def test_use_style_sets_the_cycle():
    with mpl.rc_context():
        use_style()
        assert mpl.rcParams["axes.prop_cycle"].by_key()["color"] == [each.colour for each in LOOKS]
