#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`measure --stability` says what the definitions make of the same edges.

stability_test.py CLOCKASSAY SCHEMA
The edges are taken from simulated captures, every statistic is worked out again
from its definition by numpy, chi-squared is that of scipy.
"""
import json
import math
import pathlib
import subprocess
import sys
import tempfile

try:
    import numpy as np
    from scipy.stats import chi2
except ImportError:
    print("scipy is not installed")
    sys.exit(0)

clockassay, schema = sys.argv[1:]
validate = pathlib.Path(__file__).with_name("validate_json.py")
RATE_HZ = 100_000_000
failed = []


def check(ok, what):
    if not ok:
        failed.append(what)
        print("FAILED:", what)


def near(a, b, relative, what):
    # Of what is nothing only roundings are left.
    check(a is not None and abs(a - b) <= relative * abs(b) + 1e-15,
          f"{what}: {a}, expected {b} within {relative}")


def measure(path, *options):
    return subprocess.run(
        [clockassay, "measure", "--stability", *options, "--json", "-",
         str(path)], check=True, stdout=subprocess.PIPE).stdout


def rising_samples(path):
    """Sample numbers of the rising edges."""
    edges = []
    before = None
    for line in path.read_text().splitlines():
        cells = line.split(",")
        try:
            time, level = float(cells[0]), int(cells[1])
        except ValueError:
            continue
        if before == 0 and level == 1:
            edges.append(round(time * RATE_HZ))
        before = level
    return np.array(edges, dtype=np.int64)


def deviations(n, m):
    """Of rising edges n [samples], by definition, all times tau but the last;
    the sums are exact."""
    def rms(d, divisor):
        return math.sqrt(sum(int(v) ** 2 for v in d) / len(d) / divisor)
    second = n[2 * m:] - 2 * n[m:-m] + n[:-2 * m]
    third = n[3 * m:] - 3 * n[2 * m:-m] + 3 * n[m:-2 * m] - n[:-3 * m]
    running = np.concatenate(([0], np.cumsum(second)))
    means = running[m:] - running[:-m]
    return (rms(second, 2), rms(means, 2 * m * m), rms(third, 6),
            len(second))


def widest_range(x, m):
    windows = np.lib.stride_tricks.sliding_window_view(x, m + 1)
    return float(np.max(windows.max(axis=1) - windows.min(axis=1)))


def white_phase_dof(m, terms):
    """Second differences of white phases: covariances 6, -4, 1."""
    squares = 36 * terms + 2 * 16 * max(0, terms - m) + 2 * max(
        0, terms - 2 * m)
    return terms ** 2 * 36 / squares


def check_points(path, points, window_samples):
    n = rising_samples(path)
    k = np.arange(len(n))
    slope, start = np.polyfit(k - k.mean(), n - n.mean(), 1)
    x = n - n.mean() - slope * (k - k.mean()) - start
    for p in points:
        m = round(p["tau_s"] * RATE_HZ / slope)
        what = f"{path.name}, {m} cycles"
        tau = m * slope
        # The period that tau is made of is not by least squares, but as near.
        near(p["tau_s"], tau / RATE_HZ, 1e-5, what + ": tau")
        adev, mdev, hdev, terms = deviations(n, m)
        near(p["adev"], adev / tau, 1e-5, what + ": adev")
        near(p["mdev"], mdev / tau, 1e-5, what + ": mdev")
        near(p["hdev"], hdev / tau, 1e-5, what + ": hdev")
        near(p["tdev_s"], mdev / math.sqrt(3) / RATE_HZ, 1e-7, what + ": tdev")
        check(p["n"] == terms, what + f": {p['n']} terms, {terms} expected")
        near(p["floor_adev"], window_samples / (2 * tau), 1e-5,
             what + ": floor")
        check(p["sampling_limited"] == (p["adev"] < 2 * p["floor_adev"]),
              what + ": limited")
        longer = x[m:] - x[:-m]
        near(p["n_period_rms_s"],
             math.sqrt(np.mean(longer ** 2)) / RATE_HZ, 1e-3,
             what + ": jitter of so many periods")
        if m <= 1000:
            # The line is of both kinds of edges: it may be turned by so much.
            near(p["mtie_s"], widest_range(x, m) / RATE_HZ, 0.01,
                 what + ": mtie")
        edf = p["edf"]
        check((edf is None) == (p["adev"] == 0), what + ": edf or none")
        if edf is None:
            continue
        if p["noise"] == "white_pm":
            near(edf, white_phase_dof(m, terms), 1e-9, what + ": edf")
        for name, quantile in (("adev_low", 0.975), ("adev_high", 0.025)):
            near(p[name], p["adev"] * math.sqrt(edf / chi2.ppf(quantile, edf)),
                 1e-9, what + ": " + name)


def check_histogram(path, histogram):
    """Bins of whole samples, the shortest and the longest period in the first
    and the last."""
    periods = np.diff(rising_samples(path))
    shortest, longest = periods.min(), periods.max()
    width = -(-(longest - shortest + 1) // 64)
    near(histogram["bin_s"], width / RATE_HZ, 1e-12, f"{path.name}: bin")
    near(histogram["first_s"], (shortest - 0.5) / RATE_HZ, 1e-12,
         f"{path.name}: first bin")
    counts = np.bincount((periods - shortest) // width)
    check(histogram["counts"] == counts.tolist(),
          f"{path.name}: {histogram['counts']}, expected {counts.tolist()}")


def simulate(path, frequency, *options):
    subprocess.run(
        [clockassay, "simulate", "--frequency", frequency, "--sample-rate",
         "100MHz", "--out", str(path), *options], check=True)


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    jittered = folder / "jittered.csv"
    simulate(jittered, "1.2345678MHz", "--cycles", "30000", "--jitter", "40ns",
             "--seed", "5")
    sampled = folder / "sampled.csv"
    simulate(sampled, "1.2378123MHz", "--cycles", "5000", "--seed", "6")
    # 81.0000007 samples a period: every one is seen as 81.
    locked = folder / "locked.csv"
    simulate(locked, "1.2345678MHz", "--cycles", "5000", "--seed", "7")
    for capture, octaves, limited in ((jittered, 13, False),
                                      (sampled, 11, True), (locked, 11, True)):
        text = measure(capture)
        checked = subprocess.run(
            ["/usr/bin/python3", str(validate), schema, "/dev/stdin"],
            input=text, stdout=subprocess.PIPE, check=False)
        check(checked.returncode == 0, checked.stdout.decode())
        channel = json.loads(text)["captures"][0]["channels"][0]
        points = channel["stability"]
        check(len(points) == octaves,
              f"{capture.name}: {len(points)} points, {octaves} expected")
        check_points(capture, points, 1)
        check_histogram(capture, channel["period_histogram"])
        check(points[0]["sampling_limited"] == limited,
              f"{capture.name}: limited by sampling or not")
        check(measure(capture, "--jobs", "1") == measure(
            capture, "--jobs", "2"), f"{capture.name}: threads")
    # Jitter of 40 ns, four samples: white noise of the phase.
    text = measure(jittered, "--tau", "10us,100us,3ms,60s")
    channel = json.loads(text)["captures"][0]["channels"][0]
    points = channel["stability"]
    check([round(p["tau_s"] * 1.2345678e6) for p in points] == [12, 123, 3704],
          "tau chosen")
    check_points(jittered, points, 1)
    check(points[0]["noise"] == "white_pm", "noise")
    near(points[0]["adev"],
         math.sqrt(3 * (40e-9 ** 2 + 10e-9 ** 2 / 12)) / points[0]["tau_s"],
         5 / math.sqrt(2 * points[0]["edf"]), "white jitter")
    check("tau_left_out" in [w["code"] for w in channel["warnings"]],
          "a minute is left out")
sys.exit(1 if failed else 0)
