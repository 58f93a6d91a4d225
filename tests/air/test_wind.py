"""Wind components and the wind triangle against FAA-H-8083-25B and vector geometry (printed rows: test_legs too)."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.air import wind


@pytest.mark.parametrize(
    ("blows_from", "runway", "head", "cross"),
    [
        (360, 360, 10, 0),
        (90, 360, 0, 10),  # from the right
        (270, 360, 0, -10),  # from the left
        (180, 360, -10, 0),  # tailwind
        (30, 350, 10 * np.cos(np.radians(40)), 10 * np.sin(np.radians(40))),
    ],
)
def test_components_and_their_signs(blows_from, runway, head, cross):
    found = wind.components(10.0, np.radians(blows_from), np.radians(runway))
    assert found == pytest.approx((head, cross), abs=1e-12)


def test_triangle_closes():
    """Track held by the drift correction: heading and track ways round the triangle meet (vector geometry)."""
    rng = np.random.default_rng(7)
    tas, speed = rng.uniform(30, 60, 300), rng.uniform(0, 25, 300)
    track, blows_from = rng.uniform(0, 2 * np.pi, (2, 300))
    heading = track + wind.drift_correction(tas, track, speed, blows_from)
    over = wind.over_ground(tas, heading, speed, blows_from)
    np.testing.assert_allclose(over.ground_speed, wind.ground_speed_on_track(tas, track, speed, blows_from))
    np.testing.assert_allclose(np.cos(over.track - track), 1, atol=1e-12)


def test_components_broadcast():
    head, cross = wind.components(np.ones((3, 1)), np.zeros(4), 0.0)
    assert head.shape == cross.shape == (3, 4)
