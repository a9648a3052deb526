#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""reference_test.py CLOCKASSAY SCHEMA : clocks measured against a reference.

Captures are made here, of an instrument whose own clock is off, drifts or
wanders: a true time t is its time w(t), and an edge is seen at the first of its
samples at or after that.
"""
import json
import math
import random
import sys
import unittest

import cli_test
from cli_test import CliCase

RATE = 10_000_000  # samples a second, by the instrument


def seen_edges(frequency, length_s, rate, error_s, jitter_s, rng, start=0.0,
               duty=0.5):
    """Sample numbers of rises and falls of a clock of that true frequency.

    error_s(t): how far the instrument's time is ahead of the true time t."""
    edges, k = [], 0
    while start + k / frequency < length_s:
        for high, part in ((1, 0.0), (0, duty)):
            t = start + (k + part) / frequency
            n = math.ceil((t + error_s(t) + rng.gauss(0, jitter_s)) * rate)
            if edges and n <= edges[-1][0]:
                n = edges[-1][0] + 1
            edges.append((n, high))
        k += 1
    return edges


def vcd(channels, rate, length_s, rate_said=True, finer=None):
    """A VCD file of {name: [(sample, level)]}, one sample a tick, or as many
    ticks as `finer` (ticks a second, name) says."""
    tick = {10_000_000: "100 ns", 1_000_000: "1 us", 100_000_000: "10 ns"}[rate]
    ticks_a_sample = 1
    if finer:
        ticks_a_sample, tick = finer[0] // rate, finer[1]
    ids = {name: chr(33 + i) for i, name in enumerate(channels)}
    lines = [f"$timescale {tick} $end"]
    if rate_said:
        lines.append(f"$comment sample rate: {rate // 1_000_000} MHz $end")
    lines += [f"$var wire 1 {ids[name]} {name} $end" for name in channels]
    lines += ["$enddefinitions $end", "#0"]
    lines += ["0" + ids[name] for name in channels]
    events = sorted((n, level, ids[name]) for name, edges in channels.items()
                    for n, level in edges if n > 0)
    at = 0
    for n, level, ident in events:
        if n != at:
            lines.append(f"#{n * ticks_a_sample}")
            at = n
        lines.append(f"{level}{ident}")
    lines.append(f"#{max(at, round(length_s * rate)) * ticks_a_sample}")
    return "\n".join(lines) + "\n"


def constant(ppm):
    return lambda t: ppm * 1e-6 * t


def linear(ppm, length_s):
    """The rate goes from 0 to that much."""
    return lambda t: 0.5 * ppm * 1e-6 * t * t / length_s


class ReferenceCase(CliCase):
    def capture(self, name="c.vcd", clock=120_000 * (1 + 7e-6), length_s=0.1,
                reference=101_234.5, error_s=constant(50), jitter_s=0.0,
                seed=1, **more):
        rng = random.Random(seed)
        channels = {
            "clk": seen_edges(clock, length_s, RATE, error_s, jitter_s, rng,
                              start=rng.random() / clock),
            "ref": seen_edges(reference, length_s, RATE, error_s, jitter_s,
                              rng, start=rng.random() / reference)}
        channels.update(more)
        return self.put(name, vcd(channels, RATE, length_s))

    def measure(self, *args, code=0):
        done = self.expect(code, "measure", "--json", "-", *args)
        return self.validated(done.stdout.decode())

    def refusal(self, code, *args, command="measure"):
        done = self.expect(code, command, *args)
        return done.stderr.decode()

    def channel(self, result, name):
        return next(c for c in result["captures"][0]["channels"]
                    if c["name"] == name)

    def codes(self, result, where="capture", name="clk"):
        found = result["captures"][0] if where == "capture" \
            else self.channel(result, name)
        return [w["code"] for w in found["warnings"]]


