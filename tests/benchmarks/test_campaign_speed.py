"""How long do reading and reducing take? Printed beside a bare parse of the same text; nothing is asserted."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from short_form import sizes

from samesky.campaign.reading.read import read
from samesky.campaign.tables.delimited import MOST_ROWS
from samesky.campaign.tables.write import write_campaign
from samesky.reduction.reduction import reduce_table

TOML = """
[configuration.A]
[configuration.B]
[aeroplane]
empty_weight = "330 kg"
[runway.09]
elevation = "300 ft"
slope = "0 %"
[measure.takeoff_roll]
smallest_difference_that_matters = "5 %"
"""
HEADER = (
    "run,date,clock,configuration,oat [degC],qnh [hPa],fuel [L],headwind [kt],lift-off airspeed [kt],ground roll [ft]"
)


def rows(count: int) -> list[list[object]]:
    first = date(2025, 6, 1)
    return [
        [
            k,
            first + timedelta(days=k // 40),
            f"{7 + k % 40 // 4:02d}:{k % 4 * 15:02d}",
            "AABB"[k % 4],
            12.5,
            1015.0,
            50.0,
            3.5,
            44.0,
            400.0 + k % 17,
        ]
        for k in range(count)
    ]


@pytest.fixture(params=sizes(40, MOST_ROWS, below=40))
def folder(request, tmp_path):
    return write_campaign(tmp_path / "campaign", TOML, {"takeoff_roll": (HEADER.split(","), rows(request.param))})


def test_read(benchmark, folder):
    benchmark(read, folder)


def test_bare_csv(benchmark, folder):
    text = (folder / "takeoff_roll.csv").read_text()
    benchmark(lambda: [[float(cell) for cell in row[4:]] for row in list(csv.reader(io.StringIO(text)))[1:]])


def test_reduce(benchmark, folder):
    campaign = read(folder)
    benchmark(reduce_table, campaign, campaign.tables["takeoff_roll"])
