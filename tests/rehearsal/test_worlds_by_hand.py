"""Worlds and scripts by hand: what each change touches, courses of the sky, what is stated, looks, blocks."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from plan_by_hand import asked, by_hand

from samesky.air import atmosphere
from samesky.inference.comparison import NO_CLOCK_STEP
from samesky.instruments.sources import RESULT, ErrorSource
from samesky.planning.schedule import planned_table
from samesky.rehearsal import changes
from samesky.rehearsal.flight import ready, true_on_scale
from samesky.rehearsal.rehearse import CHUNK, flown_all, with_truth
from samesky.rehearsal.scatter import as_documented, scatter_of_runs
from samesky.rehearsal.scene import GUSTS, _expected_result, _stated, _trend, qnh_of, scene
from samesky.rehearsal.script import Script, _planned_looks, with_block, with_clock, with_day
from samesky.rehearsal.through_files import file_of, rounded
from samesky.simulator.campaign_sim import result_at
from samesky.simulator.sky import FAIR, Course

ROLL, PULL, CLIMB = "takeoff_roll", "static_pull", "timed_climb"
KNOT = 1852 / 3600


def scripted(folder, *edits, only=()) -> Script:
    question = asked(folder, *edits)
    plan = by_hand(question)
    tables = {one.name: planned_table(question, one, plan.schedule.runs_of(one.name)) for one in question.wanted}
    tables = {name: tables[name] for name in (ROLL, PULL, CLIMB) if not only or name in only}
    return Script(question.campaign, "B", tables, plan, {name: one.scatter for name, one in plan.powers.items()})


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    return scripted(tmp_path_factory.mktemp("told"))


@pytest.fixture(scope="module")
def world(told):
    return scene(told)


@pytest.fixture(scope="module")
def named(told):
    """Sources of every kind that a change may choose by."""
    kinds = [(RESULT, scope) for scope in ("run", "day", "straight drift", "wandering", "installation", "campaign")]
    columns = (
        "headwind",
        "lift-off airspeed",
        "ground roll",
        "elapsed",
        "pull",
        "oat",
        "pressure",
        "weight",
        "fuel flow",
    )
    kinds += [(column, scope) for column in columns for scope in ("run", "campaign")]
    sources = tuple(ErrorSource(f"{target} {scope}", target, 2.0, scope, "test") for target, scope in kinds)
    return replace(told.campaign, sources=sources)


def changed_sources(world, named, change):
    """By name what is left of each source, in statement and world alike, and what the world became."""
    gusts = ErrorSource(GUSTS, "headwind", 2.0, "run", "test")
    script = replace(world.script, campaign=named)
    before = replace(world, script=script, scenario=replace(world.scenario, sources=(*named.sources, gusts)))
    after = change.apply(before)
    stated = {one.name: one.standard_uncertainty / 2.0 for one in after.script.campaign.sources[: len(named.sources)]}
    flown = {one.name: one.standard_uncertainty / 2.0 for one in after.scenario.sources}
    assert {name: flown[name] for name in stated} == stated
    return {name: left for name, left in flown.items() if left != 1.0}, after, before


#: Of each disturbance the sources that fade, and what is left of them.
FADED = {
    "wind reading": (["headwind run", "headwind campaign"], 0.0),
    "gusts": ([GUSTS], 1e-9),
    "airspeed reading": (["lift-off airspeed run", "lift-off airspeed campaign"], 1e-9),
    "tape, watch, dial": (
        [
            f"{what} {scope}"
            for what in ("ground roll", "elapsed", "pull", "fuel flow")
            for scope in ("run", "campaign")
        ],
        1e-9,
    ),
    "unread scatter of the ground run": ([], 0.0),
    "rising and sinking air": ([f"{RESULT} run", f"{RESULT} day"], 1e-9),
    "drift": ([f"{RESULT} straight drift", f"{RESULT} wandering"], 1e-9),
    "fitting error": ([f"{RESULT} installation"], 1e-9),
    "thermometer and altimeter": (["oat run", "oat campaign", "pressure run", "pressure campaign"], 1e-9),
    "weight": (["weight run", "weight campaign"], 1e-9),
    "doubt of the corrections": ([], 0.0),
    "a better wind reading": (["headwind run", "headwind campaign"], 0.5),
    "a tighter airspeed band": (["lift-off airspeed run"], 0.5),
    "a calm hour": ([GUSTS], 0.25),
}


def test_each_change_touches_its_own_sources_and_no_others(world, named):
    listed = {one.name: one for one in (*changes.disturbances(world), *changes.gains(world))}
    for name, (sources, left) in FADED.items():
        if name not in listed:
            assert name == "rising and sinking air"
            continue
        found, _, _ = changed_sources(world, named, listed[name])
        assert found == dict.fromkeys(sources, left), name
    air = changes.Change("air", "", changes._no_moving_air)
    found, after, before = changed_sources(world, named, air)
    assert found == dict.fromkeys(*FADED["rising and sinking air"])
    for course, parts in (("rising air", ("scatter", "growth")), ("wind gradient", ("scatter", "day"))):
        for part in parts:
            was = getattr(before.scenario.sky.courses[course], part)
            assert getattr(after.scenario.sky.courses[course], part) == pytest.approx(1e-9 * was)


def test_what_no_reading_shows_fades_where_it_is_switched_off(world):
    unseen = {
        name: replace(one, scatter=1.0, slope=1.0, walk=1.0, day=1.0, fitting=1.0)
        for name, one in world.scenario.unseen.items()
    }
    world = replace(world, scenario=replace(world.scenario, unseen=unseen))
    listed = {one.name: one for one in changes.disturbances(world)}
    handles = {name: one.handle for name, one in unseen.items()}
    assert set(handles.values()) >= {"friction"}
    for name, parts, handle in (
        ("drift", {"slope", "walk"}, None),
        ("fitting error", {"fitting"}, None),
        ("unread scatter of the ground run", {"scatter"}, "friction"),
        ("weight", set(), None),
    ):
        after = listed[name].apply(world).scenario.unseen
        for measure, own in after.items():
            mine = parts if handle in (None, handles[measure]) else set()
            for part in ("scatter", "slope", "walk", "day", "fitting"):
                assert getattr(own, part) == (1e-9 if part in mine else 1.0), (name, measure, part)
    calm = listed["gusts"].apply(world).scenario.sky.courses["gust"]
    was = world.scenario.sky.courses["gust"]
    assert (calm.level, calm.scatter) == pytest.approx((1e-9 * was.level, 1e-9 * was.scatter))


def test_a_calm_hour_is_a_quarter_of_wind_and_gusts(world):
    (calm,) = [one for one in changes.gains(world) if one.name == "a calm hour"]
    after, before = calm.apply(world).scenario.sky.courses, world.scenario.sky.courses
    for name in ("headwind", "crosswind", "gust"):
        for part in ("level", "rate", "rate_scatter", "walk", "day", "scatter"):
            assert getattr(after[name], part) == 0.25 * getattr(before[name], part)
    assert after["temperature"] == before["temperature"]


def test_a_tighter_band_halves_the_pilots_scatter(world):
    (tight,) = [one for one in changes.gains(world) if one.name == "a tighter airspeed band"]
    after, before = tight.apply(world).scenario.pilot, world.scenario.pilot
    for name in ("lift_off", "climb", "climb_ends", "descent", "touch_down", "cruise"):
        assert getattr(after, f"{name}_scatter") == 0.5 * getattr(before, f"{name}_scatter")


def test_known_exactly_leaves_the_coefficients_no_doubt(world):
    (sure,) = [one for one in changes.disturbances(world) if one.name == "doubt of the corrections"]
    campaign = sure.apply(world).script.campaign
    known = {one.name: one.standard_uncertainty for one in campaign.sources[len(world.script.campaign.sources) :]}
    for table in world.script.tables.values():
        assert {one.name for one in table.measure.coefficients} <= set(known)
    assert set(known.values()) == {0.0}


ALL = [
    "wind reading", "gusts", "airspeed reading", "tape, watch, dial", "unread scatter of the ground run",
    "rising and sinking air", "drift", "fitting error", "thermometer and altimeter", "weight",
    "doubt of the corrections",
]  # fmt: skip
GAINS = ["one more block", "one more day", "every block twice as long", "a better wind reading",
         "a tighter airspeed band", "a calm hour"]  # fmt: skip


def test_what_is_offered_is_what_the_script_has(told, tmp_path):
    def names(found, listed):
        return [one.name for one in listed(found)]

    def world_of(campaign=told.campaign, only=(ROLL, PULL, CLIMB)):
        tables = {name: told.tables[name] for name in only}
        unseen = {name: SimpleNamespace() for name in tables}
        return SimpleNamespace(
            script=replace(told, campaign=campaign, tables=tables), scenario=SimpleNamespace(unseen=unseen)
        )

    handles = {changes.HANDLE[name] for name in told.tables}
    absent = set() if "rising air" in handles else {"rising and sinking air"}
    assert names(world_of(), changes.disturbances) == [name for name in ALL if name not in absent]
    assert names(world_of(), changes.gains) == GAINS
    free = replace(told.campaign, fitted_anew=False)
    assert "fitting error" not in names(world_of(free), changes.disturbances)
    says = {one.name: one.says for one in changes.gains(world_of(free))}
    assert says["one more block"] == "four more runs"
    assert {one.name: one.says for one in changes.gains(world_of())}["one more block"].startswith("one more swap")
    aloft = names(world_of(only=(CLIMB,)), changes.disturbances)
    assert "rising and sinking air" in aloft
    for lacking in ("wind reading", "gusts", "unread scatter of the ground run"):
        assert lacking not in aloft
    assert "airspeed reading" in aloft
    pulls = {
        PULL: replace(
            told.tables[PULL], columns={k: v for k, v in told.tables[PULL].columns.items() if k != "headwind"}
        )
    }
    still = replace(told, tables=pulls)
    bare = SimpleNamespace(script=still, scenario=SimpleNamespace(unseen={}))
    assert not {"airspeed reading", "wind reading", "gusts"} & set(names(bare, changes.disturbances))
    assert not {"a better wind reading", "a calm hour"} & set(names(bare, changes.gains))
    assert {"tape, watch, dial", "drift", "thermometer and altimeter", "weight"} <= set(
        names(bare, changes.disturbances)
    )


# -- scripts -----------------------------------------------------------------------------------------------------------


def letters(script, name=ROLL):
    return "".join(script.tables[name].configuration)


def test_a_block_more_is_the_newest_fitting_in_the_other_configuration(told):
    longer = with_block(told)
    for name in told.tables:
        each = len(told.tables[name].rows) // 6
        assert letters(longer, name) == "".join(one * each for one in "ABABABA"[:3]) + "".join(
            one * each for one in "BABA"
        )
    roll = longer.tables[ROLL]
    assert roll.installation.tolist() == sorted([0, 1, 2, 3, 4, 5, 6] * 2)
    assert roll.day[-1] == 1
    # A swap and a turn after the last run of all: the climb at 12 minutes, the roll at 9, begins 31 minutes later.
    last = max(table.hours.max() for table in told.tables.values())
    first = min(table.hours[table.installation == 6].min() for table in longer.tables.values())
    assert first - last == pytest.approx(0.5 + 0.15)
    old, new = (np.sort(roll.hours[roll.installation == k]) for k in (5, 6))
    assert np.diff(new) == pytest.approx(np.diff(old))


def test_where_changing_is_free_the_last_four_are_flown_again_exchanged(told):
    free = replace(told.campaign, fitted_anew=False, swap_hours=None)
    roll = told.tables[ROLL]
    configuration = np.array(list("ABBABAABABBB"), dtype=object)
    fitted = np.cumsum(np.r_[0, configuration[1:] != configuration[:-1]])
    short = replace(told, campaign=free, tables={ROLL: replace(roll, configuration=configuration, installation=fitted)})
    longer = with_block(short)
    assert letters(longer) == "ABBABAABABBBBAAA"
    assert longer.tables[ROLL].hours[12] == pytest.approx(roll.hours.max() + 0.15)
    assert longer.tables[ROLL].installation[12:].tolist() == [1 + fitted[-1] + k for k in (0, 1, 1, 1)]


def test_a_day_more_is_the_last_day_exchanged(told):
    longer = with_day(told).tables[ROLL]
    assert letters(with_day(told)) == "AABBAABBAABBAABBAA"
    assert longer.day.tolist() == sorted([0, 1, 2] * 6)
    assert longer.hours[12:] - longer.hours[6:12] == pytest.approx(24.0)
    assert longer.installation[12:].tolist() == [6, 6, 7, 7, 8, 8]


def test_runs_twice_stand_between_their_neighbours(told):
    twice = changes.twice_the_runs(told).tables[ROLL]
    roll = told.tables[ROLL]
    assert twice.hours[::2] == pytest.approx(roll.hours)
    assert twice.hours[1::2] - twice.hours[::2] == pytest.approx(0.25 * NO_CLOCK_STEP)
    assert list(twice.configuration) == [one for one in roll.configuration for _ in range(2)]


def test_clocks_that_lack_begin_in_the_morning_and_go_on():
    table = SimpleNamespace(day=np.array([0, 0, 1, 1, 1]), hours=np.array([8.0, np.nan, np.nan, 33.0, np.nan]))

    def given(found, **now):
        return SimpleNamespace(**{**vars(found), **now})

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("samesky.rehearsal.script.replace", given)
        hours = with_clock(table).hours
    step = NO_CLOCK_STEP
    assert hours == pytest.approx([9.0, 9.0 + step, 33.0, 33.0 + step, 33.0 + 2 * step])


def test_looks_are_shares_of_the_deciding_measures_runs(told):
    looks = (SimpleNamespace(after_run=6), SimpleNamespace(after_run=12), SimpleNamespace(after_run=15))
    planned = SimpleNamespace(looks=looks, question=SimpleNamespace(primary=SimpleNamespace(name=ROLL)))
    assert _planned_looks(planned, told.tables) == (0.5, 1.0, 1.25)
    assert _planned_looks(planned, {PULL: told.tables[PULL]}) == ()


# -- scenes ------------------------------------------------------------------------------------------------------------


def test_the_scene_is_that_of_the_campaign(told, world):
    scenario = world.scenario
    # 330 + 154 kg without fuel; B's propeller is half a kilogram heavier; 0.4 % uphill.
    assert scenario.ready_mass == pytest.approx(484.0)
    assert {key: effect.mass for key, effect in scenario.effects.items()} == pytest.approx({"A": 0.0, "B": 0.5})
    assert scenario.slope == pytest.approx(0.004)
    assert scenario.tracks == ()
    assert all(one.target != RESULT for one in scenario.sources)
    (gusts,) = [one for one in scenario.sources if one.name == GUSTS]
    assert gusts.standard_uncertainty == pytest.approx(0.30 * scenario.sky.courses["gust"].level)
    flat = replace(told.campaign, runways={})
    assert scene(replace(told, campaign=flat)).scenario.slope == 0.0
    legs = {f"track {k}": np.full(12, np.radians(40.0 * k)) for k in (1, 2, 8)}
    with_legs = replace(
        told.tables[CLIMB], columns={**told.tables[CLIMB].columns, **{k: v[:6] for k, v in legs.items()}}
    )
    tracks = scene(replace(told, tables={**told.tables, CLIMB: with_legs})).scenario.tracks
    assert tracks == pytest.approx(tuple(np.radians([40.0, 80.0, 320.0])))


def test_its_sky_is_the_forecast(world, told):
    """8 to 16 degC, 1018 to 1017 hPa at 300 ft, wind 1 to 4 kt, gusts 2 to 7 kt between 06:00 and 11:30."""
    courses = world.scenario.sky.courses
    since = courses["temperature"].since
    hours = np.concatenate([table.hours % 24 for table in told.tables.values()])
    assert since == pytest.approx(hours.mean())
    assert courses["temperature"].level == pytest.approx(281.15 + 8 * (since - 6) / 5.5, abs=0.01)
    assert courses["temperature"].rate == pytest.approx(8 / 5.5, rel=1e-3)
    head = np.cos(np.radians(20.0)) * KNOT
    assert courses["headwind"].level == pytest.approx((1 + 3 * (since - 6) / 5.5) * head, rel=1e-3)
    assert courses["crosswind"].rate == pytest.approx(3 / 5.5 * np.sin(np.radians(20.0)) * KNOT, rel=1e-3)
    gust = (2 + 5 * (since - 6) / 5.5) * KNOT - courses["headwind"].level
    assert courses["gust"].level == pytest.approx(gust, rel=0.01)
    assert courses["gust"].low == 0.0
    assert courses["rising air"].scatter == 0.0
    assert qnh_of(told, ROLL, courses["pressure"].level) == pytest.approx(101_750.0, abs=60.0)
    silent = replace(told.campaign, plan=replace(told.campaign.plan, forecast={}))
    bare = {
        name: replace(
            t,
            columns={
                k: v
                for k, v in t.columns.items()
                if k not in ("qnh", "oat", "headwind", "gust", "crosswind", "dew point")
            },
        )
        for name, t in told.tables.items()
    }
    plain = scene(replace(told, campaign=silent, tables=bare)).scenario.sky.courses
    assert plain["temperature"].level == FAIR.courses["temperature"].level
    assert plain["headwind"].level == 0.0
    assert plain["pressure"].level == pytest.approx(float(atmosphere.pressure(300 * 0.3048)))


def test_temperatures_read_aloft_are_brought_down_by_the_lapse_of_the_standard_atmosphere(told):
    """6.5 K a kilometre (ISO 2533). Flown climbs alone: the sky's temperature is that of the strip below."""
    climb = told.tables[CLIMB]
    flown = replace(
        told,
        planned=None,
        documented=None,
        tables={CLIMB: replace(climb, columns={**climb.columns, "oat": np.full(6, 280.0)})},
    )
    course = scene(flown).scenario.sky.courses["temperature"]
    # From 1,000 to 2,000 ft, the middle 1,200 ft above the strip at 300 ft.
    assert course.level == pytest.approx(280.0 + 0.0065 * 1200 * 0.3048, abs=0.25)
    planned = scene(replace(flown, planned=told.planned)).scenario.sky.courses["temperature"]
    assert planned.level == pytest.approx(280.0, abs=1e-6)


