#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""drift_test.py CLOCKASSAY SCHEMA ROOT : a clock against temperature.

Captures come from `clockassay simulate` with the error of a known curve at each
temperature; one long capture is made here, edge by edge, from the integral of
its frequency. What is read off must hold the truth within the stated U.
"""
import json
import math
import os
import pathlib
import shutil
import random
import sys
import unittest
import xml.etree.ElementTree

import cli_test
from cli_test import CliCase

ROOT = None
MADE = {}
FORK_TURNOVER, FORK_CURVE, FORK_OFFSET = 26.0, -0.035, -4.0
FORK_AT = [-20, -10, 0, 10, 20, 25, 30, 40, 50, 60, 70]
RANGE = ["--range", "-20..70"]
WIDE = ["--tolerance", "150ppm"]
EXPECT = ["--expect", "32.768kHz"]
TIMEBASE = ["--timebase", "2ppm"]


def fork(celsius):
    return FORK_CURVE * (celsius - FORK_TURNOVER) ** 2 + FORK_OFFSET


def at_cut(celsius, minutes=3.0):
    """Gerber and Ballato, as docs/drift.md has it."""
    x = celsius - 25.0
    return -5.08 / 60.0 * minutes * x - 0.45e-3 * x**2 + 108.6e-6 * x**3


class DriftCase(CliCase):
    def capture(self, name, nominal, ppm, seed, *more):
        """Simulated once for all tests that ask for the same."""
        key = (nominal, ppm, seed, more, name.rsplit(".", 1)[1])
        if key not in MADE:
            self.expect(0, "simulate", "--frequency", nominal, "--ppm",
                        f"{ppm:.7f}", "--sample-rate", "9.97MHz",
                        "--duration", "200ms", "--jitter", "20ns", "--seed",
                        str(seed), "--out", self.path(name), *more)
            MADE[key] = (self.folder / name).read_bytes()
        (self.folder / name).write_bytes(MADE[key])
        return name

    def fork_series(self):
        """A series of captures, and the text of its rows."""
        lines = ["capture,temperature_c,u_temperature_c"]
        for i, t in enumerate(FORK_AT):
            name = self.capture(f"fork{t}.csv", "32.768kHz", fork(t), i + 1)
            lines.append(f"{name},{t},0.05")
        return self.put("fork.csv", "\n".join(lines) + "\n")

    def drift(self, code, *args):
        done = self.expect(code, "drift", "--json", "-", *args)
        return self.validated(done.stdout)

    def near(self, value, truth, expanded):
        self.assertLessEqual(abs(value - truth), expanded)


class Curves(DriftCase):
    def test_a_fork_from_captures(self):
        series = self.fork_series()
        drift = self.drift(0, series, *EXPECT, *TIMEBASE)["drift"]
        self.assertEqual(drift["model"], "parabola")
        x = 25.0 - FORK_TURNOVER
        truth = [fork(25.0), 2 * FORK_CURVE * x, FORK_CURVE]
        for value, true, u in zip(drift["coefficients_ppm"], truth,
                                  drift["coefficient_uncertainties_ppm"]):
            self.near(value, true, u)
        self.near(drift["turnovers_c"][0], FORK_TURNOVER,
                  drift["turnover_uncertainties_c"][0])
        # -20 is 46 K from the turnover, 70 is 44.
        self.assertEqual(drift["worst_case_c"], -20.0)
        self.near(drift["worst_case_ppm"], fork(-20.0),
                  drift["worst_case_uncertainty_ppm"])
        self.assertAlmostEqual(drift["worst_case_s_per_day"],
                               drift["worst_case_ppm"] * 0.0864)
        self.assertEqual(drift["part"]["kind"], "tuning fork")
        self.assertEqual(drift["range_c"], [-20.0, 70.0])
        self.assertFalse(drift["range_asked"])
        for point, t in zip(drift["points"], FORK_AT):
            self.assertEqual(point["temperature_c"], t)
            # One instrument without an error: its capture alone, 5 sigma.
            self.near(point["error_ppm"], fork(t),
                      5 * point["standard_uncertainty_ppm"] + 1e-9)

    def test_an_at_cut_from_captures_of_a_divided_crystal(self):
        lines = ["capture;temperature_c"]
        for i, t in enumerate(range(-40, 90, 10)):
            name = self.capture(f"at{t}.vcd", "750kHz", at_cut(t), i + 50)
            lines.append(f"{name};{t},0")
        series = self.put("at.csv", "\r\n".join(lines) + "\r\n")
        drift = self.drift(0, series, "--expect", "24MHz / 2 / 16",
                           "--timebase", "0.5ppm")["drift"]
        self.assertEqual(drift["model"], "cubic")
        self.assertEqual(drift["part"]["kind"], "AT cut")
        angle = drift["part"]["cut_angles"][0]
        self.near(angle["minutes"], 3.0, angle["expanded_uncertainty_minutes"])
        for point in drift["curve"]:
            self.near(point["error_ppm"], at_cut(point["temperature_c"]),
                      point["expanded_uncertainty_ppm"])

    def test_published_data_with_certified_values(self):
        """NIST StRD Pontius: load and deflection. Taken for temperatures in
        units of 20 000 and errors in ppm of 1 MHz, which are linear maps, the
        certified parabola is theirs: y = B0 + B1 x + B2 x^2 with B0
        0.673565789473684E-03, B1 0.732059160401003E-06, B2
        -0.316081871345029E-14 (NIST, certified)."""
        scale = 2e4
        rows = ["temperature_c,frequency_hz"]
        for line in (ROOT / "testdata/drift/pontius.csv").read_text(
                encoding="utf-8").splitlines():
            if line.startswith(("#", "y")):
                continue
            y, x = map(float, line.split(","))
            rows.append(f"{x / scale!r},{1e6 + y!r}")
        self.assertEqual(len(rows), 41)
        series = self.put("pontius.csv", "\n".join(rows) + "\n")
        drift = self.drift(0, series, "--expect", "1MHz",
                           "--timebase", "1ppb")["drift"]
        self.assertEqual(drift["model"], "parabola")
        b = (0.673565789473684e-3, 0.732059160401003e-6,
             -0.316081871345029e-14)
        c = drift["coefficients_ppm"]
        # About 25, in units of 20 000.
        self.assertAlmostEqual(c[2] / (b[2] * scale**2), 1.0, delta=1e-5)
        self.assertAlmostEqual(
            c[1] / (b[1] * scale + 2 * b[2] * scale**2 * 25), 1.0, delta=1e-7)
        # A frequency of 1 MHz holds a deflection to 1e-10 of a hertz.
        self.assertAlmostEqual(
            c[0], b[0] + b[1] * scale * 25 + b[2] * (scale * 25) ** 2,
            delta=1e-9)

    def test_relative_to_its_own_curve_the_timebase_cancels(self):
        drift = self.drift(0, self.fork_series())["drift"]
        self.assertEqual(drift["relative_to_c"], 25.0)
        self.assertEqual(drift["instrument_terms"]["common_ppm"], 100.0)
        self.near(drift["worst_case_ppm"], fork(-20) - fork(25),
                  drift["worst_case_uncertainty_ppm"])
        self.assertLess(drift["worst_case_uncertainty_ppm"], 10.0)
        self.near(drift["zero_hz"], 32768.0 * (1 + fork(25) * 1e-6), 1e-3)

    def test_what_the_thermometer_reads_wrong_alike(self):
        series = self.fork_series()
        without = self.drift(0, series, *EXPECT, *TIMEBASE)["drift"]
        self.assertIsNone(without["instrument_terms"]["thermometer_k"])
        self.assertTrue(any("--thermometer" in c for c in without["caveats"]))
        stated = self.drift(0, series, *EXPECT, *TIMEBASE, "--thermometer",
                            "1K")["drift"]
        self.assertEqual(stated["instrument_terms"]["thermometer_k"], 1.0)
        self.assertEqual(stated["instrument_terms"]["thermometer"], "stated")
        # 3.2 ppm/K at -20 degC, beside a timebase of 2 ppm, +-1 ppm between.
        grown = (stated["worst_case_uncertainty_ppm"]
                 - without["worst_case_uncertainty_ppm"])
        self.assertGreater(grown, 2.5)
        self.assertLess(grown, 3.3)

    def test_models_leverage_and_predictions_are_shown(self):
        drift = self.drift(0, self.fork_series(), *EXPECT, *TIMEBASE)["drift"]
        models = drift["models"]
        self.assertEqual([m["model"] for m in models],
                         ["line", "parabola", "cubic"])
        self.assertEqual([m["chosen"] for m in models], [False, True, False])
        self.assertIsNone(models[0]["probability"])
        self.assertLess(models[1]["probability"], 1e-6)
        # The others are curves of higher degree.
        self.assertAlmostEqual(sum(m["weight"] for m in models)
                               + drift["weight_of_others"], 1.0, places=3)
        # Each of three parameters is told by the points together.
        self.assertAlmostEqual(sum(p["leverage"] for p in drift["points"]), 3)
        for place in drift["curve"]:
            self.assertGreater(place["prediction_uncertainty_ppm"],
                               place["expanded_uncertainty_ppm"])
        self.assertEqual(drift["next_temperature"],
                         drift["next_temperatures"][0])

    def test_several_boards_are_one_result_each(self):
        rows = ["board,temperature_c,frequency_hz,u_hz"]
        for t in range(-20, 80, 10):
            rows.append(f"A,{t},{32768 * (1 + fork(t) * 1e-6)!r},0.003")
            rows.append(f"B,{t},{32768 * (1 + 2 * fork(t) * 1e-6)!r},0.003")
        series = self.put("two.csv", "\n".join(rows) + "\n")
        result = self.drift(1, series, *RANGE, "--tolerance", "100ppm",
                            *EXPECT, *TIMEBASE)
        self.assertIsNone(result["drift"])
        self.assertEqual([d["board"] for d in result["drift_by_board"]],
                         ["A", "B"])
        self.assertEqual([(v["clock"], v["decision"])
                          for v in result["verdicts"]],
                         [("A", "pass"), ("B", "fail")])
        text = self.expect(1, "drift", series, *RANGE, "--tolerance", "100ppm",
                           *EXPECT, *TIMEBASE).stdout.decode()
        self.assertLessEqual(max(map(len, text.splitlines())), 80)
        quiet = self.expect(1, "drift", "--quiet", series, *RANGE,
                            "--tolerance", "100ppm", *EXPECT, *TIMEBASE)
        self.assertTrue(quiet.stdout.startswith(b"PASS  A  worst "))


class Verdicts(DriftCase):
    def test_pass_fail_and_undecided(self):
        series = self.fork_series()
        judged = [*RANGE, *EXPECT, *TIMEBASE]
        result = self.drift(0, series, *judged, *WIDE)
        self.assertEqual(result["verdicts"][0]["decision"], "pass")
        result = self.drift(1, series, *judged, "--tolerance", "50ppm")
        # 74 ppm of curve within 100 ppm of limits: moved as a whole it fits.
        self.assertIn("Shifted by", result["verdicts"][0]["advice"][0])
        result = self.drift(1, series, *judged, "--tolerance", "20ppm")
        self.assertIn("no shift", result["verdicts"][0]["advice"][0])
        # The band at -20 degC reaches across -78 ppm.
        self.drift(2, series, *judged, "--tolerance", "-78ppm..20ppm")

    def test_extrapolation_never_passes(self):
        series = self.fork_series()
        result = self.drift(2, series, "--range", "-21..70", *EXPECT,
                            *TIMEBASE, "--tolerance", "10000ppm")
        self.assertTrue(result["drift"]["extrapolated"])
        # Nor relative to a temperature that was not measured.
        rows = ["temperature_c,frequency_hz,u_hz"]
        for t in range(30, 80, 5):
            rows.append(f"{t},{32768 * (1 + fork(t) * 1e-6)!r},0.003")
        warm = self.put("warm.csv", "\n".join(rows) + "\n")
        self.drift(2, warm, "--range", "30..75", "--tolerance", "10000ppm")
        self.drift(0, warm, "--range", "30..75", "--tolerance", "10000ppm",
                   *EXPECT)

    def test_an_unstated_timebase_is_100_ppm(self):
        result = self.drift(2, self.fork_series(), *RANGE, *EXPECT,
                            "--tolerance", "100ppm")
        self.assertEqual(result["timebase"]["kind"], "assumed")
        self.assertTrue(any("--timebase" in a
                            for a in result["verdicts"][0]["advice"]))

    def test_a_calibrated_offset_is_applied_to_frequencies_too(self):
        rows = ["temperature_c,frequency_hz,u_hz"]
        for t in range(-20, 80, 10):
            rows.append(f"{t},{32768 * (1 + fork(t) * 1e-6)!r},0.003")
        series = self.put("f.csv", "\n".join(rows) + "\n")
        drift = self.drift(0, series, *EXPECT, "--timebase",
                           "50ppm+-1ppm")["drift"]
        self.near(drift["coefficients_ppm"][0], fork(25) + 50.0,
                  drift["coefficient_uncertainties_ppm"][0])

    def test_a_capture_that_is_gone_is_named_and_no_pass_is_left(self):
        self.fork_series()
        rows = ["capture,temperature_c"] + [f"fork{t}.csv,{t}" for t in FORK_AT]
        rows[3] = "gone.csv,0"
        self.put("bad.csv", "Time [s],clk\n0,0\n1,maybe\n")
        series = self.put("holes.csv", "\n".join(rows) + "\n")
        result = self.drift(66, series, *RANGE, *WIDE, *EXPECT, *TIMEBASE)
        self.assertEqual(result["verdicts"][0]["decision"], "undecided")
        self.assertEqual(result["drift"]["lost"][0]["source"], "gone.csv")
        self.assertIn("line 4 of", result["errors"][0]["message"])
        self.assertTrue(result["errors"][0]["path"].endswith("gone.csv"))
        self.assertEqual(len(result["drift"]["points"]), len(FORK_AT) - 1)
        # A fail stays one.
        self.drift(1, series, *RANGE, "--tolerance", "20ppm", *EXPECT,
                   *TIMEBASE)
        rows[3] = "bad.csv,0"
        series = self.put("holes.csv", "\n".join(rows) + "\n")
        result = self.drift(65, series, *RANGE, *WIDE, *EXPECT, *TIMEBASE)
        self.assertEqual(result["errors"][0]["line"], 3)

    def test_a_clock_that_stands_still_fails_there(self):
        self.fork_series()
        self.put("still.csv", "Time [s],clk\n0,1\n1,1\n")
        rows = ["capture,temperature_c", "still.csv,-30"]
        rows += [f"fork{t}.csv,{t}" for t in FORK_AT]
        series = self.put("still-at-30.csv", "\n".join(rows) + "\n")
        judged = [*WIDE, *EXPECT, *TIMEBASE]
        result = self.drift(1, series, "--range", "-30..70", *judged)
        self.assertTrue(result["drift"]["silent"][0]["constant"])
        # Beyond the range it is no matter.
        self.drift(0, series, *RANGE, *judged)
        # Where nobody asks whether it runs it is no data.
        self.drift(65, series, *EXPECT)

    def test_two_clocks_and_no_word_which(self):
        self.fork_series()
        self.capture("other.csv", "32.768kHz", 0.0, 1, "--channel", "d1")
        rows = ["capture,temperature_c", "other.csv,-15"]
        rows += [f"fork{t}.csv,{t}" for t in FORK_AT]
        series = self.put("mixed.csv", "\n".join(rows) + "\n")
        result = self.drift(64, series, *RANGE, *WIDE)
        self.assertIn('"clk", "d1"', result["errors"][0]["message"])
        self.assertIsNone(result["drift"])

    def test_junit(self):
        series = self.fork_series()
        out = self.path("out.xml.txt")
        self.expect(2, "drift", series, "--range", "-30..70", *WIDE, *EXPECT,
                    *TIMEBASE, "--junit", out)
        suite = xml.etree.ElementTree.parse(out).getroot()
        self.assertEqual((suite.get("tests"), suite.get("failures"),
                          suite.get("errors")), ("1", "1", "0"))
        self.assertEqual(suite.find(".//failure").get("type"), "undecided")
        self.expect(65, "drift", self.put("x.csv", "a,b\n1,2\n"), "--junit",
                    out)
        suite = xml.etree.ElementTree.parse(out).getroot()
        self.assertEqual(suite.find(".//error").get("type"), "bad_data")
        self.assertEqual(self.leftovers(), [])

    def test_outputs_are_never_inputs(self):
        series = self.fork_series()
        for target in [series, self.path("fork0.csv")]:
            before = pathlib.Path(target).read_bytes()
            self.expect(64, "drift", series, "--json", target)
            self.assertEqual(pathlib.Path(target).read_bytes(), before)


class Usage(DriftCase):
    def test_what_is_lacking_or_too_much(self):
        series = self.put("s.csv", "temperature_c,frequency_hz\n0,1\n")
        self.expect(64, "drift")
        self.expect(64, "drift", series, series)
        self.expect(64, "drift", series, "--tolerance", "30ppm")
        self.expect(64, "drift", series, "--tolerance", "30", *RANGE)
        self.expect(64, "drift", series, "--range", "85..-40")
        for wrong in ["0.5", "-1K", "60K", "1V", "1m"]:
            self.expect(64, "drift", series, "--thermometer", wrong)
        self.expect(64, "drift", series, "--channel", "a", "--channel", "b")
        self.expect(64, "drift", "-", "--instrument", "-")
        self.expect(66, "drift", self.path("none.csv"))
        self.expect(66, "drift", series, "--temperature-log",
                    self.path("none.csv"))

    def test_a_wrong_instrument_file_is_78(self):
        series = self.fork_series()
        wrong = self.put("instrument.json", '{"timebase": "2"}')
        self.drift(78, series, "--instrument", wrong)
        right = self.put("instrument.json",
                         '{"timebase": "2ppm", "timebase_stability": "20ppb"}')
        drift = self.drift(0, series, "--instrument", right)["drift"]
        self.assertEqual(drift["instrument_terms"]["stability_ppm"], 0.02)
        self.assertTrue(drift["instrument_terms"]["stability_stated"])

    def test_standard_input_is_a_series(self):
        self.fork_series()
        text = (self.folder / "fork.csv").read_bytes()
        self.expect(0, "drift", "-", input=text, cwd=self.folder)


class Told(DriftCase):
    """What is assumed, left out or without effect is said."""

    def frequencies(self, name="f.csv", header="", cells=lambda i, t: "",
                    more=()):
        rows = ["temperature_c,frequency_hz,u_hz" + header]
        for i, t in enumerate(range(-20, 80, 10)):
            rows.append(f"{t},{32768 * (1 + fork(t) * 1e-6)!r},0.003"
                        + cells(i, t))
        return self.put(name, "\n".join([*rows, *more]) + "\n")

    def test_the_headline_names_what_is_assumed(self):
        judged = [*RANGE, *WIDE, *EXPECT, *TIMEBASE, "--quiet"]
        line = self.expect(0, "drift", self.frequencies(), *judged).stdout
        self.assertIn(b"assumed: thermometer right", line)
        self.assertNotIn(b"no ageing", line)
        line = self.expect(0, "drift", self.frequencies(), *judged,
                           "--thermometer", "0K").stdout
        self.assertNotIn(b"assumed: therm", line)

    def test_time_that_rises_and_a_bound_of_ageing(self):
        series = self.frequencies("rise.csv", ",time_s",
                                  lambda i, t: f",{600 * i}")
        judged = [*RANGE, *WIDE, *EXPECT, *TIMEBASE]
        drift = self.drift(2, series, *judged)["drift"]
        self.assertEqual(drift["assumed"], ["thermometer right", "no ageing"])
        drift = self.drift(0, series, *judged, "--ageing-limit",
                           "1ppm")["drift"]
        self.assertEqual(drift["assumed"], ["thermometer right"])
        self.assertEqual(drift["instrument_terms"]["ageing_limit_ppm"], 1.0)

    def test_two_fresh_readings_outvote_one(self):
        # 40 ppm off at 30 degC, and beyond the limit.
        bad = f"30,{32768 * (1 + (fork(30) + 40) * 1e-6)!r},0.003"
        good = [f"30,{32768 * (1 + (fork(30) + x) * 1e-6)!r},0.003"
                for x in (0.03, -0.02)]
        judged = [*RANGE, "--tolerance", "-150ppm..20ppm", *EXPECT, *TIMEBASE]
        spoilt = "\n".join(
            line for line in pathlib.Path(self.frequencies()).read_text()
            .splitlines() if not line.startswith("30,"))
        once = self.put("once.csv", spoilt + "\n" + bad + "\n")
        result = self.drift(2, once, *judged)
        self.assertEqual(result["drift"]["without_marked"]["decision"], "pass")
        self.assertIn("without the marked points", self.expect(
            2, "drift", once, *judged).stdout.decode())
        again = self.put("again.csv", "\n".join([spoilt, bad, *good]) + "\n")
        result = self.drift(0, again, *judged)
        self.assertEqual(result["drift"]["outvoted"][0]["temperature_c"], 30.0)
        self.assertEqual(len(result["drift"]["points"]), 11)
        self.assertTrue(any("outvote it" in r
                            for r in result["verdicts"][0]["reasons"]))

    def test_options_without_effect(self):
        drift = self.drift(0, self.frequencies(), "--sample-rate", "1MHz",
                           "--from", "1ms")["drift"]
        self.assertIn("Without effect, for no row is a capture: --sample-rate, "
                      "--from.", drift["caveats"])

    def test_temperatures_in_another_unit(self):
        rows = ["temperature_c,frequency_hz"]
        rows += [f"{t},{32768 + t / 1000!r}" for t in range(-4, 186, 18)]
        drift = self.drift(0, self.put("hot.csv", "\n".join(rows) + "\n"),
                           *EXPECT)["drift"]
        self.assertTrue(any("Fahrenheit?" in c for c in drift["caveats"]))

    def test_one_temperature_is_no_curve(self):
        for rows, found in [("25,32768\n", "one point at 25 degC"),
                            ("25,32768\n25,32768.1\n",
                             "2 points, all at 25 degC")]:
            series = self.put("one.csv", "temperature_c,frequency_hz\n" + rows)
            error = self.drift(65, series)["errors"][0]
            self.assertIn(found, error["message"])
            self.assertEqual(error["line"], rows.count("\n") + 1)

    def test_junit_without_a_tolerance_judges_nothing(self):
        out = self.path("out.xml.txt")
        self.expect(0, "drift", self.frequencies(), "--junit", out)
        suite = xml.etree.ElementTree.parse(out).getroot()
        self.assertEqual((suite.get("tests"), suite.get("skipped")), ("1", "1"))

    def test_help_states_the_limit_of_rows(self):
        self.assertIn(b"2000 at most",
                      self.expect(0, "drift", "--help").stdout)


class StoredResults(DriftCase):
    def test_a_capture_and_its_result_count_once(self):
        stored = self.stored_series(*TIMEBASE)
        rows = pathlib.Path(stored).read_text().splitlines()
        both = self.put("both.csv", "\n".join([*rows, "fork0.csv,0,0.05"])
                        + "\n")
        drift = self.drift(0, both, *EXPECT, *TIMEBASE)["drift"]
        self.assertEqual(len(drift["points"]), len(FORK_AT))
        self.assertTrue(any("it counts once" in c for c in drift["caveats"]))

    def test_a_copy_of_a_capture_counts_once(self):
        self.fork_series()
        series = pathlib.Path(self.path("fork.csv")).read_text()
        for t in FORK_AT:
            shutil.copy(self.path(f"fork{t}.csv"), self.path(f"again{t}.csv"))
        rows = series.rstrip().splitlines()
        copies = [row.replace("fork", "again") for row in rows[1:]]
        both = self.put("copies.csv", "\n".join([*rows, *copies]) + "\n")
        drift = self.drift(0, both, *EXPECT, *TIMEBASE)["drift"]
        self.assertEqual(len(drift["points"]), len(FORK_AT))
        self.assertEqual(sum("byte for byte: it counts once" in c
                             for c in drift["caveats"]), len(FORK_AT))

    def test_a_row_that_is_there_twice_counts_once(self):
        head = "temperature_c,frequency_hz,u_hz,u_temperature_c"
        rows = [f"{t},{32768 * (1 + 1e-6 * fork(t)):.6f},0.003,0.1"
                for t in range(-20, 71, 15)]
        once = self.put("rows.csv", "\n".join([head, *rows]) + "\n")
        many = self.put("many.csv", "\n".join([head, *rows * 5]) + "\n")
        a = self.drift(0, once, *EXPECT, *TIMEBASE)["drift"]
        b = self.drift(0, many, *EXPECT, *TIMEBASE)["drift"]
        self.assertEqual(a["points"], b["points"])
        self.assertEqual(a["worst_case_uncertainty_ppm"],
                         b["worst_case_uncertainty_ppm"])
        said = [c for c in b["caveats"] if "Each counts once" in c]
        self.assertEqual(len(said), 1)
        self.assertIn("9, 10, 11, 12, 13 and 23 more", said[0])

    def stored_series(self, *timebase):
        self.fork_series()
        rows = ["capture,temperature_c,u_temperature_c"]
        for t in FORK_AT:
            self.expect(0, "measure", self.path(f"fork{t}.csv"), *timebase,
                        "--json", self.path(f"r{t}.json"))
            rows.append(f"r{t}.json,{t},0.05")
        return self.put("stored.csv", "\n".join(rows) + "\n")

    def test_the_same_as_from_the_captures(self):
        stored = self.stored_series("--timebase", "-12.3ppm+-2ppm")
        a = self.drift(0, stored, *EXPECT)["drift"]
        b = self.drift(0, self.path("fork.csv"), *EXPECT, "--timebase",
                       "-12.3ppm+-2ppm")["drift"]
        for key in ["worst_case_ppm", "worst_case_uncertainty_ppm"]:
            self.assertAlmostEqual(a[key], b[key], places=6)
        self.assertEqual(a["instrument_terms"]["kind"], "calibrated")
        # A timebase stated now goes before the stored one.
        c = self.drift(0, stored, *EXPECT, *TIMEBASE)["drift"]
        self.near(c["worst_case_ppm"], fork(-20),
                  c["worst_case_uncertainty_ppm"])

    def test_several_timebases_do_not_cancel(self):
        stored = self.stored_series(*TIMEBASE)
        self.expect(0, "measure", self.path("fork0.csv"), "--timebase", "40ppm",
                    "--json", self.path("r0.json"))
        drift = self.drift(0, stored)["drift"]
        self.assertFalse(drift["instrument_terms"]["is_one"])
        self.assertGreater(drift["worst_case_uncertainty_ppm"], 40.0)

    def test_a_warning_of_a_stored_result_still_forbids_a_pass(self):
        stored = self.stored_series(*TIMEBASE)
        path = self.folder / "r0.json"
        result = json.loads(path.read_text())
        result["captures"][0]["channels"][0]["warnings"].append(
            {"code": "undersampled", "message": "too few samples",
             "forbids_pass": True, "forbids_fail": False})
        path.write_text(json.dumps(result))
        verdict = self.drift(2, stored, *RANGE, *WIDE, *EXPECT)["verdicts"][0]
        self.assertTrue(any("undersampled" in r for r in verdict["reasons"]))

    def test_a_stored_result_of_another_kind_is_named(self):
        stored = self.stored_series(*TIMEBASE)
        self.put("r0.json", '{"schema": "clockassay/1", "command": "drift"}')
        result = self.drift(65, stored)
        self.assertIn("/command: found", result["errors"][0]["message"])
        self.assertEqual(len(result["drift"]["lost"]), 1)


class LongCapture(DriftCase):
    LENGTH, RATE = 40.0, 1_000_000

    @staticmethod
    def temperature(t):
        """Up to 68 degC and back, as warm air and then none would."""
        half = LongCapture.LENGTH / 2
        top = 24 + 46 * (1 - math.exp(-4))
        if t < half:
            return 24 + 46 * (1 - math.exp(-4 * t / half))
        return 24 + (top - 24) * math.exp(-4 * (t - half) / half)

    def make(self, seed=11):
        """Edges where the phase passes half periods; the thermometer is read
        to 0.05 K twice a second."""
        rng = random.Random(seed)
        print(f"seed {seed}", file=sys.stderr)
        rows, phase, t, level = ["Time [s],clk", "0,0"], 0.0, 0.0, 0
        step = 0.01  # s: the frequency is straight within to 1e-4 ppm
        next_edge = 0.6
        while t < self.LENGTH:
            f0 = 32768.0 * (1 + fork(self.temperature(t)) * 1e-6)
            f1 = 32768.0 * (1 + fork(self.temperature(t + step)) * 1e-6)
            gained = (f0 + f1) / 2 * step
            while phase + gained >= next_edge / 2:
                part = (next_edge / 2 - phase) / gained
                seen = t + part * step + rng.gauss(0, 20e-9)
                level ^= 1
                rows.append(f"{math.ceil(seen * self.RATE) / self.RATE:.6f},"
                            f"{level}")
                next_edge += 1
            phase += gained
            t += step
        log = ["time_s,temperature_c,u_temperature_c"]
        for i in range(int(2 * self.LENGTH)):
            log.append(f"{i / 2},{self.temperature(i / 2) + rng.gauss(0, .05)},"
                       "0.05")
        return (self.put("long.csv", "\n".join(rows) + "\n"),
                self.put("log.csv", "\n".join(log) + "\n"))

    def test_a_fork_and_warm_air(self):
        capture, log = self.make()
        judged = ["--temperature-log", log, "--sample-rate", "1MHz",
                  "--range", "26..67", "--tolerance", "-100ppm..20ppm",
                  *EXPECT, *TIMEBASE]
        result = self.drift(0, capture, *judged)
        drift = result["drift"]
        self.assertEqual(drift["model"], "parabola")
        self.near(drift["turnovers_c"][0], FORK_TURNOVER,
                  drift["turnover_uncertainties_c"][0])
        self.near(drift["worst_case_ppm"], fork(67.0),
                  drift["worst_case_uncertainty_ppm"])
        self.assertGreaterEqual(len(drift["points"]), 16)
        for point in drift["points"]:
            # The spread of the temperature is in its uncertainty.
            self.assertGreaterEqual(point["u_temperature_c"], 0.05)
            slope = 2 * FORK_CURVE * (point["temperature_c"] - FORK_TURNOVER)
            u = math.hypot(point["standard_uncertainty_ppm"],
                           slope * point["u_temperature_c"])
            self.near(point["error_ppm"], fork(point["temperature_c"]), 5 * u)
        # Both ways were seen, and there is no lag.
        self.assertFalse(drift["hysteresis"]["significant"])
        # The log ends half a second before the capture: said, not stretched.
        self.assertTrue(any("is left out" in c for c in drift["caveats"]))
        self.assertLessEqual(max(p["to_s"] for p in drift["points"]), 39.5)
        # Halves of it: the way up alone does not show a lag.
        half = self.drift(0, capture, "--temperature-log", log,
                          "--sample-rate", "1MHz", "--span", "20s")["drift"]
        self.assertTrue(any("one way only" in c for c in half["caveats"]))
        # A thermometer that said nothing for ten seconds: no line across.
        rows = pathlib.Path(log).read_text().splitlines()
        hole = self.put("hole.csv", "\n".join(
            r for r in rows if not r[0].isdigit()
            or not 5 < float(r.split(",")[0]) < 15) + "\n")
        drift = self.drift(0, capture, "--temperature-log", hole,
                           "--sample-rate", "1MHz")["drift"]
        self.assertTrue(any("no reading between 5 s and 15 s" in c
                            for c in drift["caveats"]))
        for p in drift["points"]:
            self.assertFalse(p["from_s"] < 15 and p["to_s"] > 5)
        late = self.put("late.csv", "time_s,temperature_c\n100,20\n200,30\n")
        done = self.drift(65, capture, "--temperature-log", late)
        self.assertIn("temperature log of 100 s to 200 s",
                      done["errors"][0]["message"])


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = map(os.path.abspath, sys.argv[1:3])
    ROOT = pathlib.Path(sys.argv[3])
    unittest.main(argv=sys.argv[:1])
