#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""bounds_test.py CLOCKASSAY
bounds_test.py --write FOLDER

What is as large as nobody writes it ends soon, in an answer or an error, and in
little memory: tokens of a million bytes, a hundred thousand channels, scopes and
JSON nested without end, packed data that grow without end. Peak memory counts from that of the process that
starts the command: so the files are written by another one.
"""
import gzip
import json
import os
import pathlib
import subprocess
import sys
import tempfile

MILLION = 1_000_000
MANY = 100_000
BODY = "".join(f"#{i * 20}\n{i & 1}!\n" for i in range(2000))
ROWS = "".join(f"{i * 20e-9:.9f},{i & 1}\n" for i in range(2000))


def head(variables):
    return ("$timescale 1ns $end\n$scope module t $end\n" +
            "".join(f"$var wire 1 {i} {name} $end\n" for i, name in variables) +
            "$upscope $end\n$enddefinitions $end\n")


def short(k):
    text = ""
    while True:
        text += chr(33 + k % 90)
        k //= 90
        if not k:
            return text


def many_channels():
    ids = [short(k) for k in range(MANY)]
    turns = "".join(f"#{i * 20}\n" + "".join(f"{i & 1}{k}\n" for k in ids)
                    for i in range(6))
    return head((k, f"c{n}") for n, k in enumerate(ids)) + turns


def captures():
    """Name, text."""
    clk = head([("!", "clk")])
    yield "name.vcd", head([("!", "c" * MILLION)]) + BODY
    yield "id.vcd", head([("x" * MILLION, "far"), ("!", "clk")]) + BODY
    yield "comment.vcd", f"$comment {'x' * MILLION} $end\n" + clk + BODY
    yield "no_end.vcd", "$comment " + "x " * MILLION
    yield "vector.vcd", clk + BODY + f"#50000\nb{'1' * MILLION} !\n"
    yield "stamp.vcd", clk + BODY + "#" + "9" * MILLION + "\n1!\n"
    yield "uncut.vcd", clk + BODY + "$comment " + "x" * 70 * MILLION
    yield "scopes.vcd", ("$timescale 1ns $end\n" + "$scope module a $end\n" * MANY
                         + "$var wire 1 ! clk $end\n" + "$upscope $end\n" * MANY
                         + "$enddefinitions $end\n" + BODY)
    yield "header.csv", "time_s," + "c" * MILLION + "\n" + ROWS
    yield "field.csv", "time_s,clk\n" + ROWS + "1.0," + "1" * MILLION + "\n"
    yield "line.csv", "x" * 40 * MILLION
    yield "columns.csv", ("time_s" + "".join(f",c{k}" for k in range(MANY)) + "\n" +
                          "".join(f"{i * 20e-9:.9f}" + f",{i & 1}" * MANY + "\n"
                                  for i in range(6)))
    yield "channels.vcd", many_channels()


def jsons():
    yield "open.json", "[" * MILLION
    yield "deep.json", '{"a":' * MANY + "1" + "}" * MANY
    yield "text.json", json.dumps({"a": "x" * MILLION})
    yield "wide.json", json.dumps({f"k{k}": k for k in range(MANY)})


def bombs():
    """Members of 16 MiB of one comment each: beyond 1 GiB, and below."""
    member = gzip.compress(b"x" * (16 << 20), 9)
    beginning = gzip.compress(
        (head([("!", "clk")]) + BODY + "$comment ").encode())
    yield "bomb.vcd.gz", beginning + member * 80
    yield "half.vcd.gz", beginning + member * 32


def write(folder):
    (folder / "small.vcd").write_text(head([("!", "clk")]) + BODY)
    for files in (captures(), jsons()):
        for name, text in files:
            (folder / name).write_text(text)
    for name, packed in bombs():
        (folder / name).write_bytes(packed)


CODES = {"name.vcd": 0, "id.vcd": 0, "comment.vcd": 0, "no_end.vcd": 65,
         "vector.vcd": 65, "stamp.vcd": 65, "uncut.vcd": 65, "scopes.vcd": 0, "header.csv": 0,
         "field.csv": 65, "line.csv": 65, "columns.csv": 65, "channels.vcd": 65}
TOO_MANY = ("channels.vcd", "columns.csv")


def run(arguments):
    """Exit code, standard error and peak memory in KiB."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        process = subprocess.Popen(arguments, stdout=out, stderr=err)
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        err.seek(0)
        return process.returncode, err.read().decode(), usage.ru_maxrss


class Bounds:
    def __init__(self, tool, folder):
        self.tool = tool
        self.folder = folder
        self.faults = []
        self.least = run([tool, "measure", folder / "small.vcd"])[2]

    def expect(self, fact, *what):
        if not fact:
            self.faults.append(" ".join(map(str, what)))

    def hold(self, name, arguments, code, memory_kib):
        found, err, peak = run([self.tool, *arguments])
        beyond = peak - self.least
        print(f"{name}: exit {found}, {beyond} KiB beyond a small capture")
        self.expect(found == code, name, "exit code", found, "not", code, err[:200])
        self.expect(beyond <= memory_kib, name, beyond, "KiB, not", memory_kib)
        self.expect(len(err) < 2000, name, "an error of", len(err), "bytes")
        self.expect(code == 0 or name in err, name, "is not named:", err[:200])
        return err


def try_captures(bounds):
    for name, code in CODES.items():
        path = bounds.folder / name
        # Copies of the text, what a channel takes, and what buffers may hold.
        memory = min(8 * path.stat().st_size // 1024, 256 * 1024) + 48 * 1024
        if name in TOO_MANY:
            memory += 3 * MANY
        err = bounds.hold(name, ["measure", path], code, memory)
        if name in TOO_MANY:
            bounds.expect("found edges on 100000 channels" in err, name, err[:200])
            bounds.hold(name, ["measure", "--channel", "c5", path], 0, memory)


def try_json(bounds):
    small = bounds.folder / "small.vcd"
    for name in ("open.json", "deep.json", "text.json", "wide.json"):
        path = bounds.folder / name
        memory = 64 * 1024
        bounds.hold(name, ["verify", "--spec", path, small], 78, memory)
        bounds.hold(name, ["measure", "--instrument", path, small], 78, memory)
        bounds.hold(name, ["compare", path, path], 65, memory)


def try_bombs(bounds):
    bomb = bounds.folder / "bomb.vcd.gz"
    half = bounds.folder / "half.vcd.gz"
    # A statement of 64 MiB without an end, copied as it grows.
    memory = 256 * 1024
    err = bounds.hold(bomb.name, ["measure", bomb], 65, memory)
    bounds.expect("found more than 500 times as much text as gzip data" in err, err)
    bounds.expect("--unpack-limit" in err, err)
    for options, path in ((["--unpack-limit", "0"], bomb), ([], half)):
        err = bounds.hold(path.name, ["measure", *options, path], 65, memory)
        bounds.expect("no end of a line or a statement within 67108864" in err, err)


def main(tool):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([sys.executable, __file__, "--write", name], check=True)
        bounds = Bounds(tool, folder)
        try_captures(bounds)
        try_json(bounds)
        try_bombs(bounds)
    for fault in bounds.faults:
        print("FAULT", fault)
    return 1 if bounds.faults else 0


if __name__ == "__main__":
    if sys.argv[1] == "--write":
        sys.exit(write(pathlib.Path(sys.argv[2])))
    sys.exit(main(sys.argv[1]))
