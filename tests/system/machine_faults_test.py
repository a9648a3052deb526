#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""machine_faults_test.py CLOCKASSAY ROOT [SHIM] [--write]

A machine that fails: disks, pipes, signals, limits, helpers that are not there.
SHIM is tests/support/machine/fault_shim.cpp, which makes single calls of the
system go wrong. Of every fault: the exit code, a message that names the file,
outputs whole or as they were, inputs unharmed, nothing left behind. The table
in docs/robustness.md is what was seen here; --write renews it.
"""
import errno
import gzip
import hashlib
import json
import os
import pathlib
import re
import resource
import signal
import socket
import subprocess
import sys
import time
import unittest

import cli_test
from cli_test import CliCase

SHIM = None
ROOT = None
PATIENCE = 120.0  # far longer than it takes
OLD = b"old"
# As of an earlier run, by its mark.
OLD_PICTURE = b"<svg><!-- a chart by clockassay --></svg>"

# What happens, by kind of fault, in the order of the table. Exit codes are
# those that were seen.
KINDS = {
    "a write, `fsync` or `close` of an output fails (disk full, quota, I/O "
    "error, limit on the size of files)":
        "said of the output; what was there before stays",
    "an output cannot be created (folder missing, not writable or read-only, "
    "disk full, too many open files)":
        "said of the output; what was there before stays",
    "the `rename` of an output fails":
        "said of the output; what was there before stays",
    "short or interrupted calls, pipes that do not wait":
        "nothing: the call goes on",
    "a device or a pipe for an output fails (`/dev/full`)":
        "said of the output",
    "standard output is closed, or nobody reads it any more":
        "ends without a word",
    "the store cannot be written (disk full, I/O error, read-only)":
        "said of the store, which stays as it was; other outputs are written",
    "SIGTERM, SIGINT or SIGHUP while reading or writing":
        "ends; outputs are as before, temporary files are gone",
    "SIGTERM or SIGINT at `--watch`":
        "ends after the capture at hand, with what a batch would have",
    "an input cannot be opened (missing, not readable, a folder, a socket, a "
    "loop of links, too many open files)":
        "said of the input",
    "a read of an input fails (I/O error)":
        "said of the input",
    "an input grows, shrinks or is written anew while it is read":
        "refused: what was read is no one file",
    "another file takes the place of an input while it is read":
        "nothing: the one that was opened is read to its end",
    "an input is a device that gives nothing or no text (`/dev/null`, "
    "`/dev/zero`)":
        "refused as data",
    "a pipe stalls and goes on":
        "nothing: it is waited for",
    "a pipe stalls for ever":
        "waits; a signal ends it, outputs are as before",
    "an output is also an input, or two outputs are one file":
        "refused before anything is read",
    "memory runs out":
        "said, of the capture if it was at one; in a batch the others are "
        "still judged",
    "threads are not to be had":
        "nothing: fewer do the work",
    "no process for charts is to be had":
        "said of the page or folder, which stays as it was",
    "no library for charts is there":
        "said with the package to install; other outputs are written",
    "no client library of PostgreSQL is there":
        "said with the package to install",
    "no library for gzip is there":
        "said of the capture, with the package to install",
    "the library for charts runs out of memory":
        "said of the page or folder, which stays as it was",
    "the library for charts is ended by a signal":
        "said of the page or folder, which stays as it was",
}
SEEN = {}
BEGIN = "<!-- faults: tests/system/machine_faults_test.py -->\n"
END = "<!-- end -->\n"


def table():
    lines = ["| fault | what happens | exit code |", "|---|---|---|"]
    for kind, happens in KINDS.items():
        codes = ", ".join(sorted(SEEN.get(kind, {"not seen"})))
        lines.append(f"| {kind} | {happens} | {codes} |")
    return "\n".join(lines) + "\n"


def kind_of(beginning):
    """The one kind that begins so."""
    found = [k for k in KINDS if k.startswith(beginning)]
    assert len(found) == 1, beginning
    return found[0]


def code_text(code):
    return signal.Signals(-code).name if code < 0 else str(code)


# Every option that writes, as the command that uses it: {} is the output.
COMMANDS = {
    "measure": ["measure", "a.csv", "--quiet"],
    "verify": ["verify", "a.csv", "--spec", "spec.json", "--timebase", "2ppm",
               "--quiet"],
    "compare": ["compare", "a.csv", "b.csv", "--quiet"],
    "drift": ["drift", "series.csv", "--quiet", "--expect", "750kHz",
              "--tolerance", "300ppm", "--range", "0..60"],
    "trend": ["trend", "--store", "past.db"],
    "requirements": ["requirements"],
    "simulate": ["simulate", "--frequency", "1MHz", "--sample-rate", "9.7MHz",
                 "--cycles", "20"],
    "plan load": ["plan", "load", "--crystal-load", "18pF", "--stray-across",
                  "3pF", "--c0", "3pF", "--c1", "8fF"],
    "plan drive": ["plan", "drive", "--frequency", "24MHz", "--esr", "60ohm",
                   "--c0", "3pF", "--load", "12pF"],
    "plan path": ["plan", "path", "--expect", "24MHz / 2"],
    "plan capture": ["plan", "capture", "--expect", "24MHz / 2", "--tolerance",
                     "30ppm", "--sample-rate", "100MHz"],
}
INPUTS = {"--spec", "--list", "--instrument", "--temperature-log"}
SUFFIX = {"--json": ".json", "--report": ".html", "--junit": ".xml",
          "--json-lines": ".jsonl", "--out": ".csv", "--truth": ".truth"}


class FaultCase(CliCase):
    def setUp(self):
        super().setUp()
        self.here = {"cwd": self.folder}
        for name, ppm in [("a.csv", "3"), ("b.csv", "9")]:
            self.expect(0, "simulate", "--frequency", "1MHz", "--sample-rate",
                        "9.7MHz", "--cycles", "3000", "--ppm", ppm, "--out",
                        self.path(name))
        self.put("spec.json", '{"clocks": [{"name": "clk", "channel": "clk", '
                 '"expect": "2MHz / 2", "tolerance": "30ppm"}]}')
        self.put("bench.json", '{"timebase": "2ppm"}')
        self.put("list.txt", "b.csv\n")
        self.put("series.csv", "frequency_hz,temperature_c\n" + "".join(
            f"{750000 + t / 10},{t}\n" for t in range(0, 70, 10)))
        self.expect(0, "measure", "a.csv", "b.csv", "--store", "past.db",
                    "--json", "past.json", **self.here)
        self.inputs = {p: hashlib.sha1(p.read_bytes()).digest()
                       for p in self.folder.iterdir()}

    def faulty(self, fault, args, **more):
        environment = dict(os.environ, **more.pop("env", {}))
        if fault and SHIM is None:
            self.skipTest("no faults are injected under a sanitizer")
        if fault:
            environment.update(LD_PRELOAD=SHIM, CLOCKASSAY_FAULT=fault)
        return subprocess.run([cli_test.PROGRAM, *args], cwd=self.folder,
                              env=environment,
                              stdout=more.pop("stdout", subprocess.PIPE),
                              stderr=subprocess.PIPE, check=False,
                              timeout=PATIENCE, **more)

    def saw(self, beginning, done, codes):
        """A fault of this kind ended so, and left the inputs as they were."""
        self.assertIn(done.returncode, codes, (done.args, done.stderr))
        code = code_text(done.returncode)
        SEEN.setdefault(kind_of(beginning), set()).add(code)
        self.inputs_are_whole()

    def inputs_are_whole(self):
        for path, digest in self.inputs.items():
            self.assertEqual(hashlib.sha1(path.read_bytes()).digest(), digest,
                             path)

    def says(self, done, *texts):
        """One message or more, each with a way forward, and these texts."""
        text = done.stderr.decode()
        self.assertRegex(text, r"\Aclockassay: .+\n  .+")
        for part in texts:
            self.assertIn(part, text)

    def nothing_new(self, *expected):
        """No file that nobody asked for."""
        names = {str(p.relative_to(self.folder))
                 for p in self.folder.rglob("*") if p.is_file()}
        names -= {str(p.relative_to(self.folder)) for p in self.inputs}
        self.assertEqual(names - {"before", *expected}, set())


def outputs():
    """(command, option) of every option that writes, from the program's help."""
    for command, args in COMMANDS.items():
        words = args[:2] if args[0] == "plan" else args[:1]
        text = subprocess.run([cli_test.PROGRAM, *words, "--help"], check=True,
                              capture_output=True, text=True).stdout
        for option, kind in re.findall(r"^ +(--[a-z-]+) (FILE|DIR|URL)\b", text,
                                       re.M):
            if option in INPUTS or option == "--watch":
                continue
            if (command, option) != ("trend", "--store"):
                yield command, option, kind


