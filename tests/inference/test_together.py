"""What all measures say together: the line by general least squares, the roll by an integrator, refusals, words."""

from __future__ import annotations

import shutil
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import solve_ivp

from samesky.aeroplane.kinds import Known
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.together.line import BEND, REST, fit, known_together
from samesky.inference.together.told import excess_thrust
from samesky.measures import MEASURES
from samesky.measures.shape import Vantage
from samesky.report import by_all_words
from samesky.simulator.examples.catalogue import write_example

KNOT = 1852.0 / 3600.0
PULL, ROLL, CLIMB, LEVEL = "static_pull", "takeoff_roll", "timed_climb", "level_speed"


@pytest.fixture(scope="module")
def as_flown(tmp_path_factory):
    place = tmp_path_factory.mktemp("thrust") / "as_flown"
    write_example("finer_pitch", place)
    return place


@pytest.fixture(scope="module")
def folder(as_flown):
    """As if no run had been throttled back: every measure sees the force."""
    place = as_flown.with_name("campaign")
    shutil.copytree(as_flown, place)
    table = place / "level_speed.csv"
    table.write_text(table.read_text("utf-8").replace(",yes,", ",,"), "utf-8")
    return place


def changed(folder, tmp_path, name, *changes):
    """The campaign with texts of one file exchanged."""
    place = tmp_path / "campaign"
    place.mkdir()
    for path in folder.iterdir():
        text = path.read_text(encoding="utf-8")
        if path.name == name:
            for before, after in changes:
                assert before in text
                text = text.replace(before, after)
        (place / path.name).write_text(text, encoding="utf-8")
    return read(place)


def together(campaign):
    found = excess_thrust(campaign, compare(campaign))
    assert len(found) == 1
    return found[0]


def straight(force, size, df=np.inf, worst=0.0, shared=0.0, aloft=(False, False, False, True)):
    """A line through four measures, without doubt of its shape where the forces are nothing at all."""
    k = len(force)
    covariance = np.diag(np.square(size)) + shared**2 * np.ones((k, k))
    return fit(
        np.array([0.0, 10.0, 15.0, 30.0])[:k], np.array(force), covariance, np.full(k, df), np.full(k, worst),
        np.array(aloft)[:k],
    )  # fmt: skip


# The line.


def test_the_line_is_that_of_general_least_squares():
    # statsmodels' GLS, with the covariance that the line states for measures and bend.
    import statsmodels.api as sm

    line = straight([90.0, 60.0, 70.0, 20.0], [5.0, 20.0, 30.0, 8.0], shared=3.0)
    whole = line._whole()
    fitted = sm.GLS(line.force, sm.add_constant(line.airspeed), sigma=whole).fit()
    for speed in (0.0, line.climb):  # where the bend is nothing
        assert line.at(speed).value == pytest.approx(float(fitted.predict([[1.0, speed]])[0]), rel=1e-9)


def test_the_weights_reproduce_every_line_and_are_the_best_of_those_that_do():
    line = straight([90.0, 60.0, 70.0, 20.0], [5.0, 20.0, 30.0, 8.0])
    weights = line.weights(15.0)
    assert weights.sum() == pytest.approx(1.0)
    assert weights @ line.airspeed == pytest.approx(15.0)
    best = line.told(weights, 15.0)
    rng = np.random.default_rng(3)
    blind = np.linalg.svd(np.column_stack([np.ones(4), line.airspeed]), full_matrices=True)[0][:, 2:]
    for _ in range(50):
        other = line.told(weights + blind @ (0.1 * rng.standard_normal(2)), 15.0)
        assert other.variance + other.model >= best.variance + best.model


def test_a_measure_within_the_bend_takes_most_of_it_away():
    two = fit(
        np.array([0.0, 30.0]), np.array([90.0, 40.0]), np.diag([1.0, 1.0]), np.full(2, np.inf), np.zeros(2),
        np.array([False, True]),
    )  # fmt: skip
    x = 0.5
    assert two.at(15.0).model ** 0.5 == pytest.approx(
        90.0 * BEND * 4 * x * (1 - x) * np.hypot(1, REST / BEND), rel=0.01
    )
    three = fit(
        np.array([0.0, 13.0, 30.0]), np.array([90.0, 70.0, 40.0]), np.eye(3), np.full(3, np.inf), np.zeros(3),
        np.array([False, False, True]),
    )  # fmt: skip
    assert three.at(15.0).model < 0.3 * two.at(15.0).model


