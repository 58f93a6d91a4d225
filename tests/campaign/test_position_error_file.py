"""The airspeed system's calibration: read with findings at the cell, applied once, in the budget, held to truth."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from sound_campaign import CLIMB, TOML

from samesky.air import airspeed, atmosphere
from samesky.campaign.derived.prepare import prepare
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.exchange.data_package.describe import describe
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.measures import default_sources
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.reduction.reduction import reduce_table
from samesky.simulator.readings import read as read_off

KNOT, FOOT = 1852 / 3600, 0.3048
#: Points 1, 3, 4 and 6 of a printed flight data sheet (rows T4-040 to T4-060), standard temperature at 7 500 ft.
PRINTED = """\
run,airspeed [kt],altitude [ft],oat [degC],speed 1 [kt],track 1 [deg],speed 2 [kt],track 2 [deg],\
speed 3 [kt],track 3 [deg],speed 4 [kt],track 4 [deg],exclude,notes
1,55,7500,0.14,65.6,246,58.0,348,62.4,107,67.0,171,,
3,70,7500,0.14,80.6,274,74.2,6,79.8,98,85.2,179,,
4,80,7500,0.14,91.7,272,84.9,7,88.6,91,95.9,176,,
6,100,7500,0.14,111.0,93,108.0,4,114.0,274,118.0,178,,
"""


def errors(folder) -> list[str]:
    return [one.sentence() for one in check(read(folder)) if one.kind == "error"]


def doubts(folder) -> list[str]:
    return [one.sentence() for one in check(read(folder)) if one.kind == "warning"]


# What is read.


def test_the_printed_points_calibrate_a_campaign(sound):
    folder = sound(position_error__csv=PRINTED)
    campaign = read(folder)
    assert not errors(folder)
    system = campaign.airspeed_system
    # independent: numpy's polynomial through incompressible airspeeds of the printed TAS, times root sigma
    sigma = float(atmosphere.density(7500 * FOOT)) / 1.225
    simple = np.array([62.5, 80.0, 90.5, 112.9]) * np.sqrt(sigma) - [55, 70, 80, 100]
    wanted = np.polyval(np.polyfit([55, 70, 80, 100], simple, 1), [55, 100])
    got = system.fit.correction(np.array([55, 100]) * KNOT)[0] / KNOT
    assert got == pytest.approx(wanted, abs=0.15)
    assert system.runs == ("1", "3", "4", "6")
    said = system.sentence()
    assert "from 4 runs at 55 to 100 kt (position_error.csv): +1.1 ± " in said


@pytest.mark.parametrize(
    ("old", "new", "row", "said"),
    [
        (",80,7500,0.14,91.7,272,84.9,7,88.6,91,95.9,176", ",80,7500,0.14,91.7,272,84.9,7,,,,", 4, "has 2 legs"),
        (
            ",80,7500,0.14,91.7,272,84.9,7,88.6,91,95.9,176",
            ",80,7500,0.14,91.7,272,84.9,275,88.6,278,95.9,281",
            4,
            "too close together",
        ),
        (",80,7500,0.14,91.7,272", ",80,7500,,91.7,272", 4, "blank"),
        (",80,7500,0.14,91.7,272", ",8x,7500,0.14,91.7,272", 4, "'8x'"),
        (",80,7500,0.14,91.7,272", ",80,7500,0.14,91.7,", 4, "leg 1 has a speed and no track"),
        ("altitude [ft]", "altitude [kg]", 1, "'kg'"),
        ("altitude [ft]", "height [ft]", None, "altitude of the runs is not known"),
        ("oat [degC]", "oat", 1, "no unit"),
        ("airspeed [kt]", "air speed [kt]", 1, "the column is missing"),
    ],
)
def test_faults_are_found_at_their_row(sound, old, new, row, said):
    assert old in PRINTED
    found = errors(sound(position_error__csv=PRINTED.replace(old, new, 1)))
    assert any(said in one and "position_error.csv" in one for one in found), found
    if row is not None:
        assert any(f"position_error.csv, row {row}" in one for one in found)


def test_a_run_left_out_with_its_reason_does_not_count(sound):
    bad = PRINTED.replace("6,100,7500,0.14,111.0,93,108.0,4", "6,100,7500,0.14,111.0,93,,").replace(
        "114.0,274,118.0,178,,", ",,118.0,178,gave up,"
    )
    folder = sound(position_error__csv=bad)
    assert not errors(folder)
    assert read(folder).airspeed_system.runs == ("1", "3", "4")


def test_a_file_without_runs_and_one_of_another_spelling(sound):
    assert read(sound(position_error__csv=PRINTED.splitlines()[0] + "\n")).airspeed_system is None
    folder = sound(position_error__csv=None)
    (folder / "Position Error.CSV").write_text(PRINTED, encoding="utf-8")
    assert read(folder).airspeed_system is not None


def test_two_airspeeds_give_one_correction_and_a_doubt(sound):
    lines = PRINTED.splitlines(keepends=True)
    folder = sound(position_error__csv="".join(lines[:3]))
    assert read(folder).airspeed_system.fit.model == "constant"
    assert any("fewer than 3 airspeeds" in one for one in doubts(folder))


def test_points_that_contradict_each_other_are_doubtful_and_widen(sound):
    wild = PRINTED.replace("4,80,", "4,74,")
    folder = sound(position_error__csv=wild)
    assert any("scatter" in one and "position_error.csv" in one for one in doubts(folder))
    fits = [read(sound(position_error__csv=text)).airspeed_system.fit for text in (PRINTED, wild)]
    assert fits[1].correction(40.0)[1] > 2 * fits[0].correction(40.0)[1]
    assert fits[1].degrees_of_freedom == 2


def test_headings_for_tracks_or_a_wrong_unit_are_hard_to_believe(sound):
    assert any(
        "is a lot" in one
        for one in doubts(sound(position_error__csv=PRINTED.replace("speed [kt],alt", "speed [mph],alt")))
    )


def test_it_is_no_measure(sound):
    toml = (
        TOML
        + '\n[measure.position_error]\nunit = "kt"\nbetter = "smaller"\nsmallest_difference_that_matters = "1 kt"\n'
    )
    found = errors(sound(position_error__csv=PRINTED, campaign__toml=toml))
    assert any("[measure.position_error]" in one and "no measure" in one for one in found)


def test_it_is_handed_on_with_the_campaign_and_described(sound):
    folder = sound(position_error__csv=PRINTED)
    files = {path.name: path.read_bytes() for path in folder.iterdir()}
    resource = next(one for one in describe(files)["resources"] if one["path"] == "position_error.csv")
    said = {field["name"]: field["description"] for field in resource["schema"]["fields"]}
    assert said["airspeed [kt]"] == "Airspeed as indicated."
    assert "altimeter reading" in said["altitude [ft]"].casefold()


# Where it acts.


def test_every_indicated_airspeed_is_corrected_once_and_nothing_else(sound):
    climb = CLIMB.replace("elapsed [s]", "elapsed [s],airspeed [kt],entry airspeed [kt],exit airspeed [kt]")
    climb = "\n".join(line + (",60,58,62" if line[0].isdigit() else "") for line in climb.splitlines()) + "\n"
    bare, flown = (read(sound(timed_climb__csv=climb, position_error__csv=text)) for text in (None, PRINTED))
    for name, table in flown.tables.items():
        before, after = prepare(bare, bare.tables[name]), prepare(flown, table)
        assert before.keys() == after.keys()
        for column, values in after.items():
            own = flown.airspeed_system.fit.correction(before[column])[0] if column in INDICATED else 0.0
            np.testing.assert_allclose(values, before[column] + own, rtol=1e-12)
            if column in table.columns:
                np.testing.assert_array_equal(table.columns[column], bare.tables[name].columns[column])


def test_without_the_file_nothing_changes(sound):
    campaign = read(sound())
    assert campaign.airspeed_system is None
    assert set(default_sources()) <= set(campaign.sources)
    for table in campaign.tables.values():
        for name, values in prepare(campaign, table).items():
            if name in table.columns:
                assert np.array_equal(values, table.columns[name], equal_nan=True)


def test_limits_are_of_what_the_pilot_sees(sound):
    # 43 to 45 kt indicated: inside 40 to 46 kt, though calibrated airspeeds are above 46
    toml = TOML.replace('["40 kt", "48 kt"]', '["40 kt", "45.5 kt"]')
    folder = sound(position_error__csv=PRINTED, campaign__toml=toml)
    runs = prepare(read(folder), read(folder).tables["takeoff_roll"])
    assert runs["lift-off airspeed"].max() > 45.5 * KNOT
    assert not any("lift-off airspeed above" in one for one in doubts(folder))


def test_airspeeds_outside_those_flown_are_doubtful(sound):
    said = [one for one in doubts(sound(position_error__csv=PRINTED)) if "extrapolated" in one]
    assert len(said) == 1
    assert "lift-off airspeed of 43 to 45 kt is outside the 55 to 100 kt" in said[0]


def test_the_shipped_error_of_the_system_is_replaced_and_a_stated_one_stays(sound):
    names = [one.name for one in read(sound(position_error__csv=PRINTED)).sources]
    assert "airspeed system" not in names
    assert names.count("position error") == len(INDICATED)
    assert "airspeed reading" in names
    toml = TOML + '\n[instrument.airspeed_system]\nstandard_uncertainty = "1 kt"\n'
    names = [one.name for one in read(sound(position_error__csv=PRINTED, campaign__toml=toml)).sources]
    assert "airspeed system" in names


def test_the_budget_knows_that_two_speeds_differ_by_the_slope_alone(sound):
    """In a difference at one airspeed the error of the fit cancels; between two the slope's part of it stays."""
    folder = sound(position_error__csv=PRINTED, **level(10 * [90.0]))
    for speeds, stays in ((10 * [90.0], False), (5 * [90.0, 75.0], True)):
        folder = sound(position_error__csv=PRINTED, **level(speeds))
        campaign = read(folder)
        reduction = reduce_table(campaign, campaign.tables["level_speed"])
        sizes = {source.name: size for source, size in reduction.contributions}
        difference = {name: size[::2].mean() - size[1::2].mean() for name, size in sizes.items()}
        spread = np.hypot(difference["position error"], difference["position error, change with speed"])
        fit = campaign.airspeed_system.fit
        slope = np.sqrt(fit.covariance[1, 1])
        # true airspeed is larger than calibrated by the root of the density ratio, but for compressibility
        sigma = float(atmosphere.density(2000 * FOOT)) / 1.225
        wanted = slope * 15 * KNOT / np.sqrt(sigma) if stays else 0.0
        assert spread == pytest.approx(wanted, rel=0.05, abs=1e-4)
        if not stays:
            assert abs(sizes["position error"][0]) > 0.1


