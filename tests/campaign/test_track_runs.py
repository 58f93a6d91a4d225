"""What legs that share one receiver are worth together, against errors drawn from its noise."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.campaign.track_runs import legs_run, run_on
from samesky.instruments.tracks import Estimate, Segment
from samesky.instruments.tracks.noise import POSITION
from samesky.measures.speeds import from_legs


def legs_on(tracks, seconds=60.0, apart=20.0, speed=50.0):
    return [
        Segment(
            "level leg", begin, begin + seconds,
            {"ground speed": Estimate(speed, 0.035), "track": Estimate(track, 0.035 / speed)},
        )
        for begin, track in zip(np.arange(len(tracks)) * (seconds + apart), tracks, strict=True)
    ]  # fmt: skip


@pytest.mark.parametrize("count", [3, 4])
def test_errors_of_positions_run_on_from_leg_to_leg(count):
    """Airspeeds from 40,000 draws of the ends' positions: Gauss-Markov, by Cholesky, against legs drawn each alone."""
    tracks = 0.4 + np.arange(count) * 2 * np.pi / count
    legs = legs_on(tracks)
    ends = np.array([[leg.start, leg.end] for leg in legs])

    def spread(moments):
        root = np.linalg.cholesky(np.exp(-np.abs(moments[:, None] - moments) / 300.0) + 1e-12 * np.eye(moments.size))
        drawn = np.random.default_rng(5).standard_normal((2, 40_000, moments.size)) @ root.T * 8.0 / 2.448
        east, north = np.diff(drawn.reshape(2, -1, count, 2), axis=-1)[..., 0] / 60.0
        east, north = 50.0 * np.sin(tracks) + east, 50.0 * np.cos(tracks) + north
        return np.std(from_legs(np.hypot(east, north), np.arctan2(east, north)))

    alone = spread((ends + np.arange(count)[:, None] * 1e5).ravel())
    factor = spread(ends.ravel()) / alone
    assert factor > 1.02
    # each spread of 40,000 draws is known to a third of a per cent
    assert run_on(legs, POSITION) == pytest.approx(factor, abs=0.012)


def test_only_speeds_that_came_from_positions_are_widened():
    legs = legs_on(np.array([0.4, 2.5, 4.6]))
    recorded, positions = legs_run(legs, None), legs_run(legs, None, POSITION)
    assert recorded.readings["speed 1"].standard_uncertainty == 0.035
    factor = run_on(legs, POSITION)
    assert positions.readings["speed 1"].standard_uncertainty == pytest.approx(0.035 * factor)
    assert positions.result.standard_uncertainty == pytest.approx(recorded.result.standard_uncertainty * factor)