class Outputs(FaultCase):
    def command(self, command, option, output):
        args = [*COMMANDS[command], option, output]
        if command == "simulate" and option != "--out":
            args += ["--out", "other.csv"]
        if command == "simulate" and option == "--out":
            args += ["--format", "csv"]
        return args

    def files(self):
        for command, option, kind in outputs():
            if kind == "FILE":
                output = "out" + SUFFIX[option]
                yield self.command(command, option, output), output

    def reference(self, args, output):
        done = self.faulty("", args)
        self.assertEqual(done.returncode, 0, (args, done.stderr))
        whole = (self.folder / output).read_bytes()
        self.clear(output)
        return done.stdout, whole

    def clear(self, output):
        for name in {output, "other.csv"}:
            (self.folder / name).unlink(missing_ok=True)

    def one(self, kind, args, output, fault, codes, *texts):
        """With an older file there, and without."""
        for old in [OLD, None]:
            if old:
                self.put(output, old)
            done = self.faulty(fault, args)
            self.saw(kind, done, codes)
            path = self.folder / output
            self.assertEqual(path.read_bytes() if path.exists() else None, old,
                             (args, fault))
            self.nothing_new(output if old else "")
            if texts:
                self.says(done, *texts)
            self.clear(output)

    def test_every_output_that_fails_is_absent(self):
        count = 0
        for number, (args, output) in enumerate(self.files()):
            count += 1
            stdout, whole = self.reference(args, output)
            self.assertTrue(whole)
            # Each of these of each kind of output; not all of all.
            reasons = ["ENOSPC", "EIO", "EDQUOT", "EFBIG"]
            for call in ["write", "fsync", "close"]:
                reason = reasons[number % len(reasons)]
                number += 1
                self.one("a write", args, output,
                         f"{call}:{output}:1:1:{getattr(errno, reason)}", [74],
                         output + ": cannot write: " +
                         os.strerror(getattr(errno, reason)))
            self.one("a write", args, output, f"write:{output}:1:0:zero", [74],
                     output)
            for reason in ["EACCES", "EROFS", "ENOSPC", "EMFILE"]:
                self.one("an output cannot be created", args, output,
                         f"mkostemp:{output}:1:1:{getattr(errno, reason)}",
                         [73], output + ": cannot create: " +
                         os.strerror(getattr(errno, reason)))
            for reason in ["EACCES", "EROFS", "EIO"]:
                self.one("the `rename`", args, output,
                         f"rename:{output}:1:1:{getattr(errno, reason)}", [74],
                         output + ": cannot write: ")
            self.one("SIGTERM, SIGINT or SIGHUP", args, output,
                     f"write:{output}:1:1:signal=15", [-15])
            self.one("SIGTERM, SIGINT or SIGHUP", args, output,
                     f"fsync:{output}:1:1:signal=2", [-2])
            self.one("SIGTERM, SIGINT or SIGHUP", args, output,
                     f"rename:{output}:1:1:signal=1", [-1])
            for fault in ["write::1:0:short", f"write::1:3:{errno.EINTR}",
                          f"fsync::1:2:{errno.EINTR}",
                          f"rename::1:2:{errno.EINTR}",
                          f"close:{output}:1:1:{errno.EINTR}",
                          f"mkostemp::1:2:{errno.EINTR}",
                          f"fchmod::1:2:{errno.EINTR}"]:
                done = self.faulty(fault, args)
                self.saw("short or interrupted", done, [0])
                self.assertEqual(done.stdout, stdout, fault)
                self.assertEqual((self.folder / output).read_bytes(), whole)
                self.clear(output)
        self.assertGreater(count, 18)

    def test_pictures_are_all_or_none(self):
        for command, option, _ in outputs():
            if option != "--plots":
                continue
            args = self.command(command, option, "plots")
            self.assertEqual(self.faulty("", args).returncode, 0)
            folder = self.folder / "plots"
            names = sorted(p.name for p in folder.iterdir())
            self.assertTrue(names, command)
            for path in folder.iterdir():
                path.write_bytes(OLD_PICTURE)
            (folder / "course-9.svg").write_bytes(OLD_PICTURE)
            last = f"plots/{names[-1]}"
            for kind, fault, codes in [
                    ("a write", f"write:{last}:1:1:{errno.ENOSPC}", [74]),
                    ("a write", f"fsync:{last}:1:1:{errno.EIO}", [74]),
                    ("an output cannot",
                     f"mkostemp:{last}:1:1:{errno.ENOSPC}", [73]),
                    ("SIGTERM, SIGINT", f"write:{last}:1:1:signal=15", [-15])]:
                done = self.faulty(fault, args)
                self.saw(kind, done, codes)
                if codes[0] > 0:
                    self.says(done, last)
                self.assertEqual(
                    {p.name: p.read_bytes() for p in folder.iterdir()},
                    {name: OLD_PICTURE
                     for name in [*names, "course-9.svg"]}, fault)
            done = self.faulty(f"mkdir:new:1:1:{errno.EROFS}",
                               [*args[:-1], "new"])
            self.saw("an output cannot", done, [73])
            self.says(done, "new")
            for path in folder.iterdir():
                path.unlink()
            folder.rmdir()

    def test_devices_and_missing_folders(self):
        for command, option, kind in outputs():
            if kind == "FILE":
                done = self.faulty("", self.command(command, option,
                                                    "/dev/full"))
                self.saw("a device or a pipe", done, [74])
                self.says(done, "/dev/full: cannot write: ")
            if kind != "DIR":
                done = self.faulty("", self.command(command, option, "no/out"))
                self.saw("an output cannot", done, [73])
                self.says(done, "no/out")
            self.clear("other.csv")
            self.nothing_new()

    def test_a_pipe_that_nobody_reads_any_more(self):
        for command, option, kind in outputs():
            if kind == "FILE":
                output = "out" + SUFFIX[option]
                os.mkfifo(self.path(output))
                # Open, so that opening does not wait; EPIPE by injection.
                keep = os.open(self.path(output), os.O_RDWR)
                done = self.faulty(f"write:{output}:1:0:{errno.EPIPE}",
                                   self.command(command, option, output))
                os.close(keep)
                self.saw("a device or a pipe", done, [74])
                self.says(done, output)
                self.clear(output)

    def test_standard_output(self):
        for command, args in COMMANDS.items():
            if command == "simulate":
                continue
            for more in [[], ["--json", "-"]]:
                read_end, write_end = os.pipe()
                os.close(read_end)
                done = self.faulty("", [*args, *more], stdout=write_end)
                os.close(write_end)
                self.saw("standard output is", done, [74])
                self.assertEqual(done.stderr, b"")
                done = self.faulty("", [*args, *more], stdout=None,
                                   preexec_fn=lambda: os.close(1))
                self.saw("standard output is", done, [74])
                self.assertEqual(done.stderr, b"")
            with open("/dev/full", "wb") as full:
                done = self.faulty("", args, stdout=full)
            self.saw("a device or a pipe", done, [74])
            self.says(done, "standard output: cannot write")

    def test_standard_output_that_does_not_wait(self):
        args = ["requirements", "--json", "-"]
        whole = self.faulty("", args).stdout
        read_end, write_end = os.pipe()
        os.set_blocking(write_end, False)
        # Full before the first write.
        filled = os.write(write_end, bytes(1 << 20))
        with subprocess.Popen([cli_test.PROGRAM, *args],
                              stdout=write_end) as program:
            os.close(write_end)
            time.sleep(0.3)
            with open(read_end, "rb") as pipe:
                got = pipe.read()
            done = subprocess.CompletedProcess(args, program.wait(), got, b"")
        self.assertEqual(got[filled:], whole)
        self.saw("short or interrupted", done, [0])

    def test_a_limit_on_the_size_of_files(self):
        for args, output in self.files():
            _, whole = self.reference(args, output)
            half = len(whole) // 2

            def limit(most=half):
                resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
            self.put(output, OLD)
            # Standard output is a pipe, which has no size.
            done = self.faulty("", args, preexec_fn=limit)
            self.saw("a write", done, [74])
            self.says(done, "cannot write: " + os.strerror(errno.EFBIG),
                      "ulimit -f")
            self.assertEqual((self.folder / output).read_bytes(), OLD)
            self.clear(output)
            self.nothing_new()

    def test_both_files_of_a_simulation_or_none(self):
        args = self.command("simulate", "--truth", "out.truth")
        for call in ["write", "fsync", "close", "mkostemp"]:
            for name in ["out.truth", "other.csv"]:
                self.faulty(f"{call}:{name}:1:1:{errno.ENOSPC}", args)
                self.nothing_new()

    def test_stores(self):
        for command, option, kind in outputs():
            if kind != "URL":
                continue
            for fault, codes in [(f"pwrite:new.db:1:0:{errno.ENOSPC}", [73, 74]),
                                 (f"pwrite:new.db:1:0:{errno.EIO}", [73, 74]),
                                 (f"open:new.db:1:0:{errno.EACCES}", [73]),
                                 (f"open:new.db:1:0:{errno.EROFS}", [73])]:
                args = [*self.command(command, option, "new.db"), "--json",
                        "out.json"]
                done = self.faulty(fault, args)
                self.saw("the store cannot", done, codes)
                self.says(done, "new.db")
                self.clear("out.json")
                # A store that is none yet, or empty.
                left = self.faulty("", ["trend", "--store", "new.db"])
                self.assertIn(left.returncode, [65, 66])
                for path in self.folder.glob("new.db*"):
                    path.unlink()
            for fault in [f"pwrite:kept.db:1:0:{errno.ENOSPC}",
                          f"pwrite:kept.db:3:0:{errno.EIO}",
                          f"fsync:kept.db:1:0:{errno.EIO}",
                          f"fdatasync:kept.db:1:0:{errno.EIO}"]:
                for name in self.folder.glob("kept.db*"):
                    name.unlink()
                self.put("kept.db", (self.folder / "past.db").read_bytes())
                counter = self.path("count")
                done = self.faulty(fault, [
                    *self.command(command, option, "kept.db"), "--tag",
                    "build=2"], env={"CLOCKASSAY_FAULT_COUNT": counter})
                calls = int((self.folder / "count").read_text().split()[-1])
                (self.folder / "count").unlink()
                if calls == 0:
                    self.assertIn("sync", fault)  # it forces by the other
                    continue
                self.saw("the store cannot", done, [73, 74])
                self.says(done, "kept.db")
                left = self.faulty("", ["trend", "--store", "kept.db"])
                before = self.faulty("", ["trend", "--store", "past.db"])
                self.assertEqual(left.stdout, before.stdout, fault)
                for path in self.folder.glob("kept.db*"):
                    path.unlink()

    def test_outputs_that_are_inputs(self):
        given = {"measure": ["a.csv"], "verify": ["a.csv", "spec.json"],
                 "compare": ["a.csv", "b.csv"], "drift": ["series.csv"],
                 "trend": ["past.db"]}
        for command, option, kind in outputs():
            for name in given.get(command, []):
                if kind == "DIR":
                    continue
                os.link(self.path(name), self.path("hard"))
                os.symlink(name, self.path("soft"))
                for output in [name, "hard", "soft", "./" + name]:
                    done = self.faulty("", self.command(command, option,
                                                        output))
                    self.saw("an output is also", done, [64])
                    self.says(done, "the output is also an input")
                for output in ["hard", "soft"]:
                    (self.folder / output).unlink()
        for more in [["--instrument", "bench.json"]]:
            for command in ["measure", "verify", "compare", "drift",
                            "plan capture"]:
                done = self.faulty("", [*COMMANDS[command], *more, "--json",
                                        "bench.json"])
                self.saw("an output is also", done, [64])
        done = self.faulty("", [*COMMANDS["verify"], "--list", "list.txt",
                                "--json", "list.txt"])
        self.saw("an output is also", done, [64])
        done = self.faulty("", [*COMMANDS["verify"], "--list", "list.txt",
                                "--junit", "b.csv"])
        self.saw("an output is also", done, [64])

    def test_pictures_that_are_inputs(self):
        folder = self.folder / "plots"
        folder.mkdir()
        # A comment of CSV; without the mark it is refused as no picture.
        text = (b"# <!-- a chart by clockassay -->\n" +
                (self.folder / "a.csv").read_bytes())
        for name in ["course.svg", "pull-3.svg"]:
            (folder / name).write_bytes(text)
            for command in ["measure", "verify", "compare"]:
                args = [a.replace("a.csv", "plots/" + name)
                        for a in COMMANDS[command]]
                done = self.faulty("", [*args, "--plots", "plots"])
                self.saw("an output is also", done, [64])
                self.assertEqual((folder / name).read_bytes(), text)
            (folder / name).unlink()

    def test_two_outputs_are_two_files(self):
        for command in ["measure", "verify", "compare", "drift", "trend",
                        "plan load"]:
            done = self.faulty("", [*COMMANDS[command], "--json", "one",
                                    "--report", "one"])
            self.saw("an output is also", done, [64])
        done = self.faulty("", [*COMMANDS["simulate"], "--out", "one.csv",
                                "--truth", "one.csv"])
        self.saw("an output is also", done, [64])
        self.nothing_new()


