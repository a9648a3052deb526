#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""batch_test.py CLOCKASSAY SCHEMA : many captures and one specification.

JUnit XML is read by junitparser, as CI readers do, and held against what those
readers agree on (common practice, no source): which elements and attributes
there are, and that the counts are those of the cases.
"""
import json
import os
import pathlib
import subprocess
import sys
import unittest
import xml.etree.ElementTree

import junitparser

import cli_test
from cli_test import CliCase

VERIFY = ["verify", "--expect", "750kHz", "--tolerance", "30ppm", "--timebase",
          "5ppm"]
KNOWN = {
    "testsuites": {"tests", "failures", "errors", "skipped"},
    "testsuite": {"name", "tests", "failures", "errors", "skipped"},
    "properties": set(),
    "property": {"name", "value"},
    "testcase": {"classname", "name"},
    "failure": {"type", "message"},
    "error": {"type", "message"},
    "skipped": {"message"},
}


class BatchCase(CliCase):
    def capture(self, name, ppm, seed=1, duration="20ms"):
        self.expect(0, "simulate", "--frequency", "750kHz", "--ppm", str(ppm),
                    "--sample-rate", "100MHz", "--duration", duration, "--seed",
                    str(seed), "--out", self.path(name))
        return self.path(name)

    def boards(self):
        """Good, near the limit, bad, no clock, no file."""
        return [self.capture("good.csv", 3), self.capture("near.csv", 28),
                self.capture("bad.csv", 70),
                self.put("empty.csv", "not a capture\n"),
                self.path("missing.csv")]

    def lines(self, text):
        return [self.validated(line) for line in text.splitlines()]


class Batches(BatchCase):
    def test_one_bad_capture_stops_none(self):
        done = self.expect(1, *VERIFY, *self.boards(), "--json", "-")
        result = self.validated(done.stdout.decode())
        self.assertEqual(result["summary"],
                         {"captures": 5, "pass": 1, "fail": 1, "undecided": 1,
                          "unusable": 2})
        self.assertEqual([v["decision"] for v in result["verdicts"]],
                         ["pass", "undecided", "fail"])
        self.assertEqual([e["code"] for e in result["errors"]],
                         ["bad_data", "no_input"])

    def test_exit_codes_by_precedence(self):
        good, near, bad, empty, missing = self.boards()
        self.expect(0, *VERIFY, good)
        self.expect(2, *VERIFY, good, near)
        self.expect(0, *VERIFY, good, near, "--allow-undecided")
        self.expect(65, *VERIFY, near, empty)
        self.expect(66, *VERIFY, near, missing)
        self.expect(1, *VERIFY, empty, missing, bad)

    def test_text_ends_with_a_summary(self):
        done = self.expect(1, *VERIFY, *self.boards())
        self.assertIn("5 captures: 1 pass, 1 fail, 1 undecided, 2 unusable",
                      done.stdout.decode())
        # What passes is a line; the others say why.
        self.assertEqual(done.stdout.decode().count("U is made of"), 2)

    def test_threads_change_nothing(self):
        names = [self.capture(f"c{i}.csv", i, i + 1, "2ms") for i in range(20)]
        results = [self.expect(0, *VERIFY, *names, "--json", "-", "--jobs",
                               str(jobs)).stdout for jobs in (1, 2, 7)]
        self.assertEqual(results[0], results[1])
        self.assertEqual(results[0], results[2])


class Lists(BatchCase):
    def test_a_list_of_paths(self):
        self.capture("a.csv", 1)
        self.capture("b.csv", 2)
        listing = self.put("list.txt", "# boards\n\na.csv\nb.csv\n")
        done = self.expect(0, *VERIFY, "--list", listing, "--json", "-")
        self.assertEqual(self.validated(done.stdout.decode())["summary"]["pass"], 2)

    def test_tags_are_kept(self):
        self.capture("a1.csv", 1)
        self.capture("a2.csv", 2)
        listing = self.put("list.json", json.dumps(
            [{"capture": "a1.csv", "tags": {"board": "1"}},
             {"capture": "a2.*"}]))
        done = self.expect(0, *VERIFY, "--list", listing, "--tag", "build=17",
                           "--tag", "board=none", "--json", "-")
        tags = [c["tags"] for c in self.validated(done.stdout.decode())["captures"]]
        self.assertEqual(tags, [{"board": "1", "build": "17"},
                                {"board": "none", "build": "17"}])

    def test_patterns(self):
        names = [self.capture(f"p{i}.csv", i, i + 1) for i in range(3)]
        done = self.expect(0, *VERIFY, self.path("p*.csv"), "--json", "-")
        paths = [c["path"] for c in self.validated(done.stdout.decode())["captures"]]
        self.assertEqual(paths, names)
        self.expect(66, *VERIFY, self.path("q*.csv"))
        self.expect(64, *VERIFY, names[0], self.path("p*.csv"))

    def test_a_wrong_list_is_refused(self):
        done = self.expect(78, *VERIFY, "--list",
                           self.put("x.json", '[{"tags": {}}]'))
        self.assertIn('/0: found no "capture"', done.stderr.decode())
        self.expect(66, *VERIFY, "--list", self.path("none.txt"))
        self.expect(64, *VERIFY, self.path("a"), "--tag", "board")


class JsonLines(BatchCase):
    def test_a_line_a_capture(self):
        out = self.path("lines.json")
        self.expect(1, *VERIFY, *self.boards(), "--json-lines", out)
        lines = self.lines(pathlib.Path(out).read_text(encoding="utf-8"))
        self.assertEqual(len(lines), 5)
        self.assertEqual([[v["decision"] for v in r["verdicts"]] for r in lines],
                         [["pass"], ["undecided"], ["fail"], [], []])
        self.assertEqual([len(r["errors"]) for r in lines], [0, 0, 0, 1, 1])
        self.assertEqual(self.leftovers(), [])

    def test_standard_output_is_taken(self):
        done = self.expect(1, *VERIFY, *self.boards(), "--json-lines", "-")
        self.assertEqual(len(self.lines(done.stdout.decode())), 5)
        self.expect(64, *VERIFY, *self.boards(), "--json-lines", "-", "--json",
                    "-")

    def test_nobody_listens(self):
        names = [self.capture(f"n{i}.csv", i, i + 1, "2ms") for i in range(40)]
        with subprocess.Popen([cli_test.PROGRAM, *VERIFY, *names,
                               "--json-lines", "-"], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE) as process:
            process.stdout.close()
            self.assertEqual(process.wait(), 74)
            self.assertEqual(process.stderr.read(), b"")

    def test_an_output_is_no_input(self):
        good = self.capture("good.csv", 3)
        before = pathlib.Path(good).read_bytes()
        for option in ("--json-lines", "--junit"):
            self.expect(64, *VERIFY, good, option, good)
            self.assertEqual(pathlib.Path(good).read_bytes(), before)


class Junit(BatchCase):
    def report(self, code, *args):
        out = self.path("report.xml.txt")
        self.expect(code, *VERIFY, *args, "--junit", out)
        root = xml.etree.ElementTree.parse(out).getroot()
        for element in root.iter():
            self.assertLessEqual(set(element.attrib), KNOWN[element.tag])
        for suite in [root, *root.iter("testsuite")]:
            cases = list(suite.iter("testcase"))
            self.assertEqual(int(suite.get("tests")), len(cases))
            for kind, count in (("failure", "failures"), ("error", "errors"),
                                ("skipped", "skipped")):
                self.assertEqual(int(suite.get(count)),
                                 len(list(suite.iter(kind))))
        return junitparser.JUnitXml.fromfile(out)

    def outcomes(self, report):
        found = {}
        for suite in report:
            for case in suite:
                kind = [type(r).__name__ for r in case.result] or ["Passed"]
                found[pathlib.Path(suite.name).name] = kind[0]
        return found

    def test_what_readers_make_of_it(self):
        boards = self.boards()
        report = self.report(1, *boards, "--tag", "build=17")
        self.assertEqual((report.tests, report.failures, report.errors), (5, 2, 2))
        self.assertEqual(self.outcomes(report),
                         {"good.csv": "Passed", "near.csv": "Failure",
                          "bad.csv": "Failure", "empty.csv": "Error",
                          "missing.csv": "Error"})
        suite = next(iter(report))
        self.assertEqual([(p.name, p.value) for p in suite.properties()],
                         [("build", "17")])

    def test_allowed_undecided_is_skipped(self):
        good, near = self.boards()[:2]
        report = self.report(0, good, near, "--allow-undecided")
        self.assertEqual(self.outcomes(report),
                         {"good.csv": "Passed", "near.csv": "Skipped"})

    def test_an_unreadable_specification_is_an_error(self):
        out = self.path("report.xml.txt")
        self.expect(78, "verify", self.boards()[0], "--spec",
                    self.put("s.json", "{}"), "--junit", out)
        report = junitparser.JUnitXml.fromfile(out)
        self.assertEqual(report.errors, 1)


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = map(os.path.abspath, sys.argv[1:3])
    unittest.main(argv=sys.argv[:1])
