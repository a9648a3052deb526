#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""cli_test.py CLOCKASSAY SCHEMA : the program as a user or script meets it.

Captures come from `clockassay simulate` or are written here by hand; exit
codes and what goes where are compared with what the documentation promises.
Every JSON result is validated against the published schema.
"""
import gzip
import json
import math
import os
import pathlib
import pty
import re
import select
import subprocess
import sys
import tempfile
import time
import unicodedata
import unittest

PROGRAM = None
SCHEMA = None
VALIDATE = pathlib.Path(__file__).with_name("validate_json.py")

# A clock of 1 MHz sampled at 10 MHz, 2000 cycles, 3 ppm fast.
FREQUENCY = ["--frequency", "1MHz", "--sample-rate", "9.7MHz"]
GOOD_TIMEBASE = ["--timebase", "2ppm"]


class CliCase(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def path(self, name):
        return str(self.folder / name)

    def put(self, name, text):
        data = text if isinstance(text, bytes) else text.encode()
        (self.folder / name).write_bytes(data)
        return self.path(name)

    def run_program(self, *args, **kwargs):
        return subprocess.run([PROGRAM, *args], capture_output=True,
                              check=False, **kwargs)

    def expect(self, code, *args, **kwargs):
        done = self.run_program(*args, **kwargs)
        self.assertEqual(done.returncode, code,
                         (args, done.stdout, done.stderr))
        return done

    def simulate(self, name, *more):
        path = self.path(name)
        self.expect(0, "simulate", *FREQUENCY, "--duration", "200ms",
                    "--ppm", "3", "--out", path, *more)
        return path

    def validated(self, text):
        """The JSON text as a value, once the schema has seen it."""
        path = self.put("to-validate.json", text)
        done = subprocess.run(["/usr/bin/python3", VALIDATE, SCHEMA, path],
                              capture_output=True, text=True, check=False)
        self.assertEqual((done.returncode, done.stdout, done.stderr),
                         (0, "", ""))
        return json.loads(text)

    def leftovers(self):
        """Files no test asked for."""
        return sorted(p.name for p in self.folder.iterdir()
                      if p.suffix not in (".csv", ".vcd", ".json", ".txt"))


class HelpAndUsage(CliCase):
    def test_help_and_version_are_no_errors(self):
        for args in [["--help"], ["--version"], ["measure", "--help"],
                     ["verify", "--help"], ["simulate", "--help"]]:
            done = self.expect(0, *args)
            self.assertTrue(done.stdout.strip())
            self.assertEqual(done.stderr, b"")

    def test_usage_errors_are_64_and_name_the_nearest(self):
        done = self.expect(64, "mesure", "x.csv")
        self.assertEqual(
            done.stderr.decode(),
            'clockassay: unknown command "mesure"\n  did you mean measure?\n')
        done = self.expect(64, "measure", "--chanel", "a", "x.csv")
        self.assertEqual(
            done.stderr.decode(),
            'clockassay: unknown option "--chanel"\n'
            "  did you mean --channel?\n")
        self.expect(64)
        self.expect(64, "measure")
        self.expect(64, "measure", "-", "-")
        self.expect(64, "verify", "x.csv")
        self.expect(64, "measure", "--nonsense", "x.db", "x.csv")

    def test_rows_of_a_table_need_the_table(self):
        capture = self.simulate("a.csv")
        done = self.expect(64, "measure", "--tau", "1ms", capture)
        self.assertEqual(
            done.stderr.decode(),
            "clockassay: --tau: found no --stability beside it\n"
            "  --stability adds the table whose rows it chooses\n")
        self.expect(64, "verify", "--stability", "--expect", "1MHz",
                    "--tolerance", "30ppm", capture)
        plain = self.expect(0, "measure", capture).stdout.decode()
        table = self.expect(0, "measure", "--stability", capture).stdout.decode()
        self.assertNotIn("stability", plain)
        self.assertIn("\n  stability     Allan deviation", table)
        self.assertIn("\n  1.000 µs  ", table)
        self.assertLessEqual(max(map(len, table.splitlines())), 80)

    def test_a_bare_tolerance_is_refused(self):
        capture = self.simulate("a.csv")
        self.expect(64, "verify", "--expect", "1MHz", "--tolerance", "30",
                    capture)
        self.expect(64, "measure", "--timebase", "30", capture)

    def test_usage_errors_are_in_the_json_too(self):
        done = self.expect(64, "measure", "--bogus", "--json", "-", "x.csv")
        result = self.validated(done.stdout)
        self.assertEqual(result["errors"][0]["code"], "usage")
        self.assertEqual(result["errors"][0]["message"],
                         'unknown option "--bogus"')


class Verdicts(CliCase):
    def verify(self, code, tolerance, *more):
        capture = self.simulate("a.csv")
        return self.expect(code, "verify", "--expect", "1MHz", "--tolerance",
                           tolerance, *more, capture)

    def test_pass_is_0(self):
        done = self.verify(0, "30ppm", *GOOD_TIMEBASE)
        self.assertTrue(done.stdout.startswith(b"PASS  "), done.stdout)
        self.assertEqual(done.stderr, b"")

    def test_fail_is_1(self):
        done = self.verify(1, "-20ppm..0.5ppm", "--timebase", "1ppm")
        self.assertTrue(done.stdout.startswith(b"FAIL  "), done.stdout)

    def test_undecided_is_2_unless_allowed(self):
        done = self.verify(2, "30ppm")
        self.assertTrue(done.stdout.startswith(b"UNDECIDED  "), done.stdout)
        self.assertIn(b"timebase: assumed 100 ppm, not stated\n", done.stdout)
        self.verify(0, "30ppm", "--allow-undecided")

    def test_a_constant_or_missing_clock_is_a_fail(self):
        capture = self.put("constant.csv",
                           "time_s,clk,other\n0,0,0\n0.001,0,1\n0.002,0,0\n")
        for channel in ["clk", "missing"]:
            done = self.expect(1, "verify", "--expect", "1MHz", "--tolerance",
                               "30ppm", "--channel", channel, "--json", "-",
                               capture)
            verdict = self.validated(done.stdout)["verdicts"][0]
            self.assertEqual(verdict["decision"], "fail")
            self.assertIsNone(verdict["error_ppm"])

    def test_quiet_is_one_line_a_verdict(self):
        done = self.verify(0, "30ppm", *GOOD_TIMEBASE, "--quiet")
        lines = done.stdout.decode().splitlines()
        self.assertEqual(len(lines), 2)
        self.assertEqual(lines[1], "timebase: stated within ±2 ppm")

    def test_several_clocks_need_a_name(self):
        capture = self.put("two.csv", "time_s,a,b\n" + "".join(
            f"{i}e-6,{i % 2},{(i + 1) % 2}\n" for i in range(400)))
        ask = ["verify", "--expect", "500kHz", "--tolerance", "10%", "--json",
               "-", capture]
        done = self.expect(64, *ask)
        self.assertEqual(self.validated(done.stdout)["errors"][0]["code"],
                         "usage")
        done = self.run_program(*ask, "--channel", "a", "--channel", "b")
        self.assertNotEqual(done.returncode, 64, done.stderr)
        self.assertEqual(
            [v["channel"] for v in self.validated(done.stdout)["verdicts"]],
            ["a", "b"])


class Inputs(CliCase):
    def test_what_cannot_be_opened_is_66(self):
        done = self.expect(66, "measure", self.path("none.csv"))
        self.assertEqual(done.stderr.decode(),
                         f"clockassay: {self.path('none.csv')}: cannot open: "
                         "No such file or directory\n"
                         "  a relative path begins at the working folder\n")
        done = self.expect(66, "measure", str(self.folder))
        self.assertIn(b"it is a directory", done.stderr)

    def test_what_cannot_be_used_is_65_with_its_place(self):
        capture = self.put("bad.csv", "time_s,clk\n0,0\n1e-6,1\nxyz,0\n")
        done = self.expect(65, "measure", "--json", "-", capture)
        self.assertIn(f"clockassay: {capture}:4: ".encode(), done.stderr)
        error = self.validated(done.stdout)["errors"][0]
        self.assertEqual((error["code"], error["path"], error["line"]),
                         ("bad_data", capture, 4))
        self.expect(65, "measure", self.put("empty.csv", ""))

    def test_in_a_batch_the_others_are_judged(self):
        good = self.simulate("good.csv")
        bad = self.put("bad.csv", "time_s,clk\n0,0\nxyz,0\n")
        none = self.path("none.csv")
        ask = ["verify", "--expect", "1MHz", *GOOD_TIMEBASE, "--json", "-"]
        done = self.expect(65, *ask, "--tolerance", "30ppm", bad, none, good)
        result = self.validated(done.stdout)
        self.assertEqual([e["code"] for e in result["errors"]],
                         ["bad_data", "no_input"])
        self.assertEqual([v["decision"] for v in result["verdicts"]], ["pass"])
        self.expect(66, *ask, "--tolerance", "30ppm", none, bad, good)
        # A fail outranks an unusable capture, that outranks undecided.
        self.expect(1, *ask, "--tolerance", "-30ppm..-20ppm", bad, good)
        self.expect(65, *ask, "--tolerance", "3ppm", bad, good)

    def test_standard_input_is_a_capture(self):
        capture = self.simulate("a.csv")
        with open(capture, "rb") as file:
            done = self.expect(0, "measure", "--json", "-", "-", stdin=file)
        piped = self.validated(done.stdout)
        self.assertEqual(piped["captures"][0]["path"], "-")
        done = self.expect(0, "measure", "--json", "-", capture)
        direct = self.validated(done.stdout)
        self.assertEqual(piped["captures"][0]["channels"],
                         direct["captures"][0]["channels"])

    def test_a_fault_in_a_pipe_that_stays_open_is_said_at_once(self):
        """Whoever reads ahead is waiting for bytes by then: there are more than
        the pieces that are parsed at once, and less than are read ahead."""
        good = b"".join(b"%de-6,%d\n" % (i, i % 2) for i in range(40000))
        more = b"40000e-6,0\n" * 300_000
        text = b"time_s,clk\n" + good + b"xyz,0\n" + more
        for jobs, pieces in ((1, 5), (2, 8), (4, 16)):
            with subprocess.Popen(
                    [PROGRAM, "measure", "--json", "-", "--jobs", str(jobs),
                     "-"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL) as program:
                try:
                    program.stdin.write(text[:(pieces + 3) << 17])
                    program.stdin.flush()
                except BrokenPipeError:
                    pass  # it has seen enough
                # Without an end it would wait here for good.
                program.wait(timeout=60)
                error = self.validated(program.stdout.read())["errors"][0]
            self.assertEqual((program.returncode, error["line"]), (65, 40002))

    def test_a_closed_standard_input_is_an_error(self):
        done = self.run_program("measure", "-",
                                preexec_fn=lambda: os.close(0))
        self.assertIn(done.returncode, (66, 74))

    def test_a_wrong_specification_is_78(self):
        capture = self.simulate("a.csv")
        spec = self.put("spec.json", '{"clocks": [{"name": "a", "expect": '
                                     '"1MHz", "tolerence": "30ppm"}]}')
        done = self.expect(78, "verify", "--spec", spec, "--json", "-",
                           capture)
        error = self.validated(done.stdout)["errors"][0]
        self.assertEqual((error["code"], error["path"]),
                         ("bad_specification", spec))
        self.assertIn("tolerance", error["message"] + (error["hint"] or ""))
        self.expect(66, "verify", "--spec", self.path("none.json"), capture)

    def test_a_time_for_settling_allows_what_changes_before_it(self):
        # 1.0137 MHz, 60 ppm fast for the first 40 of 100 ms, seen every 100 ns.
        stamps, at = [], 0.0
        while at < 0.1:
            stamps.append(math.ceil(at / 1e-7))
            at += 0.5 / 1.0137e6 / (1.00006 if at < 0.04 else 1.0)
        rows = "".join(f"{stamp}e-7,{(index + 1) % 2}\n"
                       for index, stamp in enumerate(stamps))
        capture = self.put("step.csv", "time (s),clk\n" + rows)
        # exit code, time for settling; the decision of its check
        for code, settle, decision in ((0, "50ms", "pass"),
                                       (1, "20ms", "fail"),
                                       (2, "200ms", None), (2, None, None)):
            clock = {"channel": "clk", "expect": "1.0137MHz",
                     "tolerance": "30ppm"}
            if settle:
                clock["settle_within"] = settle
            spec = self.put("spec.json", json.dumps({"clocks": [clock]}))
            done = self.expect(code, "verify", "--spec", spec, "--sample-rate",
                               "10MHz", *GOOD_TIMEBASE, "--json", "-",
                               capture)
            result = self.validated(done.stdout)
            checks = {check["check"]: check
                      for check in result["verdicts"][0]["checks"]}
            self.assertEqual("settling" in checks, decision is not None)
            if decision:
                self.assertEqual(checks["settling"]["decision"], decision)
                self.assertAlmostEqual(checks["settling"]["value"], 0.04,
                                       delta=0.002)
            breaks = [stretch["begins_after"] for stretch in
                      result["captures"][0]["channels"][0]["stretches"]]
            self.assertIn("frequency_step", breaks)

    def test_a_specification_judges(self):
        capture = self.simulate("a.csv", "--channel", "clk_out")
        spec = self.put("spec.json", '{"title": "bench", "clocks": [{"name": '
                                     '"out", "channel": "clk_out", "expect": '
                                     '"2MHz / 2", "tolerance": "30ppm"}]}')
        done = self.expect(0, "verify", "--spec", spec, *GOOD_TIMEBASE,
                           "--json", "-", capture)
        result = self.validated(done.stdout)
        self.assertEqual(result["title"], "bench")
        verdict = result["verdicts"][0]
        self.assertEqual((verdict["clock"], verdict["expected"]),
                         ("out", "1000000"))
        # 2 MHz is 3 ppm fast, so is the source that is implied.
        self.assertAlmostEqual(verdict["implied_source_hz"], 2000006, delta=4)

    def test_strict_refuses_what_departs_from_the_grammar(self):
        capture = self.simulate("a.vcd")
        cut = self.put("cut.vcd", pathlib.Path(capture).read_text()
                       .replace("$enddefinitions $end", ""))
        lenient = self.run_program("measure", cut)
        strict = self.run_program("measure", "--strict", cut)
        self.assertEqual(strict.returncode, 65, strict.stderr)
        self.assertIn(lenient.returncode, (0, 65))
        self.expect(0, "measure", "--strict", capture)

    def test_the_kernels_change_nothing(self):
        path = self.simulate("kernels.vcd", "--jitter", "3ns")
        results = []
        for kernels in ("plain", "avx2", "avx512", ""):
            environment = {**os.environ, "CLOCKASSAY_KERNELS": kernels}
            done = self.expect(0, "measure", path, "--json", "-",
                               env=environment)
            results.append(done.stdout)
        self.assertEqual(len(set(results)), 1)
        done = self.expect(64, "measure", path,
                           env={**os.environ, "CLOCKASSAY_KERNELS": "fast"})
        self.assertIn(b"found 'fast', expected plain, avx2 or avx512", done.stderr)

    def test_a_packed_file_where_its_library_is_missing(self):
        path = self.simulate("packed.vcd")
        packed = path + ".gz"
        pathlib.Path(packed).write_bytes(
            gzip.compress(pathlib.Path(path).read_bytes()))
        self.expect(0, "measure", packed)
        libraries = pathlib.Path(self.folder, "libraries")
        libraries.mkdir()
        (libraries / "libisal.so.2").write_bytes(b"no library")
        done = self.expect(66, "measure", packed, env={
            **os.environ, "LD_LIBRARY_PATH": str(libraries)})
        self.assertIn(b"found gzip data but no libisal.so.2, expected the "
                      b"library that unpacks them", done.stderr)

    def test_the_number_of_threads_changes_nothing(self):
        capture = self.simulate("a.vcd", "--jitter", "5ns")
        results = {self.expect(0, "measure", "--json", "-", "--jobs", str(jobs),
                               capture).stdout for jobs in (1, 2, 5)}
        self.assertEqual(len(results), 1)


class Outputs(CliCase):
    def test_requirements_are_listed_and_found_by_their_id(self):
        rows = self.validated(
            self.expect(0, "requirements", "--json", "-").stdout)
        listed = [row["id"] for row in rows["requirements"]]
        self.assertEqual(len(listed), len(set(listed)))
        for row in rows["requirements"]:
            # What rests on memory or on our own derivation never decides.
            if row["known_by"] in ("memory", "derived"):
                self.assertFalse(row["may_decide"], row["id"])
        text = self.expect(0, "requirements").stdout.decode()
        for line in text.splitlines():
            self.assertLessEqual(len(line), 80, line)
        for name in listed:
            self.assertIn(name, text)
        # USB 2.0, 7.1.11: 12 Mb/s within 0.25 %.
        one = self.validated(self.expect(
            0, "requirements", "usb-fs-device", "--json", "-").stdout)
        self.assertEqual([(row["nominal_hz"], row["low_ppm"], row["high_ppm"])
                          for row in one["requirements"]],
                         [(12000000, -2500, 2500)])
        done = self.expect(64, "requirements", "usb-fs-devise")
        self.assertIn(b"did you mean usb-fs-device?", done.stderr)
        self.assertEqual(done.stdout, b"")

    def test_a_uart_link_is_judged_with_its_divisor(self):
        capture = self.simulate("a.csv")
        link = ("uart,clock=16MHz,baud=%d,oversampling=16,frame_bits=10,"
                "far_end=1%%")
        verify = ("verify", "--expect", "1MHz", "--tolerance", "100ppm",
                  "--timebase", "2ppm", capture, "--requirement")
        # 16 MHz / 16 / 104 is 9615 Bd, 0.16 % off.
        self.expect(0, *verify, link % 9600)
        # 16 MHz / 16 / 9 is 111 111 Bd, 3.5 % off: a good crystal is no help.
        done = self.expect(1, *verify, link % 115200)
        self.assertIn(b"divisor 9 off by", done.stdout)
        done = self.expect(64, *verify, "uart,clock=16MHz")
        self.assertIn(b'parameter "baud" is missing', done.stderr)

    def test_json_is_alone_on_standard_output(self):
        capture = self.simulate("a.csv")
        done = self.expect(0, "measure", "--json", "-", capture)
        self.validated(done.stdout)
        self.assertEqual(done.stderr, b"")

    def test_json_beside_the_text(self):
        capture = self.simulate("a.csv")
        done = self.expect(0, "measure", "--json", self.path("r.json"), capture)
        self.assertIn(b"not a calibration certificate", done.stdout)
        result = self.validated((self.folder / "r.json").read_bytes())
        self.assertEqual(result["schema"], "clockassay/1")
        frequency = result["captures"][0]["channels"][0]["frequency"]
        # 1 MHz, 3 ppm fast; the assumed timebase is exact in a simulation.
        self.assertAlmostEqual(frequency["value_hz"], 1000003, delta=2)
        self.assertEqual(self.leftovers(), [])

    def test_links_and_modes_stay(self):
        capture = self.simulate("a.csv")
        target = self.put("target.json", "old")
        os.chmod(target, 0o640)
        os.symlink("target.json", self.path("link.json"))
        self.expect(0, "measure", "--json", self.path("link.json"), capture)
        self.assertTrue(os.path.islink(self.path("link.json")))
        self.validated((self.folder / "target.json").read_bytes())
        self.assertEqual(os.stat(target).st_mode & 0o7777, 0o640)

    def test_an_output_that_cannot_be_created_is_73(self):
        capture = self.simulate("a.csv")
        done = self.expect(73, "measure", "--json", self.path("no/r.json"),
                           capture)
        self.assertIn(b"cannot create", done.stderr)
        # The text is still there.
        self.assertIn(b"not a calibration certificate", done.stdout)
        self.expect(73, "measure", "--json", str(self.folder), capture)

    def test_a_full_disk_is_74_and_leaves_nothing(self):
        capture = self.simulate("a.csv")
        done = self.expect(74, "measure", "--json", "/dev/full", capture)
        self.assertIn(b"/dev/full: cannot write: No space left on device",
                      done.stderr)
        with open("/dev/full", "wb") as full:
            for args in [["measure", capture], ["--help"],
                         ["measure", "--json", "-", capture]]:
                done = subprocess.run([PROGRAM, *args], stdout=full,
                                      stderr=subprocess.PIPE, check=False)
                self.assertEqual(done.returncode, 74, args)
                self.assertIn(b"standard output: cannot write", done.stderr)
        self.expect(74, "simulate", *FREQUENCY, "--cycles", "10", "--format",
                    "csv", "--out", "/dev/full")
        self.assertEqual(self.leftovers(), [])

    def test_a_file_size_limit_leaves_the_old_file(self):
        import resource  # not on every system Python runs on
        old = self.put("big.csv", "old")

        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (10000, 10000))
            # Else the signal ends the program before the write fails.
            import signal
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

        self.expect(74, "simulate", *FREQUENCY, "--cycles", "100000", "--out",
                    old, preexec_fn=limit)
        self.assertEqual((self.folder / "big.csv").read_text(), "old")
        self.assertEqual(self.leftovers(), [])

    def test_standard_output_that_nobody_reads_ends_quietly_with_74(self):
        capture = self.simulate("a.csv")
        read_end, write_end = os.pipe()
        os.close(read_end)
        done = subprocess.run([PROGRAM, "measure", capture], stdout=write_end,
                              stderr=subprocess.PIPE, check=False)
        os.close(write_end)
        self.assertEqual((done.returncode, done.stderr), (74, b""))
        done = subprocess.run([PROGRAM, "measure", capture],
                              stderr=subprocess.PIPE, check=False,
                              preexec_fn=lambda: os.close(1))
        self.assertEqual((done.returncode, done.stderr), (74, b""))

    def test_a_closed_standard_output_never_ends_up_in_a_file(self):
        capture = self.simulate("a.csv")
        subprocess.run([PROGRAM, "measure", "--json", self.path("r.json"),
                        capture], stderr=subprocess.PIPE, check=False,
                       preexec_fn=lambda: os.close(1))
        self.validated((self.folder / "r.json").read_bytes())

    def test_descriptors_and_pipes_are_written_directly(self):
        capture = self.simulate("a.csv")
        done = self.expect(0, "measure", "--quiet", "--json", "/dev/stdout",
                           capture)
        end = done.stdout.rindex(b"}") + 1
        self.validated(done.stdout[:end])
        self.assertIn(b"timebase: assumed", done.stdout[end:])
        # To a file, where opening it anew would overwrite.
        with open(self.path("both.txt"), "wb") as file:
            subprocess.run([PROGRAM, "measure", "--quiet", "--json",
                            "/dev/stdout", capture], stdout=file, check=True)
        self.assertEqual((self.folder / "both.txt").read_bytes(), done.stdout)

    def test_an_output_that_is_an_input_is_refused(self):
        capture = self.simulate("a.csv")
        before = pathlib.Path(capture).read_bytes()
        os.symlink("a.csv", self.path("link.csv"))
        os.link(capture, self.path("hard.csv"))
        for output in ["a.csv", "link.csv", "hard.csv", "./a.csv"]:
            done = self.expect(64, "measure", "--json", self.path(output),
                               capture)
            self.assertIn(b"the output is also an input", done.stderr)
        spec = self.put("spec.json", "{}")
        self.expect(64, "verify", "--spec", spec, "--json", spec, capture)
        self.expect(64, "simulate", *FREQUENCY, "--cycles", "9", "--out",
                    capture, "--truth", self.path("link.csv"))
        self.assertEqual(pathlib.Path(capture).read_bytes(), before)
        self.assertEqual((self.folder / "spec.json").read_text(), "{}")

    def test_colour_only_where_it_is_wanted(self):
        capture = self.simulate("a.csv")
        ask = ["verify", "--expect", "1MHz", "--tolerance", "30ppm",
               *GOOD_TIMEBASE, capture]
        self.assertNotIn(b"\x1b", self.expect(0, *ask).stdout)
        done = self.expect(0, *ask, "--color", "always")
        self.assertTrue(done.stdout.startswith(b"\x1b[1;32mPASS\x1b[0m"))


class Compressed(CliCase):
    """Packed by Python's own library, a second writer."""

    def results(self, *args, **kwargs):
        done = self.expect(0, "measure", "--json", "-", *args, **kwargs)
        capture = self.validated(done.stdout)["captures"][0]
        return capture, capture.pop("path")

    def test_a_compressed_capture_says_the_same(self):
        plain = self.simulate("a.csv", "--jitter", "5ns")
        text = pathlib.Path(plain).read_bytes()
        expected, _ = self.results(plain)
        half = len(text) // 2
        packed = {
            "a.csv.gz": gzip.compress(text),
            # Whatever its name, in parts, with padding.
            "misnamed.csv": gzip.compress(text[:half], 1)
                            + gzip.compress(text[half:]) + bytes(512),
        }
        for name, data in packed.items():
            path = self.put(name, data)
            for arguments in [[path], ["-"], [path, "--jobs", "3"]]:
                with open(path, "rb") as file:
                    got, _ = self.results(*arguments, stdin=file)
                self.assertEqual(got.pop("compression"), "gzip")
                self.assertEqual(got.pop("compressed_bytes"), len(data))
                self.assertEqual(got, expected)

    def test_damage_never_passes(self):
        text = pathlib.Path(self.simulate("a.csv")).read_bytes()
        packed = gzip.compress(text)
        ask = ["verify", "--expect", "1MHz", "--tolerance", "30ppm",
               *GOOD_TIMEBASE, "--json", "-"]
        self.expect(0, *ask, self.put("good.gz", packed))
        middle = len(packed) // 2
        damaged = {
            "cut.gz": packed[:-1],
            "half.gz": packed[:middle],
            "length.gz": packed[:-1] + bytes([packed[-1] ^ 1]),
            "more.gz": packed + b"more",
            "middle.gz": packed[:middle] + b"\0\0\0\0" + packed[middle + 4:],
        }
        for name, data in damaged.items():
            path = self.put(name, data)
            done = self.expect(65, *ask, path)
            result = self.validated(done.stdout)
            self.assertEqual((result["captures"], result["verdicts"]), ([], []))
            error = result["errors"][0]
            self.assertEqual((error["code"], error["path"], error["line"]),
                             ("bad_data", path, None))
            self.assertLessEqual(error["byte"], len(data))
            self.assertIn("gzip data", error["message"])
            self.assertIn(f"{path}: byte {error['byte']}: ".encode(),
                          done.stderr)
        error = self.validated(
            self.expect(65, *ask, self.path("cut.gz")).stdout)["errors"][0]
        self.assertEqual(
            (error["byte"], error["message"]),
            (len(packed) - 1, "found the end of the file inside gzip data, "
                              "expected its end"))

    def test_text_that_makes_no_sense_is_said_with_its_line(self):
        path = self.put("bad.gz", gzip.compress(
            b"time_s,clk\n0,0\n1e-6,1\nxyz,0\n"))
        done = self.expect(65, "measure", "--json", "-", path)
        error = self.validated(done.stdout)["errors"][0]
        self.assertEqual((error["line"], error["path"]), (4, path))

    def test_an_empty_compressed_file_is_an_empty_capture(self):
        done = self.expect(65, "measure",
                           self.put("empty.gz", gzip.compress(b"")))
        self.assertIn(b"found an empty file, expected a capture", done.stderr)