def test_a_trend_is_a_straight_line_through_what_is_read():
    hours = np.array([8.0, 9.0, 10.0, 11.0])
    fair = Course(5.0, rate=0.7, curve=0.3, scatter=0.2)
    found = _trend([(hours, 3.0 + 2.0 * (hours - 9.0))], 9.0, fair)
    assert (found.level, found.rate, found.curve, found.scatter, found.since) == pytest.approx(
        (3.0, 2.0, 0.0, 0.2, 9.0)
    )
    short = _trend([(hours[:1], np.array([4.0])), (hours[:1] + 0.25, np.array([6.0]))], 9.0, fair)
    assert (short.level, short.rate) == (5.0, 0.0)
    holes = _trend([(hours, np.array([1.0, np.nan, 3.0, np.nan]))], 9.0, fair)
    assert (holes.level, holes.rate) == pytest.approx((2.0, 1.0))
    for nothing in (None, [], [(hours, np.full(4, np.nan))]):
        assert _trend(nothing, 9.0, fair) == replace(fair, since=9.0)


def test_the_expected_result_is_the_baselines_mean(told):
    roll = told.tables[ROLL]
    long = np.where(roll.configuration == "A", 80.0, 200.0)
    found = _expected_result(
        replace(told, tables={ROLL: replace(roll, columns={**roll.columns, "ground roll": long})}), ROLL
    )
    assert 70.0 < found < 90.0
    holes = np.where(np.arange(12) == 0, np.nan, long)
    with_hole = replace(told, tables={ROLL: replace(roll, columns={**roll.columns, "ground roll": holes})})
    assert _expected_result(with_hole, ROLL) == pytest.approx(found, rel=0.02)


