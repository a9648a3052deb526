#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""spectrum_test.py CLOCKASSAY SCHEMA : measure --spectrum as a whole.

Clocks are sampled here. What the program says of their time-interval error is
compared with scipy.signal.welch of the same edges.
"""
import math
import random
import sys
import unittest

import cli_test
from cli_test import CliCase

try:
    import numpy
    import scipy.signal
except ImportError:
    sys.exit("scipy is not installed: apt-get install python3-scipy")

RATE = 100_000_000  # samples a second


def rising_edges(frequency, cycles, moved_s, jitter_s, seed):
    """Sample numbers of the rising edges; moved_s(t) is how late one is."""
    rng = random.Random(seed)
    start = rng.random() / frequency
    times = (start + k / frequency for k in range(cycles))
    return [math.ceil((t + moved_s(t) + rng.gauss(0, jitter_s)) * RATE)
            for t in times]


def vcd(edges, high=3):
    lines = ["$timescale 10 ns $end", "$comment sample rate: 100 MHz $end",
             "$var wire 1 ! clk $end", "$enddefinitions $end", "#0", "0!"]
    for n in edges:
        lines += [f"#{n}", "1!", f"#{n + high}", "0!"]
    return "\n".join(lines) + "\n"


class SpectrumCase(CliCase):
    def measure(self, edges, *more):
        path = self.put("c.vcd", vcd(edges))
        done = self.expect(0, "measure", "--spectrum", "--json", "-", *more,
                           path)
        result = self.validated(done.stdout.decode())
        return result["captures"][0]["channels"][0]

    def text(self, edges, *more):
        path = self.put("c.vcd", vcd(edges))
        return self.expect(0, "measure", *more, path).stdout.decode()


class Welch(SpectrumCase):
    def test_densities_are_those_of_scipy(self):
        edges = rising_edges(11.0e6, 40_000,
                             lambda t: 1e-9 * math.sin(2e6 * t), 2e-9, 1)
        channel = self.measure(edges)
        spectrum = channel["spectrum"]
        self.assertEqual(spectrum["window"], "blackman_harris_4_term")
        self.assertEqual(spectrum["overlap"], 0.5)
        self.assertEqual(spectrum["lost_cycles"], 0)
        length = spectrum["segment_cycles"]
        # 40 000 cycles: sixteen segments of 4096 fit, of 8192 do not.
        self.assertEqual(length, 4096)
        rate = 1.0 / channel["period_s"]
        error = numpy.array(edges) / RATE
        error -= numpy.arange(len(edges)) * channel["period_s"]
        frequency, density = scipy.signal.welch(
            error, rate, window="blackmanharris", nperseg=length,
            noverlap=length // 2, detrend="linear", scaling="density")
        # Bins further apart than bands are stand for themselves; those of the
        # others are within.
        single = 0
        points = spectrum["points"]
        for at, mean, most in points:
            k = at * length / rate
            if abs(k - round(k)) < 1e-6 and round(k) < 100:
                single += 1
                self.assertLess(abs(mean / density[round(k)] - 1), 1e-9)
                self.assertEqual(mean, most)
        self.assertGreaterEqual(single, 96)
        # The last bin, at half the rate, is a band with its neighbours.
        self.assertLess(abs(points[0][0] / frequency[4] - 1), 1e-9)
        self.assertLess(
            abs(max(p[2] for p in points) / max(density[4:]) - 1), 1e-9)
        # ENBW = rate * sum w² / (sum w)² of scipy's own window.
        window = scipy.signal.get_window("blackmanharris", length)
        bandwidth = rate * sum(window**2) / sum(window)**2
        self.assertLess(
            abs(spectrum["resolution_bandwidth_hz"] / bandwidth - 1), 1e-9)


class WholeProgram(SpectrumCase):
    def test_nothing_without_the_option(self):
        edges = rising_edges(11.0e6, 5000, lambda t: 0, 1e-9, 2)
        path = self.put("c.vcd", vcd(edges))
        done = self.expect(0, "measure", "--json", "-", path)
        result = self.validated(done.stdout.decode())
        self.assertIsNone(result["captures"][0]["channels"][0]["spectrum"])
        self.assertNotIn("TIE spectrum", self.text(edges))

    def test_a_spur_is_found_and_said(self):
        # 500 ps at 200 kHz of 11 MHz: 20 log10(pi f0 A) = -35.25 dBc.
        edges = rising_edges(
            11.0e6, 40_000,
            lambda t: 0.5e-9 * math.sin(2 * math.pi * 200e3 * t), 3e-9, 3)
        spectrum = self.measure(edges)["spectrum"]
        self.assertEqual(len(spectrum["spurs"]), 1)
        spur = spectrum["spurs"][0]
        self.assertLess(abs(spur["frequency_hz"] - 200e3),
                        4 * spur["frequency_standard_uncertainty_hz"])
        self.assertLess(abs(spur["peak_s"] - 0.5e-9),
                        4 * spur["peak_standard_uncertainty_s"])
        self.assertAlmostEqual(
            spur["sideband_dbc"],
            20 * math.log10(math.pi * 11.0e6 * spur["peak_s"]), places=4)
        self.assertIsNone(spectrum["spread"])
        text = self.text(edges, "--spectrum")
        self.assertRegex(text, r"spurs +frequency +standard u +TIE rms +peak "
                         r"+sideband\n")
        self.assertRegex(text, r"\n +(199|200)\.\d+ kHz ")
        self.assertLessEqual(max(map(len, text.splitlines())), 80)

    def test_a_spread_is_recognised(self):
        # 0.5 % up and down along straight lines, 31 000 times a second.
        def moved(t):
            u = t * 31e3 % 1
            v = u - 0.5
            ahead = u * u - 0.5 * u if u < 0.5 else 0.5 * v - v * v
            return -0.005 * ahead / 31e3

        edges = rising_edges(11.0e6, 60_000, moved, 1e-9, 4)
        spectrum = self.measure(edges)["spectrum"]
        spread = spectrum["spread"]
        self.assertEqual(spread["profile"], "triangle")
        self.assertLess(abs(spread["rate_hz"] - 31e3),
                        4 * spread["rate_standard_uncertainty_hz"])
        self.assertLess(abs(spread["depth_ppm"] - 5000),
                        4 * spread["depth_standard_uncertainty_ppm"])
        self.assertEqual(spectrum["spurs"], [])
        text = self.text(edges, "--spectrum")
        self.assertRegex(text, r"spread +by \d[ 0-9.]+ ppm of the mean "
                         r"frequency peak to peak")
        self.assertLessEqual(max(map(len, text.splitlines())), 80)

    def test_lines_of_sampling_are_no_spurs(self):
        # 10 MHz less 30 ppm at 100 MS/s, without jitter.
        edges = rising_edges(10e6 * (1 - 30e-6), 40_000, lambda t: 0, 0, 5)
        spectrum = self.measure(edges)["spectrum"]
        self.assertEqual(spectrum["spurs"], [])
        self.assertTrue(spectrum["sampling_known"])

    def test_lines_of_samples_that_the_text_rounds_are_no_spurs(self):
        # 24 MHz + 20 ppm, 600 MS/s, a tenth of a sample of jitter; times in
        # steps of 1 ns, 3/5 of a sample.
        rng = random.Random(8)
        rate, clock = 600e6, 24e6 * (1 + 20e-6)
        rows = ["time_s,clk", "0.000000000,0"]
        for k in range(20_000):
            for level, at in ((1, k + 0.3), (0, k + 0.8)):
                sample = math.ceil(at / clock * rate + rng.gauss(0, 0.1))
                rows.append(f"{sample / rate:.9f},{level}")
        path = self.put("c.csv", "\n".join(rows) + "\n")
        done = self.expect(0, "measure", "--spectrum", "--json", "-",
                           "--sample-rate", "600MHz", path)
        result = self.validated(done.stdout.decode())
        spectrum = result["captures"][0]["channels"][0]["spectrum"]
        self.assertTrue(spectrum["sampling_known"])
        self.assertEqual(spectrum["spurs"], [])
        self.assertTrue(any(i["text_harmonic"] > 0
                            for i in spectrum["sampling_images"]))

    def test_interpolated_edges_have_no_images_to_leave_out(self):
        # A sine of 1.5 V with 20 mV of noise, 9.618 samples a cycle, whose
        # edges move by a tenth of a sample at the place where sampling would
        # have its first image.
        rng = random.Random(9)
        samples, place = 9.6180339, 1 - 0.6180339
        rows = ["time_s,clk"]
        for n in range(96_000):
            cycles = n / samples
            late = 0.1 / samples * math.sin(2 * math.pi * place * cycles)
            volts = 1.65 + rng.gauss(0, 0.02) + 1.5 * math.sin(
                2 * math.pi * (cycles - late - 0.1))
            rows.append(f"{n * 1e-8:.9f},{volts:.5f}")
        path = self.put("c.csv", "\n".join(rows) + "\n")
        options = ("--spectrum", "--stability", "--threshold", "1.65,0.2")
        done = self.expect(0, "measure", "--json", "-", *options, path)
        channel = self.validated(
            done.stdout.decode())["captures"][0]["channels"][0]
        spectrum = channel["spectrum"]
        self.assertFalse(spectrum["sampling_known"])
        self.assertEqual(spectrum["sampling_images"], [])
        self.assertIsNone(spectrum["spread"])
        # The line is less than a sample, and may be made by the samples.
        self.assertEqual(spectrum["spurs"], [])
        spur = spectrum["unsorted_lines"][0]
        self.assertLess(abs(spur["frequency_hz"] - place * 1e8 / samples),
                        4 * spur["frequency_standard_uncertainty_hz"])
        # A straight line through samples s = 2 pi/9.618 apart is off the sine
        # by up to s³ sqrt(3)/108 of a radian, 0.7 % of a sample.
        self.assertLess(abs(spur["peak_s"] - 1e-9),
                        4 * spur["peak_standard_uncertainty_s"] + 0.007e-8)
        self.assertEqual(channel["character"]["kind"], "cannot_tell")
        text = self.expect(0, "measure", *options, path).stdout.decode()
        self.assertIn("the edges lie between samples of a", text)
        self.assertNotIn("the sampling interval is not known", text)

    def test_too_few_cycles_are_said(self):
        edges = rising_edges(11.0e6, 1000, lambda t: 0, 1e-9, 6)
        self.assertIsNone(self.measure(edges)["spectrum"])
        self.assertIn("TIE spectrum  not formed: fewer than 1088 cycles",
                      self.text(edges, "--spectrum"))

    def test_it_goes_with_measure_only(self):
        self.expect(64, "verify", "--spectrum", "--expect", "1MHz",
                    "--tolerance", "1%", "c.vcd")

    def test_jobs_do_not_matter(self):
        edges = rising_edges(11.0e6, 40_000, lambda t: 0, 1e-9, 7)
        self.assertEqual(self.measure(edges, "--jobs", "1"),
                         self.measure(edges, "--jobs", "3"))


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = sys.argv[1], sys.argv[2]
    unittest.main(argv=[sys.argv[0]] + sys.argv[3:])
