"""Each folder's helper modules are importable from its tests; their names are unique over all folders. The study of
coverage is a package that is also run by itself."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path[:0] = [str(folder) for folder in sorted(Path(__file__).parent.rglob("*")) if folder.is_dir()]
sys.path.append(str(Path(__file__).parents[1]))
