#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""plan_test.py CLOCKASSAY SCHEMA : the plan commands from the outside.

Exit codes, text of 80 columns, JSON after the schema, and that `verify` decides
as a plan said.
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM, SCHEMA = sys.argv[1:3]
VALIDATE = pathlib.Path(__file__).with_name("validate_json.py")

LOAD = ["plan", "load", "--crystal-load", "18pF", "--stray-across", "3pF"]
DRIVE = ["plan", "drive", "--frequency", "16MHz", "--esr", "60ohm",
         "--c0", "3pF", "--load", "12pF"]
PATH = ["plan", "path", "--expect", "24MHz / 2 / 16"]
CAPTURE = ["plan", "capture", "--expect", "24MHz / 2 / 16",
           "--tolerance", "30ppm", "--sample-rate", "100MS/s"]

# Options that change what is said, for each plan.
MORE = {
    "load": [[], ["--c0", "3pF", "--c1", "8fF"], ["--fitted", "22pF,27pF"],
             ["--e-series", "E12"], ["--capacitor-tolerance", "0%"],
             ["--fitted", "0pF,0pF"], ["--fitted", "22pF,0pF"],
             ["--crystal-load", "600pF"], ["--crystal-load", "2.9pF"],
             ["--stray-across", "20pF"], ["--frequency", "26MHz"],
             ["--frequency", "32.768kHz"],
             ["--coverage", "0.99"]],
    "drive": [[], ["--gm", "5mA/V"], ["--swing", "1.8V"],
              ["--gm", "50uS", "--swing", "3.3V", "--drive-limit", "100uW",
               "--series-resistor", "470ohm", "--still-starts-with", "330ohm",
               "--legs", "24pF,24pF", "--c1", "8fF"],
              ["--gm", "1S"],
              ["--gm", "5mA/V", "--swing", "3.3V", "--output-resistance",
               "2kohm", "--series-resistor", "470ohm"],
              ["--gm", "100uS", "--output-resistance", "1kohm"]],
    "path": [[], ["--former", "16MHz"], ["--former", "16MHz / 2"],
             ["--tolerance", "30ppm"], ["--tolerance", "50%"],
             ["--tolerance", "-5300ppm..300ppm", "--timebase", "2ppm"]],
    "capture": [[], ["--timebase", "2ppm"], ["--reference-tolerance", "0.1ppm"],
                ["--jitter", "5ns"], ["--duration", "1us"],
                ["--duration", "10ms", "--timebase", "-12.3ppm+-2ppm"],
                ["--coverage", "0.99"], ["--duty", "30%"],
                ["--duty", "45%..55%", "--sample-rate", "2.3MS/s"],
                ["--jitter", "300s"], ["--duration", "20000000s"],
                ["--duration", "50us"], ["--tolerance", "1ppm"],
                ["--reference", "pps=1Hz+-0.1ppm"],
                ["--reference", "pps=1Hz", "--duration", "10ms"],
                ["--reference", "r=80MHz", "--reference-tolerance", "1ppm"],
                ["--expect", "1Hz", "--tolerance", "1ppm", "--timebase",
                 "0.1ppm", "--sample-rate", "10Hz"],
                ["--expect", "24MHz", "--sample-rate", "24MS/s"],
                ["--jitter", "70ns", "--duration", "1ms", "--timebase", "5ppm"],
                ["--jitter", "66ns", "--duration", "1ms", "--timebase",
                 "5ppm"]],
}
BASES = {"load": LOAD, "drive": DRIVE, "path": PATH, "capture": CAPTURE}


def without(base, more):
    """The base without the options that are said otherwise."""
    kept = []
    for i in range(2, len(base), 2):
        if base[i] not in more:
            kept += base[i:i + 2]
    return base[:2] + kept


def run(*args):
    return subprocess.run([PROGRAM, *args], capture_output=True, check=False)