class Corrected(ReferenceCase):
    TRUE = 120_000 * (1 + 7e-6)

    def assert_true(self, f, widest_ppm):
        off = abs(f["value_hz"] - self.TRUE)
        self.assertLessEqual(off, f["expanded_uncertainty_hz"])
        self.assertLess(f["expanded_uncertainty_hz"],
                        widest_ppm * 1e-6 * self.TRUE)

    def test_an_offset_of_the_timebase_is_taken_off(self):
        path = self.capture()
        result = self.measure("--reference", "ref=101234.5Hz±0.1ppm", path)
        clk = self.channel(result, "clk")
        # 0.095 ppm of the reference's rectangle and hardly more: the windows
        # of 12 000 edges leave about 11 Ts/(N² P) = 1 ppb.
        self.assert_true(clk["frequency"], 0.1)
        # In the capture's own time it is 50 ppm slow.
        alone = clk["relative_to_timebase"]["value_hz"]
        self.assertAlmostEqual(alone / (self.TRUE / (1 + 50e-6)), 1, delta=1e-7)
        timebase = result["timebase"]
        self.assertEqual(timebase["kind"], "reference")
        self.assertAlmostEqual(timebase["offset_ppm"], 50, delta=0.01)
        self.assertAlmostEqual(timebase["tolerance_ppm"], 0.1, delta=0.01)
        self.assertEqual(self.codes(result), [])
        self.assertEqual([line["name"] for line in clk["budget"]],
                         ["sampling and jitter", "reference, sampling and jitter",
                          "reference, tolerance"])
        self.assertEqual(clk["budget"][2]["distribution"], "rectangular")
        # 0.1/sqrt(3)
        self.assertAlmostEqual(clk["budget"][2]["standard_uncertainty_ppm"],
                               0.0577350, places=6)
        ref = self.channel(result, "ref")
        self.assertTrue(ref["is_reference"])
        self.assertEqual(ref["frequency"]["value_hz"], 101234.5)
        stated = result["captures"][0]["reference"]
        self.assertEqual(stated["frequency_exact_hz"], "202469/2")
        self.assertEqual(stated["channel"], "ref")

    def test_a_drift_of_the_timebase_is_taken_off(self):
        # The rate moves by 40 ppm, 2000 ppb is a twentieth of half of it.
        path = self.capture(error_s=linear(40, 0.1), jitter_s=20e-9)
        result = self.measure("--reference", "ref=101234.5Hz+-1ppb", path)
        clk = self.channel(result, "clk")
        self.assert_true(clk["frequency"], 0.1)
        self.assertIn("timebase_wanders", self.codes(result, "clk"))
        self.assertNotIn("wander", self.codes(result, "clk"))
        self.assertEqual(clk["budget"][0]["name"],
                         "sampling and jitter, clock and reference")
        # Without it the drift is the clock's.
        plain = self.measure("--timebase", "100ppm", path)
        self.assertIn("wander", self.codes(plain, "clk"))

    def test_stability_stands_against_the_reference(self):
        # The rate moves by 400 ppm. Neither clock has jitter: what is left is
        # sampling, 100 ns of the clock and of one edge of the reference.
        path = self.capture(error_s=linear(400, 0.1))
        alone = self.channel(self.measure("--stability", path), "clk")
        self.assertEqual({p["against"] for p in alone["stability"]},
                         {"timebase"})
        self.assertIsNone(alone["stability_reference"])
        result = self.measure("--stability", "--reference",
                              "ref=101234.5Hz±0.1ppm", path)
        clk = self.channel(result, "clk")
        # Two periods of the reference.
        self.assertAlmostEqual(clk["stability_reference"]["from_tau_s"],
                               2 / 101_234.5, delta=1e-8)
        rows = clk["stability"]
        self.assertEqual([p["against"] for p in rows],
                         ["timebase"] * 2 + ["reference"] * (len(rows) - 2))
        for p in rows[2:]:
            self.assertAlmostEqual(
                p["floor_adev"] * 2 * p["tau_s"] / 1e-7, math.sqrt(5 / 3),
                delta=1e-3)
            self.assertTrue(p["sampling_limited"])
            # No edge is off by more than a window of each, but for the lines.
            self.assertLess(p["mtie_s"], 2.02e-7)
        # The drift of D = 400 ppm in 0.1 s shows as D tau/sqrt(2) else.
        tau = rows[-1]["tau_s"]
        self.assertAlmostEqual(
            alone["stability"][-1]["adev"] / (4e-3 * tau / math.sqrt(2)), 1,
            delta=0.05)
        # Against it that is gone: the floor, 4e-6, is left of 5e-5.
        self.assertLess(rows[-1]["adev"], 0.1 * 4e-3 * tau)
        # Both stamps even over a window: 100 ns/sqrt(12) each, 2/3 of one.
        self.assertAlmostEqual(
            clk["stability_reference"]["tie_rms_s"],
            1e-7 * math.sqrt(5 / 36), delta=3e-9)
        # What drifted was the instrument.
        self.assertEqual(alone["character"]["kind"], "slewing")
        self.assertNotEqual(clk["character"]["kind"], "slewing")
        # The reference itself stands in the capture's time.
        ref = self.channel(result, "ref")
        self.assertEqual({p["against"] for p in ref["stability"]}, {"timebase"})

    def test_one_pulse_a_second_will_do(self):
        # A minute at 1 MHz, the timebase 30 ppm slow and warming up by 2 ppm.
        rng = random.Random(5)
        rate, length = 1_000_000, 61.0
        def error(t):
            return -30e-6 * t + 1e-6 * t * t / 60
        true = 1000 * (1 - 12e-6)
        channels = {
            "clk": seen_edges(true, length, rate, error, 0, rng, start=1e-4),
            "pps": seen_edges(1, length, rate, error, 0, rng, start=0.3,
                              duty=0.1)}
        path = self.put("pps.vcd", vcd(channels, rate, length))
        result = self.measure("--reference", "pps=1Hz±10ppb", path)
        f = self.channel(result, "clk")["frequency"]
        self.assertLessEqual(abs(f["value_hz"] - true),
                             f["expanded_uncertainty_hz"])
        # One sample over the minute is 0.017 ppm.
        self.assertLess(f["expanded_uncertainty_hz"] / true, 0.1e-6)
        # Cut to the first and last of the pulses.
        self.assertAlmostEqual(self.channel(result, "clk")["analysed_s"], 60,
                               delta=0.01)

    FINE = {"1 us": None, "1 ps": (10**12, "1 ps"), "1 fs": (10**15, "1 fs")}

    def pulses(self, rng, length, true=None, start=0.3):
        """One pulse a second, high for half of it, beside a clock, at 1 MHz,
        the timebase 30 ppm slow and warming up by 2 ppm."""
        def error(t):
            return -30e-6 * t + 1e-6 * t * t / length
        channels = {"pps": seen_edges(1, length, 1_000_000, error, 0, rng,
                                      start=start)}
        if true:
            channels["clk"] = seen_edges(true, length, 1_000_000, error, 0, rng,
                                         start=1e-4)
        return channels

    def test_pulses_in_fine_ticks_say_the_same(self):
        true = 1000 * (1 - 12e-6)
        channels = self.pulses(random.Random(6), 61, true)
        seen = {}
        for tick, finer in self.FINE.items():
            path = self.put("pps.vcd", vcd(channels, 1_000_000, 61,
                                           finer=finer))
            result = self.measure("--reference", "pps=1Hz±10ppb", path)
            seen[tick] = self.channel(result, "clk")["frequency"]
            # A second is a whole number of samples.
            self.assertEqual(self.codes(result), ["reference_commensurate"])
        f = seen["1 us"]
        self.assertLessEqual(abs(f["value_hz"] - true),
                             f["expanded_uncertainty_hz"])
        self.assertLess(f["expanded_uncertainty_hz"] / true, 0.1e-6)
        for other in ("1 ps", "1 fs"):
            with self.subTest(other):
                # In ticks of a sample the times that the reference moves edges
                # by are rounded to 1/1024 of one: of 120 000 edges in a minute
                # that leaves 1/1024 us/(60 s sqrt(120 000)), of which four.
                rounding = 1e-6 / 1024 / (60 * math.sqrt(120_000))
                self.assertAlmostEqual(seen[other]["value_hz"] / f["value_hz"],
                                       1, delta=4 * rounding)
                # Nor can the scatter change by more than that of a sample.
                self.assertAlmostEqual(
                    seen[other]["expanded_uncertainty_hz"] /
                    f["expanded_uncertainty_hz"], 1, delta=1 / 1024)

    def test_an_hour_and_a_quarter_in_femtoseconds(self):
        # 4600 s are 2^62 ticks but 0.3 %; a clock of 10 Hz and one of pulses.
        true = 10 * (1 - 12e-6)
        channels = self.pulses(random.Random(7), 4600, true)
        seen = {}
        for tick in ("1 us", "1 fs"):
            path = self.put("pps.vcd", vcd(channels, 1_000_000, 4600,
                                           finer=self.FINE[tick]))
            seen[tick] = self.channel(
                self.measure("--reference", "pps=1Hz±10ppb", path),
                "clk")["frequency"]
        f = seen["1 fs"]
        self.assertLessEqual(abs(f["value_hz"] - true),
                             f["expanded_uncertainty_hz"])
        # The rectangle of the reference, and hardly more.
        self.assertLess(f["expanded_uncertainty_hz"] / true, 0.012e-6)
        self.assertAlmostEqual(f["value_hz"] / seen["1 us"]["value_hz"], 1,
                               delta=1e-14)

    def test_pulses_alone_in_fine_ticks(self):
        channels = self.pulses(random.Random(8), 61)
        seen = {}
        for tick, finer in self.FINE.items():
            path = self.put("pps.vcd", vcd(channels, 1_000_000, 61,
                                           finer=finer))
            seen[tick] = self.channel(
                self.measure("--timebase", "40ppm", path), "pps")
        f = seen["1 us"]["frequency"]
        # In the capture's time it is fast by 30 ppm, and less as that warms.
        self.assertAlmostEqual(f["value_hz"], 1 + 29e-6, delta=0.1e-6)
        for other in ("1 ps", "1 fs"):
            with self.subTest(other):
                g = seen[other]["frequency"]
                self.assertAlmostEqual(g["value_hz"] / f["value_hz"], 1,
                                       delta=1e-14)
                self.assertAlmostEqual(g["expanded_uncertainty_hz"] /
                                       f["expanded_uncertainty_hz"], 1,
                                       delta=1e-6)
                self.assertEqual(seen[other]["edges"], seen["1 us"]["edges"])
                self.assertAlmostEqual(seen[other]["duty"]["value"],
                                       seen["1 us"]["duty"]["value"],
                                       delta=1e-12)

    def test_the_verdict_stands_on_the_reference(self):
        path = self.capture()
        args = ["--expect", "120kHz", "--tolerance", "10ppm", "--reference",
                "ref=101234.5Hz±0.1ppm", path]
        done = self.expect(0, "verify", *args)
        self.assertIn("PASS", done.stdout.decode())
        # Which channel the clock is on needs no saying: it is not the reference.
        self.expect(0, "verify", "--channel", "clk", *args)
        # The same without it.
        self.expect(2, "verify", "--channel", "clk", "--expect", "120kHz",
                    "--tolerance", "10ppm", path)
        shown = self.expect(0, "measure", "--reference",
                            "ref=101234.5Hz±0.1ppm", path).stdout.decode()
        self.assertIn("the reference", shown)
        self.assertIn("timebase: by the reference channel", shown)

    def test_several_captures_have_a_timebase_each(self):
        one = self.capture("one.vcd")
        two = self.capture("two.vcd", error_s=constant(20), seed=2)
        result = self.measure("--reference", "ref=101234.5Hz±0.1ppm", one, two)
        self.assertEqual(result["timebase"], {
            "kind": "reference", "offset_ppm": None, "tolerance_ppm": None})
        offsets = [c["reference"]["timebase"]["offset_ppm"]
                   for c in result["captures"]]
        self.assertAlmostEqual(offsets[0], 50, delta=0.01)
        self.assertAlmostEqual(offsets[1], 20, delta=0.01)


