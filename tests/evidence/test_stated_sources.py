"""Error sources go into campaign.toml without touching a line of it, and never understate what is there."""

from __future__ import annotations

import tomllib

import pytest

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.evidence.stated_sources import StatedSource, three_figures_up, to_append

WATCH = StatedSource("stopwatch", "elapsed", "run", 0.05, "s", "time", "by machine", ("timed_climb",))


def test_a_table_is_read_back_as_it_was_meant(sound):
    from sound_campaign import TOML

    campaign = read(sound(campaign__toml=TOML + WATCH.table()))
    assert campaign.findings == ()
    mine = [one for one in campaign.sources if one.name == "stopwatch"]
    assert [(one.standard_uncertainty, one.measures) for one in mine if one.applies_to("timed_climb")] == [
        (0.05, ("timed_climb",))
    ]
    # the shipped stopwatch stays for every other measure that is timed
    others = [one for one in mine if one.applies_to("idle_descent")]
    assert [one.standard_uncertainty for one in others] == [pytest.approx(2**0.5 * 0.1)]


def test_two_shipped_sources_of_one_name_keep_to_their_measures(sound):
    from sound_campaign import TOML

    own = '[instrument.rising_and_sinking_air]\nstandard_uncertainty = "0.2 %"\nmeasures = ["level_speed"]\n'
    air = [one for one in read(sound(campaign__toml=TOML + own)).sources if one.name == "rising and sinking air"]
    assert sorted((one.standard_uncertainty, one.measures) for one in air) == [
        (0.002, ("level_speed",)),
        (0.15, ("timed_climb", "idle_descent")),
    ]


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (0.05, "0.05"), (0.050001, "0.0501"), (123.4, "124"), (99.91, "100"), (0.0999, "0.0999"), (7, "7")],
)
def test_sizes_are_rounded_up(value, text):
    assert three_figures_up(value) == text


def with_table(sound, text):
    from sound_campaign import TOML

    campaign = read(sound(campaign__toml=TOML + text))
    return (TOML + text, campaign.sources)


def test_nothing_is_appended_twice(sound):
    text, sources = with_table(sound, WATCH.table())
    assert to_append(text, sources, [WATCH]) == ""


@pytest.mark.parametrize("size", ['standard_uncertainty = "0.2 s"', 'tolerance = "0.09 s"', 'tolerance = "0.2 %"'])
def test_what_states_no_less_stays(sound, size):
    table = f'[instrument.stopwatch]\ntarget = "elapsed"\n{size}\n'
    stated = StatedSource(
        "stopwatch", "elapsed", "run", 0.05, "s", "time", "by machine", ("timed_climb",), typical=60.0
    )
    assert to_append(*with_table(sound, table), [stated]) == ""


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ('standard_uncertainty = "0.01 s"', '[instrument.stopwatch] standard_uncertainty = "0.05 s"'),
        ('target = "from"\nstandard_uncertainty = "9 ft"', "about 'from'"),
        ('scope = "campaign"\nstandard_uncertainty = "0.1 s"', "scope 'campaign'"),
    ],
)  # fmt: skip
def test_what_states_otherwise_is_refused(sound, table, says):
    text, sources = with_table(sound, f"[instrument.stopwatch]\n{table}\n")
    with pytest.raises(CampaignError, match="Nothing was changed") as caught:
        to_append(text, sources, [WATCH])
    assert says in str(caught.value)


def test_quotation_marks_and_backslashes_survive():
    odd = StatedSource("my watch", "elapsed", "run", 0.05, "s", "time", 'by "C:\\x"\n', ("timed_climb",))
    found = tomllib.loads(odd.table())
    assert found["instrument"]["my_watch"]["source"] == 'by "C:\\x"\n'


def test_a_table_for_another_measure_stands_apart(sound):
    """One source, two measures, two sizes: descents keep what is stated for them, and each finds its own again."""
    from sound_campaign import TOML

    table = '[instrument.stopwatch]\nstandard_uncertainty = "0.01 s"\nmeasures = ["idle_descent"]\n'
    text, sources = with_table(sound, table)
    more = to_append(text, sources, [WATCH])
    assert list(tomllib.loads(more)["instrument"]) == ["stopwatch_timed_climb"]
    campaign = read(sound(campaign__toml=TOML + table + more))
    assert campaign.findings == ()
    mine = [one for one in campaign.sources if one.name == "stopwatch"]
    for measure, size in (("timed_climb", 0.05), ("idle_descent", 0.01)):
        assert [one.standard_uncertainty for one in mine if one.applies_to(measure)] == [size]
    # and a second time there is nothing to add, nor is less believed than is stated
    assert to_append(TOML + table + more, campaign.sources, [WATCH]) == ""
    worse = StatedSource("stopwatch", "elapsed", "run", 0.08, "s", "time", "by machine", ("timed_climb",))
    with pytest.raises(CampaignError, match=r"\[instrument.stopwatch_timed_climb\]"):
        to_append(TOML + table + more, campaign.sources, [worse])