class Explain(CliCase):
    def test_how_a_capture_was_read_comes_before_the_result(self):
        capture = self.simulate("a.csv")
        plain = self.expect(0, "measure", capture).stdout.decode()
        done = self.expect(0, "measure", "--explain", capture)
        text = done.stdout.decode()
        self.assertTrue(text.startswith(f"how {capture} was read\n"), text)
        self.assertIn("\n  format        csv (by its content)\n", text)
        self.assertTrue(text.endswith("\n\n" + plain), text)
        done = self.expect(0, "measure", "--explain", "--json", "-", capture)
        understood = self.validated(done.stdout)["captures"][0]["understanding"]
        self.assertIn({"topic": "format", "found": "csv",
                       "because": "by its content"}, understood["facts"])
        done = self.expect(0, "measure", "--json", "-", capture)
        self.assertNotIn("understanding",
                         self.validated(done.stdout)["captures"][0])

    def test_an_option_that_a_vcd_file_does_not_need_is_said(self):
        capture = self.simulate("a.vcd")
        done = self.expect(0, "measure", "--explain", "--time-unit", "us",
                           capture)
        self.assertIn(b"--time-unit   not used (a VCD file says this itself)",
                      done.stdout)
        self.assertEqual(done.stderr, b"")
        self.expect(64, "measure", "--format", "vcd", "--time-unit", "us",
                    capture)

    def test_what_was_understood_before_a_refusal_is_shown(self):
        text = pathlib.Path(self.simulate("a.csv")).read_bytes()
        path = self.put("cut.gz", gzip.compress(text)[:-1])
        done = self.expect(65, "measure", "--explain", path)
        self.assertIn(b" was read before it was refused\n  compression   gzip, ",
                      done.stdout)
        done = self.expect(65, "measure", "--explain", "--json", "-", path)
        refused = self.validated(done.stdout)["refused_captures"]
        self.assertEqual(refused[0]["path"], path)
        self.assertEqual(refused[0]["understanding"]["facts"][0]["topic"],
                         "compression")


