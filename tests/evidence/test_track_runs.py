"""What legs that share one receiver are worth together, against errors drawn from its noise."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from samesky.evidence.tracks.finding import _altitude
from samesky.evidence.tracks.runs import legs_run, run_on
from samesky.instruments.tracks import Segment, TrackEstimate
from samesky.instruments.tracks.noise import POSITION, Noise
from samesky.measures.speeds import from_legs


def legs_on(tracks, speeds, seconds=60.0, apart=1.0):
    return [
        Segment(
            "level leg", begin, begin + seconds,
            {"ground speed": TrackEstimate(speed, 0.035), "track": TrackEstimate(track, 0.035 / speed)},
        )
        for begin, track, speed in zip(np.arange(len(tracks)) * (seconds + apart), tracks, speeds, strict=True)
    ]  # fmt: skip


@pytest.mark.parametrize("tracks", [0.4 + np.arange(4) * np.pi / 2, np.array([0.4, 1.2, 4.0]), np.array([0.4, 3.5])])
def test_errors_of_positions_run_on_from_leg_to_leg(tracks):
    """Airspeeds from 40,000 draws of the ends' positions: Gauss-Markov, by Cholesky, against legs drawn each alone."""
    # 50 m/s of airspeed in 40 m/s of wind from the west, so that directions count, and errors gone after minutes
    speeds = 40.0 * np.sin(tracks) + np.sqrt(50.0**2 - (40.0 * np.cos(tracks)) ** 2)
    legs, count = legs_on(tracks, speeds), tracks.size
    ends = np.array([[leg.start, leg.end] for leg in legs])

    def spread(moments):
        root = np.linalg.cholesky(np.exp(-np.abs(moments[:, None] - moments) / 60.0) + 1e-12 * np.eye(moments.size))
        drawn = np.random.default_rng(5).standard_normal((2, 40_000, moments.size)) @ root.T * 3.3
        east, north = np.diff(drawn.reshape(2, -1, count, 2), axis=-1)[..., 0] / 60.0
        east, north = speeds * np.sin(tracks) + east, speeds * np.cos(tracks) + north
        return np.std(from_legs(np.hypot(east, north), np.arctan2(east, north)))

    alone = spread((ends + np.arange(count)[:, None] * 1e5).ravel())
    factor = spread(ends.ravel()) / alone
    assert factor > 1.02
    # each spread of 40,000 draws is known to a third of a per cent
    assert run_on(legs, Noise(3.3, 60.0)) == pytest.approx(factor, abs=0.015)


def test_only_speeds_that_came_from_positions_are_widened():
    legs = legs_on([0.4, 2.5, 4.6], [50.0] * 3)
    recorded, positions = legs_run(legs, None), legs_run(legs, None, POSITION)
    assert recorded.readings["speed 1"].standard_uncertainty == 0.035
    factor = run_on(legs, POSITION)
    assert positions.readings["speed 1"].standard_uncertainty == pytest.approx(0.035 * factor)
    assert positions.result.standard_uncertainty == pytest.approx(recorded.result.standard_uncertainty * factor)


def test_the_height_of_a_set_is_the_mean_of_its_legs_or_not_known():
    leg = SimpleNamespace(values={})
    legs = [SimpleNamespace(values={"altitude": TrackEstimate(height, 3.0)}) for height in (600.0, 630.0, 720.0)]
    assert _altitude(legs, None).value == pytest.approx(650.0)
    assert _altitude([*legs, leg], None) is None