def level(speeds) -> dict[str, str]:
    """Files of a campaign of level speed alone, A and B by turns, at these indicated airspeeds [kt]."""
    toml = TOML.partition("[measure.takeoff_roll]")[0].replace('kind = "refit"', 'kind = "free"')
    toml += '[measure.level_speed]\nprimary = true\nsmallest_difference_that_matters = "2 kt"\n'
    rows = [
        f"{k + 1},2025-06-14,{7 + k // 6:02d}:{10 * (k % 6):02d},{'AB'[k % 2]},11.0,40,2000,{speed!r}"
        for k, speed in enumerate(speeds)
    ]
    text = "run,date,clock,configuration,oat [degC],fuel [L],altitude [ft],airspeed [kt]\n" + "\n".join(rows) + "\n"
    return {"campaign__toml": toml, "level_speed__csv": text, "takeoff_roll__csv": None, "timed_climb__csv": None}


# Does it hold the truth?

TRUE_OFFSET, TRUE_SLOPE, AT = 1.6 * KNOT, -0.045, 75 * KNOT
SPEEDS = np.array([55.0, 65.0, 75.0, 88.0, 100.0]) * KNOT


def true_indicated(calibrated):
    """What the invented system shows: calibrated = indicated + 1.6 kt - 0.045 (indicated - 75 kt)."""
    return (calibrated - TRUE_OFFSET + TRUE_SLOPE * AT) / (1 + TRUE_SLOPE)


