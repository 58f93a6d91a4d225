"""How fast is a long GPX file read, beside gpxpy? Prints the ratio; asserts only that both read the same fixes.

A million fixes by default; ``SAMESKY_FIXES`` sets another number.
"""

from __future__ import annotations

import datetime
import os
import time
import tracemalloc

import pytest
from short_form import size

from samesky.instruments.tracks.readers.gpx import read_gpx

FIXES = int(os.environ.get("SAMESKY_FIXES", size(1_000_000, 20_000)))


def written(path, count):
    """A GPX file of that many points."""
    begin = datetime.datetime(2024, 5, 1, 8)
    with path.open("w") as stream:
        stream.write('<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="made up" ')
        stream.write('xmlns="http://www.topografix.com/GPX/1/1">\n<trk><trkseg>\n')
        for i in range(count):
            moment = begin + datetime.timedelta(seconds=i)
            stream.write(f'<trkpt lat="{46 + i * 1e-6:.7f}" lon="{9 + i * 1e-6:.7f}">\n')
            stream.write(f"<ele>{500 + i % 300 * 0.1:.1f}</ele>\n")
            stream.write(f"<time>{moment:%Y-%m-%dT%H:%M:%S}Z</time>\n</trkpt>\n")
        stream.write("</trkseg></trk></gpx>\n")
    return path


@pytest.fixture(scope="module")
def long_track(tmp_path_factory):
    return written(tmp_path_factory.mktemp("tracks") / "long.gpx", FIXES)


def test_a_million_fixes_beside_gpxpy(benchmark, long_track, capsys):
    gpxpy = pytest.importorskip("gpxpy")
    fixes = benchmark.pedantic(read_gpx, args=(long_track,), rounds=size(3, 1))
    begin = time.perf_counter()
    with long_track.open() as stream:
        points = gpxpy.parse(stream).tracks[0].segments[0].points
    other = time.perf_counter() - begin
    assert len(points) == len(fixes) == FIXES
    assert points[-1].time.timestamp() == fixes.time[-1]
    del points
    with capsys.disabled():
        own = benchmark.stats.stats.min
        print(f"\n{FIXES} fixes: {own:.2f} s, gpxpy {other:.2f} s: {other / own:.1f} times as fast")


def test_memory_of_a_million_fixes(benchmark, long_track, capsys):
    def peak():
        tracemalloc.start()
        fixes = read_gpx(long_track)
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert len(fixes) == FIXES
        return most

    most = benchmark.pedantic(peak, rounds=1)
    with capsys.disabled():
        print(f"\npeak {most / FIXES:.0f} bytes a fix, of which the track itself {8 * 8 + 1}")
