"""``python -m samesky.cli``."""

from samesky.cli import main

main()