class Inputs(FaultCase):
    def reads(self):
        """(command, input) of every option and argument that reads."""
        log = "".join(f"{i / 1000},{i}\n" for i in range(4))
        self.put("log.csv", "time_s,temperature_c\n" + log)
        verify = COMMANDS["verify"]
        yield COMMANDS["measure"], "a.csv"
        yield [*COMMANDS["measure"], "--jobs", "1"], "a.csv"
        yield verify, "a.csv"
        yield verify, "spec.json"
        yield [*verify, "--instrument", "bench.json"], "bench.json"
        yield [*verify, "--list", "list.txt"], "list.txt"
        yield COMMANDS["compare"], "b.csv"
        yield ["compare", "past.json", "b.csv"], "past.json"
        yield COMMANDS["drift"], "series.csv"
        yield ["drift", "a.csv", "--temperature-log", "log.csv"], "log.csv"
        yield ["trend", "--store", "past.db"], "past.db"

    def refused(self, kind, args, name, fault, codes):
        done = self.faulty(fault, [*args, "--json", "out.json"])
        self.saw(kind, done, codes)
        self.says(done, name)
        self.assertNotIn(b"PASS", done.stdout)
        out = self.folder / "out.json"
        if out.exists():
            self.assertNotIn(b'"pass"', out.read_bytes())
            out.unlink()

    def test_inputs_that_cannot_be_opened_or_read(self):
        for args, name in self.reads():
            for reason in ["EACCES", "EMFILE", "ENOENT", "EIO"]:
                self.refused("an input cannot be opened", args, name,
                             f"open:{name}:1:0:{getattr(errno, reason)}", [66])
            # By place or in order, whichever it is.
            for call in ["read", "pread"]:
                done = self.faulty(f"{call}:{name}:1:0:{errno.EIO}", args)
                if done.returncode == 0:
                    continue  # it reads by the other
                self.assertNotEqual(name, "", args)
                kind = ("an input cannot be opened" if name == "past.db"
                        else "a read of an input fails")
                self.saw(kind, done, [66] if name == "past.db" else [74])
                self.says(done, name)
                self.assertNotIn(b"PASS", done.stdout)

    def test_calls_cut_short_change_nothing(self):
        for args, name in self.reads():
            if name == "past.db":
                continue  # another library reads it, which wants whole pages
            whole = self.faulty("", args)
            for fault in [f"read:{name}:1:0:short", f"pread:{name}:1:0:short",
                          f"read:{name}:1:3:{errno.EINTR}",
                          f"pread:{name}:1:3:{errno.EINTR}",
                          f"open:{name}:1:3:{errno.EINTR}"]:
                done = self.faulty(fault, args)
                self.assertEqual(done.returncode, whole.returncode, done.stderr)
                if whole.returncode == 0:
                    self.saw("short or interrupted", done, [0])
                self.assertEqual(done.stdout, whole.stdout, (args, fault))

    def test_kinds_of_files_that_are_none(self):
        (self.folder / "folder").mkdir()
        os.symlink("loop", self.path("loop"))
        os.symlink("nowhere", self.path("dangling"))
        with socket.socket(socket.AF_UNIX) as end:
            end.bind(self.path("socket"))
            for name in ["folder", "socket", "loop", "dangling", "a.csv/x",
                         "x" * 300]:
                for args in [["measure", name],
                             ["verify", "a.csv", "--spec", name],
                             ["measure", "a.csv", "--instrument", name],
                             ["compare", "a.csv", name], ["drift", name],
                             ["trend", "--store", name]]:
                    done = self.faulty("", args)
                    self.saw("an input cannot be opened", done, [66])
                    self.says(done, name)
        for name in ["/dev/null", "/dev/zero"]:
            for args in [["measure", name], ["drift", name],
                         ["compare", "a.csv", name]]:
                done = self.faulty("", args)
                self.saw("an input is a device", done, [65])
                self.says(done, name)

    def test_a_capture_that_changes_while_it_is_read(self):
        original = (self.folder / "a.csv").read_bytes()
        half = len(original) // 2
        for args, name in self.reads():
            if name != "a.csv":
                continue
            for what in [f"shorten={half}", "shorten=0", "append=9,1", "rewrite"]:
                for when in [1, 2]:
                    fault = f"pread:{name}:{when}:1:{what}"
                    done = self.faulty(fault, [*args, "--json", "out.json"])
                    self.put(name, original)
                    self.saw("an input grows", done, [74])
                    self.says(done, name, "changed while it was read")
                    self.assertNotIn(b'"pass"', (self.folder / "out.json")
                                     .read_bytes())
                    (self.folder / "out.json").unlink()
        for args, name in self.reads():
            if name in ["a.csv", "b.csv", "past.db"]:
                continue
            text = (self.folder / name).read_bytes()
            done = self.faulty(f"read:{name}:1:1:append= ", args)
            self.put(name, text)
            self.saw("an input grows", done, [74])
            self.says(done, name, "changed while it was read")

    def test_another_file_in_its_place(self):
        # One that is renamed over it while the reader is held up in a pipe.
        original = (self.folder / "a.csv").read_bytes()
        whole = self.faulty("", COMMANDS["measure"])
        with open(self.path("a.csv"), "rb") as held:
            self.put("next.csv", b"nonsense")
            os.rename(self.path("next.csv"), self.path("a.csv"))
            done = subprocess.run(
                [cli_test.PROGRAM, "measure", "--quiet", "/dev/stdin"],
                stdin=held, capture_output=True, check=False)
        self.put("a.csv", original)
        self.assertEqual(done.stdout, whole.stdout)
        self.saw("another file takes", done, [0])

    def test_signals_while_reading(self):
        for number in [signal.SIGTERM, signal.SIGINT, signal.SIGHUP]:
            for args, name in [
                    (["verify", "a.csv", "b.csv", "--spec", "spec.json",
                      "--json-lines", "out.jsonl", "--json", "out.json"],
                     "b.csv"),
                    (["measure", "a.csv", "--json", "out.json"], "a.csv")]:
                done = self.faulty(f"pread:{name}:2:1:signal={int(number)}",
                                   args)
                self.saw("SIGTERM, SIGINT or SIGHUP", done, [-number])
                self.nothing_new()
        done = self.faulty("pread:a.csv:1:1:signal=1", COMMANDS["measure"],
                           preexec_fn=lambda: signal.signal(signal.SIGHUP,
                                                            signal.SIG_IGN))
        self.assertEqual(done.returncode, 0, "nohup")


