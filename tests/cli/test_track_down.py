"""`samesky track` for descents and landings: refuses with what to say, takes what is said, writes when told."""

from __future__ import annotations

import numpy as np
import pytest
import track_campaign
from way_down import way_down

from samesky.campaign.reading.read import read
from samesky.evidence.tracks.rows import local

TOML = track_campaign.toml("idle_descent", "landing_roll", more='[runway.13]\nelevation = "300 m"\n')


@pytest.fixture(scope="module")
def down(tmp_path_factory):
    made = way_down(np.random.default_rng(20))
    path = tmp_path_factory.mktemp("tracks") / "down.gpx"
    path.write_text(made.gpx, encoding="utf-8")
    return made, path


@pytest.fixture
def folder(tmp_path):
    return track_campaign.put(tmp_path / "mine", TOML)


@pytest.fixture
def track(run, folder, down):
    def one(measure, *words):
        return run("track", folder, down[1], "--measure", measure, "--configuration", "B", *words)

    return one


def listing(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != "track.html"}


AIR = ("--oat", "7.5 degC", "--qnh", "1013 hPa")


def times(made):
    return [word for name, moment in zip(("--from", "--to"), made.idle, strict=True)
            for word in (name, f"{local(moment, 2.0):%H:%M:%S}")]  # fmt: skip


def test_a_descent_waits_for_the_times_of_the_closed_throttle(track, folder, down):
    before = listing(folder)
    code, said, complaint = track("idle_descent", *AIR, "--expected", "3", "--write")
    assert code == 2
    assert complaint.startswith("samesky: nothing was written: ")
    assert complaint.count("\n") == 1
    assert "a powered approach looks the same: say between which times the throttle was closed" in said
    assert said.count("Candidate: descent from 08:") == 3
    assert listing(folder) == before
    code, said, complaint = track("idle_descent", *AIR, "--utc-offset", "+02:00", *times(down[0]), "--write")
    assert (code, complaint) == (0, "")
    assert "1 descent for idle_descent.csv, configuration B." in said
    assert "height lost " in said
    assert "assumed: no track shows the throttle" in said
    assert "to say: Was the throttle closed" in said
    table = read(folder).tables["idle_descent"]
    assert table.columns["from"][0] > table.columns["to"][0]
    page = (folder / "track.html").read_text(encoding="utf-8")
    assert "height lost" in page
    assert "Mind carburettor icing at closed throttle" in page


def test_a_landing_waits_for_the_speed_at_touch_down(track, folder, down):
    before = listing(folder)
    code, said, _ = track("landing_roll", "--write")
    assert code == 2
    assert "too little to compare; say the ground speed at touch-down" in said
    assert listing(folder) == before
    page = (folder / "track.html").read_text(encoding="utf-8")
    assert "Nothing was chosen" in page
    assert "known to" in page
    knots = down[0].touch_down_speed * 3600 / 1852
    code, said, complaint = track("landing_roll", "--touch-down-speed", f"{knots:.0f} kt", "--write")
    assert (code, complaint) == (0, "")
    assert "1 landing roll for landing_roll.csv, configuration B." in said
    assert read(folder).tables["landing_roll"].columns["ground roll"][0] == pytest.approx(down[0].roll, rel=0.35)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("landing_roll", "--lift-off-speed", "40 kt"), "--lift-off-speed: belongs to takeoff_roll"),
        (("idle_descent", "--touch-down-speed", "40 kt"), "--touch-down-speed: belongs to landing_roll"),
        (("landing_roll", "--bottom", "900 m", "--top", "1200 m"), "belong to timed_climb and idle_descent"),
        (("landing_roll", "--touch-down-speed", "40"), "has no unit"),
    ],
)
def test_a_slip_is_one_message(track, folder, words, says):
    before = listing(folder)
    code, _, complaint = track(*words, "--write")
    assert code == 2
    assert says in complaint
    assert complaint.count("\n") == 1
    assert listing(folder) == before


def test_a_log_without_a_date_takes_the_one_of_the_command_line(run, folder, tmp_path):
    from samesky.instruments.tracks.readers.nmea import checksum

    bodies = [f"GPRMC,0800{k:02d}.00,A,4600.{10 * k:03d},N,00900.000,E,36.0,0.0,,,,A" for k in range(40)]
    log = tmp_path / "undated.nmea"
    log.write_text("".join(f"${body}*{checksum(body):02X}\r\n" for body in bodies), newline="")
    words = ["track", folder, log, "--measure", "landing_roll", "--configuration", "A"]
    for more, code, says in (((), 2, "Give the date (UTC)"), (("--date", "2024-05-01"), 0, "0 landing rolls found")):
        found, out, complaint = run(*words, *more)
        assert found == code
        assert says in out + complaint