class Doubts(ReferenceCase):
    def test_a_reference_of_no_stated_tolerance_is_not_exact(self):
        path = self.capture()
        result = self.measure("--reference", "ref=101234.5Hz", path)
        self.assertEqual(self.codes(result), ["reference_assumed"])
        f = self.channel(result, "clk")["frequency"]
        # 95 % of a rectangle of 100 ppm.
        self.assertAlmostEqual(
            f["expanded_uncertainty_hz"] / f["value_hz"] * 1e6, 95, delta=0.1)

    def test_a_reference_against_the_stated_timebase_decides_nothing(self):
        path = self.capture()
        for timebase, both in [("25ppm", False), ("-10ppm±1ppm", False),
                               ("60ppm", True), ("49ppm±1ppm", True)]:
            with self.subTest(timebase):
                result = self.measure("--reference", "ref=101234.5Hz±1ppm",
                                      "--timebase", timebase, path)
                self.assertEqual(self.codes(result),
                                 [] if both else ["reference_contradicts"])
                self.expect(0 if both else 2, "verify", "--expect", "120kHz",
                            "--tolerance", "30ppm", "--timebase", timebase,
                            "--reference", "ref=101234.5Hz±1ppm", path)
        # Neither does a fail stand: one of the two is wrong.
        self.expect(2, "verify", "--expect", "121kHz", "--tolerance", "30ppm",
                    "--timebase", "25ppm", "--reference",
                    "ref=101234.5Hz±1ppm", path)

    def test_a_reference_locked_to_the_sampler_is_said(self):
        path = self.capture(reference=100_000, error_s=constant(0))
        result = self.measure("--reference", "ref=100kHz±1ppm", path)
        self.assertEqual(self.codes(result), ["reference_commensurate"])
        f = self.channel(result, "clk")["frequency"]
        self.assertLessEqual(abs(f["value_hz"] - 120_000 * (1 + 7e-6)),
                             f["expanded_uncertainty_hz"])

    def test_lost_edges_of_the_reference_decide_nothing(self):
        rng = random.Random(3)
        ref = seen_edges(101_234.5, 0.1, RATE, constant(50), 0, rng, 1e-6)
        del ref[4000:4002]
        path = self.capture(ref=ref)
        result = self.measure("--reference", "ref=101234.5Hz±1ppm", path)
        self.assertEqual(self.codes(result), ["reference_doubtful"])
        self.assertIn("it lost 1 cycles and has 0 extra edges",
                      result["captures"][0]["warnings"][0]["message"])
        self.expect(2, "verify", "--expect", "120kHz", "--tolerance", "30ppm",
                    "--reference", "ref=101234.5Hz±1ppm", path)

    def test_a_reference_that_begins_late_or_stops_decides_nothing(self):
        rng = random.Random(3)
        whole = seen_edges(101_234.5, 0.1, RATE, constant(50), 0, rng, 1e-6)
        for part in (whole[8000:], whole[:12000]):
            path = self.capture(ref=part)
            result = self.measure("--reference", "ref=101234.5Hz±1ppm", path)
            self.assertEqual(self.codes(result), ["reference_doubtful"])


