#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""watch_test.py CLOCKASSAY SCHEMA : a folder in which captures turn up.

What is judged is read from the lines the watcher keeps; it is killed and
started again, and no capture may be there twice or not at all.
"""
import json
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import time
import unittest

import cli_test
from cli_test import CliCase

EXPECT = ["verify", "--expect", "750kHz", "--tolerance", "30ppm", "--timebase",
          "5ppm"]
SEED = 4
# Far longer than it takes: waiting ends when what is waited for is there.
PATIENCE = 240.0


class WatchCase(CliCase):
    def setUp(self):
        super().setUp()
        self.inbox = self.folder / "inbox"
        self.inbox.mkdir()
        self.ledger = self.path("done.json.txt")
        self.watchers = []
        self.addCleanup(self.end_all)

    def end_all(self):
        for watcher in self.watchers:
            watcher.kill()
            watcher.communicate()

    def start(self, *more):
        watcher = subprocess.Popen(
            [cli_test.PROGRAM, *EXPECT, "--watch", str(self.inbox),
             "--json-lines", self.ledger, *more],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.watchers.append(watcher)
        return watcher

    def capture(self, name, ppm, seed=1):
        self.expect(0, "simulate", "--frequency", "750kHz", "--ppm", str(ppm),
                    "--sample-rate", "100MHz", "--duration", "2ms", "--seed",
                    str(seed), "--out", self.path(name))
        return self.path(name)

    def lines(self):
        """What is done; a line that is still being written is none."""
        path = pathlib.Path(self.ledger)
        if not path.exists():
            return []
        text = path.read_text(encoding="utf-8")
        return [json.loads(line) for line in
                text[:text.rfind("\n") + 1].splitlines()]

    def wait_for(self, count):
        end = time.monotonic() + PATIENCE
        while len(self.lines()) < count:
            self.assertLess(time.monotonic(), end, self.names())
            time.sleep(0.1)
        return self.lines()

    def names(self):
        return sorted(r["watched"]["name"] for r in self.lines())


class Watching(WatchCase):
    def test_captures_as_they_turn_up(self):
        shutil.copy(self.capture("a.csv", 3), self.inbox)
        watcher = self.start("--store", self.path("s.db"), "--tag", "rig=2")
        self.wait_for(1)
        shutil.copy(self.capture("b.csv", 90, 2), self.inbox)
        (self.inbox / "c.csv").write_text("no capture\n", encoding="utf-8")
        (self.inbox / "d.csv.part").write_text("half", encoding="utf-8")
        (self.inbox / ".hidden").write_text("x", encoding="utf-8")
        lines = self.wait_for(3)
        self.assertEqual(self.names(), ["a.csv", "b.csv", "c.csv"])
        by_name = {r["watched"]["name"]: self.validated(json.dumps(r))
                   for r in lines}
        self.assertEqual(by_name["a.csv"]["verdicts"][0]["decision"], "pass")
        self.assertEqual(by_name["a.csv"]["captures"][0]["tags"], {"rig": "2"})
        self.assertEqual(by_name["b.csv"]["verdicts"][0]["decision"], "fail")
        self.assertEqual(by_name["c.csv"]["errors"][0]["code"], "bad_data")
        # Told to end, it ends with what a batch would have.
        watcher.send_signal(signal.SIGTERM)
        out, err = watcher.communicate(timeout=PATIENCE)
        self.assertEqual(watcher.returncode, 1)
        self.assertIn(b"PASS  750kHz", out)
        self.assertIn(b"FAIL  750kHz", out)
        self.assertIn(b"c.csv", err)

    def test_what_is_being_written_is_waited_for(self):
        text = pathlib.Path(self.capture("slow.csv", 3)).read_bytes()
        with open(self.inbox / "slow.csv", "wb") as file:
            file.write(text[:len(text) // 2])
            file.flush()
            self.start()
            shutil.copy(self.capture("b.csv", 5, 2), self.inbox)
            self.wait_for(1)
            time.sleep(3.0)
            # Half of it would be a capture; it is not the capture.
            self.assertEqual(self.names(), ["b.csv"])
            file.write(text[len(text) // 2:])
        self.wait_for(2)
        slow = [r for r in self.lines() if r["watched"]["name"] == "slow.csv"]
        self.assertEqual(slow[0]["watched"]["bytes"], len(text))

    def test_killed_again_and_again(self):
        count = 25
        for i in range(count):
            shutil.copy(self.capture(f"k{i:02d}.csv", i % 9, i + 1), self.inbox)
        rng = random.Random(SEED)
        kills = 0
        end = time.monotonic() + PATIENCE
        while len(self.lines()) < count:
            self.assertLess(time.monotonic(), end, SEED)
            watcher = self.start("--store", self.path("s.db"))
            before = len(self.lines())
            # Not before it has begun to judge: then it would never get on.
            while len(self.lines()) == before and time.monotonic() < end:
                time.sleep(0.02)
            time.sleep(rng.uniform(0.0, 0.05))
            watcher.kill()
            watcher.communicate()
            kills += 1
        self.assertGreater(kills, 1)
        self.start("--store", self.path("s.db"))
        time.sleep(3.0)
        self.assertEqual(self.names(), [f"k{i:02d}.csv" for i in range(count)])
        done = self.expect(0, "trend", "--store", self.path("s.db"), "--json", "-")
        trend, = self.validated(done.stdout.decode())["trends"]
        self.assertEqual(len(trend["points"]), count)

    def test_an_unfinished_line_is_taken_off(self):
        shutil.copy(self.capture("a.csv", 3), self.inbox)
        watcher = self.start()
        self.wait_for(1)
        watcher.kill()
        watcher.communicate()
        whole = pathlib.Path(self.ledger).read_bytes()
        pathlib.Path(self.ledger).write_bytes(whole + b'{"schema":"clock')
        shutil.copy(self.capture("b.csv", 4, 2), self.inbox)
        self.start()
        self.wait_for(2)
        self.assertEqual(self.names(), ["a.csv", "b.csv"])
        self.assertTrue(pathlib.Path(self.ledger).read_bytes().startswith(whole))

    def test_one_that_is_written_anew_is_judged_anew(self):
        shutil.copy(self.capture("a.csv", 3), self.inbox)
        self.start()
        self.wait_for(1)
        shutil.copy(self.capture("a.csv", 8, 2), self.inbox)
        lines = self.wait_for(2)
        self.assertGreater(lines[1]["verdicts"][0]["error_ppm"],
                           lines[0]["verdicts"][0]["error_ppm"] + 3)


class Refused(WatchCase):
    def test_what_cannot_be_watched(self):
        watch = [*EXPECT, "--watch", str(self.inbox)]
        self.expect(64, *watch)
        self.expect(64, *watch, "--json-lines", "-")
        self.expect(64, *watch, "--json-lines", self.ledger, "x.csv")
        self.expect(64, *watch, "--json-lines", self.ledger, "--junit", "x.xml")
        self.expect(66, *EXPECT, "--watch", self.path("none"), "--json-lines",
                    self.ledger)
        other = self.put("other.txt", "a line of something else\n")
        done = self.expect(65, *watch, "--json-lines", other)
        self.assertIn(b"other.txt:1: ", done.stderr)
        self.start()
        end = time.monotonic() + PATIENCE
        while not os.path.exists(self.ledger) and time.monotonic() < end:
            time.sleep(0.05)
        time.sleep(0.5)
        done = self.expect(64, *watch, "--json-lines", self.ledger)
        self.assertIn(b"another watcher", done.stderr)


if __name__ == "__main__":
    cli_test.PROGRAM, cli_test.SCHEMA = map(os.path.abspath, sys.argv[1:3])
    unittest.main(argv=sys.argv[:1])
