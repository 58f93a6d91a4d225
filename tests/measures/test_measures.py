"""The shape that every measure has, the free measure, and sensitivities."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.instruments.sources import ErrorSource
from samesky.measures import MEASURES, default_sources, free
from samesky.measures.columns import COMMON, MOST_LEGS
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.units import DIMENSIONS

CONDITIONS = {
    "ground roll": 76.0,
    "headwind": 2.0,
    "lift-off airspeed": 19.5,
    "touch-down airspeed": 18.5,
    "slope": 0.005,
    "weight": 540.0,
    "oat": 290.0,
    "pressure": 101000.0,
    "dew point": 283.0,
    "from": 150.0,
    "to": 450.0,
    "elapsed": 62.0,
    "entry airspeed": 30.6,
    "exit airspeed": 31.2,
    "airspeed": 31.0,
    "altitude": 600.0,
    "pull": 1800.0,
    "fuel flow": 5e-6,
    "first ground speed": 5.0,
    "second ground speed": 15.0,
    "first airspeed": 31.0,
    "second airspeed": 40.0,
    "end altitude": 602.0,
}
#: An elapsed time of a band is none of an acceleration.
ELAPSED = {"ground_acceleration": 4.5, "level_acceleration": 11.0}


def runs_of(measure, n=4):
    """Believable runs, each a little different, with the band turned over for a descent."""
    rng = np.random.default_rng(1)
    runs = {name: value * (1 + 0.01 * rng.standard_normal(n)) for name, value in CONDITIONS.items()}
    runs["end altitude"] = runs["altitude"] + 2.0 * rng.standard_normal(n)
    runs["elapsed"] = runs["elapsed"] * ELAPSED.get(measure.name, CONDITIONS["elapsed"]) / CONDITIONS["elapsed"]
    if measure.name == "idle_descent":
        runs["from"], runs["to"] = runs["to"], runs["from"]
    return runs


def sky_of(measure, runs):
    return {name: float(np.mean(runs[name])) for name in measure.conditions}


@pytest.fixture(params=sorted(MEASURES))
def measure(request):
    return MEASURES[request.param]


def test_every_measure_is_found():
    assert set(MEASURES) == {
        "takeoff_roll", "timed_climb", "static_pull", "level_speed", "landing_roll", "idle_descent", "cruise_fuel",
        "ground_acceleration", "level_acceleration",
    }  # fmt: skip


def test_shape(measure):
    assert measure.dimension in DIMENSIONS
    assert measure.better in ("smaller", "larger")
    assert all(column.dimension in (*DIMENSIONS, "text") for column in (*measure.columns, *COMMON))
    assert any(column.required for column in measure.columns)
    names = [column.name for column in (*measure.columns, *COMMON)]
    assert len(names) == len(set(names)), "an own column must not repeat a common one"
    assert measure.assumptions
    assert measure.cautions
    assert set(measure.needs) == set(measure.corrections)
    for coefficient in measure.coefficients:
        assert coefficient.standard_uncertainty > 0
        assert coefficient.source


def test_corrections_come_in_the_stated_order(measure):
    runs = runs_of(measure)
    steps = reduce_runs(measure, runs, sky_of(measure, runs))
    assert [step.name for step in steps] == ["as flown", *measure.corrections]
    assert all(step.value.shape == (4,) and np.all(np.isfinite(step.value)) for step in steps)
    low, high = measure.plausible
    assert np.all((low < steps[-1].value) & (steps[-1].value < high))


def test_each_missing_condition_leaves_its_correction_out(measure):
    runs = runs_of(measure)
    sky = sky_of(measure, runs)
    for correction, needed in measure.needs.items():
        for name in needed:
            if any(name == column.name and column.required for column in measure.columns):
                continue
            blank = {**runs, name: np.full(4, np.nan)}
            without = {key: value for key, value in sky.items() if key != name}
            names = [step.name for step in reduce_runs(measure, blank, without)]
            assert correction not in names, f"{correction} was made without {name}"
            assert names[0] == "as flown"


def test_leading_axes(measure):
    runs = {name: np.broadcast_to(value, (30, 4)) for name, value in runs_of(measure).items()}
    sky = {name: np.full((30, 1), value) for name, value in sky_of(measure, runs_of(measure)).items()}
    assert reduce_runs(measure, runs, sky)[-1].value.shape == (30, 4)
    effects = sensitivities(measure, runs, sky, default_sources())
    assert all(effect.shape == (30, 4) for _, effect in effects)


def test_more_legs_than_columns_cannot_be():
    assert {f"speed {leg}" for leg in range(1, MOST_LEGS + 1)} < {c.name for c in MEASURES["level_speed"].columns}


# --- the free measure --------------------------------------------------------------------------------------------


def test_free_measure():
    noise = free("cabin_noise", "1", "fraction", "smaller")
    steps = reduce_runs(noise, {"cabin noise": np.array([82.0, 84.0])}, {})
    assert [step.name for step in steps] == ["as flown"]
    assert steps[0].value.tolist() == [82.0, 84.0]
    assert noise.columns[0].required
    with pytest.raises(ValueError, match="smaller"):
        free("cabin_noise", "1", "fraction", "quieter")


# --- sensitivities -----------------------------------------------------------------------------------------------


def effect_of(measure, source, runs=None):
    runs = runs_of(measure) if runs is None else runs
    found = sensitivities(measure, runs, sky_of(measure, runs), [source])
    return next((effect for one, effect in found if one is source), None)


def test_many_pushed_at_once_are_each_pushed_by_itself(measure):
    """The central difference of one column or coefficient at a time, worked out here; and nothing that moves no run."""
    runs, sky = runs_of(measure), sky_of(measure, runs_of(measure))
    values = measure.coefficient_values()
    targets = [name for name in (*runs, *values) if np.all(np.isfinite({**runs, **values}[name]))]
    sizes = {name: 1e-3 * (float(np.mean(np.abs({**runs, **values}[name]))) or 1.0) for name in targets}
    sources = [ErrorSource(f"of {name}", name, sizes[name], "campaign", "test") for name in targets]
    found = {
        source.target: effect for source, effect in sensitivities(measure, runs, sky, sources) if source in sources
    }
    for source in sources:
        name, ends = source.target, []
        for push in (sizes[name], -sizes[name]):
            there = {**(runs if name in runs else values)}
            there[name] = there[name] + push
            moved = (there, sky, values) if name in runs else (runs, sky, there)
            ends.append(measure.to_scale(measure.reduce(*moved)[-1].value))
        alone = 0.5 * (ends[0] - ends[1]) + np.zeros(np.shape(ends[0]))
        if np.any(np.abs(alone) > 1e-12 * np.abs(ends[0])):
            assert found[name] == pytest.approx(alone, rel=1e-6, abs=1e-12 * np.max(np.abs(ends[0]))), name
        else:
            assert name not in found, name


def test_sensitivity_to_the_stopwatch_is_the_derivative():
    climb = MEASURES["timed_climb"]
    runs = {name: runs_of(climb)[name] for name in ("from", "to", "elapsed")}
    found = sensitivities(climb, runs, {}, [ErrorSource("watch", "elapsed", 0.1, "run", "test")])
    assert found[0][1] == pytest.approx(-0.1 / runs["elapsed"], rel=1e-5)  # d ln(h/t) = -dt/t


def test_sensitivity_to_the_wind_is_the_derivative():
    takeoff = MEASURES["takeoff_roll"]
    runs = runs_of(takeoff)
    speed = runs["lift-off airspeed"]
    effect = effect_of(takeoff, ErrorSource("wind", "headwind", 0.05, "run", "test"))
    # d ln S = n dW/(V - W): 5 % per knot at 38 kt, the prototype's figure
    assert effect == pytest.approx(1.85 * 0.05 / (speed * 1.01 - runs["headwind"]), rel=0.04)
    assert np.all(effect > 0), "a headwind read too high corrects the roll too long"


def test_sources_on_the_result():
    level, roll = MEASURES["level_speed"], MEASURES["takeoff_roll"]
    relative = ErrorSource("rigging", "result", 0.005, "installation", "test", relative=True)
    absolute = ErrorSource("air", "result", 0.2, "run", "test")
    assert effect_of(roll, relative) == pytest.approx(0.005)
    assert effect_of(level, absolute) == pytest.approx(0.2)
    speed = reduce_runs(level, runs_of(level), sky_of(level, runs_of(level)))[-1].value
    assert effect_of(level, relative) == pytest.approx(0.005 * speed)
    length = reduce_runs(roll, runs_of(roll), sky_of(roll, runs_of(roll)))[-1].value
    assert effect_of(roll, absolute) == pytest.approx(0.2 / length)


def test_one_airspeed_system_errs_alike_at_entry_and_exit():
    climb = MEASURES["timed_climb"]
    runs = runs_of(climb)
    runs["exit airspeed"] = runs["entry airspeed"].copy()
    sources = [ErrorSource("system", f"{end} airspeed", 1.5, "campaign", "test") for end in ("entry", "exit")]
    both = [effect for source, effect in sensitivities(climb, runs, sky_of(climb, runs), sources) if source in sources]
    one = effect_of(climb, sources[0], runs)
    assert all(np.max(np.abs(effect)) < 0.03 * np.min(np.abs(one)) for effect in both), "cancels, to first order"
    new_each_time = [ErrorSource("reading", f"{end} airspeed", 1.5, "run", "test") for end in ("entry", "exit")]
    kept = [s for s, _ in sensitivities(climb, runs, sky_of(climb, runs), new_each_time) if s in new_each_time]
    assert len(kept) == 2, "readings of their own are not one error"


def test_a_relative_error_may_be_counted_from_a_value_of_its_own():
    """Closed form: a push of 1 % of (V - 30 m/s) acts as an absolute push of that size, and not at all at 30 m/s."""
    climb = MEASURES["takeoff_roll"]
    runs = runs_of(climb)
    speed = 24.0
    runs["lift-off airspeed"] = np.full_like(runs["lift-off airspeed"], speed)
    about = ErrorSource("scale", "lift-off airspeed", 0.01, "campaign", "test", relative=True, about=30.0)
    absolute = ErrorSource("scale", "lift-off airspeed", 0.01 * abs(speed - 30.0), "campaign", "test")
    sign = np.sign(speed - 30.0)
    assert effect_of(climb, about, runs) == pytest.approx(sign * effect_of(climb, absolute, runs))
    at_the_pivot = [
        source
        for source, _ in sensitivities(
            climb,
            {**runs, "lift-off airspeed": np.full_like(runs["lift-off airspeed"], 30.0)},
            sky_of(climb, runs),
            [about],
        )
    ]
    assert about not in at_the_pivot


def test_coefficients_enter_as_campaign_wide_sources():
    takeoff = MEASURES["takeoff_roll"]
    runs = runs_of(takeoff)
    found = {source.name: source for source, _ in sensitivities(takeoff, runs, sky_of(takeoff, runs), [])}
    assert "wind exponent" in found
    assert {source.scope for source in found.values()} == {"campaign"}
    assert "weight exponent, lift-off airspeed unread" not in found, "an exponent not used has no effect"


def test_coefficients_vanish_at_the_common_sky():
    takeoff = MEASURES["takeoff_roll"]
    runs = {name: np.array([value, value]) for name, value in CONDITIONS.items()}
    effects = sensitivities(takeoff, runs, sky_of(takeoff, runs), [])
    assert all(np.max(np.abs(effect)) < 1e-12 for _, effect in effects)


def test_sources_that_do_not_apply_are_left_out():
    takeoff = MEASURES["takeoff_roll"]
    foreign = ErrorSource("watch", "elapsed", 0.1, "run", "test", measures=("timed_climb",))
    absent = ErrorSource("gauge", "no such column", 0.1, "run", "test")
    idle = ErrorSource("tachometer", "rpm", 1.0, "run", "test")
    runs = {**runs_of(takeoff), "rpm": np.full(4, 80.0)}
    found = [source for source, _ in sensitivities(takeoff, runs, sky_of(takeoff, runs), [foreign, absent, idle])]
    assert not {foreign, absent, idle} & set(found)
    assert effect_of(MEASURES["timed_climb"], foreign) is not None


def test_replaced_coefficients_are_used():
    takeoff = MEASURES["takeoff_roll"]
    runs = runs_of(takeoff)
    sky = {**sky_of(takeoff, runs), "headwind": 0.0}
    square = reduce_runs(takeoff, runs, sky, {"wind exponent": 2.0})[1].value
    speed = reduce_runs(takeoff, runs, sky)[1].value
    assert np.all(square > speed)
