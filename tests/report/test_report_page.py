"""The page: whole in itself, every run in it, the numbers those of `compare --json`, nothing in it alive."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import warnings
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from samesky import units
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.together.told import excess_thrust
from samesky.report.bridge_figure import bridge_figure
from samesky.report.difference_figure import difference_figure
from samesky.report.page import page, write_report
from samesky.report.picture import PAGE
from samesky.report.terminal import primary_first

#: A number as the page shows it, with the narrow blanks of thousands and the true minus sign.
NUMBER = re.compile(r"[+\u2212]?\d[\d\u202f]*(?:\.\d+)?")


def numbers(text: str) -> list[tuple[float, float]]:
    """Each number in the text, and half a unit of its last digit."""
    found = []
    for written in NUMBER.findall(text):
        plain = written.replace("\u202f", "").replace("\u2212", "-")
        found.append((float(plain), 0.5 * 10.0 ** -len(plain.partition(".")[2])))
    return found


def agrees(text: str, *values: float) -> bool:
    """Whether the text's first numbers are these, at the shown rounding."""
    shown = numbers(text)
    pairs = zip(shown, values, strict=False)
    return len(shown) >= len(values) and all(abs(number - value) <= half + 1e-9 for (number, half), value in pairs)


def test_the_page_fetches_nothing(example, outline):
    seen = outline(example.html)
    assert seen.images
    for address in seen.fetched:
        assert address.startswith(("data:image/svg+xml;base64,", "#")), address[:80]
    assert not {"script", "link", "iframe", "object", "embed", "form"} & set(seen.tags)
    assert "@import" not in example.html
    assert "url(" not in example.html


def test_the_figures_fetch_nothing(example, outline):
    for address in outline(example.html).fetched:
        if address.startswith("data:"):
            svg = base64.b64decode(address.partition(",")[2]).decode("utf-8")
            assert svg.startswith("<svg")
            outside = [found for found in re.findall(r"[a-z]+://[^\"' )]+", svg) if "www.w3.org" not in found]
            assert outside == []
            assert "<script" not in svg


def test_every_picture_says_what_it_shows(example, outline):
    seen = outline(example.html)
    lines = [one for one in excess_thrust(example.campaign, example.comparisons) if one.line is not None]
    # Those of runs and of what could have fooled stand there twice, for the page, and for phone and paper.
    pictures = 2 * (len(example.campaign.tables) + len(example.comparisons)) + 1 + len(lines)
    pictures += example.html.count('<section id="propellers"')
    assert len(seen.images) == pictures
    assert all(len(image["alt"]) > 40 for image in seen.images)


def test_headings_go_down_one_step_at_a_time(example, outline):
    levels = [level for level, _ in outline(example.html).headings]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_the_answers_come_first_primary_before_the_rest(example, outline):
    seen = outline(example.html)
    second = [said for level, said in seen.headings if level == 2]
    assert second[0] == "The answers"
    full = [said for level, said in seen.headings if level == 3]
    marked = [place for place, said in enumerate(full) if "(deciding measure)" in said]
    titles = [f"{title[:1].upper()}{title[1:]}" for title in (one.title for one in example.comparisons)]
    assert len(marked) == sum(one.primary for one in example.comparisons)
    assert marked[0] == min(place for place, said in enumerate(full) if said.startswith(tuple(titles)))
    assert example.html.index(example.campaign.question) < example.html.index("The answers</h2>")


def test_the_numbers_are_those_for_machines(example, outline):
    seen = outline(example.html)
    table = next(rows for caption, rows in seen.tables.items() if caption.startswith("The answers in numbers"))
    told = [one.to_json() for one in primary_first(example.comparisons)]
    assert len(table) == 1 + len(told)
    for row, machine in zip(table[1:], told, strict=True):
        measure, levels, difference, interval, matters, _ = row
        assert measure.splitlines()[1] == machine["verdict"]
        assert agrees(difference, machine["difference"], machine["percent"]), (difference, machine)
        assert agrees(interval, *machine["interval_95"], *machine["interval_90"]), (interval, machine)
        assert agrees(matters, machine["smallest_that_matters"])
        assert machine["unit"] in levels


