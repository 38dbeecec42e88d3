"""Reads a run record by FORMAT.md and wire.md alone and tells what is in it."""
import csv
import json
import pathlib
import sys


def crc(data):
    """CRC-16/IBM-3740."""
    value = 0xFFFF
    for byte in data:
        value ^= byte << 8
        for _ in range(8):
            value = (value << 1 ^ 0x1021 if value & 0x8000 else value << 1) & 0xFFFF
    return value


def entries(data):
    """Kind and content of each whole entry."""
    at = 0
    while at + 5 <= len(data):
        n = int.from_bytes(data[at + 1:at + 3], "little")
        entry = data[at:at + 3 + n]
        check = data[at + 3 + n:at + 5 + n]
        if len(check) < 2 or crc(entry) != int.from_bytes(check, "little"):
            return
        yield chr(data[at]), entry[3:]
        at += 5 + n


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
assert info["schema"] == "govrig/run/1"
wire = list(entries((folder / "wire.bin").read_bytes()))
board = list(messages(b"".join(c for k, c in wire if k == "<")))
host = list(messages(b"".join(c for k, c in wire if k == ">")))
samples = list(csv.DictReader(lines(folder / "samples.csv")))
events = [json.loads(line) for line in lines(folder / "script.jsonl")]
phases = [p["name"] for e in events if e["event"] == "phases" for p in e["value"]]
end = folder / "end.json"
ticks = [int.from_bytes(m[2:6], "little") for m in board if m[0] == 0x83]
json.dump({
    "procedure": info["procedure"],
    "entries": len(wire),
    "telemetry": len(ticks),
    "drives": sum(m[0] == 0x03 for m in host),
    "span": (ticks[-1] - ticks[0]) % 2**32,
    "samples": len(samples),
    "last_tick": round(float(samples[-1]["time_s"]) * info["tick_hz"]),
    "last_phase": phases[int(samples[-1]["phase"])],
    "ended": json.loads(end.read_text("utf-8"))["reason"] if end.exists() else "cut off",
}, sys.stdout)