class Plans(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def expect(self, code, *args):
        done = run(*args)
        self.assertEqual(done.returncode, code,
                         (args, done.stdout, done.stderr))
        return done

    def result(self, code, *args):
        text = self.expect(code, *args, "--json", "-").stdout
        path = self.folder / "result.json"
        path.write_bytes(text)
        done = subprocess.run(["/usr/bin/python3", VALIDATE, SCHEMA, path],
                              capture_output=True, text=True, check=False)
        self.assertEqual((done.returncode, done.stdout, done.stderr),
                         (0, "", ""), args)
        return json.loads(text)

    def test_every_plan_is_0_and_in_both_forms(self):
        for kind, base in BASES.items():
            for more in MORE[kind]:
                base = without(BASES[kind], more)
                plan = self.result(0, *base, *more)["plan"]
                self.assertEqual(plan["kind"], kind)
                self.assertTrue(plan["cautions"])
                done = self.expect(0, *base, *more)
                self.assertEqual(done.stderr, b"")
                for line in done.stdout.decode().splitlines():
                    self.assertLessEqual(len(line), 80, line)
                    self.assertNotRegex(line, r"\bnan\b")
                    self.assertNotRegex(line, r"\binf\b")

    def test_help_of_every_plan(self):
        for args in [["plan", "--help"], *(["plan", kind, "--help"]
                                           for kind in BASES)]:
            done = self.expect(0, *args)
            for line in done.stdout.decode().splitlines():
                self.assertLessEqual(len(line), 80, line)

    def test_what_is_missing_or_wrong_is_64_and_named(self):
        for args, says in [
                (["plan"], "expected load, drive, path or capture"),
                (["plan", "lode"], "did you mean plan load?"),
                (["plan", "load"], "--crystal-load: is needed"),
                (["plan", "drive", "--frequency", "16MHz"], "--esr: is needed"),
                (["plan", "path"], "--expect: is needed"),
                (["plan", "path", "--expect", "24MHz / 0"], "--expect: "),
                (["plan", "capture", "--expect", "12MHz", "--tolerance", "5",
                  "--sample-rate", "24MHz"],
                 "--tolerance: "),
                ([*LOAD, "--stray-per-pin", "3pF"],
                 "--stray-per-pin: does not go with --stray-across"),
                (["plan", "load", "--crystal-load", "18"],
                 "--crystal-load: "),
                (["plan", "load", "--crystal-load", "18nF"],
                 "expected from 0.1 pF to 1 nF"),
                (["plan", "load", "--crystal-load", "18pF", "--c1", "8pF"],
                 "--c1: found 8pF, expected from 0.1 fF to 300 fF"),
                (["plan", "load", "--crystal-load", "18pF", "--c0", "3nF"],
                 "--c0: found 3nF, expected from 0.01 pF to 100 pF"),
                ([*LOAD, "--c0", "3pF", "--c1", "8pF"], "--c1: "),
                ([*LOAD, "--fitted", "22pF"], "expected two capacitances"),
                ([*DRIVE, "--legs", "47pF,47pF"], "--legs: "),
                ([*DRIVE, "--legs", "22pF,0pF"], "no oscillator runs"),
                ([*DRIVE, "--series-resistor", "0ohm"],
                 "leave --series-resistor out"),
                ([*LOAD, "--fitted", "22pF,22pF,22pF"],
                 "of several at one pin the sum"),
                ([*LOAD, "--fitted", "0.001pF,22pF"],
                 "expected from 0.1 pF to 1 uF"),
                ([*LOAD, "--capacitor-tolerance", "5"],
                 "is the per cent sign missing? 5%"),
                (["plan", "path", "--expect", "(24MHz / 2) * 4"],
                 "the source stands first, without parentheses"),
                ([*PATH, "--former", "(16MHz)"], "--former: "),
                ([*PATH, "--former", "16"],
                 "--former: found 16, without a unit"),
                ([*PATH, "--former", "16 / 2"], "write the unit"),
                ([*CAPTURE, "--jitter", "300"], "write the unit: 300ps"),
                ([*CAPTURE, "--reference", "pps=1Hz+-1ppm",
                  "--reference-tolerance", "2ppm"], "state it once"),
                ([*CAPTURE, "extra"], "found \"extra\""),
                ([*CAPTURE, "--duty", "55%..45%"], "the lower end first"),
                ([*CAPTURE, "--duty", "120%"], "--duty: found \"120%\""),
                ([*CAPTURE, "--sample-rat", "3"],
                 "did you mean --sample-rate?")]:
            done = self.expect(64, *args)
            self.assertEqual(done.stdout, b"", args)
            self.assertIn(says, done.stderr.decode(), args)
            if len(args) > 1:
                errors = self.result(64, *args)["errors"]
                self.assertEqual(len(errors), 1, args)

    def test_18_pf_with_3_pf_across_is_two_of_30_pf(self):
        # Common practice, no source.
        plan = self.result(0, *LOAD)["plan"]
        self.assertEqual([round(c * 1e12, 6) for c in plan["capacitors_f"]],
                         [30, 30])

    def test_a_plan_in_a_file_beside_the_text(self):
        path = self.folder / "plan.json"
        done = self.expect(0, *CAPTURE, "--json", str(path))
        self.assertIn(b"Not decidable", done.stdout)
        plan = json.loads(path.read_text(encoding="utf-8"))["plan"]
        self.assertFalse(plan["decidable"])
        self.assertEqual(plan["limited_by"], "timebase")
        self.assertIsNone(plan["passes_within_ppm"])

    def test_an_instrument_file_stands_in_for_what_is_not_said(self):
        path = self.folder / "instrument.json"
        path.write_text('{ "timebase": "2ppm", "input_jitter_rms": "3ns" }',
                        encoding="utf-8")
        file = ["--instrument", str(path)]
        plan = self.result(0, *CAPTURE, *file)["plan"]
        self.assertEqual(plan["timebase"]["tolerance_ppm"], 2)
        self.assertEqual(plan["timebase"]["kind"], "stated")
        self.assertAlmostEqual(plan["jitter_s"], 3e-9)
        # The command line goes before; independent jitters add as squares.
        plan = self.result(0, *CAPTURE, *file, "--timebase", "5ppm",
                           "--jitter", "4ns")["plan"]
        self.assertEqual(plan["timebase"]["tolerance_ppm"], 5)
        self.assertAlmostEqual(plan["jitter_s"], 5e-9)
        path.write_text('{ "timebase": "2ppm", "reference": "ref=1MHz+-0.1ppm"'
                        ' }', encoding="utf-8")
        plan = self.result(0, *CAPTURE, *file)["plan"]
        self.assertEqual(plan["timebase"]["kind"], "reference")
        self.assertAlmostEqual(plan["timebase"]["tolerance_ppm"], 0.1)
        done = self.expect(64, *CAPTURE, *file, "--json", str(path))
        self.assertIn(b"instrument.json", done.stderr)
        path.write_text('{ "timebas": "2ppm" }', encoding="utf-8")
        errors = self.result(78, *CAPTURE, *file)["errors"]
        self.assertEqual(len(errors), 1)
        self.result(66, *CAPTURE, "--instrument", str(self.folder / "none"))

    def test_quiet_is_one_line_with_the_figure_that_decides(self):
        for kind, base in BASES.items():
            for more in MORE[kind]:
                args = [*without(base, more), *more]
                quiet = self.expect(0, *args, "--quiet").stdout.decode()
                self.assertEqual(quiet.count("\n"), 1, (args, quiet))
                self.assertLessEqual(len(quiet), 81, (args, quiet))
        quiet = self.expect(0, *CAPTURE, "--timebase", "2ppm",
                            "--quiet").stdout.decode()
        self.assertRegex(quiet, r"^decidable: U \S+ of ±30 ppm; .* needed, .* "
                                r"comfortable$")
        quiet = self.expect(0, *DRIVE, "--gm", "5mA/V", "--swing", "1.8V",
                            "--drive-limit", "100uW",
                            "--quiet").stdout.decode()
        self.assertRegex(quiet, r"margin \d.*safety factor \d.*drive .* of "
                                r"100 µW$")
        quiet = self.expect(0, *DRIVE, "--gm", "0.1mA/V",
                            "--quiet").stdout.decode()
        self.assertRegex(quiet, r"^margin 0\.\d+, no start")
        quiet = self.expect(0, *PATH, "--quiet").stdout.decode()
        self.assertRegex(quiet, r"^750 kHz; nearest slip -5.88")

    def test_a_reference_is_planned_with_by_its_frequency(self):
        path = self.folder / "instrument.json"
        path.write_text('{ "timebase": "20ppm", "reference": '
                        '"pps=1Hz+-0.1ppm" }', encoding="utf-8")
        args = [*without(CAPTURE, ["--expect"]), "--expect", "12MHz"]
        by_file = self.result(0, *args, "--instrument", str(path))["plan"]
        by_line = self.result(0, *args, "--timebase", "20ppm", "--reference",
                              "pps=1Hz+-0.1ppm")["plan"]
        for plan in (by_file, by_line):
            self.assertTrue(plan["decidable"])
            self.assertGreaterEqual(plan["duration_s"], 6)
            self.assertEqual(plan["reference_hz"], 1)
            self.assertEqual(plan["timebase"]["tolerance_ppm"], 0.1)
        short = self.result(0, *args, "--instrument", str(path),
                            "--duration", "16ms")["plan"]
        self.assertFalse(short["decidable"])
        self.assertEqual(short["limited_by"], "duration")
        self.assertTrue(short["reference_fails"])
        # Of a tolerance that nobody states 100 ppm are assumed.
        plan = self.result(0, *args, "--reference", "r=1MHz")["plan"]
        self.assertEqual(plan["timebase"]["tolerance_ppm"], 100)
        # The command line goes before the file.
        plan = self.result(0, *args, "--instrument", str(path),
                           "--reference", "r=1MHz+-0.5ppm")["plan"]
        self.assertEqual(plan["reference_hz"], 1e6)
        self.assertEqual(plan["timebase"]["tolerance_ppm"], 0.5)

    def test_a_reference_too_fast_for_the_rate_has_one_way_forward(self):
        args = ["plan", "capture", "--expect", "32.768kHz", "--tolerance",
                "2ppm", "--sample-rate", "8MS/s", "--reference",
                "r=10MHz+-1ppm", "--jitter", "50ns"]
        plan = self.result(0, *args)["plan"]
        # Four samples a period of it: 40 MHz, or 2 MHz in place of 10.
        self.assertEqual(plan["needed_sample_rate_hz"], 40e6)
        self.assertEqual(plan["fastest_reference_hz"], 2e6)
        self.assertFalse(plan["also_too_large"])  # 1.3 of 2 ppm
        narrow = ["1ppm" if a == "2ppm" else a for a in args]
        self.assertTrue(self.result(0, *narrow)["plan"]["also_too_large"])
        self.assertEqual({v for k, v in plan["to_decide"].items()
                          if not isinstance(v, bool)}, {None})
        for more, says in [([], "a reference of 2 MHz or slower"),
                           (["--quiet"], "a reference up to 2 MHz")]:
            text = " ".join(self.expect(0, *args, *more).stdout.decode()
                            .replace("\u00a0", " ").split())
            self.assertIn("40 MHz", text)
            self.assertIn(says, text)
            self.assertNotIn("36 MHz", text)

    def test_a_sure_fail_reaches_as_far_as_clocks_show(self):
        args = ["--expect", "24MHz", "--tolerance", "50ppm", "--timebase",
                "10ppm", "--sample-rate", "100MHz", "--duration", "1ms"]
        plan = self.result(0, "plan", "capture", *args)["plan"]
        # Six cycles, and four samples a period.
        self.assertAlmostEqual(plan["sure_fail_from_hz"], 6000)
        self.assertAlmostEqual(plan["sure_fail_to_hz"], 25e6)
        out = str(self.folder / "slip.csv")
        for frequency, code in [("6kHz", 1), ("12kHz", 1), ("12MHz", 1),
                                ("24.01MHz", 1), ("25MHz", 1), ("48MHz", 2)]:
            self.expect(0, "simulate", "--frequency", frequency,
                        "--sample-rate", "100MHz", "--duration", "1ms",
                        "--out", out)
            self.expect(code, "verify", out, *args[:6])

    def test_a_rate_and_any_faster_one_or_just_that(self):
        def asked(rate, *more):
            return self.result(
                0, "plan", "capture", "--tolerance", "617ppm", "--timebase",
                "7ppm", "--sample-rate", rate, *more)["plan"]
        duty = ["--expect", "25MHz", "--duty", "20%..40%"]
        # Half of eight samples is 1.6: at some phases always one sample long.
        plan = asked("200MHz", *duty)
        self.assertFalse(plan["decidable"])
        self.assertTrue(plan["needed_or_faster"])
        self.assertGreater(plan["needed_sample_rate_hz"], 200e6)
        for faster in (1, 1.25, 2, 4):
            rate = f"{plan['needed_sample_rate_hz'] * faster:.0f}Hz"
            self.assertTrue(asked(rate, *duty)["decidable"], rate)

    def test_an_alias_and_a_reference_have_one_rate_together(self):
        args = ["plan", "capture", "--expect", "1MHz/7", "--tolerance",
                "47.1ppm", "--timebase", "30ppm", "--reference",
                "ref=669240.669Hz+-4.58ppm", "--sample-rate"]
        plan = self.result(0, *args, "571428.5714Hz")["plan"]
        self.assertTrue(plan["reference_fails"])
        text = self.expect(0, *args, "571428.5714Hz").stdout.decode()
        self.assertEqual(text.count("Sample at"), 1)
        again = self.result(0, *args, f"{plan['needed_sample_rate_hz']:.0f}Hz")
        self.assertTrue(again["plan"]["decidable"])

    def test_what_is_advised_is_not_spoiled_by_jitter(self):
        for expect, tolerance, rate, jitter, duration, more in [
                ("26MHz", "196ppm", "312MHz", "2ns", "793ns",
                 ["--timebase", "25ppm"]),
                ("2MHz", "-20.1ppm..5.54ppm", "12MHz", "22ns", "8.8us",
                 ["--coverage", "0.9"])]:
            args = ["plan", "capture", "--expect", expect,
                    f"--tolerance={tolerance}", "--sample-rate", rate,
                    "--jitter", jitter, "--duration", duration, *more]
            cures = self.result(0, *args)["plan"]["to_decide"]
            self.assertTrue(cures["less_jitter"])
            self.assertIsNone(cures["duration_s"])
            self.assertIn("divider", self.expect(0, *args).stdout.decode())
            self.assertIn("needs a divider",
                          self.expect(0, *args, "--quiet").stdout.decode())

    def test_a_rate_and_a_timebase_are_told_together(self):
        args = ["plan", "capture", "--expect", "2MHz", "--tolerance",
                "93.3ppm", "--duration", "222us", "--sample-rate"]
        cures = self.result(0, *args, "20.0075MHz", "--timebase",
                            "144ppm")["plan"]["to_decide"]
        self.assertFalse(cures["capture_alone"])
        then = self.result(0, *args, f"{cures['sample_rate_hz']:.0f}Hz",
                           "--timebase", f"{cures['timebase_ppm']}ppm")["plan"]
        self.assertTrue(then["decidable"])
        for more in ([], ["--quiet"]):
            text = self.expect(0, *args, "20.0075MHz", "--timebase", "144ppm",
                               *more).stdout.decode()
            self.assertIn("200 MHz", text)
            self.assertNotIn("only a better", text)

    def test_too_few_cycles_are_told_what_would_do(self):
        args = ["plan", "capture", "--expect", "24MHz", "--tolerance", "10ppm",
                "--sample-rate", "100MHz"]
        cures = self.result(0, *args, "--duration", "83ns")["plan"]["to_decide"]
        self.assertIsNotNone(cures["timebase_ppm"])
        then = self.result(0, *args, "--duration", f"{cures['duration_s']}s",
                           "--timebase", f"{cures['timebase_ppm']}ppm")["plan"]
        self.assertTrue(then["decidable"])

    def test_values_that_no_crystal_has_are_told(self):
        odd = "is no crystal's"
        for base in ([*LOAD, "--c0", "3pF"], DRIVE):
            for c1, told in [("0.1pF", True), ("0.1fF", True), ("8fF", False)]:
                text = self.expect(0, *base, "--c1", c1).stdout.decode()
                self.assertEqual(odd in " ".join(text.split()), told, c1)

    def test_the_margin_of_a_drive_is_the_board_s(self):
        args = [*DRIVE, "--gm", "5mA/V"]
        ideal = self.result(0, *args, "--series-resistor", "1kohm")["plan"]
        self.assertEqual(ideal["margin_of"], "ideal_amplifier")
        self.assertEqual(ideal["margin"], ideal["ideal_margin"])
        board = self.result(0, *args, "--series-resistor", "1kohm",
                            "--output-resistance", "2kohm")["plan"]
        self.assertEqual(board["margin_of"], "as_fitted")
        self.assertEqual(board["margin"], board["gain"]["as_fitted"]["margin"])
        self.assertEqual(board["ideal_margin"], ideal["margin"])
        self.assertLess(board["margin"], board["ideal_margin"])
        plan = self.result(0, *DRIVE)["plan"]
        self.assertIsNone(plan["margin"])
        self.assertIsNone(plan["margin_of"])

    def test_verify_decides_as_planned(self):
        timebase = ["--timebase", "2ppm"]
        plan = self.result(0, *CAPTURE, *timebase)["plan"]
        self.assertTrue(plan["decidable"])
        low, high = plan["sure_pass_band_ppm"]
        fail_low, fail_high = plan["sure_fail_band_ppm"]
        for ppm, code in [(low, 0), (high, 0), (0, 0), (fail_low, 1),
                          (fail_high, 1)]:
            path = str(self.folder / "board.csv")
            self.expect(0, "simulate", "--frequency", "750kHz",
                        "--ppm", f"{ppm:.6f}", "--sample-rate", "100MHz",
                        "--duration", f"{plan['duration_s'] * 1e6:.3f}us",
                        "--out", path)
            self.expect(code, "verify", "--expect", "24MHz / 2 / 16",
                        "--tolerance", "30ppm", *timebase, path)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