@pytest.mark.parametrize(
    ("ratio", "relative", "expected"),
    [(True, True, 0.03), (True, False, 0.03 / 80), (False, False, 0.03), (False, True, 0.03 * 80)],
)
def test_what_is_stated_of_the_result_comes_to_the_scale_of_the_comparison(
    told, monkeypatch, ratio, relative, expected
):
    sources = (
        ErrorSource("air", RESULT, 0.03, "run", "test", relative=relative),
        ErrorSource("air too", RESULT, 0.04, "run", "test", relative=relative),
        ErrorSource("fitting", RESULT, 9.0, "installation", "test", relative=relative),
        ErrorSource("elsewhere", RESULT, 9.0, "run", "test", relative=relative, measures=(CLIMB,)),
        ErrorSource("tape", "ground roll", 9.0, "run", "test"),
    )
    roll = told.tables[ROLL]
    measure = replace(roll.measure, ratio=ratio, sources=())
    found = SimpleNamespace(
        script=SimpleNamespace(
            campaign=SimpleNamespace(sources=sources), tables={ROLL: replace(roll, measure=measure)}
        ),
        scenario=None, skies={ROLL: {}},
    )  # fmt: skip
    monkeypatch.setattr("samesky.rehearsal.scene.result_at", lambda *_: 80.0)
    # The root sum square of 3 and 4 is 5.
    assert _stated(found, ROLL, "run") == pytest.approx(expected * 5 / 3)