class Batches(CliCase):
    def test_a_line_of_a_batch_names_its_file(self):
        captures = [self.simulate("a.csv"), self.simulate("b.vcd")]
        done = self.expect(0, "verify", "--expect", "1MHz", "--tolerance",
                           "30ppm", "--quiet", *GOOD_TIMEBASE, *captures)
        lines = done.stdout.decode().splitlines()
        passes = [" ".join(lines).count("PASS")]
        self.assertEqual(passes, [2])
        for capture in captures:
            self.assertIn(f"PASS  1MHz, {capture}", done.stdout.decode()
                          .replace("\n      ", " "))

    def test_after_two_dashes_everything_is_a_capture(self):
        text = pathlib.Path(self.simulate("a.csv")).read_bytes()
        self.put("--json", text)
        done = self.run_program("measure", "--quiet", "--", "--json",
                                cwd=self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        self.assertTrue(done.stdout.startswith(b"clk  1.000 "), done.stdout)


def latin(text):
    return text.encode("latin-1")


# Names as files hold them: Latin-1, UTF-8, what acts on terminals and in pages.
HOSTILE = [
    "Größe_µ".encode(), latin("Gr\xf6\xdfe"), b"\xff\xfe\x80", b"cut\xc3",
    b"\x1b[31mred\x1b[0m", b"\x1b]0;title\x07", b"\xc2\x9b2J", b"\x9b2J",
    "\u202eevil\u2066".encode(), "zero\u200bwidth\ufeff".encode(),
    b"<script>alert(1)</script>", b"\\xF6", b"\\x1B[2J", b"\\", b"'&amp;",
    b"\x7f", b"\x08\x08\x08", "\U000e0041tag".encode(), b"x" * 100_000,
    b"\xe9" * 3_000_000,
]


class Hostile(CliCase):
    def check_output(self, done, limit):
        for stream in (done.stdout, done.stderr):
            self.assertLess(len(stream), limit)
            for character in set(stream.decode("utf-8")) - {"\n"}:
                self.assertNotIn(unicodedata.category(character)[0], "C",
                                 hex(ord(character)))
                self.assertNotIn(character, "\u2028\u2029\u00a0")

    @staticmethod
    def raw(text):
        """The bytes of a name in JSON, as the schema says."""
        return re.sub(rb"\\x([0-9A-F]{2})",
                      lambda m: bytes([int(m[1], 16)]), text.encode())

    def captures(self, name):
        csv = pathlib.Path(self.path("truth.csv")).read_bytes()
        vcd = pathlib.Path(self.path("truth.vcd")).read_bytes()
        csv = csv.replace(b",clk\n", b"," + name + b"\n", 1)
        vcd = re.sub(rb"( \S+ )clk( \$end)",
                     lambda m: m[1] + name + m[2], vcd, count=1)
        for suffix, data in [(b".csv", csv), (b".vcd", vcd),
                             (b".broken.csv", csv + name + b"," + name + b"\n"),
                             (b".broken.vcd", vcd + b"\n" + name + b"\n")]:
            short = name[:40].replace(b"/", b"_")
            path = os.path.join(os.fsencode(self.folder), short + suffix)
            with open(path, "wb") as file:
                file.write(data)
            yield path

    def test_nothing_in_a_file_or_its_name_acts_or_is_lost(self):
        for suffix in [".csv", ".vcd"]:
            self.expect(0, "simulate", *FREQUENCY, "--cycles", "300", "--out",
                        self.path("truth" + suffix))
        ask = ["verify", "--expect", "1MHz", "--tolerance", "1%"]
        kept = 0
        for name in HOSTILE:
            channel = [b"--channel", name] if len(name) < 1000 else []
            for path in self.captures(name):
                for args in [["measure", "--explain"], [*ask],
                             [*ask, *channel], ["measure", *channel],
                             ["measure", "--strict", "--quiet"]]:
                    done = self.run_program(*args, path)
                    self.assertIn(done.returncode, (0, 1, 2, 64, 65))
                    self.check_output(done, 20_000)
                done = self.run_program("measure", "--explain", "--json", "-",
                                        path)
                self.assertTrue(done.stdout.isascii())
                # The schema is seen once; it would take most of the time.
                result = (json.loads(done.stdout) if kept
                          else self.validated(done.stdout))
                for capture in result["captures"]:
                    self.assertEqual(self.raw(capture["path"]), path)
                    found = self.raw(capture["channels"][0]["name"])
                    # A VCD file puts the scope before the name.
                    self.assertTrue(found.endswith(name), found[:100])
                    kept += 1
                for error in result["errors"]:
                    self.assertEqual(self.raw(error["path"]), path)
        # Some names end a header; most do not.
        self.assertGreater(kept, len(HOSTILE))


class Progress(CliCase):
    CHUNK = 500

    def run_on_terminal(self, *more, chunks=None):
        """Feeds a capture through a pipe, standard error being a terminal,
        until something is shown there, or for so many chunks.
        Returns what was shown, the chunks fed, the exit code."""
        master, slave = pty.openpty()
        self.addCleanup(os.close, master)
        with open(self.path("out.json"), "wb") as out, \
                subprocess.Popen([PROGRAM, "measure", "--json", "-", *more, "-"],
                                 stdin=subprocess.PIPE, stdout=out,
                                 stderr=slave) as program:
            os.close(slave)
            shown = b""
            fed = 0
            program.stdin.write(b"time_s,clk\n")
            # Bounded, so that a failure ends; it takes a few dozen.
            while fed < (chunks or 3000) and (chunks or not shown):
                first = fed * self.CHUNK
                program.stdin.write("".join(
                    f"{i}e-6,{i % 2}\n"
                    for i in range(first, first + self.CHUNK)).encode())
                program.stdin.flush()
                fed += 1
                time.sleep(0.02)
                if select.select([master], [], [], 0)[0]:
                    shown += os.read(master, 65536)
            program.stdin.close()
            code = program.wait()
        try:
            while select.select([master], [], [], 0)[0]:
                more_shown = os.read(master, 65536)
                if not more_shown:
                    break
                shown += more_shown
        except OSError:
            pass  # how a terminal without a writer ends
        return shown, fed, code

    def test_progress_is_one_line_and_gone_at_the_end(self):
        shown, fed, code = self.run_on_terminal()
        self.assertEqual(code, 0)
        self.assertRegex(shown, rb"^\rstandard input  [0-9.]+ k?B  "
                                rb"[0-9.]+ k?B/s")
        self.assertNotIn(b"\n", shown)
        # Rewritten in place, and blank at last.
        self.assertRegex(shown, rb"\r +\r$")
        self.validated((self.folder / "out.json").read_bytes())
        for option in ["--no-progress", "--quiet"]:
            shown, _, code = self.run_on_terminal(option, chunks=fed)
            self.assertEqual((shown, code), (b"", 0))


class Simulate(CliCase):
    def test_the_truth_is_told_and_found_again(self):
        for name in ["a.csv", "a.vcd"]:
            capture = self.simulate(name, "--truth", self.path("truth.json"))
            truth = json.loads((self.folder / "truth.json").read_text())
            self.assertEqual(truth["frequency_exact_hz"], "1000003")
            self.assertEqual(truth["frequency_hz"], 1000003.0)
            done = self.expect(0, "measure", "--timebase", "1ppb", "--json",
                               "-", capture)
            channel = self.validated(done.stdout)["captures"][0]["channels"][0]
            frequency = channel["frequency"]
            self.assertLess(
                abs(frequency["value_hz"] - truth["frequency_hz"]),
                frequency["expanded_uncertainty_hz"])

    def test_the_same_seed_gives_the_same_bytes(self):
        more = ["--jitter", "2ns", "--drop", "0.01", "--seed", "5"]
        first = pathlib.Path(self.simulate("a.csv", *more)).read_bytes()
        again = pathlib.Path(self.simulate("b.csv", *more)).read_bytes()
        self.assertEqual(first, again)
        more[-1] = "6"
        other = pathlib.Path(self.simulate("c.csv", *more)).read_bytes()
        self.assertNotEqual(first, other)

    def test_what_no_sampler_can_do_is_64_and_writes_nothing(self):
        self.expect(64, "simulate", "--frequency", "1MHz", "--sample-rate",
                    "1.5MHz", "--cycles", "10", "--out", self.path("a.csv"))
        self.assertEqual(list(self.folder.iterdir()), [])


if __name__ == "__main__":
    PROGRAM = sys.argv.pop(1)
    SCHEMA = sys.argv.pop(1)
    unittest.main()
