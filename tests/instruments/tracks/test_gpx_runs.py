"""Points read many at once are the points read one by one: to the last bit, and with the same refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from samesky.instruments.tracks.readers import gpx
from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.gpx_runs import numbers

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="made up" xmlns:n3="urn:x">\n<trk><trkseg>\n'
TAIL = "</trkseg></trk></gpx>\n"
LAYOUTS = {
    "plain": '<trkpt lat="{a:.7f}" lon="{o:.7f}">\n<ele>{e:.1f}</ele>\n<time>{t}</time>\n</trkpt>\n',
    "longitude first": "<trkpt lon='{o:.6f}' lat='{a:.6f}'><time>{t}</time><ele>{e:.2f}</ele></trkpt>",
    "speed inside": '<trkpt lat="{a:.7f}" lon="{o:.7f}"><ele>{e:.1f}</ele><time>{t}</time><extensions><n3:more>'
    "<n3:speed>{s:.2f}</n3:speed><n3:hr>90</n3:hr></n3:more></extensions></trkpt>\n",
    "speed and course of 1.0": '<trkpt lat="{a:.7f}" lon="{o:.7f}"><ele>{e:.1f}</ele><time>{t}</time>'
    "<course>{c:.0f}</course><speed>{s:.1f}</speed><fix>3d</fix><sat>9</sat></trkpt>\n",
    "without height": '<trkpt lat="{a:.9f}" lon="{o:.9f}"><time>{t}</time></trkpt>\n',
    "wide space": '<trkpt lat="{a:.7f}" lon="{o:.7f}">\r\n\t<ele> {e:.1f} </ele>\r\n\t<time>{t}</time>\r\n</trkpt>\r\n',
    "prefixed": '<g:trkpt lat="{a:.7f}" lon="{o:.7f}"><g:ele>{e:.1f}</g:ele><g:time>{t}</g:time></g:trkpt>',
}


def points(layout, count, first=0, every=""):
    text = []
    for i in range(first, first + count):
        clock = f"2024-05-{1 + i // 86400:02d}T{i // 3600 % 24:02d}:{i // 60 % 60:02d}:{i % 60:02d}{every}Z"
        a, o = -45.0 + i * 1e-6, 9.0 + i * 3e-6
        text.append(layout.format(a=a, o=o, e=95.0 + i % 200 * 0.1, t=clock, s=30 + i % 7 * 0.5, c=i % 360))
    return "".join(text)


def read(path, monkeypatch, at_once):
    """All columns of the file, read many at once or one by one; and how many points came in runs."""
    taken = []
    honest = gpx._Reader._take

    def take(self, run):
        before = self.count + len(self.points)
        done = at_once and honest(self, run)
        taken.append(self.count - before if done else 0)
        return done

    monkeypatch.setattr(gpx._Reader, "_take", take)
    try:
        found = gpx.read_gpx(path)
    finally:
        monkeypatch.undo()
    columns = [found.time, found.latitude, found.longitude, found.altitude, found.ground_speed, found.track]
    return np.array(columns), found.notes, sum(taken)


@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize("every", ["", ".125"])
def test_at_once_is_one_by_one(tmp_path, monkeypatch, name, every):
    path = tmp_path / "a.gpx"
    path.write_text(HEAD + points(LAYOUTS[name], 6000, every=every) + TAIL, encoding="utf-8", newline="")
    monkeypatch.setattr(gpx, "BLOCK_BYTES", 20_000)
    fast, notes, taken = read(path, monkeypatch, True)
    monkeypatch.setattr(gpx, "BLOCK_BYTES", 20_000)
    slow, same, none = read(path, monkeypatch, False)
    np.testing.assert_array_equal(fast, slow)
    assert notes == same
    assert none == 0
    assert taken > 5000 if name != "prefixed" else taken == 0


def test_a_change_of_layout_keeps_the_order(tmp_path, monkeypatch):
    body = points(LAYOUTS["plain"], 900) + "</trkseg>\n<trkseg>" + points(LAYOUTS["without height"], 40, 900)
    body += points(LAYOUTS["speed inside"], 900, 940) + points(LAYOUTS["plain"], 900, 1840)
    path = tmp_path / "a.gpx"
    path.write_text(HEAD + body + TAIL, encoding="utf-8")
    monkeypatch.setattr(gpx, "BLOCK_BYTES", 9_000)
    fast, _, taken = read(path, monkeypatch, True)
    slow, _, _ = read(path, monkeypatch, False)
    np.testing.assert_array_equal(fast, slow)
    assert 1000 < taken < 2740
    assert (np.diff(fast[0]) == 1).all()


@pytest.mark.parametrize(
    ("hidden", "count"),
    [
        ("<!-- " + points(LAYOUTS["plain"], 300, 5000) + " -->", 600),
        ("<name><![CDATA[" + points(LAYOUTS["plain"], 300, 5000) + "]]></name>", 600),
        ("<?note " + points(LAYOUTS["plain"], 300, 5000) + "?>", 600),
    ],
)
def test_points_that_are_only_spoken_of_are_none(tmp_path, monkeypatch, hidden, count):
    path = tmp_path / "a.gpx"
    body = points(LAYOUTS["plain"], 300) + hidden + points(LAYOUTS["plain"], 300, 300)
    path.write_text(HEAD + body + TAIL, encoding="utf-8")
    for size in (700, 5_000, 1 << 18):
        monkeypatch.setattr(gpx, "BLOCK_BYTES", size)
        assert len(gpx.read_gpx(path)) == count


BROKEN = {
    "number": ('lat="-44.999700', 'lat="-44.9.9700'),
    "letter": ("<ele>97.0", "<ele>9x.0"),
    "month": ("2024-05-01T00:05:01Z", "2024-13-01T00:05:01Z"),
    "minute": ("T00:05:01Z", "T00:65:01Z"),
    "tag": ("</time>\n</trkpt>\n<trkpt lat=\"-44.999699", "</time>\n</trkpf>\n<trkpt lat=\"-44.999699"),
    "entity": ("<ele>97.0", "<ele>&x;7.0"),
}  # fmt: skip


@pytest.mark.parametrize("fault", BROKEN)
def test_the_same_refusal_either_way(tmp_path, monkeypatch, fault):
    path = tmp_path / "a.gpx"
    whole = points(LAYOUTS["plain"], 1000)
    broken = whole.replace(*BROKEN[fault], 1)
    assert broken != whole
    path.write_text(HEAD + broken + TAIL, encoding="utf-8")
    said = []
    for at_once in (True, False):
        monkeypatch.setattr(gpx, "BLOCK_BYTES", 6_000)
        with pytest.raises(TrackError) as caught:
            read(path, monkeypatch, at_once)
        said.append(str(caught.value))
    assert said[0] == said[1]


@settings(max_examples=60, deadline=None)
@example(count=203, at=215, byte=192, size=529, name="plain")
@example(count=1, at=537, byte=45, size=300, name="plain")
@example(count=336, at=346, byte=101, size=300, name="plain")
@given(
    st.integers(1, 400),
    st.integers(0, 3999),
    st.integers(0, 255),
    st.integers(300, 3000),
    st.sampled_from(list(LAYOUTS)),
)
def test_any_damaged_byte_is_taken_alike(tmp_path_factory, count, at, byte, size, name):
    path = tmp_path_factory.mktemp("damage") / "a.gpx"
    data = bytearray((HEAD + points(LAYOUTS[name], count) + TAIL).encode())
    data[at * len(data) // 4000] = byte
    path.write_bytes(data)
    outcomes = []
    for at_once in (True, False):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(gpx, "BLOCK_BYTES", size)
            try:
                outcomes.append(read(path, patch, at_once)[:2])
            except TrackError as error:
                outcomes.append(str(error))
    if isinstance(outcomes[0], str) or isinstance(outcomes[1], str):
        assert outcomes[0] == outcomes[1]
    else:
        np.testing.assert_array_equal(outcomes[0][0], outcomes[1][0])
        assert outcomes[0][1] == outcomes[1][1]


@given(st.lists(st.decimals(0, 10**6, places=3, allow_nan=False), min_size=1, max_size=20), st.integers(4, 14))
def test_numbers_are_those_of_python(values, width):
    words = [f"{value:0{width}.3f}".encode() for value in values]
    assert numbers(words).tolist() == [float(word) for word in words]


def test_memory_does_not_grow_with_the_file(tmp_path):
    """Beyond its own columns, a file four times as long needs no more."""
    import tracemalloc

    peaks = []
    for count in (20_000, 80_000):
        path = tmp_path / f"{count}.gpx"
        path.write_text(HEAD + points(LAYOUTS["plain"], count) + TAIL, encoding="utf-8")
        tracemalloc.start()
        reader = gpx._Reader("a")
        with path.open("rb") as stream:
            while block := stream.read(gpx.BLOCK_BYTES):
                reader.feed(block)
        peaks.append(tracemalloc.get_traced_memory()[1] - 6 * 8 * count)
        tracemalloc.stop()
    assert peaks[1] < peaks[0] + 1_000_000
