#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""All readers give the same result, bit by bit.

same_result_test.py CLOCKASSAY SAME_READING MAKE_CAPTURE ROOT
The program's JSON of a capture must not depend on the kernels, the threads, or
whether it comes as a file, through a pipe, or packed: for every valid file of
testdata/capture, and for larger captures of every kind, which have several
pieces. The larger ones are read by SAME_READING, too, which also varies the
pieces; testdata_pieces does that with the files of testdata.
"""
import gzip
import json
import os
import pathlib
import random
import shlex
import shutil
import subprocess
import sys
import tempfile

CLOCKASSAY, SAME_READING, MAKE_CAPTURE, ROOT = sys.argv[1:]
SEED = 20
WAYS = ["file", "pipe", "gz"] + (["zst"] if shutil.which("zstd") else [])
# Files of one piece: each kernel, number of threads and way, not all together.
# Kernels that the processor has not are those it has.
FEW = [("plain", 1, "file"), ("avx2", 4, "file"), ("avx512", 2, "file"),
       ("plain", 2, "pipe"), ("avx2", 1, "pipe"), ("avx512", 3, "gz"),
       ("avx2", 3, "gz"), ("plain", 1, "gz"), ("plain", 4, "zst"),
       ("avx512", 1, "zst")]
# Of several pieces: each number of threads with each kernel, and with each way.
MANY = [(kernels, jobs, way) for jobs in (1, 2, 3, 4) for way in WAYS
        for turn, kernels in enumerate(("plain", "avx2", "avx512"))
        if way == "file" or (jobs + turn) % 3 == 0]


class Clock:
    """A clock of about 40 ticks a cycle, every edge with noise of its own, and
    now and then something that no clock does."""

    def __init__(self, seed, cycles, oddities):
        rng = random.Random(seed)
        self.rng = rng
        self.edges = []  # of (tick, level); level may be x or z
        for cycle in range(cycles):
            rise = 40 * cycle + cycle // 5 + rng.randint(5, 8)
            fall = rise + rng.randint(18, 22)
            odd = rng.choice(oddities) if rng.random() < 0.01 else None
            if odd == "lost":
                continue
            self.edges.append((rise, "x" if odd == "x" else "1"))
            if odd == "glitch":
                self.edges += [(rise + 7, "0"), (rise + 8, "1")]
            if odd == "zero width":
                self.edges += [(rise + 9, "0"), (rise + 9, "1")]
            if odd == "repeated":
                self.edges.append((rise + 3, "1"))
            self.edges.append((fall, "z" if odd == "z" else "0"))


def vcd_of_vectors(seed):
    """A clock that is a bit of a vector beside another vector, a wire and a
    real number; comments, dumping switched off, line ends of two kinds."""
    clock = Clock(seed, 9000, ["x", "z", "glitch", "zero width", "repeated",
                               "lost"])
    rng = clock.rng
    out = ["$timescale 1 ns $end", "$scope module top $end",
           "$var wire 4 ! bus [3:0] $end", "$var wire 1 \" clk $end",
           "$var reg 12 # count $end", "$var real 64 % t $end",
           "$upscope $end $enddefinitions $end", "#0"]
    bus = ["0"] * 4
    for tick, level in clock.edges:
        out.append(f"#{tick}")
        bus[2] = level
        if rng.random() < 0.2:
            bus[rng.choice([0, 1, 3])] = rng.choice("01xz")
        # Zeros in front may be left out.
        text = "".join(bus)
        if rng.random() < 0.5:
            text = text.lstrip("0") or "0"
        out.append(f"{level}\"")
        out.append(f"b{text} !")
        if rng.random() < 0.3:
            out.append(f"b{rng.randrange(4096):b} #")
        if rng.random() < 0.05:
            out.append(f"r{rng.random()} %")
        if rng.random() < 0.003:
            out.append(f"$comment #{tick} 1\" b1 ! $end")
        if rng.random() < 0.001:
            out += ["$dumpoff", "x\"", "bx !", "bx #", "$end",
                    f"#{tick + 1}", "$dumpon", f"{level}\"", f"b{text} !",
                    "$end"]
    return "".join(line + rng.choice(["\n", "\r\n"]) for line in out)


def csv_of_oddities(seed):
    """Times in seconds without zeros at their end, levels that are words, not
    known or left out, rows at the time of the one before, a second channel."""
    clock = Clock(seed, 12000, ["x", "glitch", "zero width", "repeated",
                                "lost"])
    out = ["time_s,clk,gate"]
    for tick, level in clock.edges:
        gate = clock.rng.choice(["", "", "0", "1"])
        seconds = f"{tick // 10**8}.{tick % 10**8:08d}".rstrip("0")
        out.append(f"{seconds.rstrip('.')},{level},{gate}")
    return "\n".join(out) + "\n"


def voltages(seed):
    """A square wave with slopes and noise, every row a sample."""
    rng = random.Random(seed)
    rows = ["time_us,v"]
    for n in range(30000):
        phase = n % 40.37
        level = min(max(phase - 1, 0), 2, max(22 - phase, 0)) * 1.6
        rows.append(f"{n}.0,{level + rng.gauss(0, 0.05):.3f}")
    return "\n".join(rows) + "\n"


def words(seed):
    """Samples of a word in hexadecimal, a bit of which is the clock."""
    rng = random.Random(seed)
    rows = ["time_us,data"]
    for n in range(40000):
        high = n % 40.37 < 20
        rows.append(f"{n},{rng.randrange(128) << 1 | high:x}")
    return "\n".join(rows) + "\n"


def larger_captures(folder):
    """Three pieces or more each, as (path, options)."""
    def simulated(name, *more, cycles=20_000):
        path = folder / name
        subprocess.run(
            [CLOCKASSAY, "simulate", "--frequency", "12500062.5Hz",
             "--sample-rate", "500MHz", "--cycles", str(cycles), "--seed",
             str(SEED), "--out", str(path), *more], check=True)
        return path, []

    def made(kind, suffix, cycles, *options):
        path = folder / (kind + suffix)
        subprocess.run([MAKE_CAPTURE, kind, str(path), str(cycles),
                        "12381763.7", "0.1", str(SEED)], check=True,
                       stdout=subprocess.DEVNULL)
        return path, list(options)

    def written(name, text, *options):
        path = folder / name
        path.write_bytes(text.encode())
        return path, list(options)

    damage = ["--jitter", "200ps", "--drop", "0.002", "--glitch", "0.002"]
    return [simulated("steady.vcd"), simulated("damaged.vcd", *damage),
            simulated("damaged.csv", *damage), simulated("steady.csv"),
            # As many edges as later passes treat as a long capture.
            simulated("long.vcd", "--jitter", "200ps", cycles=150_000),
            simulated("long.csv", *damage, cycles=150_000),
            made("vcd17", ".vcd", 4000, "--channel", "clk", "--channel", "d3"),
            made("samples", ".csv", 5000, "--time-column", "none"),
            made("samples8", ".csv", 500),
            made("irregular", ".csv", 18000),
            written("vectors.vcd", vcd_of_vectors(SEED)),
            written("oddities.csv", csv_of_oddities(SEED)),
            written("voltages.csv", voltages(SEED), "--threshold", "auto"),
            written("words.csv", words(SEED), "--radix", "16",
                    "--channel", "data[0]")]


def packed(folder, path, text):
    """The path of each way of reading but the pipe."""
    paths = {"file": path, "gz": folder / "packed.gz"}
    paths["gz"].write_bytes(gzip.compress(text, 6))
    if "zst" in WAYS:
        paths["zst"] = folder / "packed.zst"
        subprocess.run(["zstd", "-q", "-f", str(path), "-o",
                        str(paths["zst"])], check=True)
    return paths


def result(kernels, jobs, way, paths, text, options):
    """Exit status and JSON, without what is about the way."""
    run = subprocess.run(
        [CLOCKASSAY, "measure", "--json", "-", "--jobs", str(jobs), *options,
         "-" if way == "pipe" else str(paths[way])],
        input=text if way == "pipe" else None, capture_output=True,
        check=False, env={**os.environ, "CLOCKASSAY_KERNELS": kernels})
    found = json.loads(run.stdout)
    for part in found["captures"] + found["errors"]:
        del part["path"]
        part.pop("compression", None)
        part.pop("compressed_bytes", None)
    return run.returncode, json.dumps(found, indent=1)


def difference(found, expected):
    if found[0] != expected[0]:
        return f"exit status {found[0]}, expected {expected[0]}"
    lines = zip(found[1].splitlines(), expected[1].splitlines())
    return next((f"{a.strip()}, expected {b.strip()}" for a, b in lines
                 if a != b), "more or fewer lines")


def faults_of(folder, path, options, ways):
    text = path.read_bytes()
    paths = packed(folder, path, text)
    expected = result(*ways[0], paths, text, options)
    if expected[0] != 0:
        return [f"{path.name}: exit status {expected[0]}\n{expected[1]}"]
    faults = []
    for way in ways[1:]:
        if way[2] not in WAYS:
            continue
        found = result(*way, paths, text, options)
        if found != expected:
            faults.append(f"{path.name}: {way}: {difference(found, expected)}")
    return faults


def options_beside(path):
    beside = path.with_suffix(".options")
    return shlex.split(beside.read_text()) if beside.exists() else []


def main(folder):
    small = sorted(p for kind in ("csv", "vcd")
                   for p in pathlib.Path(ROOT, "testdata/capture", kind,
                                         "valid").iterdir()
                   if p.suffix in (".csv", ".vcd"))
    faults = []
    for path in small:
        faults += faults_of(folder, path, options_beside(path), FEW)
    large = larger_captures(folder)
    for path, options in large:
        if path.stat().st_size < 2.5 * 131_072:
            faults.append(f"{path.name} has hardly three pieces")
        faults += faults_of(folder, path, options, MANY)
        run = subprocess.run([SAME_READING, *options, str(path)],
                             stdout=subprocess.PIPE, text=True, check=False)
        if run.returncode != 0:
            faults.append(f"{path.name}: same_reading exits with "
                          f"{run.returncode}\n{run.stdout}")
    print("\n".join(faults))
    print(f"seed {SEED}: {len(small)} files of testdata and {len(large)} "
          f"larger ones, as {', '.join(WAYS)}: {len(faults)} faults")
    return 1 if faults or len(small) < 60 else 0


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as created:
        sys.exit(main(pathlib.Path(created)))