class Refused(ReferenceCase):
    REF = ["--reference", "ref=101234.5Hz±1ppm"]

    def test_a_reference_that_is_not_there(self):
        path = self.capture()
        for command in (["measure"], ["verify", "--expect", "120kHz",
                                      "--tolerance", "30ppm"]):
            said = self.refusal(65, *command[1:], "--reference", "rex=1MHz",
                                path, command=command[0])
            self.assertIn('reference: found no channel "rex", there are "ref", '
                          '"clk"', " ".join(said.split()))
            self.assertIn('did you mean "ref"?', said)

    def test_a_reference_that_is_constant(self):
        path = self.capture(ref=[])
        self.assertIn("reference: channel ref carries no clock, expected one "
                      "of 101234.5 Hz", self.refusal(65, *self.REF, path))

    def test_a_reference_that_is_broken(self):
        rng = random.Random(3)
        ref = seen_edges(101_234.5, 0.1, RATE, constant(50), 0, rng, 1e-6)
        del ref[8000:9000]
        path = self.capture(ref=ref)
        said = self.refusal(65, *self.REF, path)
        self.assertIn("reference: channel ref is broken into 2 parts, expected "
                      "one clock throughout", said)
        self.assertIn("choose an unbroken part with --from and --span", said)
        self.measure(*self.REF, "--span", "30ms", path)

    def test_a_reference_that_is_another_clock(self):
        said = self.refusal(65, "--reference", "ref=10MHz", self.capture())
        self.assertIn("expected 10000000 Hz within 10 %", said)

    def test_a_reference_is_not_judged(self):
        said = self.refusal(64, "--expect", "101234.5Hz", "--tolerance",
                            "30ppm", "--channel", "ref", *self.REF,
                            self.capture(), command="verify")
        self.assertIn('"ref" is on channel ref, the reference, which is not '
                      "judged", said)

    def test_a_clock_that_shares_no_time_with_it_is_undecided(self):
        rng = random.Random(3)
        whole = seen_edges(120_000, 0.1, RATE, constant(50), 0, rng, 1e-6)
        ref = seen_edges(101_234.5, 0.1, RATE, constant(50), 0, rng, 1e-6)
        path = self.capture(clk=whole[20000:], ref=ref[:8000])
        said = self.expect(2, "verify", "--expect", "120kHz", "--tolerance",
                           "30ppm", "--channel", "clk", *self.REF,
                           path).stdout.decode()
        self.assertIn("UNDECIDED", said)

    def test_options_that_cannot_be_read(self):
        for text, said in [
                ("10MHz", '--reference: found "10MHz", expected a channel and '
                          "its frequency"),
                ("=10MHz", '--reference: found "=10MHz", expected a channel '
                           "and its frequency"),
                ("ref=10", None),
                ("ref=10MHz±0ppm", "found zero, expected more than zero"),
                ("ref=10mHz", 'found "mHz"'),
                ("ref=10MHz±1", "found no unit"),
                ("ref=10MHz+/-1ppm", 'found "+/-"')]:
            with self.subTest(text):
                if said is None:
                    continue
                self.assertIn(said, self.refusal(64, "--reference", text,
                                                 "x.vcd"))
        self.assertIn("--reference is given twice",
                      self.refusal(64, "--reference", "a=1Hz", "--reference",
                                   "b=1Hz", "x.vcd"))