def flown_file(rng, reading=0.5, legs=4) -> str:
    """A position_error.csv of five runs of an invented aeroplane in a wind, read with every stated error.

    ``reading`` [kt]: standard error of one reading of the needle, as the campaign states it.
    """
    height, oat = 3000 * FOOT, 284.0
    tas = airspeed.cas_to_tas(SPEEDS, atmosphere.pressure(height), oat)
    blow, away = rng.uniform(0, 9, 5), rng.uniform(0, 2 * np.pi, 5)
    east, north = blow * np.sin(away), blow * np.cos(away)
    truth = {"airspeed": true_indicated(SPEEDS), "altitude": np.full(5, height), "oat": np.full(5, oat)}
    for leg in range(1, legs + 1):
        track = np.radians(rng.uniform(0, 20, 5) + 360 / legs * leg)
        along = east * np.sin(track) + north * np.cos(track)
        truth |= {f"speed {leg}": along + np.sqrt(along**2 + tas**2 - blow**2), f"track {leg}": track}
    stated = [one for one in default_sources() if one.name not in ("airspeed system", "altimeter scale")]
    stated = [replace(s, standard_uncertainty=reading * KNOT) if s.name == "airspeed reading" else s for s in stated]
    stated += CALIBRATION.sources
    columns = read_off(
        rng,
        {k: v[None, :] for k, v in truth.items()},
        stated,
        CALIBRATION.name,
        np.zeros(5, int),
        np.ones(5, int),
        {},
    )
    units = {"airspeed": ("kt", KNOT), "altitude": ("m", 1.0), "oat": ("K", 1.0)}
    units |= {f"speed {leg}": ("kt", KNOT) for leg in range(1, legs + 1)}
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(["run", *(f"{name} [{units.get(name, ('rad', 1.0))[0]}]" for name in columns)])
    for k in range(5):
        writer.writerow([k + 1, *(repr(float(c[0, k] / units.get(n, ("", 1.0))[1])) for n, c in columns.items())])
    return stream.getvalue()