class Pipes(FaultCase):
    def start(self, *args):
        return subprocess.Popen(
            [cli_test.PROGRAM, *args], cwd=self.folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.PIPE)

    def test_a_stall_that_ends(self):
        text = (self.folder / "a.csv").read_bytes()
        whole = subprocess.run([cli_test.PROGRAM, "measure", "-"], input=text,
                               capture_output=True, check=True)
        for jobs in ["1", "3"]:
            with self.start("measure", "--jobs", jobs, "-") as program:
                for part in [text[:1000], text[1000:1001], text[1001:]]:
                    program.stdin.write(part)
                    program.stdin.flush()
                    time.sleep(0.2)
                out, err = program.communicate(timeout=PATIENCE)
            done = subprocess.CompletedProcess("", program.returncode, out, err)
            self.assertEqual(out, whole.stdout)
            self.saw("a pipe stalls and goes", done, [0])

    def test_an_input_that_does_not_wait(self):
        text = (self.folder / "a.csv").read_bytes()
        whole = subprocess.run([cli_test.PROGRAM, "measure", "-"], input=text,
                               capture_output=True, check=True)
        for jobs in ["1", "3"]:
            read_end, write_end = os.pipe()
            os.set_blocking(read_end, False)
            with subprocess.Popen(
                    [cli_test.PROGRAM, "measure", "--jobs", jobs, "-"],
                    stdin=read_end, stdout=subprocess.PIPE,
                    stderr=subprocess.PIPE) as program:
                os.close(read_end)
                time.sleep(0.2)
                with open(write_end, "wb") as pipe:
                    pipe.write(text)
                out, err = program.communicate(timeout=PATIENCE)
            done = subprocess.CompletedProcess("", program.returncode, out, err)
            self.saw("short or interrupted", done, [0])
            self.assertEqual(out, whole.stdout)

    def test_a_stall_for_ever(self):
        text = (self.folder / "a.csv").read_bytes()
        os.mkfifo(self.path("fifo"))
        for number in [signal.SIGTERM, signal.SIGINT]:
            for args in [["measure", "-", "--json", "out.json"],
                         ["verify", "-", "--spec", "spec.json", "--json-lines",
                          "out.jsonl"],
                         ["measure", "fifo", "--json", "out.json"]]:
                with self.start(*args) as program:
                    if "-" in args:
                        program.stdin.write(text[:len(text) // 2])
                        program.stdin.flush()
                    time.sleep(0.3)
                    self.assertIsNone(program.poll())
                    program.send_signal(number)
                    program.wait(timeout=PATIENCE)
                    done = subprocess.CompletedProcess(
                        args, program.returncode, b"", program.stderr.read())
                self.saw("a pipe stalls for ever", done, [-number])
                self.nothing_new()

    def test_watching_ends_when_told(self):
        (self.folder / "inbox").mkdir()
        for number in [signal.SIGTERM, signal.SIGINT]:
            self.put("inbox/a.csv", (self.folder / "a.csv").read_bytes())
            with self.start("verify", "--spec", "spec.json", "--timebase",
                            "2ppm", "--watch", "inbox", "--json-lines",
                            "lines") as program:
                self.assertIn(b"PASS", program.stdout.readline())
                program.send_signal(number)
                out, err = program.communicate(timeout=PATIENCE)
            done = subprocess.CompletedProcess("", program.returncode, out, err)
            self.saw("SIGTERM or SIGINT at", done, [0])
            self.assertTrue((self.folder / "lines").read_bytes()
                            .endswith(b"}\n"))
            (self.folder / "lines").unlink()

    def test_a_watcher_whose_disk_is_full(self):
        (self.folder / "inbox").mkdir()
        self.put("inbox/a.csv", (self.folder / "a.csv").read_bytes())
        for call in ["write", "fdatasync"]:
            done = self.faulty(
                f"{call}:lines:1:0:{errno.ENOSPC}",
                ["verify", "--spec", "spec.json", "--timebase", "2ppm",
                 "--watch", "inbox", "--json-lines", "lines"])
            self.saw("a write", done, [74])
            self.says(done, "lines")
            self.assertNotIn(b"PASS", done.stdout)
            (self.folder / "lines").unlink()


class Limits(FaultCase):
    def setUp(self):
        super().setUp()
        if SHIM is None:
            self.skipTest("a sanitizer needs more than the limits leave")

    def test_open_files(self):
        args = [*COMMANDS["verify"], "--json", "out.json", "--store", "new.db"]
        codes = set()
        for most in range(3, 14):
            def limit(n=most):
                resource.setrlimit(resource.RLIMIT_NOFILE, (n, n))
            done = self.faulty("", args, preexec_fn=limit)
            if b"error while loading shared" in done.stderr:
                continue  # it never began
            codes.add(done.returncode)
            self.assertIn(done.returncode, [0, 66, 73, 74], done.stderr)
            self.inputs_are_whole()
            if done.returncode:
                self.says(done)
            if done.returncode == 66:
                self.assertNotIn(b"PASS", done.stdout)
            for path in self.folder.glob("new.db*"):
                path.unlink()
            (self.folder / "out.json").unlink(missing_ok=True)
            self.nothing_new()
        self.assertIn(0, codes)
        self.assertGreater(len(codes), 1)

    def test_address_space(self):
        args = [*COMMANDS["verify"], "--json", "out.json", "--jobs", "2"]
        whole = self.faulty("", args)
        said = 0
        for most in [6, 12, 16, 20, 24, 32, 48, 64, 128, 1024]:
            def limit(mib=most):
                size = mib << 20
                resource.setrlimit(resource.RLIMIT_AS, (size, size))
            done = self.faulty("", args, preexec_fn=limit)
            if done.returncode == 127 or b"shared librar" in done.stderr or \
                    done.returncode == -signal.SIGSEGV and most <= 12 or \
                    b"without an active exception" in done.stderr:
                continue  # it never began: nothing can be thrown yet
            if done.returncode == 0:
                self.assertEqual(done.stdout, whole.stdout)
                SEEN.setdefault(kind_of("threads are not"), set()).add("0")
            else:
                self.saw("memory runs out", done, [74])
                said += 1
            (self.folder / "out.json").unlink(missing_ok=True)
            self.nothing_new()

    def test_each_allocation_may_fail(self):
        """None whose failing ends otherwise than by saying so."""
        args = [*COMMANDS["verify"], "--json", "out.json", "--junit", "out.xml",
                "--report", "out.html", "--jobs", "2"]
        names = ["out.json", "out.xml", "out.html"]
        counter = self.path("count")
        # But for the process that draws, which has a test of its own.
        whole = self.faulty("malloc:first:1000000000:0:12", args,
                            env={"CLOCKASSAY_FAULT_COUNT": counter})
        self.assertEqual(whole.returncode, 0, whole.stderr)
        last = int((self.folder / "count").read_text().split()[-1])
        (self.folder / "count").unlink()
        outputs = [(self.folder / n).read_bytes() for n in names]
        ended = set()
        for first in range(40, last, 61):
            for count in [0, 1]:
                done = self.faulty(f"malloc:first:{first}:{count}:12", args)
                ended.add(done.returncode)
                if done.returncode == 0:
                    self.assertEqual(done.stdout, whole.stdout)
                    self.assertEqual(outputs, [
                        (self.folder / n).read_bytes() for n in names])
                    continue
                self.saw("memory runs out", done, [74])
                self.assertIn(b"memory", done.stderr)
                # What was delivered before is what it would have been.
                self.assertIn(done.stdout, [b"", whole.stdout])
            for name in names:
                (self.folder / name).unlink(missing_ok=True)
            self.nothing_new()
        self.assertIn(74, ended)

    def test_in_a_batch_the_others_are_judged(self):
        args = ["verify", "a.csv", "b.csv", "--spec", "spec.json", "--timebase",
                "2ppm", "--jobs", "1", "--quiet", "--json", "out.json"]
        both = 0
        for first in range(600, 3000, 40):
            done = self.faulty(f"malloc::{first}:1:12", args)
            self.assertIn(done.returncode, [0, 74], done.stderr)
            if b"a.csv: not enough memory" in done.stderr:
                self.assertIn(b"b.csv", done.stdout)
                self.saw("memory runs out", done, [74])
                written = json.loads((self.folder / "out.json").read_text())
                self.assertEqual([e["code"] for e in written["errors"]],
                                 ["no_memory"])
                both += 1
        self.assertGreater(both, 0)


class Helpers(FaultCase):
    def test_libraries_that_are_not_there(self):
        done = self.faulty("dlopen:plplot:1:0:0",
                           [*COMMANDS["measure"], "--plots", "plots", "--json",
                            "out.json"])
        self.saw("no library for charts", done, [73])
        self.says(done, "libplplot17")
        self.assertTrue((self.folder / "out.json").exists())
        done = self.faulty("dlopen:libpq:1:0:0",
                           [*COMMANDS["measure"], "--store",
                            "postgresql://user@localhost/none"])
        self.saw("no client library", done, [73])
        self.says(done, "libpq5")
        done = self.faulty("dlopen:libpq:1:0:0",
                           ["trend", "--store",
                            "postgresql://user@localhost/none"])
        self.assertEqual(done.returncode, 66, done.stderr)
        self.says(done, "libpq5")

        path = self.put("a.csv.gz", gzip.compress(
            (self.folder / "a.csv").read_bytes()))
        done = self.faulty("dlopen:libisal:1:0:0", ["measure", path])
        self.saw("no library for gzip", done, [66])
        self.says(done, "a.csv.gz", "libisal2")

    def drawn(self, args, output, fault):
        """Over older files, which stay or become whole new ones."""
        path = self.folder / output
        if output not in self.whole:
            self.assertEqual(self.faulty("", args).returncode, 0)
            files = path.iterdir() if path.is_dir() else [path]
            self.whole[output] = {p: p.read_bytes() for p in files}
        self.assertTrue(self.whole[output])
        for file in self.whole[output]:
            file.write_bytes(OLD_PICTURE)
        done = self.faulty(fault, args)
        for file, text in self.whole[output].items():
            self.assertEqual(file.read_bytes(),
                             OLD_PICTURE if done.returncode else text, fault)
        if done.returncode:
            # The library speaks, too.
            self.assertRegex(done.stderr.decode(),
                             rf"(?m)^clockassay: {output}: .+\n  .+")
        self.nothing_new(*(str(p.relative_to(self.folder))
                           for files in self.whole.values() for p in files))
        return done

    DRAWING = [([*COMMANDS["measure"], "--plots", "plots"], "plots"),
               ([*COMMANDS["verify"], "--report", "out.html"], "out.html"),
               ([*COMMANDS["plan load"], "--report", "plan.html"], "plan.html"),
               ([*COMMANDS["plan load"], "--plots", "one"], "one")]

    def test_drawing_that_runs_out_of_memory(self):
        # Only the process that draws; the library ends it, each time otherwise.
        self.whole = {}
        for args, output in self.DRAWING:
            def ends(first, count, args=args, output=output):
                done = self.drawn(args, output,
                                  f"malloc:forked:{first}:{count}:12")
                if done.returncode != 0:
                    self.saw("the library for charts runs", done, [73])
                return done.returncode != 0

            first, step = 1, 101
            while ends(first, 0):  # from then on, until it needs no more
                first += step
            self.assertGreater(first, 3 * step)
            # A single one, which may be done without; each of one picture.
            step = 1 if output == "one" else 101
            self.assertIn(True, [ends(n, 1) for n in range(1, first, step)])

    def test_drawing_without_a_process_for_it(self):
        self.whole = {}
        for args, output in self.DRAWING:
            for error in [errno.EAGAIN, errno.ENOMEM]:
                done = self.drawn(args, output, f"fork::1:1:{int(error)}")
                self.saw("no process for charts", done, [73])
                self.says(done, "cannot draw", "processes")

    def test_drawing_that_a_signal_ends(self):
        self.whole = {}
        for args, output in self.DRAWING:
            for number in [signal.SIGKILL, signal.SIGABRT, signal.SIGSEGV,
                           signal.SIGTERM]:
                done = self.drawn(args, output,
                                  f"dlopen:plplot:1:1:signal={int(number)}")
                self.saw("the library for charts is", done, [73])
                self.says(done, f"was ended by signal {int(number)} (")


class Table(unittest.TestCase):
    """Last: what was seen is what the document says."""

    def test_the_document_has_the_table(self):
        page = pathlib.Path(ROOT) / "docs/robustness.md"
        text = page.read_text(encoding="utf-8")
        head, rest = text.split(BEGIN)
        _, tail = rest.split(END)
        now = head + BEGIN + table() + END + tail
        if WRITE:
            page.write_text(now, encoding="utf-8")
        self.assertEqual(text if not WRITE else now, now)


if __name__ == "__main__":
    WRITE = "--write" in sys.argv
    if WRITE:
        sys.argv.remove("--write")
    cli_test.PROGRAM = os.path.abspath(sys.argv.pop(1))
    ROOT = sys.argv.pop(1)
    if len(sys.argv) > 1 and sys.argv[1].endswith(".so"):
        SHIM = os.path.abspath(sys.argv.pop(1))
    names = sys.argv[1:]
    cases = [Outputs, Inputs, Pipes, Limits, Helpers]
    if not names and SHIM:
        cases.append(Table)
    suite = unittest.TestSuite()
    for case in cases:
        found = unittest.defaultTestLoader.loadTestsFromTestCase(case)
        for test in found:
            if not names or any(n in test.id() for n in names):
                suite.addTest(test)
    sys.exit(not unittest.TextTestRunner(verbosity=1).run(suite)
             .wasSuccessful())
