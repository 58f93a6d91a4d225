"""What can I ask for? The verbs of the command line: thin, no arithmetic, heavy imports inside the verbs."""

from __future__ import annotations

import sys

# Importing a module of verbs puts them on the application, in the order in which --help lists them.
from samesky.cli import club, evidence, film, flown, packing, planned, weather, worksheet  # noqa: F401
from samesky.cli.app import app
from samesky.cli.saying import BAD_INPUT, stop

__all__ = ["BAD_INPUT", "app", "main"]


def main() -> None:
    """Run the command line; turn what a user can mend into one message and exit code 2."""
    from samesky.campaign.messages.errors import CampaignError
    from samesky.cli.streams import OutputError, ReaderGone, cannot_print, guard, leave

    guard()
    code: int | str | None = 0
    try:
        app(standalone_mode=True)
    except SystemExit as done:
        code = done.code
    except CampaignError as error:
        try:
            stop(str(error))
        except SystemExit as done:
            code = done.code
    except (BrokenPipeError, ReaderGone):
        code = 0
    except OutputError as error:
        code = cannot_print(error)
    sys.exit(leave(code if isinstance(code, int) else 0 if code is None else 1))
