"""Lets the tests of this room import the helpers beside them, however the tests are collected."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
