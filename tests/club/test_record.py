"""Scatter of one's own repeats over campaigns: pooled, held alike, written, named by a new campaign."""

import json
import tomllib

import numpy as np
import pytest
from scipy import stats
from small_campaigns import pulls
from typer.testing import CliRunner

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.cli import app
from samesky.club.record import bartlett_p, pooled_variance, record, record_text, standing_out, write_record

#: Diameters of gears in ten batches of ten: NIST/SEMATECH e-Handbook, GEAR.DAT (as scipy's own tests hold it).
GEAR = """1.006 0.996 0.998 1.000 0.992 0.993 1.002 0.999 0.994 1.000
0.998 1.006 1.000 1.002 0.997 0.998 0.996 1.000 1.006 0.988
0.991 0.987 0.997 0.999 0.995 0.994 1.000 0.999 0.996 0.996
1.005 1.002 0.994 1.000 0.995 0.994 0.998 0.996 1.002 0.996
0.998 0.998 0.982 0.990 1.002 0.984 0.996 0.993 0.980 0.996
1.009 1.013 1.009 0.997 0.988 1.002 0.995 0.998 0.981 0.996
0.990 1.004 0.996 1.001 0.998 1.000 1.018 1.010 0.996 1.002
0.998 1.000 1.006 1.000 1.002 0.996 0.998 0.996 1.002 1.006
1.002 0.998 0.996 0.995 0.996 1.004 1.004 0.998 0.999 0.991
0.991 0.995 0.984 0.994 0.997 0.997 0.991 0.998 1.004 0.997"""


def named(folder, seed, order="AAABBBAAA", day="2025-05-01", **more):
    made = pulls(folder, 0.05, seed=seed, order=order, title=folder.name, **more)
    runs = made / "static_pull.csv"
    runs.write_text(runs.read_text().replace("2026-05-09", day), encoding="utf-8")
    return made


def test_bartlett_on_the_printed_gears():
    """NIST/SEMATECH e-Handbook 1.3.5.7: T = 20.785 on 9 degrees of freedom, p = 0.0136."""
    batches = [np.array(line.split(), float) for line in GEAR.splitlines()]
    variances = [one.var(ddof=1) for one in batches]
    p = bartlett_p(variances, [9] * 10)
    assert p == pytest.approx(0.0136, abs=5e-5)
    assert p == pytest.approx(stats.bartlett(*batches).pvalue, rel=1e-9)


def test_bartlett_and_the_pooled_variance_by_scipy_on_unequal_groups():
    rng = np.random.default_rng(3)
    groups = [rng.normal(0, 1, n) for n in (3, 7, 12, 4)]
    v, df = [one.var(ddof=1) for one in groups], [len(one) - 1 for one in groups]
    assert bartlett_p(v, df) == pytest.approx(stats.bartlett(*groups).pvalue, rel=1e-9)
    # The mean square within groups of a one-way analysis of variance.
    within = sum(((one - one.mean()) ** 2).sum() for one in groups) / (26 - 4)
    assert pooled_variance(v, df) == (pytest.approx(within), 22)
    assert np.isnan(bartlett_p([1.0], [4]))


def test_one_campaign_in_twenty_stands_out_by_chance_at_most():
    rng = np.random.default_rng(5)
    df = np.array([4, 6, 9, 5])
    out = np.mean([bool(standing_out(rng.chisquare(df) / df, df)) for _ in range(2000)])
    assert out <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 2000)
    assert out > 0.02
    assert standing_out(np.array([1.0, 1.1, 30.0, 0.9]), df) == [2]


def test_scatter_is_that_of_the_corrected_runs_within_fittings(tmp_path):
    one = named(tmp_path / "one", 1)
    [found] = record([one]).measures
    pulls_flown = np.log([float(line.rsplit(",", 1)[1]) for line in (one / "static_pull.csv").read_text().split()[2:]])
    # Levels of the three fittings and a common slope within them: ordinary least squares of its own.
    hours = 0.5 * np.arange(9)
    model = np.column_stack([np.repeat(np.eye(3), 3, axis=0), hours])
    rest = np.linalg.lstsq(model, pulls_flown, rcond=None)[1][0]
    assert found.degrees_of_freedom == 5
    assert found.scatter == pytest.approx(np.sqrt(rest / 5), rel=1e-6)


def test_campaigns_are_pooled_written_and_read_again(tmp_path):
    folders = [named(tmp_path / f"c{k}", k, day=f"2025-05-0{k + 1}") for k in range(3)]
    found = record(folders)
    [one] = found.measures
    assert one.alike
    assert one.degrees_of_freedom == 15
    path = write_record(found, tmp_path / "my_record.toml")
    said = tomllib.loads(path.read_text())
    assert said["static_pull"]["degrees_of_freedom"] == 15
    assert str(said["last_flown"]) == "2025-05-03"
    new = pulls(tmp_path / "new", 0.07, seed=9, order="AB")
    (new / "my_record.toml").write_text(path.read_text())
    toml = new / "campaign.toml"
    toml.write_text(toml.read_text() + '[plan]\nrecord = "my_record.toml"\nrecord_named = 2026-05-01\n')
    campaign = read(new)
    assert not [finding for finding in campaign.findings if finding.kind == "error"]
    assert campaign.plan.record.measures["static_pull"].scatter == pytest.approx(one.scatter, rel=1e-3)


def test_the_same_flying_counts_once(tmp_path):
    first, again = named(tmp_path / "a", 1), named(tmp_path / "b", 1)
    found = record([first, again])
    assert found.measures[0].degrees_of_freedom == 5
    assert "same runs" in found.twice[0]


def test_a_campaign_that_stands_out_is_named_and_nothing_is_recorded(tmp_path):
    folders = [named(tmp_path / f"c{k}", k) for k in range(4)]
    folders.append(named(tmp_path / "gusty", 5, scatter=0.09))
    found = record(folders)
    assert found.measures[0].standing_out == ("gusty",)
    assert not found.measures[0].alike
    assert "[static_pull]" not in record_text(found)
    with pytest.raises(CampaignError, match="scatter unlike"):
        write_record(found, tmp_path / "my_record.toml")
    assert not (tmp_path / "my_record.toml").exists()


def test_the_verb(tmp_path):
    folders = [named(tmp_path / f"c{k}", k) for k in range(2)]
    bare = pulls(tmp_path / "bare", order="AB")
    out = tmp_path / "my_record.toml"
    told = CliRunner().invoke(app, ["record", *map(str, folders), str(bare), "--out", str(out)])
    assert told.exit_code == 0
    assert "static pull: repeats scatter by" in told.output
    assert f"Not used: {bare}: nothing is repeated" in told.output
    found = json.loads(CliRunner().invoke(app, ["record", *map(str, folders), "--json"]).output)
    assert found["measures"][0]["recorded"] is True


def test_bad_folders_and_names_are_refused(tmp_path):
    with pytest.raises(CampaignError, match="none of the 1 campaigns shows"):
        record([tmp_path / "nowhere"])
    with pytest.raises(CampaignError, match="is no name for a record"):
        write_record(record([named(tmp_path / "a", 1)]), tmp_path / "pulls.toml")
