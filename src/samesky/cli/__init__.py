"""What can I ask for? The verbs of the command line: thin, no arithmetic, heavy imports inside the verbs."""

from __future__ import annotations

import sys

# Importing a module of verbs puts them on the application, in the order in which --help lists them.
from samesky.cli import evidence, film, flown, packing, planned, weather, worksheet  # noqa: F401
from samesky.cli.app import app
from samesky.cli.saying import BAD_INPUT, stop

__all__ = ["BAD_INPUT", "app", "main"]


def main() -> None:
    """Run the command line; turn what a user can mend into one message and exit code 2."""
    from samesky.campaign.errors import CampaignError

    try:
        app()
    except CampaignError as error:
        stop(str(error))
    except BrokenPipeError:
        # The reader of our output (a pager, `head`) has gone: that is not an error of ours.
        sys.stderr.close()
        sys.exit(0)
