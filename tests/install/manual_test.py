#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""manual_test.py CLOCKASSAY FOLDER : the manual page and the completions of
FOLDER, read by man and by the shells themselves."""
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import unittest

import shells

PROGRAM = FOLDER = None
COMMANDS = ["measure", "verify", "compare", "drift", "trend", "requirements",
            "simulate", "plan load", "plan drive", "plan path", "plan capture"]
FIRST_WORDS = {"measure", "verify", "compare", "drift", "trend",
               "requirements", "simulate", "plan"}


def run(*argv, **more):
    return subprocess.run(argv, capture_output=True, text=True, check=False,
                          **more)


def help_of(command):
    return run(PROGRAM, *command.split(), "--help").stdout


def options_of(command):
    return set(re.findall(r"^  (--[a-z0-9-]+)", help_of(command), re.MULTILINE))


def requirement_ids():
    import json
    listed = json.loads(run(PROGRAM, "requirements", "--json", "-").stdout)
    return {row["id"] for row in listed["requirements"]}


# What is typed, and what is offered; of options: at least these.
def offers():
    return [
        ("clockassay mea", {"measure"}),
        ("clockassay plan ", {"load", "drive", "path", "capture"}),
        ("clockassay plan d", {"drive"}),
        ("clockassay measure --format ", {"csv", "vcd"}),
        ("clockassay simulate --format ", {"csv", "vcd"}),
        ("clockassay verify --color a", {"auto", "always"}),
        ("clockassay drift --time-unit ",
         {"s", "ms", "us", "ns", "ps", "fs", "sample"}),
        ("clockassay plan load --e-series ", {"E12", "E24"}),
        ("clockassay verify --requirement usb-fs", {"usb-fs-device"}),
        ("clockassay requirements ", requirement_ids()),
        ("clockassay measure --thre", {"--threshold"}),
        ("clockassay plan path --e", {"--expect"}),
        ("clockassay trend --al", {"--alarms"}),
        # Typed by hand: nothing is offered, and no file.
        ("clockassay measure --timebase ", set()),
        ("clockassay plan drive --gm ", set()),
        # Behind -- everything is a capture.
        ("clockassay verify -- --sp", set()),
    ]


# What is typed before a tab, and what stands there then. In the folder are the
# files "two words.vcd", "plain.csv" and the folder "out put".
COMPLETED = [
    ("clockassay ver", "clockassay verify "),
    ("clockassay measure two", r"clockassay measure two\ words.vcd "),
    ("clockassay measure 'two", "clockassay measure 'two words.vcd' "),
    ("clockassay verify --quiet pl", "clockassay verify --quiet plain.csv "),
    ("clockassay drift --temperature-log pl",
     "clockassay drift --temperature-log plain.csv "),
    ("clockassay measure --json=pl", "clockassay measure --json=plain.csv "),
    ("clockassay measure --plots ", r"clockassay measure --plots out\ put/"),
    ("clockassay verify --format=v", "clockassay verify --format=vcd "),
    ("clockassay compare plain.csv tw",
     r"clockassay compare plain.csv two\ words.vcd "),
]


class Page(unittest.TestCase):
    def setUp(self):
        self.page = FOLDER / "clockassay.1"
        shown = run("man", "--warnings", "-l", self.page,
                    env={**os.environ, "MANWIDTH": "80", "LC_ALL": "C.UTF-8"})
        self.warnings = shown.stderr
        self.text = re.sub(".\x08", "", shown.stdout)

    def part(self, heading, indent=3):
        """What stands below a heading, up to the next one."""
        found = re.search(rf"^ {{{indent}}}{re.escape(heading)}.*?\n(.*?)"
                          rf"(?=^ {{0,3}}\S)", self.text,
                          re.MULTILINE | re.DOTALL)
        self.assertTrue(found, heading)
        return found.group(1)

    def test_nothing_to_warn_of(self):
        self.assertEqual(self.warnings, "")
        done = run("groff", "-man", "-ww", "-z", "-Tascii", self.page)
        self.assertEqual((done.returncode, done.stderr), (0, ""))

    def test_every_option_of_every_command(self):
        shared = re.findall(r"^ {7}(--[a-z0-9-]+)(.*?)(?=^ {7}--|\Z)",
                            self.part("Options of several commands"),
                            re.MULTILINE | re.DOTALL)
        for command in COMMANDS:
            own = set(re.findall(r"^ {7}(--[a-z0-9-]+)", self.part(command),
                                 re.MULTILINE))
            for name, text in shared:
                names = " ".join(text.split()).rpartition("(")[2].strip(")")
                if command in names.split(", ") or names == "every command":
                    own.add(name)
            self.assertEqual(own, options_of(command), command)

    def test_every_exit_code(self):
        self.assertEqual(
            re.findall(r"^ {7}(\d+) ", self.part("EXIT STATUS", 0),
                       re.MULTILINE),
            ["0", "1", "2", "64", "65", "66", "70", "73", "74", "78"])

    def test_the_sections(self):
        for heading in ["NAME", "SYNOPSIS", "DESCRIPTION", "COMMANDS",
                        "ENVIRONMENT", "FILES", "EXAMPLES",
                        "WHAT A RESULT IS NOT", "SEE ALSO"]:
            self.assertRegex(
                self.text, rf"(?m)^{heading}$")
        for name in ["NO_COLOR", "CLOCKASSAY_KERNELS", "no calibration"]:
            self.assertIn(name, " ".join(self.text.split()))
        version = run(PROGRAM, "--version").stdout.strip()
        self.assertIn(version, self.text)

    def test_the_examples_run(self):
        examples = re.findall(r"^ {11}(clockassay .*?)(?=\n\n|\Z)",
                              self.part("EXAMPLES", 0),
                              re.MULTILINE | re.DOTALL)
        self.assertEqual(len(examples), 4)
        with tempfile.TemporaryDirectory() as folder:
            for example in examples:
                done = run(PROGRAM, *shlex.split(example)[1:], cwd=folder)
                self.assertEqual((done.returncode, done.stderr), (0, ""),
                                 example)
            self.assertIn("clock.json", os.listdir(folder))


class Completion(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        cls.home = pathlib.Path(cls.temporary.name, "home")
        cls.folder = pathlib.Path(cls.temporary.name, "work")
        cls.home.mkdir()
        (cls.folder / "out put").mkdir(parents=True)
        for name in ["two words.vcd", "plain.csv"]:
            (cls.folder / name).touch()

    @classmethod
    def tearDownClass(cls):
        cls.temporary.cleanup()

    def need(self, shell):
        if not shutil.which(shell):
            self.skipTest(f"{shell} is not installed")

    # What bash hands to the function: bash(1), Programmable Completion. A `=`
    # is a word there.
    def bash_offers(self, line):
        words = [w for w in re.split(r"(=)|\s+", line) if w]
        if line.endswith(" "):
            words.append("")
        script = (f"source {shlex.quote(str(FOLDER / 'clockassay'))}\n"
                  f"COMP_WORDS=({' '.join(map(shlex.quote, words))})\n"
                  f"COMP_CWORD={len(words) - 1}\n"
                  "compopt() { echo \"compopt $*\"; }\n_clockassay\n"
                  "printf '%s\\n' \"${COMPREPLY[@]}\"")
        done = run("bash", "-c", script)
        self.assertEqual(done.stderr, "")
        return set(done.stdout.split("\n")) - {""}

    def test_bash_offers(self):
        for line, offered in offers():
            # Files are readline's; here they are asked for.
            if line.endswith("-- --sp"):
                offered = {"compopt -o default"}
            if line == "clockassay plan ":
                offered = offered | {"--help"}
            self.assertEqual(self.bash_offers(line), offered, line)
        self.assertEqual(self.bash_offers("clockassay "),
                         FIRST_WORDS | {"--help", "--version"})
        for command in COMMANDS:
            self.assertEqual(self.bash_offers(f"clockassay {command} -"),
                             options_of(command), command)
        # What can be given once is offered once.
        given = self.bash_offers("clockassay measure --format csv --channel a -")
        self.assertEqual(options_of("measure") - given, {"--format"})

    def test_bash_completes(self):
        shell = shells.bash(FOLDER / "clockassay", self.folder, self.home)
        self.addCleanup(shell.close)
        for line, after in COMPLETED:
            self.assertEqual(shell.completed(line)[1], after)

    def test_zsh(self):
        self.need("zsh")
        shell = shells.zsh(FOLDER, self.folder, self.home)
        self.addCleanup(shell.close)
        for line, offered in offers():
            self.assertEqual(set(shell.completed(line)[0]), offered, line)
        self.assertEqual(set(shell.completed("clockassay ")[0]), FIRST_WORDS)
        for command in COMMANDS:
            self.assertEqual(set(shell.completed(f"clockassay {command} -")[0]),
                             options_of(command), command)
        given = shell.completed("clockassay measure --format csv --channel a -")
        self.assertEqual(options_of("measure") - set(given[0]), {"--format"})
        for line, after in COMPLETED:
            self.assertEqual(shell.completed(line)[1], after)

    def fish_offers(self, line):
        script = (f"source {shlex.quote(str(FOLDER / 'clockassay.fish'))}\n"
                  f"complete -C {shlex.quote(line)}")
        done = run("fish", "--no-config", "-c", script, cwd=self.folder,
                   env={**os.environ, "HOME": str(self.home)})
        self.assertEqual(done.stderr, "")
        return {row.split("\t")[0] for row in done.stdout.splitlines()}

    def test_fish(self):
        self.need("fish")
        for line, offered in offers():
            self.assertEqual(self.fish_offers(line), offered, line)
        self.assertEqual(self.fish_offers("clockassay "), FIRST_WORDS)
        for command in COMMANDS:
            self.assertEqual(self.fish_offers(f"clockassay {command} --"),
                             options_of(command), command)
        for line, offered in [
                ("clockassay measure tw", {"two words.vcd"}),
                ("clockassay drift --temperature-log pl", {"plain.csv"}),
                ("clockassay requirements --json pl", {"plain.csv"}),
                ("clockassay measure --json=pl", {"--json=plain.csv"}),
                ("clockassay measure --plots ", {"out put/"}),
                ("clockassay verify --format=v", {"--format=vcd"})]:
            self.assertEqual(self.fish_offers(line), offered, line)


if __name__ == "__main__":
    PROGRAM = pathlib.Path(sys.argv.pop(1)).resolve()
    FOLDER = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
