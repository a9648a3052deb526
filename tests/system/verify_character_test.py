#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""verify_character_test.py CLOCKASSAY SCHEMA : what a clock that is off behaves
like, from capture to cause.

Steady clocks come from `clockassay simulate`; those that are spread or wander
are sampled here.
"""
import math
import random
import sys
import unittest

import cli_test
from cli_test import CliCase

RATE = 500_000_000  # samples a second
NOMINAL = 12e6
EXPECTED = ["--expect", "12MHz", "--tolerance", "30ppm", "--timebase", "2ppm"]


def vcd(rises):
    lines = ["$timescale 2 ns $end", "$comment sample rate: 500 MHz $end",
             "$var wire 1 ! clk $end", "$enddefinitions $end", "#0", "0!"]
    for n in rises:
        lines += [f"#{n}", "1!", f"#{n + 20}", "0!"]
    return "\n".join(lines) + "\n"


def spread_down(cycles, depth, seed):
    """A triangle, 31 000 times a second, whose upper end is nominal."""
    rng = random.Random(seed)
    mean = NOMINAL * (1 - depth / 2)

    def ahead(t):  # integral of a triangle from -1/2 to 1/2, in turns
        u = t * 31e3 % 1
        v = u - 0.5
        return (u * u - 0.5 * u if u < 0.5 else 0.5 * v - v * v) / 31e3

    return [math.ceil((k / mean - depth * ahead(k / mean) +
                       rng.gauss(0, 0.2e-9)) * RATE)
            for k in range(1, cycles)]


def without_crystal(cycles, ppm, seed):
    """Each period for itself 0.1 % rms off."""
    rng = random.Random(seed)
    period = 1 / (NOMINAL * (1 + ppm * 1e-6))
    t, rises = 0.0, []
    for _ in range(cycles):
        t += period * (1 + rng.gauss(0, 1e-3))
        rises.append(math.ceil(t * RATE))
    return rises


class VerifyCharacter(CliCase):
    def verify(self, code, path):
        """Channel, verdict and text of one clock."""
        done = self.expect(code, "verify", *EXPECTED, "--json", "-", path)
        result = self.validated(done.stdout.decode())
        text = self.expect(code, "verify", *EXPECTED, path).stdout.decode()
        self.assertLessEqual(max(map(len, text.splitlines())), 80)
        return (result["captures"][0]["channels"][0], result["verdicts"][0],
                " ".join(text.split()))

    def steady(self, ppm, cycles):
        path = self.path("c.vcd")
        self.expect(0, "simulate", "--frequency", "12MHz", "--ppm", str(ppm),
                    "--sample-rate", "500MHz", "--cycles", str(cycles),
                    "--jitter", "200ps", "--seed", "5", "--out", path)
        return path

    def test_a_crystal_that_is_off_is_told_as_one(self):
        channel, verdict, text = self.verify(1, self.steady(150, 100_000))
        self.assertEqual(channel["character"]["kind"], "crystal_like")
        self.assertIsNone(channel["character"]["spread"])
        self.assertEqual(channel["stability"], [])
        self.assertIsNone(channel["spectrum"])
        self.assertIn("The clock behaves like one of a crystal: over", text)
        self.assertEqual(verdict["causes"][0]["code"], "crystal_off")

    def test_a_pass_says_nothing_of_it(self):
        channel, verdict, text = self.verify(0, self.steady(3, 100_000))
        self.assertIsNone(channel["character"])
        self.assertNotIn("behaves like", text)
        self.assertNotIn("behaves like", " ".join(verdict["reasons"]))

    def test_what_cannot_be_told_is_not_said(self):
        channel, _, text = self.verify(1, self.steady(300, 200))
        self.assertEqual(channel["character"]["kind"], "cannot_tell")
        self.assertNotIn("behaves like", text)

    def test_a_clock_spread_downwards_is_explained(self):
        path = self.put("s.vcd", vcd(spread_down(100_000, 0.005, 6)))
        channel, verdict, text = self.verify(1, path)
        self.assertEqual(channel["character"]["kind"], "spread_spectrum")
        spread = channel["character"]["spread"]
        self.assertLess(abs(spread["depth_ppm"] - 5000),
                        4 * spread["depth_standard_uncertainty_ppm"])
        first = verdict["causes"][0]
        self.assertEqual(first["code"], "spread_spectrum")
        self.assertEqual([c["rank"] for c in verdict["causes"]].count(1), 1)
        self.assertIn("the expected one is the upper end", text)

    def test_an_oscillator_without_a_crystal_is_named(self):
        path = self.put("r.vcd", vcd(without_crystal(50_000, 8000, 7)))
        channel, verdict, text = self.verify(1, path)
        self.assertEqual(channel["character"]["kind"], "rc_like")
        first = [c["code"] for c in verdict["causes"] if c["rank"] == 1]
        self.assertIn("rc_oscillator", first)
        self.assertIn("The clock behaves like one without a crystal", text)
        self.assertIn("For it: the clock wanders as one without a crystal.",
                      text)


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = sys.argv[1:3]
    unittest.main(argv=sys.argv[:1])
