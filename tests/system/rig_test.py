#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""rig_test.py CLOCKASSAY EXAMPLE ROOT : what docs/rig.md shows does what it says.

The pytest example is taken out of the page and run on captures of the demo; the
C++ example is the program it names, EXAMPLE.
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

PROGRAM = EXAMPLE = ROOT = None


class Rig(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        (self.folder / "bin").mkdir()
        (self.folder / "bin/clockassay").symlink_to(PROGRAM)
        (self.folder / "captures").mkdir()
        demo = ROOT / "testdata/demo"
        shutil.copy(demo / "logger.json", self.folder / "board.json")
        for name in ("good-board.vcd", "wrong-load.vcd"):
            shutil.copy(demo / name, self.folder / "captures")

    def run_in(self, *command):
        path = f"{self.folder / 'bin'}:{os.environ['PATH']}"
        return subprocess.run(command, cwd=self.folder, capture_output=True,
                              text=True, check=False,
                              env={**os.environ, "PATH": path})

    def test_the_pytest_example(self):
        page = (ROOT / "docs/rig.md").read_text(encoding="utf-8")
        example, = re.findall(r"```python\n(.*?)```", page, re.DOTALL)
        (self.folder / "test_clocks.py").write_text(example, encoding="utf-8")
        done = self.run_in("/usr/bin/python3", "-m", "pytest", "-q", "-p",
                           "no:cacheprovider", "--junitxml", "out.xml")
        cases = {c.get("name"): c.find("failure") is None for c in
                 xml.etree.ElementTree.parse(self.folder / "out.xml").iter(
                     "testcase")}
        self.assertEqual(cases, {"test_clocks[good-board.vcd]": True,
                                 "test_clocks[wrong-load.vcd]": False},
                         done.stdout)
        self.assertIn("The clock runs 60.0 ppm fast", done.stdout)

    def test_the_job(self):
        page = (ROOT / "docs/rig.md").read_text(encoding="utf-8")
        instrument, = re.findall(r'^    (\{ "timebase".*\})$', page, re.MULTILINE)
        (self.folder / "bench.json").write_text(instrument, encoding="utf-8")
        job, = re.findall(r"^(    clockassay verify captures.*?)\n\n", page,
                          re.DOTALL | re.MULTILINE)
        job = job.replace("*.csv", "*.vcd")
        done = self.run_in("sh", "-c", f"BUILD=1 BOARD=7; {job}")
        self.assertEqual(done.returncode, 1, done.stderr)
        self.assertTrue((self.folder / "clocks.xml").exists())
        history = self.run_in("clockassay", "trend", "--store", "results.db",
                              "--quiet")
        self.assertIn("board 7", history.stdout)

    def test_the_library_example(self):
        for name, code in (("good-board.vcd", 0), ("wrong-load.vcd", 1)):
            done = self.run_in(EXAMPLE, "board.json", f"captures/{name}", "2ppm")
            program = self.run_in("clockassay", "verify", f"captures/{name}",
                                  "--spec", "board.json", "--timebase", "2ppm")
            self.assertEqual(done.returncode, code, done.stderr)
            self.assertEqual(program.returncode, code)


if __name__ == "__main__":
    PROGRAM, EXAMPLE = map(os.path.abspath, sys.argv[1:3])
    ROOT = pathlib.Path(sys.argv[3]).resolve()
    unittest.main(argv=sys.argv[:1])