def test_hidden_drift_goes_through_the_same_weights_and_moves_them_away():
    calm = straight([90.0, 60.0, 70.0, 20.0], [5.0, 20.0, 30.0, 8.0])
    limits = np.array([0.0, 0.0, 300.0, 0.0])
    told = replace(calm, worst=limits).at(15.0)
    assert float(told.worst) == pytest.approx(abs(told.weights[2]) * 300.0)
    assert abs(told.weights[2]) < 0.2 * abs(calm.weights(15.0)[2])


def test_many_campaigns_take_the_same_path_as_one():
    rng = np.random.default_rng(5)
    force = rng.normal(50.0, 20.0, (6, 4))
    covariance = np.broadcast_to(np.diag([4.0, 90.0, 200.0, 25.0]), (6, 4, 4))
    speed, aloft = np.array([0.0, 10.0, 15.0, 30.0]), np.array([False, False, False, True])
    many = fit(speed, force, covariance, np.full((6, 4), 5.0), np.full((6, 4), 2.0), aloft)
    for k in range(6):
        one = fit(speed, force[k], covariance[k], np.full(4, 5.0), np.full(4, 2.0), aloft)
        assert many.at(15.0).value[k] == pytest.approx(float(one.at(15.0).value))
        assert many.agreement()[k] == pytest.approx(float(one.agreement()))
        assert many.at(15.0).joined()[1][k] == pytest.approx(float(one.at(15.0).joined()[1]))


def test_agreement_is_as_often_by_chance_as_it_says():
    # 4,000 campaigns of alike propellers: p is uniform (Kolmogorov and Smirnov's test, scipy).
    rng = np.random.default_rng(7)
    size = np.array([5.0, 20.0, 30.0, 8.0])
    force = size * rng.standard_normal((4000, 4))
    line = fit(
        np.array([0.0, 10.0, 15.0, 30.0]), force, np.broadcast_to(np.diag(size**2), (4000, 4, 4)),
        np.full((4000, 4), np.inf), np.zeros((4000, 4)), np.array([False, False, False, True]),
    )  # fmt: skip
    # Without the bend, whose size follows from the noise here: p of the plain line.
    plain = replace(line, larger=np.zeros(4000)).agreement()
    assert stats.kstest(plain, "uniform").pvalue > 0.01
    assert 0.02 < (line.agreement() < 0.05).mean() < 0.05
    ends, alone = [0, 3], np.zeros((4000, 2))
    covariance = line.covariance[:, ends][:, :, ends]
    two = fit(np.array([0.0, 30.0]), force[:, ends], covariance, alone + 9.0, alone, np.array([False, True]))
    assert np.isnan(two.agreement()).all()


# Each measure's view, held from outside.


def test_the_roll_sees_the_force_that_an_integrator_rolls_with():
    # scipy.integrate.solve_ivp: a force that falls with airspeed, and a difference that is straight in it.
    mass, lift_off, wind = 540.0, 38.0 * KNOT, 4.0 * KNOT

    def rolled(more):
        def motion(_, state):
            speed = state[1] + wind
            return [state[1], (1500.0 - 0.9 * speed**2 + more(speed)) / mass]

        def off(_, state):
            return state[1] + wind - lift_off

        off.terminal = True
        return solve_ivp(motion, (0.0, 90.0), [0.0, 0.0], events=off, rtol=1e-9, atol=1e-9).y_events[0][0][0]

    view = MEASURES[ROLL].thrust
    plain = rolled(lambda speed: 0.0)
    sight = view.see(Vantage({"weight": mass, "lift-off airspeed": lift_off, "headwind": wind}, {}, plain, Known()))
    for start, end in ((60.0, 20.0), (-40.0, 30.0), (90.0, 90.0)):
        other = rolled(lambda v, a=start, b=end: a + (b - a) * v / 30.0)
        told = sight.factor * (1.0 / other - 1.0 / plain)
        here = start + (end - start) * sight.airspeed / 30.0
        assert told == pytest.approx(here, abs=0.04 * max(abs(start), abs(end)))


def test_the_climb_sees_specific_excess_power():
    # USNTPS-FTM-108 (1992) chapter 7 (rows T6-001 and T6-005): P_s = (thrust power - drag power) / W = F V / W.
    speed, weight = 60.0 * KNOT, 540.0
    sky = {"weight": weight, "airspeed": speed, "from": 0.0, "to": 1.0}
    sight = MEASURES[CLIMB].thrust.see(Vantage(sky, {}, 5.0, Known()))
    excess_power = sight.factor * 5.0 * sight.airspeed
    assert excess_power / (weight * 9.80665) == pytest.approx(5.0)


