"""Who does the work: this machine's processes, or an engine over several machines that is already there?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from samesky.cli import catalogue as say

Scheduler = Annotated[
    str | None, typer.Option(help="address of a dask scheduler that does the work, such as tcp://host:8786")
]


@contextmanager
def engine(scheduler: str | None) -> Iterator[None]:
    """Hand the work to a scheduler of dask, or leave it to joblib's own processes."""
    if scheduler is None:
        yield
        return
    from samesky.campaign.messages.errors import cannot

    try:
        import joblib
        from dask.distributed import Client
    except ImportError:
        raise cannot("--scheduler", say.SCHEDULER_NOT_INSTALLED()) from None
    try:
        client = Client(scheduler, timeout=10)
    except (OSError, ValueError, TimeoutError) as error:
        raise cannot("--scheduler", say.SCHEDULER_SILENT(scheduler=scheduler, error=error)) from error
    with client, joblib.parallel_config(backend="dask", n_jobs=-1):
        yield