# -- truth -------------------------------------------------------------------------------------------------------------


def test_the_truth_is_that_of_each_configurations_own_speed(world):
    configurations = dict(world.script.campaign.configurations)
    configurations["B"] = replace(configurations["B"], own_speeds={"lift-off airspeed": 21.0, "no such": 1.0})
    own = replace(
        world, script=replace(world.script, campaign=replace(world.script.campaign, configurations=configurations))
    )
    measure, sky, effects = world.script.tables[ROLL].measure, world.skies[ROLL], world.scenario.effects
    ends = [
        result_at(world.scenario, measure, {**sky, "lift-off airspeed": speed}, effects[key])
        for key, speed in (("A", sky["lift-off airspeed"]), ("B", 21.0))
    ]
    assert true_on_scale(own, ROLL) == pytest.approx(np.log(ends[1] / ends[0]), rel=1e-9)
    assert true_on_scale(own, ROLL) > true_on_scale(world, ROLL) + 0.05


@pytest.mark.parametrize("multiple", [0.0, 0.5, 1.0, 2.0])
def test_a_truth_is_so_many_smallest_differences(world, multiple):
    """6 % less of a roll, twice as much: 12 % less; of a measure by differences twice 5 m."""
    assert true_on_scale(with_truth(world, multiple), ROLL) == pytest.approx(np.log(1 - 0.06 * multiple), abs=1e-8)
    roll = world.script.tables[ROLL]
    plain = replace(roll.measure, ratio=False)
    settings = dict(world.script.campaign.asked)
    settings[ROLL] = replace(settings[ROLL], smallest=5.0, smallest_is_fraction=False, measure=plain)
    script = replace(
        world.script,
        campaign=replace(world.script.campaign, asked=settings),
        tables={ROLL: replace(roll, measure=plain)},
    )
    assert true_on_scale(with_truth(replace(world, script=script), multiple), ROLL) == pytest.approx(
        -5.0 * multiple, abs=1e-6
    )


