"""Reads a run record by FORMAT.md and wire.md alone and tells what is in it."""
import hashlib
import io
import itertools
import json
import pathlib
import struct
import sys
import zlib


def crc(data):
    """CRC-16/IBM-3740."""
    value = 0xFFFF
    for byte in data:
        value ^= byte << 8
        for _ in range(8):
            value = (value << 1 ^ 0x1021 if value & 0x8000 else value << 1) & 0xFFFF
    return value


class Columns:
    """The columns of a block, one after the other."""

    def __init__(self, content):
        self.content, self.at = content, 0

    def number(self):
        """An unsigned number, seven bits a byte, the lowest first."""
        value, shift = 0, 0
        while True:
            byte = self.content[self.at]
            self.at += 1
            value |= (byte & 0x7F) << shift
            shift += 7
            if byte < 0x80:
                return value

    def bytes(self):
        """A column of bytes."""
        how = self.content[self.at]
        self.at += 1
        length = self.number()
        stored = self.number() if how else length
        data = self.content[self.at:self.at + stored]
        self.at += stored
        if how:
            data = zlib.decompress(data, wbits=-15, bufsize=length)
        assert len(data) == length
        return data

    def ints(self, order):
        """A column of whole numbers, kept as differences of an order."""
        inner, values = Columns(self.bytes()), []
        while inner.at < len(inner.content):
            n = inner.number()
            values.append(n >> 1 ^ -(n & 1))
        for _ in range(order):
            values = list(itertools.accumulate(values))
        return values

    def messages(self, count, length):
        """A column of messages, byte by byte."""
        data = self.bytes()
        rows = [bytearray(length) for _ in range(count)]
        for i in range(length):
            value = 0
            for k, row in enumerate(rows):
                value = value + data[i * count + k] & 0xFF
                row[i] = value
        return [bytes(row) for row in rows]

    def stream(self):
        """The bytes of one direction."""
        segments, loose, at, stream = self.ints(0), self.bytes(), 0, bytearray()
        waiting = {n: iter(self.messages(segments.count(n), n)) for n in sorted(set(segments)) if n > 0}
        for n in segments:
            if n > 0:
                message = next(waiting[n])
                stream += stuffed(message + crc(message).to_bytes(2, "big")) + b"\0"
            else:
                stream += loose[at:at - n]
                at -= n
        return stream


def blocks(data):
    """Rows and columns of each whole block."""
    at = 0
    while at + 8 <= len(data):
        length, check = struct.unpack_from("<II", data, at)
        content = data[at + 8:at + 8 + length]
        if length == 0 or len(content) < length or zlib.crc32(content) != check:
            return
        columns = Columns(content)
        yield columns.number(), columns
        at += 8 + length


def entries(data):
    """Kind and content of each entry."""
    for rows, columns in blocks(data):
        kinds, lengths, clock = columns.bytes(), iter(columns.ints(0)), iter(columns.ints(2))
        words = columns.bytes()
        sources = {"<": io.BytesIO(columns.stream()), ">": io.BytesIO(columns.stream())}
        failed = io.BytesIO(words)
        for kind in kinds.decode():
            if kind == "t":
                yield kind, next(clock).to_bytes(8, "little", signed=True)
            else:
                yield kind, sources.get(kind, failed).read(next(lengths))


ORDERS = [2, 2, 2, 2, 1, 1, 1, 2, 2, 1, 1, 1]


def samples_of(data):
    """The columns of each sample, as whole numbers."""
    for rows, columns in blocks(data):
        yield from zip(*[columns.ints(order) for order in ORDERS])


def stuffed(plain):
    """COBS."""
    return b"".join(bytes([len(part) + 1]) + part for part in plain.split(b"\0"))


def unstuffed(block):
    """COBS."""
    plain, at = bytearray(), 0
    while at < len(block):
        code = block[at]
        plain += block[at + 1:at + code]
        at += code
        if code < 0xFF and at < len(block):
            plain.append(0)
    return bytes(plain)


def messages(stream):
    """Each message whose check is right."""
    for block in stream.split(b"\0")[:-1]:
        plain = unstuffed(block)
        if len(plain) >= 3 and crc(plain[:-2]) == int.from_bytes(plain[-2:], "big"):
            yield plain[:-2]


def lines(path):
    """Whole lines; a torn last one is left out."""
    return path.read_text("utf-8").split("\n")[:-1]


folder = pathlib.Path(sys.argv[1])
info = json.loads((folder / "run.json").read_text("utf-8"))
assert info["schema"] == "govrig/run/2"
wire = list(entries((folder / "wire.bin").read_bytes()))
board = list(messages(b"".join(c for k, c in wire if k == "<")))
host = list(messages(b"".join(c for k, c in wire if k == ">")))
samples = list(samples_of((folder / "samples.bin").read_bytes()))
events = [json.loads(line) for line in lines(folder / "script.jsonl")]
phases = [p["name"] for e in events if e["event"] == "phases" for p in e["value"]]
end = folder / "end.json"
if end.exists():
    for name, was in json.loads((folder / "sums.json").read_text("utf-8"))["files"].items():
        now = (folder / name).read_bytes()
        assert (len(now), hashlib.sha256(now).hexdigest()) == (was["bytes"], was["sha256"]), name
ticks = [int.from_bytes(m[2:6], "little") for m in board if m[0] == 0x83]
json.dump({
    "procedure": info["procedure"],
    "entries": len(wire),
    "telemetry": len(ticks),
    "drives": sum(m[0] == 0x03 for m in host),
    "span": (ticks[-1] - ticks[0]) % 2**32,
    "samples": len(samples),
    "last_tick": samples[-1][0],
    "last_phase": phases[samples[-1][-1]],
    "ended": json.loads(end.read_text("utf-8"))["reason"] if end.exists() else "cut off",
}, sys.stdout)
