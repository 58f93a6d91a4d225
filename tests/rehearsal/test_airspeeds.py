"""A rehearsal of a campaign that knows its airspeed system: readings are what the indicator would show."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from stated_coefficients import with_its_coefficients

from samesky.campaign.reading.read import read
from samesky.rehearsal.flight import brought_together, ready, written
from samesky.rehearsal.rehearse import with_truth
from samesky.rehearsal.scatter import as_documented
from samesky.rehearsal.scene import scene
from samesky.rehearsal.script import script
from samesky.rehearsal.through_files import through_files
from samesky.simulator.campaign_sim import simulate

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
KNOT = 1852 / 3600
#: A system that reads 4 kt low at 35 kt and right at 75, from even legs in no wind at sea level (closed form).
HEADER = "run,airspeed [kt],altitude [ft],oat [degC]," + ",".join(f"speed {k} [kt],track {k} [deg]" for k in (1, 2, 3))
SYSTEM = HEADER + "".join(
    f"\n{k},{ias},0,15,{cas},0,{cas},120,{cas},240" for k, (ias, cas) in enumerate(((31, 35), (53, 55), (75, 75)))
)


@pytest.fixture(scope="module")
def noon(tmp_path_factory):
    folder = with_its_coefficients(DATA / "breezy_noon", tmp_path_factory.mktemp("airspeeds") / "noon", flown=False)
    (folder / "position_error.csv").write_text(SYSTEM + "\n", encoding="utf-8")
    return with_truth(as_documented(scene(script(read(folder, flown=False)))), 1.0)


def test_readings_are_what_the_indicator_shows_and_come_back_calibrated(noon):
    columns = written(noon, 200, np.random.default_rng(4))["takeoff_roll"]
    true = simulate(noon.scenario, 200, np.random.default_rng(4)).truth["takeoff_roll"]["lift-off airspeed"]
    shown = columns["lift-off airspeed"]
    system = noon.script.campaign.airspeed_system
    mean = float(true.mean())
    assert mean - shown.mean() == pytest.approx(float(system.fit.correction(shown.mean())[0]), abs=0.15)
    assert mean - shown.mean() > 2 * KNOT
    runs, _, _ = brought_together(noon, noon.script.tables["takeoff_roll"], columns)
    assert runs["lift-off airspeed"].mean() == pytest.approx(mean, abs=0.1)


def test_memory_and_files_agree(noon):
    for one in through_files(noon, ready(noon), 2, seed=7, as_read=False):
        assert one.errors == ()
        assert one.through_files[0] == pytest.approx(one.in_memory[0], abs=1e-9)
        assert one.through_files[1] == pytest.approx(one.in_memory[1], rel=0.06)
        assert one.through_files[2] == one.in_memory[2]
