"""Pooled answers made by hand: units, margins, turns, what is left out, and what each part of a pool is."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import joblib
import numpy as np
import pytest
from scipy import stats
from small_campaigns import pulls

from samesky.campaign.messages.errors import CampaignError
from samesky.club import pool as pooling
from samesky.club.answers import CampaignAnswer, Unreadable, _common, _signed_limit, answers
from samesky.club.likeness import alike, turned
from samesky.club.pool import _by_pair, _pooled, _reasons, findings, pool
from samesky.club.random_effects import Findings, halfway, together
from samesky.inference.budget import UncertaintyComponent


def answer(difference=0.05, u=0.01, name="one", **more) -> CampaignAnswer:
    """A pull of 1,800 N and the logarithm by which the other pulls more."""
    plain = {
        "campaign": name, "folder": f"/{name}", "measure": "static_pull", "title": "static pull",
        "unit": "N", "dimension": "force", "ratio": True, "better": "larger", "primary": True, "baseline": "old",
        "other": "new", "baseline_label": "the old one", "other_label": "the new one", "details": {}, "limit": 0.0,
        "interval_95": (difference - 2 * u, difference + 2 * u), "common": {}, "level": 1800.0, "smallest": 0.02,
        "smallest_is_fraction": True, "smallest_text": "2 %", "verdict": "new better", "runs": (3, 4),
        "fingerprint": name,
    }  # fmt: skip
    return CampaignAnswer(**plain | {"difference": difference, "standard_uncertainty": u} | more)


def speed(difference, u=0.5, name="one", **more) -> CampaignAnswer:
    """A top speed of 60 m/s, shown in knots, and by how much the other is faster [m/s]."""
    of_speed = {"measure": "level_speed", "title": "speed", "unit": "kt", "dimension": "speed", "ratio": False}
    matters = {"level": 60.0, "smallest": 1852 / 3600, "smallest_is_fraction": False, "smallest_text": "1 kt"}
    return answer(difference, u, name, **of_speed | matters | more)


# -- random effects ----------------------------------------------------------------------------------------------------


def test_the_90_interval_is_plain_t_where_campaigns_are_known_alike_and_bears_the_limit_in_full():
    """scipy.stats.ttest_1samp at 90 %; a limit alike in all campaigns is added at both ends."""
    d = np.array([4.1, 1.2, 3.3, 5.9, 2.0])
    plain = Findings(d, np.full(5, 0.2), np.zeros(5), np.zeros((1, 5)))
    told = stats.ttest_1samp(d, 0.0).confidence_interval(0.90)
    assert [float(end) for end in together(plain).equivalence_interval()] == pytest.approx(list(told), rel=1e-9)
    hidden = replace(plain, limit=np.full(5, 0.7))
    wide = [float(end) for end in together(hidden).equivalence_interval()]
    assert wide == pytest.approx([told[0] - 0.7, told[1] + 0.7], rel=1e-9)
    half = stats.t.ppf(0.975, 4) * d.std(ddof=1) * np.sqrt(1 + 1 / 5) + 0.7
    assert [float(end) for end in together(hidden).expected()] == pytest.approx([d.mean() - half, d.mean() + half])


def test_between_campaigns_is_a_standard_deviation():
    """Paule and Mandel (1982) of campaigns known alike: the sample variance less that of each campaign."""
    d = np.array([4.1, 1.2, 3.3, 5.9, 2.0])
    found = together(Findings(d, np.full(5, 0.2), np.zeros(5), np.zeros((1, 5))))
    assert float(found.between) == pytest.approx(math.sqrt(d.var(ddof=1) - 0.04), rel=1e-6)


def test_common_errors_add_up_as_they_are_signed_and_as_a_root_sum_of_squares():
    """Campaigns known alike weigh a fifth each: an error of 0.3 in all is 0.3; +0.3 and -0.3 cancel."""
    d, u, nothing = np.array([4.1, 1.2, 3.3, 5.9, 2.0]), np.full(5, 0.9), np.zeros(5)
    alone = float(together(Findings(d, u, nothing, np.zeros((1, 5)))).standard_uncertainty)
    for rows, size in (
        ([[0.3] * 5], 0.3),
        ([[0.3] * 5, [0.4] * 5], 0.5),
        ([[0.5, -0.5, 0.5, -0.5, 0.0]], 0.0),
        ([[0.5, 0.0, 0.0, 0.0, 0.0]], 0.1),
    ):
        found = together(Findings(d, u, nothing, np.array(rows)))
        assert float(found.standard_uncertainty) == pytest.approx(math.hypot(alone, size), rel=1e-9)


def test_halfway_is_of_each_set_of_campaigns_alone():
    both = halfway(np.array([[1.0, 16.0], [100.0, 400.0]]))
    assert both[0] == pytest.approx([2.0, 8.0])
    assert both[1] == pytest.approx(halfway(np.array([100.0, 400.0])))


# -- likeness ----------------------------------------------------------------------------------------------------------


def test_turned_round_everything_is_told_from_the_other_side():
    one = answer(0.05, 0.01, limit=0.02, common={"density exponent": 0.003}, interval_95=(0.03, 0.08))
    back = turned(one)
    assert (back.baseline, back.other, back.baseline_label, back.other_label) == (
        "new",
        "old",
        "the new one",
        "the old one",
    )
    assert (back.difference, back.limit, back.interval_95, back.runs) == (-0.05, -0.02, (-0.08, -0.03), (4, 3))
    assert back.common == {"density exponent": -0.003}
    assert back.level == pytest.approx(1800.0 * math.exp(0.05))
    assert turned(speed(1.5)).level == pytest.approx(61.5)
    again = turned(back)
    assert (again.difference, again.interval_95, again.runs) == (0.05, (0.03, 0.08), (3, 4))
    assert again.level == pytest.approx(1800.0)


def test_which_answers_can_be_pooled():
    first = answer(name="first", details={"old": {"blades": "2"}, "new": {"Blades": "3", "material": "wood"}})
    other_way = answer(name="turned", baseline="New", other="OLD_", fingerprint="another")
    for one, why in (
        (answer(u=math.nan, name="second"), "no interval of its own"),
        (answer(u=math.inf, name="second"), "no interval of its own"),
        (answer(name="second", fingerprint="first"), "Its runs are those of first"),
        (answer(name="second", details={"old": {"blades": "3"}}), "Its old has blades 3, that of first has 2"),
        (answer(name="second", better="smaller"), "It calls smaller better"),
        (answer(name="second", details={"old": {"blades": " 2 "}}), ""),
        (answer(name="second", details={"old": {"colour": "red"}, "new": {}}), ""),
    ):
        kept, left = alike([first, one])
        assert [each.campaign for each in kept] == ["first"] + ["second"] * (not why)
        assert [why in each.why for each in left] == [True] * bool(why)
    assert alike([answer(u=math.nan), answer(name="second")])[0][0].campaign == "second"
    kept, _ = alike([first, other_way])
    assert [each.difference for each in kept] == [0.05, -0.05]


def test_answers_are_grouped_by_the_pair_that_they_compare():
    groups = _by_pair([answer(), answer(name="b", baseline="NEW", other="old"), answer(name="c", other="third")])
    assert [[one.campaign for one in group] for group in groups] == [["one", "b"], ["c"]]


# -- the pool ----------------------------------------------------------------------------------------------------------


def test_a_ratio_is_told_in_per_cent_of_the_baseline():
    found = _pooled([answer(0.05), answer(0.052, name="b", smallest=0.03)], [])
    assert (found.unit, found.difference) == ("%", pytest.approx(100 * math.expm1(0.051)))
    assert found.each[0] == pytest.approx(tuple(100 * math.expm1(one) for one in (0.05, 0.03, 0.07)))
    # The strictest of 2 % and 3 %.
    assert found.smallest_that_matters == pytest.approx(2.0)
    assert found.margins_differ
    assert not _pooled([answer(0.05), answer(0.052, name="b")], []).margins_differ


def test_a_difference_is_told_in_the_first_campaigns_unit():
    """1.5 m/s are 2.916 kt; a difference of temperatures has no zero of its own."""
    found = _pooled([speed(1.5), speed(1.7, name="b", unit="m/s")], [])
    assert (found.unit, found.difference) == ("kt", pytest.approx(1.6 * 3600 / 1852))
    assert found.each[0] == pytest.approx(tuple(x * 3600 / 1852 for x in (1.5, 0.5, 2.5)))
    assert found.smallest_that_matters == pytest.approx(1.0)
    warm = [speed(d, name=str(d), unit="degF", dimension="temperature") for d in (1.9, 2.1)]
    assert _pooled(warm, []).difference == pytest.approx(3.6)


def test_between_is_never_negative_and_intervals_are_those_of_the_pool():
    kept = [answer(d, 0.002, name=str(d)) for d in (0.01, 0.05, 0.09)]
    found = _pooled(kept, [])
    pooled = together(findings(kept))
    assert found.between == pytest.approx(100 * math.expm1(float(pooled.between)))
    for told, ends in (
        (found.interval_95, pooled.interval(0.95)),
        (found.interval_90, pooled.equivalence_interval(0.90)),
        (found.expected_95, pooled.expected(0.95)),
    ):
        assert told == pytest.approx(tuple(100 * math.expm1(float(end)) for end in ends))


def test_of_three_campaigns_each_is_left_out_once_and_of_two_none():
    kept = [answer(0.05, name="a"), answer(0.052, name="b"), answer(-0.2, name="c")]
    found = _pooled(kept, [])
    assert [one.campaign for one in found.without] == ["a", "b", "c"]
    pair = together(findings([kept[0], kept[1]]))
    last = found.without[2]
    assert last.difference == pytest.approx(100 * math.expm1(float(pair.difference)))
    assert last.interval_95 == pytest.approx(tuple(100 * math.expm1(float(end)) for end in pair.interval()))
    assert _pooled(kept[:2], []).without == ()
    assert found.hangs_on == tuple(one.campaign for one in found.without if one.verdict != found.verdict)


def test_an_error_is_common_where_two_campaigns_have_it():
    one = answer(common={"density exponent": 0.003, "own": 0.5})
    two = answer(name="b", common={"density exponent": -0.004, "another": 0.1})
    assert findings([one, two, answer(name="c")]).common.tolist() == [[0.003, -0.004, 0.0]]
    assert findings([one, answer(name="c")]).common.shape == (0, 2)


def given(monkeypatch, *per_folder):
    told = {str(place): list(found) if isinstance(found, tuple) else found for place, found in enumerate(per_folder)}
    monkeypatch.setattr(pooling, "answers", lambda folder: told[str(folder)])
    return [str(place) for place in range(len(per_folder))]


def test_the_deciding_measure_comes_first_and_one_alone_can_be_asked_for(monkeypatch):
    folders = given(
        monkeypatch,
        (speed(1.5, primary=False), answer()),
        (speed(1.4, name="b", primary=False), answer(0.06, name="b")),
        Unreadable("2", "No file."),
    )
    found = pool(folders)
    assert [one.measure for one in found.answers] == ["static_pull", "level_speed"]
    assert [len(one.campaigns) for one in found.answers] == [2, 2]
    assert (found.campaigns, found.unreadable) == (3, (Unreadable("2", "No file."),))
    assert [one.measure for one in pool(folders, "level_speed").answers] == ["level_speed"]
    with pytest.raises(CampaignError, match="2: No file"):
        pool(folders, "takeoff_roll")


def test_who_stands_alone_is_told_why(monkeypatch):
    folders = given(
        monkeypatch, (answer(),), (answer(0.06, name="b"),), (answer(name="c", other="third"), speed(1.0, name="c"))
    )
    found = pool(folders)
    assert [(one.campaign, one.measure) for one in found.alone] == [("c", "static_pull"), ("c", "level_speed")]
    assert "compares old with third" in found.alone[0].why
    unreadable, alone = [Unreadable(str(k), "broken.") for k in range(3)], found.alone
    assert _reasons(unreadable, alone).count("broken.") == 3
    assert _reasons(unreadable, alone).endswith(f"c: {alone[0].why}")


def test_progress_counts_every_campaign_in_one_process_and_in_bundles(monkeypatch):
    few = given(monkeypatch, *[(answer(0.001 * k, name=str(k)),) for k in range(7)])
    steps = []
    pool(few, step=lambda *done: steps.append(done))
    assert steps == [(k, 7) for k in range(1, 8)]
    for count, size in ((8, 1), (64, 1), (65, 2), (130, 3)):
        many, steps = given(monkeypatch, *[(answer(0.001 * k, name=str(k)),) for k in range(count)]), []
        with joblib.parallel_config(backend="threading"):
            found = pool(many, step=lambda *done, steps=steps: steps.append(done))
        assert [one.campaign for one in found.answers[0].campaigns] == many
        assert steps == [(min(done, count), count) for done in range(size, count + size, size)]


# -- one campaign's answers --------------------------------------------------------------------------------------------


def test_warnings_hold_no_campaign_back_and_errors_do(tmp_path):
    sound = pulls(tmp_path / "sound", seed=1)
    [one] = answers(sound)
    assert (one.baseline_label, one.other_label, one.runs) == ("one", "two", (3, 3))
    text = (sound / "campaign.toml").read_text()
    # An unknown entry is warned of; without labels a configuration is called by its key.
    (sound / "campaign.toml").write_text(text.replace('label = "one"', "mass = 3").replace('label = "two"', ""))
    [warned] = answers(sound)
    assert (warned.baseline_label, warned.other_label) == ("old", "new")
    broken = pulls(tmp_path / "broken", seed=2)
    table = broken / "static_pull.csv"
    table.write_text(table.read_text().replace("new,1", "new,x1"))
    found = answers(broken)
    assert isinstance(found, Unreadable)
    assert found.why.startswith("3 to mend, first: ")
    lonely = pulls(tmp_path / "lonely", order="AAA")
    assert "there is nothing to compare it with" in answers(lonely).why
    (lonely / "static_pull.csv").unlink()
    assert isinstance(answers(lonely), Unreadable)


@pytest.mark.parametrize(
    ("time", "sign"), [((0.0, 1.0, 2.0, 3.0), 1), ((3.0, 2.0, 1.0, 0.0), -1), ((0.0, 1.0, 1.0, 0.0), 1)]
)
def test_a_hidden_drift_acts_by_the_hours_that_the_other_was_flown_later(time, sign):
    estimate = SimpleNamespace(weights=[-0.5, -0.5, 0.5, 0.5], worst_drift=0.03)
    one = SimpleNamespace(estimate=estimate, design=SimpleNamespace(order=SimpleNamespace(time=np.array(time))))
    assert _signed_limit(one) == pytest.approx(sign * 0.03)


def test_errors_that_campaigns_share_are_those_of_coefficients_alone():
    parts = (
        (UncertaintyComponent("density exponent", "campaign", np.array([0.01, 0.02])), 1e-4),
        (UncertaintyComponent("wind exponent", "campaign", np.array([0.01, 0.01])), 0.0),
        (UncertaintyComponent("altimeter", "campaign", np.array([0.3, 0.1])), 1e-2),
        (UncertaintyComponent("density exponent", "run", np.array([0.3, 0.1])), 1e-2),
    )
    coefficients = [SimpleNamespace(name=name) for name in ("density exponent", "wind exponent")]
    one = SimpleNamespace(
        estimate=SimpleNamespace(weights=[-1.0, 1.0], added=parts),
        scale=SimpleNamespace(asked=SimpleNamespace(measure=SimpleNamespace(coefficients=coefficients))),
    )
    assert _common(one) == {"density exponent": pytest.approx(0.01)}