class NominalError(ReferenceCase):
    """The time-interval error of a clock 7 ppm fast for 0.1 s: 0.7 us in true
    time, and a window of 0.1 us more or less."""

    def error(self, *args):
        done = self.run_program("verify", "--json", "-", "--tolerance", "100ppm",
                             *args, self.capture())
        result = self.validated(done.stdout.decode())
        ref = self.channel(result, "ref") if "--reference" in args else None
        if ref:
            self.assertIsNone(ref["jitter"]["tie_nominal_rms_s"])
        return self.channel(result, "clk")["jitter"]

    def assert_ramp(self, jitter, length_s):
        self.assertAlmostEqual(jitter["tie_nominal_peak_to_peak_s"], length_s,
                               delta=0.1e-6)
        # Of a ramp a root of 12 less; sampling adds 29 ns rms in squares, and
        # turns it by less than 1 % of its length.
        self.assertAlmostEqual(
            jitter["tie_nominal_rms_s"],
            math.hypot(length_s, 0.1e-6) / math.sqrt(12), delta=0.01 * length_s)

    def test_against_the_expected_frequency(self):
        # The instrument's time runs 50 ppm fast: as found, as calibrated, and
        # as a reference tells.
        clock = ("--channel", "clk", "--expect", "120kHz")
        self.assert_ramp(self.error(*clock), 4.3e-6)
        self.assert_ramp(self.error(*clock, "--timebase", "+50ppm±1ppm"),
                         0.7e-6)
        self.assert_ramp(self.error(*clock, "--reference",
                                    "ref=101234.5Hz±0.1ppm"), 0.7e-6)

    def test_without_one_there_is_none(self):
        jitter = self.channel(self.measure(self.capture()), "clk")["jitter"]
        self.assertIsNone(jitter["tie_nominal_rms_s"])
        self.assertIsNone(jitter["tie_nominal_peak_to_peak_s"])