def test_the_pull_is_a_force_at_the_wind_it_stood_in():
    sight = MEASURES[PULL].thrust.see(Vantage({"headwind": 2.0}, {}, 1800.0, Known()))
    assert (sight.airspeed, sight.factor, sight.exponent) == (2.0, 1.0, 1.0)


def test_top_speed_needs_a_power():
    vantage = Vantage({"altitude": 300.0, "oat": 288.0}, {"rpm": 95.0}, 50.0, Known())
    assert "power" in MEASURES[LEVEL].thrust.see(vantage)
    known = replace(vantage, known=Known(power=75e3, rated_speed=95.0))
    sight = MEASURES[LEVEL].thrust.see(known)
    assert sight.factor == pytest.approx(2.6 * 0.78 * 75e3 * 0.966 / 50.0**2, rel=0.01)


# The whole way.


def test_the_roll_is_known_better_by_all_than_by_its_own_runs(folder):
    campaign = read(folder)
    roll = next(one for one in compare(campaign) if one.measure == ROLL)
    own, by_all = (ends[1] - ends[0] for ends in (roll.percent_95, roll.by_all.percent_95))
    assert by_all < 0.7 * own
    assert roll.by_all.percent_95[0] < roll.percent < roll.by_all.percent_95[1]
    found = together(campaign)
    assert [one.measure for one in found.points] == [PULL, ROLL, CLIMB, LEVEL]
    assert 0 < found.agreement_p < 1
    assert sum(roll.by_all.shares.values()) == pytest.approx(1.0)
    machine = found.to_json()
    assert set(machine["predicted"][ROLL]) >= {
        "percent", "percent_95", "difference", "difference_95", "unit", "verdict"
    }  # fmt: skip
    # True airspeed: that of the climb is faster than the calibrated one by the thinner air.
    assert machine["points"][2]["airspeed_kt"] > 60.0
    said = by_all_words.beside(roll)
    assert said.startswith("By its own runs ")
    assert "; by all measures " in said
    assert roll.by_all.verdict in said


def test_level_runs_held_at_the_limit_see_nothing(as_flown):
    found = together(read(as_flown))
    assert [one.measure for one in found.points] == [PULL, ROLL, CLIMB]
    assert "throttle was pulled back" in found.unseen[MEASURES[LEVEL].title]


def test_throttled_runs_see_nothing(folder, tmp_path):
    lines = (folder / "static_pull.csv").read_text(encoding="utf-8").splitlines()
    header, first = next((k, line) for k, line in enumerate(lines) if line.startswith("run")), None
    place = header[0]
    first = next(k for k in range(place + 1, len(lines)) if lines[k].strip() and not lines[k].startswith("#"))
    table = [
        *lines[:place],
        lines[place] + ",throttled",
        *(line + ("," if line.strip() else "") for line in lines[place + 1 :]),
    ]
    table[first] = table[first] + "yes"
    text = "\n".join(table) + "\n"
    campaign = changed(folder, tmp_path, "static_pull.csv", ((folder / "static_pull.csv").read_text("utf-8"), text))
    found = together(campaign)
    assert PULL not in {one.measure for one in found.points}
    assert "throttle was pulled back" in found.unseen["static pull"]


def test_a_change_of_lift_is_refused(folder):
    campaign = read(folder)
    own = {
        key: replace(one, own_speeds={"lift-off airspeed": speed})
        for (key, one), speed in zip(campaign.configurations.items(), (19.5, 18.0), strict=True)
    }
    found = together(replace(campaign, configurations=own))
    assert "one of lift" in found.refused
    assert not found.predicted
    assert not found.points


def test_without_weight_nothing_but_the_pull_sees_a_force(folder):
    found = together(replace(read(folder), loading=None))
    assert "weight is not known" in found.unseen[MEASURES[ROLL].title]
    assert {one.measure for one in found.points} == {PULL, LEVEL}