def test_the_fit_holds_the_true_correction_as_often_as_it_says(sound):
    rng, inside, n = np.random.default_rng(21), [], 200
    off: list[np.ndarray] = []
    at = np.array([60.0, 75.0, 95.0]) * KNOT
    truth = TRUE_OFFSET + TRUE_SLOPE * (at - AT)
    for _ in range(n):
        system = read(sound(position_error__csv=flown_file(rng))).airspeed_system
        value, spread = system.fit.correction(at)
        inside.append(np.abs(value - truth) < 1.96 * spread)
        off.append((value - truth) / spread)
    # three Monte Carlo errors of 200 about 95 %, and about errors as large as stated (a few are widened for scatter)
    assert (np.mean(inside, axis=0) > 0.95 - 3 * np.sqrt(0.95 * 0.05 / n)).all()
    assert np.std(off, axis=0) == pytest.approx([1.0, 1.0, 1.0], abs=3 / np.sqrt(2 * n))
    assert np.mean(off, axis=0) == pytest.approx([0.0, 0.0, 0.0], abs=3 / np.sqrt(n))


QUIET = """
[instrument.rising_and_sinking_air]
standard_uncertainty = "0 %"
[instrument.airspeed_reading]
target = "airspeed"
standard_uncertainty = "0.3 kt"
"""


@pytest.mark.slow
def test_a_difference_between_two_speeds_holds_the_truth_as_often_as_it_says(sound):
    """Simulated campaigns through files: A flies 95 kt calibrated, B 70; the system lies by 1.1 kt between the two."""
    from samesky.inference.comparison import compare

    rng, n, runs = np.random.default_rng(22), 120, 12
    height, oat = 2000 * FOOT, 284.15
    cas = np.where(np.arange(runs) % 2 == 0, 95.0, 70.0) * KNOT
    tas = airspeed.cas_to_tas(cas, atmosphere.pressure(height), oat)
    truth = (tas[1] - tas[0]) / KNOT
    inside, without = 0, 0
    for _ in range(n):
        shown = true_indicated(cas) + 0.3 * KNOT * rng.normal(size=runs)
        files = level([float(one) for one in shown / KNOT])
        files["campaign__toml"] += QUIET
        folder = sound(position_error__csv=flown_file(rng, reading=0.3), **files)
        found = compare(read(folder))[0]
        low, high = found.interval_95
        inside += low <= truth <= high
        bare = read(sound(position_error__csv=None, **files))
        low, high = compare(replace(bare, sources=tuple(s for s in bare.sources if s.name != "airspeed system")))[
            0
        ].interval_95
        without += low <= truth <= high
    assert 0.95 - 3 * np.sqrt(0.95 * 0.05 / n) <= inside / n
    # with the indicated airspeeds taken as they are, the truth is missed nearly always
    assert without / n < 0.2
