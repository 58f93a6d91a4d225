"""What does ``import samesky`` offer? The command line as functions: a folder or a campaign in, results out.

Nothing is computed here: each function hands on to the room that answers its question, and imports it only then. A
folder is read and checked first, so that nothing is computed on what has to be mended; a campaign is taken as whoever
read it left it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from samesky.campaign.messages.findings import Finding
    from samesky.campaign.model.campaign import Campaign
    from samesky.inference.result import Comparison
    from samesky.planning.plan import Plan
    from samesky.reduction.reduction import Reduction
    from samesky.rehearsal.rehearse import Rehearsal


def check(campaign: Campaign | Path | str) -> list[Finding]:
    """Find everything that is wrong or doubtful in a campaign.

    Parameters
    ----------
    campaign : Campaign or path
        The campaign, or its folder.

    Returns
    -------
    list of Finding
        Errors first (``kind`` is ``"error"``), then doubts (``"warning"``); each says file, row, column, what was found
        and how to mend it. With an error among them nothing should be computed.

    Raises
    ------
    CampaignError
        The folder holds no campaign.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> folder = samesky.write_example("finer_pitch", Path(mkdtemp()) / "finer_pitch")
    >>> samesky.check(folder)
    []
    >>> climbs = folder / "timed_climb.csv"
    >>> _ = climbs.write_text(climbs.read_text().replace("elapsed [s]", "elapsed [kg]"))
    >>> samesky.check(folder)[0].kind
    'error'
    """
    from samesky.campaign.model.campaign import Campaign
    from samesky.checks.check import check as findings_of

    return findings_of(campaign if isinstance(campaign, Campaign) else _read(campaign, flown=True))


def reduce(campaign: Campaign | Path | str) -> dict[str, Reduction]:
    """Bring every run of every measure to the same sky.

    Parameters
    ----------
    campaign : Campaign or path
        The campaign, or its folder.

    Returns
    -------
    dict of Reduction
        By measure, such as ``"takeoff_roll"``: ``value`` (runs,) at the common sky in SI (rolls in m, times in s,
        speeds in m/s, pulls in N), ``steps`` from the value as flown on, one for each correction.

    Raises
    ------
    CampaignError
        The folder holds no campaign, or one that has to be mended first.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> from samesky.units import from_si
    >>> folder = samesky.write_example("finer_pitch", Path(mkdtemp()) / "finer_pitch")
    >>> rolls = samesky.reduce(folder)["takeoff_roll"]
    >>> as_flown, same_sky = rolls.steps[0], rolls.steps[-1]
    >>> print(f"{from_si(as_flown.value[0], 'ft', 'length'):.0f} ft as flown")
    186 ft as flown
    >>> print(f"{from_si(same_sky.value[0], 'ft', 'length'):.0f} ft under the same sky")
    196 ft under the same sky
    """
    from samesky.reduction.reduction import reduce_table

    found = _sound(campaign)
    return {name: reduce_table(found, table) for name, table in found.tables.items()}


def compare(campaign: Campaign | Path | str, look: int | None = None) -> list[Comparison]:
    """Compare every pair of configurations on every measure: difference, interval, verdict.

    Parameters
    ----------
    campaign : Campaign or path
        The campaign, or its folder.
    look : int, optional
        Number of the planned look that is due (from 1): its limits, fixed beforehand, replace 95 % and 90 %. Where
        several looks are planned and none is named, the rows flown tell which one is due, and between looks the
        numbers are withheld.

    Returns
    -------
    list of Comparison
        In the order of the campaign's tables, the baseline's pairs first. ``difference``, ``interval_95`` and the
        like are in the pilot's ``unit``, ``percent`` of the baseline; ``verdict`` is in words.

    Raises
    ------
    CampaignError
        The folder holds no campaign, or one that has to be mended first; there is no such look in the plan.

    Notes
    -----
    The interval is that of Student's t on the degrees of freedom that the flown order leaves, joined with the stated
    error sources after JCGM 100:2008 (Welch-Satterthwaite, G.4.1); secondary measures are judged after Holm (1979).

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> folder = samesky.write_example("finer_pitch", Path(mkdtemp()) / "finer_pitch")
    >>> roll = next(one for one in samesky.compare(folder) if one.measure == "takeoff_roll")
    >>> low, high = roll.interval_95
    >>> print(f"{roll.difference:.0f} {roll.unit} ({low:.0f} to {high:.0f}): {roll.verdict}")
    -6 ft (-20 to 10): not enough data
    """
    from samesky.inference.comparison import compare as compare_campaign
    from samesky.inference.looks import planned_look

    found = _sound(campaign)
    return compare_campaign(found, None if look is None else planned_look(found, look))


def plan(campaign: Campaign | Path | str, other: str | None = None) -> Plan:
    """Work out what to fly: order, number of runs, hours, fuel, limits to scrub at, and what it can settle.

    Parameters
    ----------
    campaign : Campaign or path
        The campaign, or its folder, with a ``[plan]``; runs need not be flown.
    other : str, optional
        The configuration to compare with the baseline, where there are several.

    Returns
    -------
    Plan
        ``schedule`` in the order to fly; ``powers`` by measure, as probabilities of finding the smallest difference
        that matters; ``limits`` in SI.

    Raises
    ------
    CampaignError
        The folder holds no campaign, or one that has to be mended first, or nothing fits the days of ``[plan]``.

    Notes
    -----
    Every plan is judged by the design, the estimate and the stated sources of :func:`compare` itself; the power is that
    of the non-central t distribution, over the variances that such runs would show.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> folder = Path(mkdtemp())
    >>> toml = '''
    ... title = "Finer pitch"
    ... question = "Does the finer pitch climb better?"
    ... baseline = "A"
    ... [configuration.A]
    ... label = "as it was"
    ... [configuration.B]
    ... label = "two degrees finer"
    ... [swap]
    ... kind = "refit"
    ... time = "20 min"
    ... [measure.timed_climb]
    ... primary = true
    ... smallest_difference_that_matters = "4 %"
    ... [plan]
    ... days = 1
    ... start = "06:00"
    ... end = "10:00"
    ... fuel = "80 L"
    ... reserve = "15 L"
    ... burn = "18 L/h"
    ... oat = "10 degC"
    ... qnh = "1021 hPa"
    ... [plan.timed_climb]
    ... time = "6 min"
    ... from = "1000 ft"
    ... to = "2500 ft"
    ... elapsed = "90 s"
    ... airspeed = "61 kt"
    ... scatter = "2 %"
    ... '''
    >>> _ = (folder / "campaign.toml").write_text(toml)
    >>> plan = samesky.plan(folder)
    >>> climbs, power = plan.schedule.runs_of("timed_climb"), plan.powers["timed_climb"]
    >>> print(f"{len(climbs)} climbs find a true difference of 4 % {100 * power.found:.0f} times in 100")
    18 climbs find a true difference of 4 % 82 times in 100
    """
    from samesky.planning.plan import plan as plan_campaign

    return plan_campaign(_sound(campaign, flown=False), other)


def rehearse(
    campaign: Campaign | Path | str,
    campaigns: int = 1000,
    seed: int = 1,
    jobs: int = 1,
    other: str | None = None,
    flown: bool = False,
) -> Rehearsal:
    """Fly a campaign many times in the simulated sky, and count what would be concluded.

    Parameters
    ----------
    campaign : Campaign or path
        The campaign, or its folder.
    campaigns : int
        Simulated campaigns for each true difference and for each change; a thousand are good to about 1 %.
    seed : int
        Fixes every figure, whatever the number of jobs.
    jobs : int
        Processes that share the work.
    other : str, optional
        The configuration to compare with the baseline, where there are several.
    flown : bool
        Rehearse the order of the files in place of that of ``[plan]``.

    Returns
    -------
    Rehearsal
        ``at(1.0)`` are the counts by measure where the other configuration is truly better by the smallest difference
        that matters, ``at(0.0)`` where the two are alike.

    Raises
    ------
    CampaignError
        The folder holds no campaign, or one that has to be mended first, or it cannot be rehearsed.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> folder = Path(mkdtemp())
    >>> toml = '''
    ... title = "Finer pitch"
    ... question = "Does the finer pitch climb better?"
    ... baseline = "A"
    ... [configuration.A]
    ... label = "as it was"
    ... [configuration.B]
    ... label = "two degrees finer"
    ... [swap]
    ... kind = "refit"
    ... time = "20 min"
    ... [measure.timed_climb]
    ... primary = true
    ... smallest_difference_that_matters = "4 %"
    ... [plan]
    ... days = 1
    ... start = "06:00"
    ... end = "10:00"
    ... fuel = "80 L"
    ... reserve = "15 L"
    ... burn = "18 L/h"
    ... oat = "10 degC"
    ... qnh = "1021 hPa"
    ... [plan.timed_climb]
    ... time = "6 min"
    ... from = "1000 ft"
    ... to = "2500 ft"
    ... elapsed = "90 s"
    ... airspeed = "61 kt"
    ... scatter = "2 %"
    ... '''
    >>> _ = (folder / "campaign.toml").write_text(toml)
    >>> rehearsal = samesky.rehearse(folder, campaigns=50)
    >>> climbs = rehearsal.at(1.0)["timed_climb"]
    >>> print(f"{round(100 * climbs.better)} % of {climbs.campaigns} campaigns find B better, which it is, by 4 %")
    76 % of 50 campaigns find B better, which it is, by 4 %
    """
    from samesky.rehearsal.rehearse import rehearse as rehearse_campaign

    return rehearse_campaign(_sound(campaign, flown=False), campaigns, seed, jobs, other, flown)


def write_report(
    campaign: Campaign | Path | str, path: Path | str, comparisons: Sequence[Comparison] | None = None
) -> Path:
    """Write the page that others can check: verdicts, every run, figures and methods in one HTML file.

    Parameters
    ----------
    campaign : Campaign or path
        The campaign, or its folder.
    path : path
        Of the page to write.
    comparisons : sequence of Comparison, optional
        What :func:`compare` gave, where it was called before; else it is called here.

    Returns
    -------
    Path
        That of the page. The same campaign gives the same page, byte for byte; it loads nothing from elsewhere.

    Raises
    ------
    CampaignError
        The folder holds no campaign, or one that has to be mended first, or the page cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> folder = samesky.write_example("willing_hands", Path(mkdtemp()) / "willing_hands")
    >>> page = samesky.write_report(folder, folder.parent / "report.html")
    >>> "Every run" in page.read_text(encoding="utf-8")
    True
    """
    from samesky.report.page import write_report as write_page

    found = _sound(campaign)
    return write_page(found, compare(found) if comparisons is None else comparisons, Path(path))


def _read(folder: Path | str, flown: bool) -> Campaign:
    from samesky.campaign.reading.read import read

    return read(folder, flown)


def _sound(campaign: Campaign | Path | str, flown: bool = True) -> Campaign:
    """The campaign, without anything that has to be mended first; a folder is checked as a whole."""
    from samesky.campaign.messages.errors import CampaignError
    from samesky.campaign.model.campaign import Campaign
    from samesky.checks.check import check as findings_of

    if isinstance(campaign, Campaign):
        found, findings = campaign, list(campaign.findings)
    else:
        found = _read(campaign, flown)
        findings = findings_of(found)
    for finding in findings:
        if finding.kind == "error":
            raise CampaignError(finding)
    return found
