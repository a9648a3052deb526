#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The whole program on dumps an independent simulator writes.

iverilog_measure_test.py CLOCKASSAY BENCH_DIRECTORY
Runs Debian's iverilog on the test benches, whose head comments give every
edge, and compares frequencies with what their constants say. The simulator's
edges are exact to its tick: its "sample rate" is one over the tick.
"""
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

tool, benches = sys.argv[1], pathlib.Path(sys.argv[2]).resolve()
failed = []


def check(ok, what):
    if not ok:
        failed.append(what)
        print("FAILED:", what)


if not shutil.which("iverilog"):
    sys.exit("iverilog is not installed: apt-get install iverilog")


def dump(bench, work):
    subprocess.run(["iverilog", "-o", f"{bench}.vvp",
                    str(benches / f"{bench}.v")], cwd=work, check=True)
    subprocess.run(["vvp", f"{bench}.vvp"], cwd=work, check=True,
                   stdout=subprocess.DEVNULL)
    return str(pathlib.Path(work) / f"{bench}.vcd")


def run(command, *arguments):
    out = subprocess.run([tool, command, "--json", "-", *arguments],
                         capture_output=True, text=True)
    return out.returncode, json.loads(out.stdout)


def channels(result):
    return {c["name"]: c for c in result["captures"][0]["channels"]}


def check_frequency(channel, hertz):
    f = channel["relative_to_timebase"]
    off = abs(f["value_hz"] - hertz)
    check(off <= f["expanded_uncertainty_hz"],
          f"{channel['name']}: {f['value_hz']} Hz, expected {hertz}")
    low, high = f["bounds_hz"]
    # The bounds are doubles: half a unit of the last place either way.
    check(low * (1 - 1e-15) <= hertz <= high * (1 + 1e-15),
          f"{channel['name']}: {hertz} Hz is outside [{low}, {high}]")
    check(channel["spectral_check"]["outcome"] == "agrees",
          f"{channel['name']}: spectral check")


with tempfile.TemporaryDirectory() as work:
    # Periods 10 ns, 20 ns, 160 ns on a tick of 1 ps.
    code, result = run("measure", "--sample-rate", "1000GHz",
                       dump("dividers", work))
    found = channels(result)
    check(code == 0, f"dividers: exit code {code}")
    for name, hertz in (("dividers.clk", 100e6), ("dividers.div2", 50e6),
                        ("dividers.div16", 6.25e6)):
        check_frequency(found[name], hertz)
        check(abs(found[name]["duty"]["value"] - 0.5) < 1e-9, name + " duty")

    # Bit 3 of the counter is div16; buses are read only where named.
    check("dividers.count[3]" not in found, "dividers: a bus was read")
    code, result = run("measure", "--sample-rate", "1000GHz", "--channel",
                       "count[3]", dump("dividers", work))
    check(code == 0, f"count[3]: exit code {code}")
    check(list(channels(result)) == ["dividers.count[3]"], "count[3]: name")
    check_frequency(channels(result)["dividers.count[3]"], 6.25e6)

    # 42 ps and 10 ps on a tick of 1 fs: as 21 to 5.
    ratio = dump("ratio", work)
    code, result = run("measure", "--sample-rate", "1000000GHz", ratio)
    found = channels(result)
    check(code == 0, f"ratio: exit code {code}")
    check_frequency(found["ratio.source"], 1e12 / 42)
    check_frequency(found["ratio.out"], 1e11)
    value = (found["ratio.out"]["frequency"]["value_hz"]
             / found["ratio.source"]["frequency"]["value_hz"])
    # Both are locked to the tick, so their estimates are exact but rounding.
    check(abs(value / (21 / 5) - 1) < 1e-14, f"ratio {value}, expected 21/5")
    # The same asked as a clock path: source * 21 / 5, judged on the output.
    code, result = run("verify", "--sample-rate", "1000000GHz", "--timebase",
                       "1ppm", "--channel", "ratio.out", "--expect",
                       "100GHz / 21 * 5 * 21 / 5", "--tolerance", "30ppm",
                       ratio)
    check(code == 0, f"ratio as a path: exit code {code}")

    # 0.125 Hz with a stop and a stretch of dumping off: three stretches, the
    # last one right; and however right, it may not pass.
    stop = dump("stop", work)
    code, result = run("measure", "--sample-rate", "1Hz", stop)
    clk = channels(result)["stop.clk"]
    check(len(clk["stretches"]) == 3,
          f"stop: {len(clk['stretches'])} stretches, expected 3")
    check_frequency(clk, 0.125)
    codes = [w["code"] for w in clk["warnings"]]
    check("several_stretches" in codes, f"stop: warnings {codes}")
    check(clk["edges"]["missing"] == 0, "stop: no cycle is called lost")
    code, result = run("verify", "--sample-rate", "1Hz", "--timebase", "1ppm",
                       "--expect", "0.125Hz", "--tolerance", "10%", stop)
    check(code == 2, f"stop: exit code {code}, expected undecided")

sys.exit(1 if failed else 0)
