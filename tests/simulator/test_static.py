"""Static pull against an independent prototype."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.published import registry
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.ambient import Ambient, standard
from samesky.simulator.motion.static import static_pull

BASE = SimAeroplane()


def test_baseline_of_an_independent_prototype():
    pull, speed = static_pull(BASE, standard(0.0))
    assert registry.check("S01", pull).agrees
    assert registry.check("S02", speed * 60).agrees


@pytest.mark.parametrize(
    ("percent", "change"),
    [
        (-0.39, lambda s: (BASE, Ambient(288.15 + s, 101325.0))),
        (0.11, lambda s: (BASE, Ambient(288.15, 101325.0 + 100 * s))),
        (1.01, lambda s: (Effect(power=1 + 0.01 * s).apply(BASE), standard(0.0))),
        (1.00, lambda s: (Effect(thrust=1 + 0.01 * s).apply(BASE), standard(0.0))),
        (-0.46, lambda s: (Effect(pitch=1 + 0.01 * s).apply(BASE), standard(0.0))),
        (-1.06, lambda s: (Effect(diameter=1 + 0.01 * s).apply(BASE), standard(0.0))),
        (-1.09, lambda s: (BASE, standard(100.0 * s))),
    ],
)
def test_sensitivities_of_an_independent_prototype(percent, change):
    up, down, base = (static_pull(*change(s))[0] for s in (1, -1, 0))
    assert (up - down) / 2 / base * 100 == pytest.approx(percent, abs=0.01)


def test_a_light_wind_hardly_matters():
    # Prototype: -0.017 %, -0.27 % and -0.96 % for 1, 5 and 10 kt.
    pull, _ = static_pull(BASE, standard(0.0), np.array([0.0, 1.0, 5.0, 10.0]) * 1852 / 3600)
    np.testing.assert_allclose((pull[1:] / pull[0] - 1) * 100, [-0.017, -0.27, -0.96], atol=0.01)
