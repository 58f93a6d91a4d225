"""Track, film and weather: proposed in one way, and put whole or not at all."""

from __future__ import annotations

import film_campaign
import pytest

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.tables import write
from samesky.evidence.film.propose import propose as from_film
from samesky.evidence.proposal import ProposedRow, dry_run, put
from samesky.evidence.weather.propose import propose as from_weather

#: Reports of the morning on which the filmed runs were flown; their form is WMO-No. 306, FM 15.
REPORTS = "\n".join(f"METAR XXXX 14{hour:02d}00Z 24008KT 9999 FEW030 14/06 Q1016=" for hour in range(5, 12))


@pytest.fixture(params=["film", "weather"])
def offered(request, tmp_path):
    folder = film_campaign.put_campaign(tmp_path / "mine")
    campaign = read(folder, flown=False)
    if request.param == "film":
        return folder, from_film(campaign)
    return folder, from_weather(campaign, REPORTS, utc_offset_hours=0.0)


def contents(folder) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_what_is_proposed_is_what_the_new_files_hold(offered):
    folder, proposal = offered
    assert proposal.found
    assert proposal.proposed
    assert all(isinstance(row, ProposedRow) for row in proposal.proposed)
    before = contents(folder)
    files = dry_run(read(folder, flown=False), proposal).files
    assert contents(folder) == before
    assert put(folder, proposal) == [folder / name for name in files]
    assert next(iter(files)) == "campaign.toml"
    for row in proposal.proposed:
        line = files[row.file].splitlines()[row.row - 1].split(",")
        assert set(row.cells.values()) <= set(line)


def test_where_one_file_cannot_be_written_none_is(offered, monkeypatch):
    folder, proposal = offered
    before, real, done = contents(folder), write.os.replace, []

    def full(source, target):
        done.append(target)
        if len(done) == 2:
            raise OSError(28, "No space left on device")
        real(source, target)

    monkeypatch.setattr(write.os, "replace", full)
    with pytest.raises(CampaignError) as refused:
        put(folder, proposal)
    assert refused.value.finding.code == "file.not-written"
    assert contents(folder) == before


def test_a_proposal_is_put_once(offered):
    folder, proposal = offered
    put(folder, proposal)
    before = contents(folder)
    with pytest.raises(CampaignError) as refused:
        put(folder, proposal)
    assert refused.value.finding.code in ("put.cell-changed", "put.file-changed")
    assert contents(folder) == before