def test_every_run_is_in_its_table_and_adds_up(example, outline):
    seen = outline(example.html)
    for table in example.campaign.tables.values():
        caption = next(name for name in seen.tables if name.lower().startswith(f"{table.measure.title}, all numbers"))
        header, *rows = seen.tables[caption]
        assert [row[0] for row in rows] == table.text["run"]
        assert [row[2] for row in rows] == list(table.configuration)
        first, last = header.index("as flown"), header.index("same sky")
        for row in rows:
            flown, reduced = numbers(row[first])[0], numbers(row[last])[0]
            changes = [numbers(cell)[0] for cell in row[first + 1 : last]]
            assert flown[0] + sum(change for change, _ in changes) == pytest.approx(reduced[0], abs=1e-9), row
            index = table.text["run"].index(row[0])
            for cell, name in zip(changes, header[first + 1 : last], strict=True):
                reduction = next(one.reduction for one in example.comparisons if one.reduction.table is table)
                unit, dimension = (
                    example.campaign.asked[table.measure.name].unit or table.measure.unit,
                    table.measure.dimension,
                )
                size = units.from_si(reduction.corrections[name][index], unit, dimension) - units.from_si(
                    0, unit, dimension
                )
                assert abs(cell[0] - size) <= 2.0 * cell[1] + 1e-9, row


def test_values_as_flown_are_those_of_the_file(pages, outline):
    seen = outline(pages["warming_day"].html)
    written = [line.split(",") for line in (pages["warming_day"].path.parent / "takeoff_roll.csv").open()]
    column = written[0].index("ground roll [ft]")
    header, *rows = seen.tables["Take-off roll, all numbers in ft"]
    for line, row in zip(written[1:], rows, strict=True):
        assert agrees(row[header.index("as flown")], float(line[column]))


def test_every_run_left_out_stands_with_its_reason(example, outline):
    text = outline(example.html).text
    reasons = [reason for table in example.campaign.tables.values() for reason in table.text["exclude"] if reason]
    for reason in reasons:
        assert f"left out: {reason}" in text


def test_some_example_leaves_runs_out(pages):
    assert any(not table.included.all() for one in pages.values() for table in one.campaign.tables.values())


def test_every_warning_and_assumption_is_told(example, outline):
    text = " ".join(outline(example.html).text.split())
    for one in example.comparisons:
        for said in (*one.warnings, one.assumption):
            assert " ".join(said.split()) in text


def test_cautions_of_every_measure_and_the_papers_come_first(example, outline):
    text = outline(example.html).text
    for table in example.campaign.tables.values():
        for caution in table.measure.cautions:
            assert caution in text
    assert text.count("the aircraft's papers, its approved limits") == 1, "said once, on the first page"


def test_the_plain_average_is_that_of_scipy(example, outline):
    """Welch's interval by scipy.stats.ttest_ind (equal_var=False), from the readings, against the page's sentence."""
    text = outline(example.html).text.split("What could have fooled you")[-1]
    said = re.findall(r"side against side, makes (.*?)\((.*?)\)", text)
    assert len(said) == len(example.comparisons)
    for one, (_, interval) in zip(primary_first(example.comparisons), said, strict=True):
        interval = interval.replace("no different", "0.0")
        table = one.reduction.table
        raw = units.from_si(one.reduction.steps[0].value, one.unit, table.measure.dimension)
        sides = [raw[table.included & (table.configuration == key)] for key in (one.other, one.baseline)]
        ends = stats.ttest_ind(*sides, equal_var=False).confidence_interval(0.95)
        shown = [number for number, _ in numbers(interval.split("Welch's t:")[1])]
        half = numbers(interval.split("Welch's t:")[1])[0][1]
        expected = sorted(abs(end) for end in ends)
        assert np.allclose(sorted(shown), expected, atol=half + 1e-9), (interval, ends)