def test_measures_that_disagree_are_said_first(folder):
    campaign = read(folder)
    table = campaign.tables[ROLL]
    longer = np.where(table.configuration == "B", 1.6, 1.0) * table.columns["ground roll"]
    odd = replace(
        campaign, tables=campaign.tables | {ROLL: replace(table, columns=table.columns | {"ground roll": longer})}
    )
    found = together(odd)
    assert found.agreement_p < 0.05
    assert "something else changed with B" in by_all_words.first([found])[0]
    assert by_all_words.first([together(campaign)]) == []


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        ('answer_from = "all measures"\n', "when that was fixed is not entered"),
        ('answer_from = "all measures"\nanswer_fixed = 2020-01-01\n', "before the flying"),
        ('answer_from = "all measures"\nanswer_fixed = 2099-01-01\n', "after the first run"),
        ("", "Its own runs decide"),
    ],
)
def test_which_answer_decides_is_entered_and_told(folder, tmp_path, entries, says):
    campaign = changed(
        folder, tmp_path, "campaign.toml", ("[measure.takeoff_roll]\n", f"[measure.takeoff_roll]\n{entries}")
    )
    roll = next(one for one in compare(campaign) if one.measure == ROLL)
    assert says in by_all_words.fixed(roll)
    decides = roll.by_all.verdict if entries else roll.verdict
    assert roll.deciding_verdict == decides
    assert roll.to_json()["answer_from"] == ("all measures" if entries else "own runs")


def test_what_is_no_measure_of_thrust_is_told_by_its_own_runs(folder, tmp_path):
    extra = '[measure.landing_roll]\nanswer_from = "all measures"\nsmallest_difference_that_matters = "5 %"\n\n'
    campaign = changed(
        folder, tmp_path, "campaign.toml", ("[measure.takeoff_roll]\n", f"{extra}[measure.takeoff_roll]\n")
    )
    assert any("does not measure thrust" in one.sentence() for one in campaign.findings)


@pytest.mark.parametrize("df", [2, 6])
def test_scatter_of_several_measures_is_known_better_than_that_of_one(df):
    """Simulated coverage of a straight truth told by two to four measures of which each has few runs.

    94 to 97 of 100, and three standard errors of so many campaigns. Weights that follow an estimated scatter make it 82
    to 93 where they count as known; variances that count as wrong together make it 97 to 99 where no weight is free.
    """
    rng, many = np.random.default_rng(31), 4000
    room = 3.0 * np.sqrt(0.05 * 0.95 / many)
    for speeds, sizes in (
        ([0.0, 30.0], [10.0, 10.0]),
        ([0.0, 12.0, 30.0], [4.0, 30.0, 12.0]),
        ([0.0, 8.0, 12.0, 30.0], [10.0, 10.0, 10.0, 10.0]),
    ):
        sd, k = np.array(sizes), len(sizes)
        seen = np.square(sd) * rng.chisquare(df, (many, k)) / df
        through = fit(
            np.array(speeds), sd * rng.standard_normal((many, k)), seen[..., None] * np.eye(k),
            np.full((many, k), float(df)), np.zeros((many, k)), np.arange(k) == k - 1,
        )  # fmt: skip
        told = replace(through, larger=np.zeros(many)).at(12.0)
        standard, known = told.joined()
        holds = np.mean(np.abs(told.value) <= stats.t.ppf(0.975, known) * standard)
        assert 0.94 - room <= holds <= 0.97 + room, (df, sizes, holds)
    assert float(known_together(np.array([1.0, 0.0]), np.array([4.0, 9.0]))) == pytest.approx(4.0), "one alone"
    # Welch's degrees of freedom of two samples of equal variance and size: as many as both together.
    assert float(known_together(np.array([0.5, 0.5]), np.array([5.0, 5.0]))) == pytest.approx(10.0)


def test_what_uncertain_weights_add_is_that_of_meier():
    """Two measures at one airspeed beside one far away: the weighted mean of two, with the correction of P. Meier,
    Biometrics 9 (1953) 59-73, 1 + 4 sum of w (1 - w) / df (from memory)."""
    sd, df = np.array([3.0, 5.0, 1e-6]), np.array([6.0, 9.0, 50.0])
    through = fit(np.array([0.0, 0.0, 30.0]), np.zeros(3), np.diag(np.square(sd)), df, np.zeros(3), sd < 1.0)
    told = through.at(0.0)
    w = (1.0 / np.square(sd[:2])) / (1.0 / np.square(sd[:2])).sum()
    mean = 1.0 / (1.0 / np.square(sd[:2])).sum()
    assert told.weights[:2] == pytest.approx(w, rel=1e-5)
    assert float(told.variance) == pytest.approx(mean * (1.0 + (4.0 * w * (1.0 - w) / df[:2]).sum()), rel=1e-5)