class InstrumentFile(ReferenceCase):
    def test_what_it_states_is_used(self):
        path = self.capture()
        file = self.put("i.json", '''// bench
            { "timebase": "60ppm", "timebase_stability": "1ppm",
              "input_jitter_rms": "50ps", "edge_skew": "20ns",
              "reference": "ref=101234.5Hz±0.1ppm" }''')
        result = self.measure("--instrument", file, path)
        self.assertEqual(result["timebase"]["kind"], "reference")
        self.assertEqual(result["instrument"], {
            "timebase": {"kind": "stated", "offset_ppm": 0.0,
                         "tolerance_ppm": 60.0},
            "timebase_stability_ppm": 1.0, "input_jitter_rms_s": 50e-12,
            "edge_skew_s": 20e-9})
        # 20 ns/sqrt(3) of 8.33 us, beside what it is without.
        plain = self.measure("--reference", "ref=101234.5Hz±0.1ppm", path)
        self.assertNotIn("instrument", plain)
        u = [self.channel(r, "clk")["duty"]["standard_uncertainty"]
             for r in (plain, result)]
        skew = 20e-9 / math.sqrt(3) / self.channel(plain, "clk")["period_s"]
        self.assertAlmostEqual(u[1], math.hypot(u[0], skew), delta=1e-9 * skew)
        lines = self.channel(result, "clk")["duty"]["budget"]
        self.assertEqual([line["name"] for line in lines],
                         ["sampling of both edges", "scatter of the edges",
                          "edge skew, as stated"])
        self.assertAlmostEqual(
            math.hypot(*(line["standard_uncertainty"] for line in lines)), u[1],
            delta=1e-9 * u[1])
        # The frequency's has a line for each that adds nothing to it.
        budgets = [self.channel(r, "clk")["budget"] for r in (plain, result)]
        self.assertEqual(budgets[1][:-2], budgets[0])
        self.assertEqual([(line["name"], line["standard_uncertainty_ppm"])
                          for line in budgets[1][-2:]],
                         [("input jitter", 0.0), ("edge skew", 0.0)])
        f = [self.channel(r, "clk")["frequency"] for r in (plain, result)]
        self.assertEqual(f[0], f[1])

    def test_skew_is_told_beside_half_periods(self):
        path = self.capture()
        file = self.put("i.json", '{ "edge_skew": "20ns" }')
        for arguments, skew in (((), None),
                                (("--instrument", file), 20e-9)):
            result = self.measure("--stability", *arguments, path)
            half = self.channel(result, "clk")["half_period_jitter"]
            self.assertEqual(half["edge_skew_s"], skew)

    def test_the_command_line_goes_before(self):
        path = self.capture()
        file = self.put("i.json", '{ "timebase": "25ppm", "reference": '
                                  '"ref=101234.5Hz" }')
        result = self.measure("--instrument", file, "--timebase", "60ppm",
                              "--reference", "ref=101234.5Hz±1ppm", path)
        self.assertEqual(self.codes(result), [])
        stated = self.put("t.json", '{ "timebase": "-10ppm±2ppm" }')
        self.assertEqual(
            self.measure("--instrument", stated, path)["timebase"],
            {"kind": "calibrated", "offset_ppm": -10.0, "tolerance_ppm": 2.0})
        self.assertEqual(
            self.measure("--instrument", stated, "--timebase", "5ppm",
                         path)["timebase"],
            {"kind": "stated", "offset_ppm": 0.0, "tolerance_ppm": 5.0})

    def test_what_is_wrong_is_said_with_its_place(self):
        for text, said in [
                ('{"timebse": "1ppm"}', "/timebse: unknown key, allowed are "
                 "timebase, timebase_stability, input_jitter_rms, edge_skew, "
                 'reference did you mean "timebase"?'),
                ('{"timebase": 25}', "/timebase: found the number 25, expected "
                 'text for example "-12.3ppm±2ppm"'),
                ('{"timebase": "25"}', "/timebase: cannot read"),
                ('{"timebase": "20%±1ppm"}', "/timebase: found an offset of "
                 "10 % or more, expected less"),
                ('{"timebase_stability": "1ppm±2ppm"}', "/timebase_stability: "
                 "found an offset, expected how far the rate moves"),
                ('{"input_jitter_rms": "50"', "not valid JSON"),
                ('{"input_jitter_rms": "-1ps"}', "/input_jitter_rms: cannot "
                 'read "-1ps" as a time: found a negative value'),
                ('{"edge_skew": ["1ns"]}', "/edge_skew: found a list, expected "
                 "text"),
                ('{"reference": "10MHz"}', '/reference: found "10MHz", '
                 "expected a channel and its frequency"),
                ('["1ppm"]', "the whole document: found a list, expected an "
                 "object")]:
            with self.subTest(text):
                file = self.put("wrong.json", text)
                shown = " ".join(self.refusal(78, "--instrument", file,
                                              "x.vcd").split())
                self.assertIn("wrong.json", shown)
                self.assertIn(said, shown)
        self.refusal(66, "--instrument", self.path("none.json"), "x.vcd")
        self.assertIn("given twice", self.refusal(64, "--instrument", "-", "-"))

    def test_an_instrument_file_is_no_output(self):
        file = self.put("i.json", '{ "timebase": "25ppm" }')
        self.refusal(64, "--instrument", file, "--json", file, "x.vcd")
        with open(file, encoding="utf-8") as text:
            self.assertEqual(json.load(text), {"timebase": "25ppm"})


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = sys.argv[1:3]
    unittest.main(argv=sys.argv[:1])
