"""A rehearsal handed to a cluster of two workers gives the figures of one process."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from samesky.cli import app

EXAMPLE = Path(__file__).parents[2] / "data_synthetic" / "warming_day"


def rehearsed(*options: str) -> dict:
    told = CliRunner().invoke(app, ["rehearse", str(EXAMPLE), "--flown", "--campaigns", "4", "--json", *options])
    assert told.exit_code == 0, told.output
    return json.loads(told.stdout)


@pytest.mark.slow
def test_a_dask_cluster_of_two_workers_gives_the_figures_of_one_process():
    from dask.distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, worker_dashboard_address=None
    ) as cluster:
        assert rehearsed("--scheduler", cluster.scheduler_address) == rehearsed()


def test_a_scheduler_that_does_not_answer_is_told(monkeypatch):
    import dask.distributed

    def silent(*_, **__):
        raise OSError("timed out")

    monkeypatch.setattr(dask.distributed, "Client", silent)
    told = CliRunner().invoke(app, ["rehearse", str(EXAMPLE), "--flown", "--scheduler", "tcp://127.0.0.1:9"])
    assert told.exit_code != 0
    assert "does not answer (timed out)" in str(told.exception or told.output)
