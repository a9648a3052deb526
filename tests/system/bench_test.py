#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The benchmark of whole commands does what it says; its times do not matter.

bench_test.py CLOCKASSAY LIST_EDGES TOOLS SOURCE_DIRECTORY
TOOLS holds make_capture and time_command.
"""
import json
import math
import pathlib
import subprocess
import sys
import tempfile
from fractions import Fraction

clockassay, list_edges, tools, source = sys.argv[1:]
make_capture = f"{tools}/make_capture"
time_command = f"{tools}/time_command"
FREQUENCY_HZ, JITTER_PS, CYCLES, SEED = "12500062.5", 200, 700, 3
failed = []


def check(ok, what):
    if not ok:
        failed.append(what)
        print("FAILED:", what)


def edges_of(path, *options):
    listed = subprocess.run([list_edges, *options, str(path)], check=True,
                            stdout=subprocess.PIPE, text=True).stdout
    return [line for line in listed.splitlines()
            if line.split()[0] in ("rise", "fall")]


def check_kinds(folder):
    """Every kind holds the edges that simulate writes of the same clock."""
    simulated = folder / "simulated.csv"
    subprocess.run(
        [clockassay, "simulate", "--frequency", FREQUENCY_HZ + "Hz",
         "--sample-rate", "500MHz", "--cycles", str(CYCLES), "--jitter",
         f"{JITTER_PS}ps", "--seed", str(SEED), "--out", str(simulated)],
        check=True)
    expected = edges_of(simulated)
    check(len(expected) > 2 * CYCLES - 4, f"{len(expected)} edges simulated")
    jitter_samples = str(JITTER_PS / 2000)
    for kind, options in (("vcd17", ["--channel", "clk"]),
                          ("samples", ["--time-column", "none"]),
                          ("samples8", ["--channel", "clk"]),
                          ("irregular", [])):
        path = folder / kind
        truth = json.loads(subprocess.run(
            [make_capture, kind, str(path), str(CYCLES), FREQUENCY_HZ,
             jitter_samples, str(SEED)], check=True,
            stdout=subprocess.PIPE).stdout)
        check(edges_of(path, *options) == expected, f"{kind}: its edges")
        check(truth["rising"] + truth["falling"] == len(expected),
              f"{kind}: the truth's edges")
        check(truth["frequency_hz"] == float(FREQUENCY_HZ),
              f"{kind}: the truth's frequency")
        check(truth["bytes"] == path.stat().st_size, f"{kind}: its bytes")


def check_long(folder):
    """Made on the way, to standard output: edge k is at k halves of a period,
    seen by the next sample."""
    made = subprocess.run([make_capture, "long", "-", str(CYCLES),
                           FREQUENCY_HZ], check=True, capture_output=True)
    path = folder / "long.vcd"
    path.write_bytes(made.stdout)
    half = 500_000_000 / Fraction(FREQUENCY_HZ) / 2
    expected = [f"{'rise' if k % 2 else 'fall'} "
                f"{Fraction(math.ceil(k * half), 500_000_000)}"
                for k in range(1, 2 * CYCLES + 1)]
    check(edges_of(path) == expected, "long: its edges")
    truth = json.loads(made.stderr)
    check((truth["rising"], truth["falling"], truth["bytes"]) ==
          (CYCLES, CYCLES, len(made.stdout)), "long: the truth")
    # Off by 6 times the jitter at most, and seen by the next sample then.
    made = subprocess.run([make_capture, "long", "-", str(CYCLES),
                           FREQUENCY_HZ, "0.1"], check=True,
                          capture_output=True)
    path.write_bytes(made.stdout)
    found = [line.split() for line in edges_of(path)]
    off = [Fraction(time) * 500_000_000 - k * half
           for k, (_, time) in enumerate(found, 1)]
    check([kind for kind, _ in found] == ["rise", "fall"] * CYCLES,
          "long: its edges with jitter")
    check(-0.6 <= min(off) and max(off) < 1.6, "long: its jitter")
    # Without it none is 1 or more; these lie up to 0.14 before their sample,
    # and many are late by more.
    check(max(off) >= 1, "long: that it has jitter")


def others_of(folder):
    """How many channels of the wide captures change, clk aside."""
    for kind in ("vcd17", "samples8"):
        listed = subprocess.run([list_edges, str(folder / kind)], check=True,
                                stdout=subprocess.PIPE, text=True).stdout
        changing = [part for part in listed.split("channel ")[1:]
                    if part.count("rise") > 10]
        yield kind, len(changing) - 1


def peak_mib(*command):
    run = subprocess.run([time_command, *command], check=True,
                         stdout=subprocess.PIPE, text=True)
    wall_s, cpu_s, peak_kib, status = run.stdout.split()
    check(float(wall_s) > 0 and float(cpu_s) > 0 and status == "0",
          f"{command} is timed")
    return int(peak_kib) / 1024


def check_peaks():
    """A command's peak is its own, not that of this process."""
    kept = bytearray(200 << 20)
    kept[::4096] = b"x" * len(kept[::4096])  # every page is there
    small = peak_mib("/bin/true")
    check(small < 50, f"/bin/true takes {small} MiB")
    large = peak_mib(sys.executable, "-c",
                     "kept = b'x' * (100 << 20)")
    check(100 < large < 190, f"100 MiB and the interpreter: {large} MiB")
    status = subprocess.run([time_command, "/bin/sh", "-c", "exit 3"],
                            stdout=subprocess.PIPE, text=True).stdout.split()[3]
    check(status == "3", f"exit status 3, found {status}")


def bench(folder):
    run = subprocess.run(
        [f"{source}/tools/bench/run", "--quick", "--without", "pandas", "--tools",
         tools, clockassay, str(folder)], stdout=subprocess.PIPE, text=True)
    return run.returncode, run.stdout


def change_truth(folder, pattern, change):
    (path,) = folder.glob(pattern)
    truth = json.loads(path.read_text())
    change(truth)
    path.write_text(json.dumps(truth))
    return str(path).removesuffix(".truth.json")


def shift_frequency(truth):
    truth["frequency_hz"] *= 1.01


def add_an_edge(truth):
    truth["rising"] += 1


def check_bench(folder):
    code, printed = bench(folder)
    check(code == 0, f"the benchmark exits with {code}:\n{printed}")
    for name in ("vcd far", "vcd near", "csv far", "csv near", "irregular far",
                 "vcd17 far", "samples far", "samples8 far"):
        check(f"| {name} |" in printed, f"{name} has a row")
    changed = [change_truth(folder, "vcd-near-*.truth.json", shift_frequency),
               change_truth(folder, "samples8-*.truth.json", add_an_edge)]
    code, printed = bench(folder)
    check(code == 1, f"with a wrong truth the benchmark exits with {code}")
    check(printed.count("FAILED: ") == len(changed)
          and all(f"FAILED: {path}: found" in printed for path in changed),
          f"{changed} and no others fail:\n{printed}")


with tempfile.TemporaryDirectory() as name:
    check_kinds(pathlib.Path(name))
    check_long(pathlib.Path(name))
    check(list(others_of(pathlib.Path(name))) == [("vcd17", 16),
                                                  ("samples8", 7)],
          "the other channels change")
check_peaks()
with tempfile.TemporaryDirectory() as name:
    check_bench(pathlib.Path(name))
refused = subprocess.run([make_capture, "vcd", "/dev/null", "10", "1000"],
                         stderr=subprocess.PIPE, text=True)
check(refused.returncode == 1 and "simulate" in refused.stderr,
      "make_capture leaves vcd to clockassay simulate")
sys.exit(1 if failed else 0)
