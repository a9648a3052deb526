#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""vectors_claimed_test.py CLOCKASSAY SOURCE_DIR UNIT_TEST... : every value of
the vectors of testdata/oscillator, and every trap, is held against something.

The unit tests note what they assert; a row that nobody asserts fails here.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM, SOURCE, *UNIT_TESTS = sys.argv[1:]
VECTORS = pathlib.Path(SOURCE) / "testdata" / "oscillator"
# Trials by the hundred that know of no vector.
SLOW = "plans come as they say*"
# What no code here works out, and why; a test that asserts one has to take it
# from here.
TWO_WINDOWS = ("rms of two independent windows: where two edges decide, the "
               "clock is locked and they are not independent; the bound Ts/T "
               "is taken, which is L7's worst")
NOT_HERE = {
    "L2.period": TWO_WINDOWS,
    "L7a.two_edge": TWO_WINDOWS,
    "L7b.two_edge": TWO_WINDOWS,
    "W21.table": "measured drive of a board whose R1 is not given: nothing to "
                 "work it out from; its own note says not to assert it",
}


def values_to_claim():
    """"ID.VALUE" of every row, "ID" of every trap."""
    wanted = set()
    for path in sorted(VECTORS.glob("*-vectors.json")):
        tree = json.loads(path.read_text(encoding="utf-8"))
        for row in tree["vectors"]:
            wanted |= {row["id"] + "." + name for name in row["expected"]}
        wanted |= {trap["id"] for trap in tree.get("traps", [])}
    return wanted


class Vectors(unittest.TestCase):
    def claimed(self):
        claims = set()
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "claimed"
            for program in UNIT_TESTS:
                done = subprocess.run(
                    [program, "-tce=" + SLOW],
                    env={**os.environ, "CLOCKASSAY_VECTORS_CLAIMED": str(path)},
                    capture_output=True, text=True, check=False)
                self.assertEqual(done.returncode, 0, done.stdout)
            claims |= set(path.read_text(encoding="utf-8").split("\n"))
        return claims - {""}

    def esr_is_inferred_of_nothing(self):
        """Trap X14: sources conflict on which shape has the lower ESR."""
        done = subprocess.run(
            [PROGRAM, "plan", "drive", "--frequency", "16MHz", "--c0", "3pF",
             "--load", "12pF", "--c1", "8fF", "--gm", "5mA/V"],
            capture_output=True, text=True, check=False)
        self.assertEqual(done.returncode, 64)
        self.assertIn("--esr: is needed", done.stderr)
        return {"X14"}

    def test_every_value_is_claimed(self):
        wanted = values_to_claim()
        self.assertGreater(len(wanted), 100)
        claims = self.claimed() | self.esr_is_inferred_of_nothing()
        self.assertEqual(sorted(wanted - claims), sorted(NOT_HERE))
        # A claim of a row that is gone is a slip of its name.
        self.assertEqual(sorted(claims - wanted), [])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
