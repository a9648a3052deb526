#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""compare_test.py CLOCKASSAY SCHEMA : what moved between two captures.

Captures come from `clockassay simulate`, whose truth is what it is told.
"""
import os
import pathlib
import random
import sys
import unittest

import cli_test
from cli_test import CliCase


class CompareCase(CliCase):
    def capture(self, name, ppm, seed, *more):
        path = self.path(name)
        self.expect(0, "simulate", "--frequency", "750kHz", "--ppm", f"{ppm:.7f}",
                    "--sample-rate", "100MHz", "--duration", "20ms", "--seed",
                    str(seed), "--out", path, *more)
        return path

    def result(self, code, *args):
        done = self.expect(code, "compare", *args, "--json", "-")
        return self.validated(done.stdout.decode())

    def shift(self, *args):
        return self.result(0, *args)["comparisons"][0]


class Shifts(CompareCase):
    def test_the_shift_is_within_u(self):
        seed = 11
        rng = random.Random(seed)
        # The captures leave some ppb, and the instrument does not move: U has
        # to hold all of them, and most shifts far within.
        for i in range(12):
            before, after = rng.uniform(-40, 40), rng.uniform(-40, 40)
            shift = self.shift(self.capture("a.csv", before, 2 * i + 1),
                               self.capture("b.csv", after, 2 * i + 2),
                               "--same-timebase=0.01ppm")
            truth = ((1 + after * 1e-6) / (1 + before * 1e-6) - 1) * 1e6
            self.assertLessEqual(abs(shift["shift_ppm"] - truth),
                                 shift["expanded_uncertainty_ppm"],
                                 (seed, before, after))
            self.assertLess(shift["expanded_uncertainty_ppm"], 0.1)
            self.assertTrue(shift["significant"])

    def test_what_is_said_of_the_timebase(self):
        # With jitter, that spreads edges over the phases, the captures leave
        # next to nothing.
        before = self.capture("a.csv", 7.3, 1, "--jitter", "300ps")
        after = self.capture("b.csv", 10.3, 2, "--jitter", "300ps")
        # Nothing: two of 100 ppm, a triangle of 200; 0.776 of that.
        apart = self.shift(before, after)
        self.assertAlmostEqual(apart["expanded_uncertainty_ppm"], 155.28, 1)
        self.assertFalse(apart["significant"])
        # One instrument, 1 ppm assumed; 0.2 ppm stated, or by its file.
        one = self.result(0, before, after, "--same-timebase")
        self.assertAlmostEqual(one["comparisons"][0]["expanded_uncertainty_ppm"],
                               0.95, 2)
        self.assertTrue(one["comparison"]["movement_assumed"])
        self.assertTrue(one["comparisons"][0]["significant"])
        instrument = self.put("i.json", '{"timebase_stability": "0.2ppm"}')
        for stated in (["--same-timebase=0.2ppm"],
                       ["--same-timebase", "--instrument", instrument]):
            two = self.result(0, before, after, *stated)
            self.assertFalse(two["comparison"]["movement_assumed"])
            self.assertAlmostEqual(
                two["comparisons"][0]["expanded_uncertainty_ppm"], 0.19, 2)

    def test_captures_and_stored_results_give_the_same(self):
        before, after = self.capture("a.csv", 0, 1), self.capture("b.csv", 3, 2)
        stored = []
        for path in (before, after):
            stored.append(path.replace(".csv", ".json"))
            self.expect(0, "measure", path, "--json", stored[-1])
        by_captures = self.result(0, before, after)["comparisons"]
        self.assertEqual(self.result(0, *stored)["comparisons"], by_captures)
        self.assertEqual(self.result(0, before, stored[1])["comparisons"],
                         by_captures)

    def test_jitter_and_duty(self):
        before = self.capture("a.csv", 0, 1, "--jitter", "20ns")
        after = self.capture("b.csv", 0, 2, "--jitter", "40ns", "--duty", "0.4")
        shift = self.shift(before, after)
        # Sampling of 10 ns adds 4.1 ns to both: 28.6 and 56.7 ns of a period.
        # Each is known to 1/sqrt(2 * 15000), neighbours sharing an edge to
        # some more: 1 % of the ratio; five of that.
        self.assertLess(abs(shift["period_jitter_ratio"] / 1.984 - 1), 0.05)
        self.assertTrue(shift["jitter_changed"])
        change = shift["edge_jitter_change_s"]
        self.assertLessEqual(abs(change["value"] - 20e-9),
                             3 * change["standard_uncertainty"])
        self.assertAlmostEqual(shift["duty_change"]["value"], -0.1, 2)
        self.assertTrue(shift["duty_changed"])


class Limits(CompareCase):
    def test_decisions_and_exit_codes(self):
        before = self.capture("a.csv", 0, 1)
        limit = ["--same-timebase=0.5ppm", "--limit", "3ppm"]
        for ppm, decision, code in ((1, "pass", 0), (3, "undecided", 2),
                                    (9, "fail", 1), (-9, "fail", 1)):
            after = self.capture("b.csv", ppm, 2)
            result = self.result(code, before, after, *limit)
            self.assertEqual(result["comparisons"][0]["decision"], decision)
            # Without a limit nothing is judged.
            self.expect(0, "compare", before, after)

    def test_a_clock_that_is_gone_fails(self):
        before = self.capture("a.csv", 0, 1)
        after = self.capture("b.csv", 0, 2, "--channel", "other")
        result = self.result(1, before, after, "--limit", "300ppm")
        self.assertEqual([c["presence"] for c in result["comparisons"]],
                         ["gone", "new"])
        self.expect(0, "compare", before, after)

    def test_junit(self):
        before, after = self.capture("a.csv", 0, 1), self.capture("b.csv", 9, 2)
        out = self.path("out.xml.txt")
        self.expect(1, "compare", before, after, "--same-timebase", "--limit",
                    "3ppm", "--junit", out)
        text = pathlib.Path(out).read_text(encoding="utf-8")
        self.assertIn('failures="1"', text)
        self.assertIn('moved by 9 ppm', text)


class Stated(CompareCase):
    def test_one_instrument_is_what_it_indicated(self):
        before, after = self.capture("a.csv", 0, 1), self.capture("b.csv", 0, 2)
        stored = []
        for path, timebase in ((before, "100ppm"), (after, "40ppm+-2ppm")):
            stored.append(path.replace(".csv", ".json"))
            self.expect(0, "measure", path, "--timebase", timebase, "--json",
                        stored[-1])
        result = self.result(0, *stored, "--same-timebase", "--limit", "3ppm")
        self.assertLess(abs(result["comparisons"][0]["shift_ppm"]), 0.5)

    def test_options_that_would_do_nothing_are_refused(self):
        stored = self.path("a.json")
        self.expect(0, "measure", self.capture("a.csv", 0, 1), "--json", stored)
        self.expect(64, "compare", stored, stored, "--timebase", "5ppm")
        self.expect(64, "compare", stored, stored, "--reference", "ref=1MHz")

    def test_an_asked_channel_is_never_passed_over(self):
        before, after = self.capture("a.csv", 0, 1), self.capture("b.csv", 0, 2)
        self.expect(64, "compare", before, after, "--channel", "clk", "--channel",
                    "vital", "--limit", "300ppm")
        gone = self.capture("c.csv", 0, 3, "--channel", "other")
        result = self.result(1, before, gone, "--channel", "clk", "--limit",
                             "300ppm")
        self.assertEqual(result["comparisons"][0]["presence"], "gone")
        # No clock before is nothing to hold a limit against.
        still = self.put("still.csv", "time_s,clk\n0,0\n1e-3,0\n2e-3,0\n")
        self.expect(65, "compare", still, after, "--limit", "300ppm")


class Usage(CompareCase):
    def test_what_is_lacking_or_wrong(self):
        before = self.capture("a.csv", 0, 1)
        self.expect(64, "compare", before)
        self.expect(64, "compare", before, before, before)
        self.expect(64, "compare", before, before, "--same-timebase=3")
        self.expect(64, "compare", before, before, "--same-timebase=-1ppm..2ppm")
        self.expect(64, "compare", before, before, "--limit", "3")
        self.expect(66, "compare", before, self.path("none.csv"))
        done = self.expect(65, "compare", before, self.put("x.json", '{"a": 1}'))
        self.assertIn(b'found no "schema"', done.stderr)
        self.expect(64, "compare", before, before, "--json", before)

    def test_no_clock_at_all(self):
        still = self.put("still.csv", "time_s,clk\n0,0\n1e-3,0\n2e-3,0\n")
        done = self.expect(65, "compare", still, still)
        self.assertIn(b"shows no clock that could have moved", done.stderr)


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = map(os.path.abspath, sys.argv[1:3])
    unittest.main(argv=sys.argv[:1])
