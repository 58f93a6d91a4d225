"""Zips that do harm, made by hand from the format's own records (ISO/IEC 21320-1 and the records it refers to)."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from dataclasses import dataclass


@dataclass
class Member:
    """One member as its records say it, true or not."""

    name: bytes
    packed: bytes
    size: int
    crc: int = 0
    method: int = 8
    flags: int = 0
    attributes: int = 0
    offset: int | None = None


def plain(name: str, content: bytes = b"run\n1\n", mode: int = 0o100644, **told) -> Member:
    """A member whose records are true, but for what is ``told``."""
    made = {"packed": deflated(content), "size": len(content), "crc": zlib.crc32(content), "attributes": mode << 16}
    return Member(name=name.encode("utf-8"), **(made | told))


def deflated(content: bytes) -> bytes:
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    return packer.compress(content) + packer.flush()


def written(*members: Member) -> bytes:
    """The bytes of a zip of the members, each with its own records; ``offset`` points the directory elsewhere."""
    body, directory = b"", b""
    for m in members:
        at = len(body) if m.offset is None else m.offset
        flags = m.flags | 0x800
        records = struct.pack("<HHHHIIIH", flags, m.method, 0, 33, m.crc, len(m.packed), m.size, len(m.name))
        if m.offset is None:
            body += b"PK\x03\x04" + struct.pack("<H", 20) + records + struct.pack("<H", 0) + m.name + m.packed
        directory += b"PK\x01\x02" + struct.pack("<HH", 0x0314, 20) + records
        directory += struct.pack("<HHHHII", 0, 0, 0, 0, m.attributes & 0xFFFFFFFF, at) + m.name
    count = len(members)
    end = struct.pack("<4sHHHHIIH", b"PK\x05\x06", 0, 0, count, count, len(directory), len(body), 0)
    return body + directory + end


def bomb(gigabytes: int = 10, said: int | None = None) -> bytes:
    """A megabyte or so a gigabyte: ten megabytes of zeros in one deflate block, repeated; ``said`` is the size told."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    block = packer.compress(bytes(10_000_000)) + packer.flush(zlib.Z_FULL_FLUSH)
    packed = block * (100 * gigabytes) + b"\x03\x00"
    size = min(gigabytes * 1_000_000_000, 0xFFFFFFFE) if said is None else said
    return written(plain("campaign.toml", b""), Member(b"timed_climb.csv", packed, size))


def overlapping(count: int = 150) -> bytes:
    """Many members that share one megabyte of zeros, packed once."""
    kernel = plain("a.csv", bytes(1_000_000))
    return written(kernel, *(plain(f"{n}.csv", bytes(1_000_000), offset=0) for n in range(count)))


def usual(**files: str | bytes) -> bytes:
    """A zip as everybody makes it; ``__`` in a keyword stands for the point."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name.replace("__", "."), content)
    return stream.getvalue()