def test_the_false_winner_is_named_and_explained(pages, outline):
    """The second campaign's naive winner: told, doubted and explained, in a page that says not enough data."""
    seen = outline(pages["warming_day"].html)
    text = " ".join(seen.text.split())
    assert "“B is better”, a clear winner. These runs cannot carry that." in text
    assert "Every A run was flown on one side of the swap and every B run on the other." in text
    assert "Drift and configuration cannot be told apart" in text
    assert "What would settle it:" in text
    verdicts = [one.verdict for one in pages["warming_day"].comparisons]
    assert verdicts == ["not enough data"] * len(verdicts)


def test_fingerprints_are_those_of_the_files(example, outline):
    rows = outline(example.html).tables["The files that it rests on"][1:]
    names = {row[0] for row in rows}
    assert names == {"campaign.toml"} | {table.file for table in example.campaign.tables.values()}
    for name, fingerprint in rows:
        assert hashlib.sha256((example.path.parent / name).read_bytes()).hexdigest() == fingerprint


def test_the_same_campaign_gives_the_same_page(pages):
    one = pages["warming_day"]
    assert page(one.campaign, one.comparisons) == one.html


LIVE = "<script>alert(1)</script>"
QUOTED = '$x^$ "><img src=x onerror=alert(2)> {{ 7 * 7 }} & \u98db'


@pytest.fixture(scope="module")
def hostile(pages, tmp_path_factory):
    """A campaign whose every text tries to be something else."""
    source = pages["warming_day"].path.parent
    folder = tmp_path_factory.mktemp("hostile")
    toml = (source / "campaign.toml").read_text(encoding="utf-8")
    toml = toml.replace('"old propeller, wood"', json.dumps(LIVE)).replace(
        '"new propeller, composite"', json.dumps(QUOTED)
    )
    toml = toml.replace("The new propeller, one fine Saturday", LIVE).replace("Is the new propeller", LIVE)
    (folder / "campaign.toml").write_text(toml, encoding="utf-8")
    for name in ("takeoff_roll.csv", "timed_climb.csv"):
        lines = (source / name).read_text(encoding="utf-8").splitlines()
        cells = lines[3].split(",")
        cells[lines[0].split(",").index("exclude")] = LIVE
        cells[lines[0].split(",").index("notes")] = '"' + QUOTED.replace('"', '""') + '"'
        lines[3] = ",".join(cells)
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    campaign = read(folder)
    assert LIVE in campaign.configurations["A"].label
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        comparisons = compare(campaign)
        write_report(campaign, comparisons, folder / "report.html")
    return folder / "report.html"


def test_what_a_pilot_wrote_stays_text(hostile, outline):
    html = hostile.read_text(encoding="utf-8")
    seen = outline(html)
    assert "script" not in seen.tags
    assert all("onerror" not in image for image in seen.images)
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html
    assert seen.text.count(LIVE) >= 4
    assert "{{ 7 * 7 }}" in seen.text
    assert "$x^$" in seen.text


def test_an_unwritable_place_is_one_message_and_leaves_nothing(pages, tmp_path):
    one = replace(pages["warming_day"], campaign=replace(pages["warming_day"].campaign, tables={}), comparisons=[])
    (tmp_path / "taken").mkdir()
    with pytest.raises(CampaignError, match="is a folder"):
        write_report(one.campaign, one.comparisons, tmp_path / "taken")
    (tmp_path / "file").write_text("mine")
    with pytest.raises(CampaignError, match="cannot be written"):
        write_report(one.campaign, one.comparisons, tmp_path / "file" / "report.html")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["file", "taken"]
    assert (tmp_path / "file").read_text() == "mine"