def test_runs_scatter_as_documented_and_nothing_documented_changes_nothing(tmp_path):
    climbs = scene(scripted(tmp_path, only=(CLIMB,)))
    for nothing in (None, {}, {CLIMB: 0.0}):
        same = replace(climbs, script=replace(climbs.script, documented=nothing))
        assert as_documented(same) is same
    for size in (0.05, 0.03):
        found = as_documented(replace(climbs, script=replace(climbs.script, documented={CLIMB: size})))
        assert scatter_of_runs(found)[CLIMB] == pytest.approx(size, rel=0.1)
        assert found.notes == climbs.notes


def test_longer_flying_keeps_world_and_pilot(world):
    speeds = np.array([19.0, 20.0] * 6)
    mixed = replace(world, scenario=replace(world.scenario, pilot=replace(world.scenario.pilot, climb=33.0)))
    longer = changes._longer(mixed, changes.twice_the_runs).scenario
    assert longer.pilot == mixed.scenario.pilot
    for name in ("effects", "aeroplane", "sky", "sources", "trim", "unseen"):
        assert getattr(longer, name) == getattr(mixed.scenario, name)
    assert len(longer.schedule[ROLL].hours) == 24
    own = {
        key: replace(one, own_speeds={"lift-off airspeed": speed})
        for (key, one), speed in zip(world.script.campaign.configurations.items(), (19.0, 20.0), strict=True)
    }
    script = replace(world.script, campaign=replace(world.script.campaign, configurations=own))
    per_run = scene(script)
    assert per_run.scenario.pilot.lift_off.tolist() == [
        {"A": 19.0, "B": 20.0}[key] for key in script.tables[ROLL].configuration
    ]
    twice = changes._longer(per_run, changes.twice_the_runs).scenario.pilot.lift_off
    assert twice.tolist() == np.repeat(per_run.scenario.pilot.lift_off, 2).tolist()
    assert speeds.size == 12


