#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the demo captures anew and judges them.

demo_test.py CLOCKASSAY DEMO_DIRECTORY
Each file must come out byte for byte as it is kept, and each capture must get
the verdict its truth asks for.
"""
import json
import pathlib
import subprocess
import sys
import tempfile

tool, demo = sys.argv[1], pathlib.Path(sys.argv[2])
failed = []


def check(ok, what):
    if not ok:
        failed.append(what)
        print("FAILED:", what)


def judge(capture, *options):
    run = subprocess.run(
        [tool, "verify", "--json", "-", *options, str(demo / capture)],
        capture_output=True, text=True)
    return run.returncode, json.loads(run.stdout)["verdicts"][0]


with tempfile.TemporaryDirectory() as out:
    subprocess.run([str(demo / "make.sh"), tool, out], check=True)
    made = sorted(p.name for p in pathlib.Path(out).iterdir())
    kept = sorted(p.name for p in demo.iterdir()
                  if p.name not in ("make.sh", "logger.json"))
    check(made == kept, f"make.sh makes {made}, kept are {kept}")
    for name in made:
        check((pathlib.Path(out) / name).read_bytes()
              == (demo / name).read_bytes(), f"{name} is made anew the same")

spec = ("--spec", str(demo / "logger.json"))
known = spec + ("--timebase", "2ppm")


def truth_ppm(capture):
    path = demo / (capture.rsplit(".", 1)[0] + ".truth.json")
    return json.loads(path.read_text())["offset_ppm"]


for capture, options, decision, code in (
        ("good-board.vcd", known, "pass", 0),
        ("damaged.csv", known, "pass", 0),
        ("wrong-load.vcd", known, "fail", 1),
        ("old-crystal.csv", known, "fail", 1),
        ("good-board.vcd", spec, "undecided", 2)):
    got_code, verdict = judge(capture, *options)
    what = f"{capture} {' '.join(options[2:])}"
    check(got_code == code, f"{what}: exit code {got_code}, expected {code}")
    check(verdict["decision"] == decision,
          f"{what}: {verdict['decision']}, expected {decision}")
    if capture != "old-crystal.csv":  # its truth is about another nominal
        off = abs(verdict["error_ppm"] - truth_ppm(capture))
        check(off <= verdict["expanded_uncertainty_ppm"],
              f"{what}: {off} ppm from the truth")

_, verdict = judge("old-crystal.csv", *known)
first = verdict["causes"][0]
check("former crystal" in first["cause"] and first["rank"] == 1,
      f"the former crystal is named first, not {first['cause']}")
check(first["ratio"] == "2/3", f"its ratio is 2/3, not {first['ratio']}")

# Ten edges of a slow light: the interval is honest and the timebase decides.
code, verdict = judge("led.csv", "--expect", "1Hz", "--tolerance", "50ppm",
                      "--timebase", "20ppm")
check(code == 0 and verdict["decision"] == "pass", "led within 50 ppm passes")
check(abs(verdict["error_ppm"] - 9) <= verdict["expanded_uncertainty_ppm"],
      "led: truth within U")

# In the chamber: the crystal's angle, and a verdict over its range.
run = subprocess.run(
    [tool, "drift", "--json", "-", str(demo / "chamber.csv"), "--expect",
     "24MHz / 2 / 16", "--timebase", "2ppm", "--range", "-40..85",
     "--tolerance", "50ppm"], capture_output=True, text=True)
result = json.loads(run.stdout)
angle = result["drift"]["part"]["cut_angles"][0]
check(run.returncode == 0, "the chamber's curve is within 50 ppm")
check(result["drift"]["part"]["kind"] == "AT cut", "it is an AT cut")
check(abs(angle["minutes"] - 2) <= angle["expanded_uncertainty_minutes"],
      f"2 minutes off its zero angle, not {angle['minutes']}")

sys.exit(1 if failed else 0)