def test_progress_is_told_before_each_slow_step(pages):
    one, said = pages["warming_day"], []
    page(one.campaign, one.comparisons, said.append)
    assert len(said) >= len(one.campaign.tables) + 2
    assert any("take-off" in words for words in said)


def test_a_measure_that_cannot_be_compared_is_shown_all_the_same(pages, outline):
    one = pages["warming_day"]
    left = [other for other in one.comparisons if other.measure != "timed_climb"]
    seen = outline(page(one.campaign, left))
    assert "Timed climb, all numbers in ft/min" in seen.tables
    assert "Not compared: there are no runs of both configurations that count." in seen.text
    seen = outline(page(one.campaign, []))
    assert "there is nothing to compare yet" in seen.text
    assert len(seen.images) == 2 * len(one.campaign.tables), "for the page, and for phone and paper"


def test_an_answer_without_an_interval_is_said_to_have_none(pages, outline):
    one = pages["warming_day"]
    none = (float("nan"), float("nan"))
    bare = replace(
        one.comparisons[0],
        interval_95=none,
        interval_90=none,
        percent_95=none,
        standard_uncertainty=float("nan"),
        p=float("nan"),
        naive=replace(one.comparisons[0].naive, interval_95=none),
    )
    seen = outline(page(one.campaign, [bare]))
    assert "but no interval can be given" in seen.text
    assert "nobody can say how sure that is" in seen.text
    assert "nan" not in re.findall(r"\bnan\b", seen.text)


def test_an_interval_without_an_upper_end_is_drawn_and_told(pages, outline):
    one = pages["warming_day"]
    first = one.comparisons[0]
    open_up = replace(
        first,
        interval_95=(first.interval_95[0], float("inf")),
        interval_90=(first.interval_90[0], float("inf")),
        percent_95=(first.percent_95[0], float("inf")),
        conditional="",
    )
    seen = outline(page(one.campaign, [open_up]))
    (numbers,) = (rows for caption, rows in seen.tables.items() if caption.startswith("The answers in numbers"))
    assert numbers[1][3].count("to no upper bound") == 2
    assert "with no upper bound from this order" in seen.text
    assert any("to no upper bound" in image["alt"] for image in seen.images)
    assert not re.search(r"\binf\b|\?(?=\s*(to|\)))", seen.text)
    # Where drift alone keeps it open the answer is the condition, and the open end stands in the interval beside it.
    condition = outline(page(one.campaign, [replace(open_up, conditional="a condition of drift")]))
    assert re.search(r"interval [^()]+ to no upper bound\)\. A condition of drift\.", condition.text)
    for figure in (difference_figure([open_up], [open_up.title], PAGE), bridge_figure(open_up, PAGE)):
        assert ">" in [line.get_marker() for line in figure.axes[0].lines]


def test_the_first_page_has_the_question_one_table_limits_and_cautions_before_anything_folded(example, outline):
    first, _, folded = example.html.partition("<details")
    seen = outline(first)
    assert example.campaign.question in seen.text
    lines = [one for one in excess_thrust(example.campaign, example.comparisons) if one.line is not None]
    assert len(seen.images) == max(1, len(lines))
    table = next(rows for rows in seen.tables.values() if rows[0][0] == "measure")
    (header, *rows) = table
    assert len([row for row in rows if row[0] not in ("limit",)]) >= len(example.comparisons)
    told = [one.to_json() for one in primary_first(example.comparisons)]
    for row, machine in zip(rows, told, strict=False):
        assert agrees(row[3], machine["difference"], machine["percent"]), (row, machine)
        assert agrees(row[4], *machine["interval_95"]), (row, machine)
    assert header[-1] == "answer"
    assert "tip clearance" in seen.text
    assert "A comparison, not performance data" in seen.text
    for one in example.comparisons:
        for caution in one.cautions:
            assert caution in seen.text, "an over-speed is never folded away"
    assert "Tables of runs" in folded