def test_campaigns_are_flown_in_chunks_and_every_one_is_counted(world):
    case, steps = with_truth(world, 1.0), []
    prepared = ready(case)
    (tally,) = flown_all([case], [prepared], CHUNK + 3, 4, progress=lambda *done: steps.append(done))
    assert {one.campaigns for one in tally.values()} == {CHUNK + 3}
    assert steps == [(1, 2), (2, 2)]


# -- files -------------------------------------------------------------------------------------------------------------


def test_readings_are_rounded_as_dials_are_read(told):
    columns = {
        "oat": np.array([283.3]), "qnh": np.array([101_763.0]), "headwind": np.array([1.7 * KNOT]),
        "ground roll": np.array([250.4 * 0.3048]), "fuel": np.array([40.3]),
        "lift-off airspeed": np.array([38.6 * KNOT]),
    }  # fmt: skip
    found = rounded(told.tables[ROLL], columns)
    assert found["oat"] == pytest.approx(273.15 + 10.0)
    assert found["qnh"] == pytest.approx(101_800.0)
    assert found["headwind"] == pytest.approx(2.0 * KNOT)
    assert found["ground roll"] == pytest.approx(250.0 * 0.3048)
    assert found["fuel"] == pytest.approx(40.5)
    assert found["lift-off airspeed"] == pytest.approx(39.0 * KNOT)


def test_a_file_has_the_date_the_clock_and_the_fitting_of_every_run(world, told):
    roll = told.tables[ROLL]
    columns = {"oat": np.full((1, 12), 283.15), "fuel": np.where(np.arange(12) == 3, np.nan, 40.0)[None]}
    header, rows = file_of(world, roll, columns)
    assert header == ["run", "date", "clock", "configuration", "installation", "runway", "oat [degC]", "fuel [kg]"]
    assert rows[0] == [1, "2026-05-09", "06:03", "A", 1, "27", "10.0", "40.0"]
    assert rows[3][-1] == ""
    assert rows[6][:5] == [7, "2026-05-10", "06:03", "B", 4]
    undated = replace(told.campaign, plan=replace(told.campaign.plan, first_date=None))
    undated_world = replace(world, script=replace(told, campaign=undated))
    assert date.fromisoformat(file_of(undated_world, roll, columns)[1][6][1]) == date(2026, 5, 10)
