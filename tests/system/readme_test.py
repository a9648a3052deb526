#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the commands the README shows and compares what they print.

readme_test.py CLOCKASSAY README [--write]
--write puts the real output into the README instead: look at the difference.
"""
import pathlib
import re
import shlex
import subprocess
import sys

tool, readme = sys.argv[1], pathlib.Path(sys.argv[2])
write = sys.argv[3:] == ["--write"]
text = readme.read_text(encoding="utf-8")
BLOCK = re.compile(
    r"^<!-- (spec|run: ([^\n]*)) -->\n```(json)?\n(.*?)^```$", re.S | re.M)
shown = 0
wrong = 0


def real(match):
    global shown, wrong
    shown += 1
    if match.group(1) == "spec":
        path = readme.parent / "testdata/demo/logger.json"
        out = path.read_text(encoding="utf-8")
    else:
        command = match.group(2)
        run = subprocess.run([tool] + shlex.split(command), cwd=readme.parent,
                             capture_output=True, text=True)
        out = f"$ clockassay {command}\n" + run.stdout
        if run.stderr:
            print(run.stderr)
    if out != match.group(4):
        wrong += 1
        print(f"README: {match.group(1)!r} prints:\n{out}")
    start = match.start(4) - match.start(0)
    end = match.end(4) - match.start(0)
    return match.group(0)[:start] + out + match.group(0)[end:]


new = BLOCK.sub(real, text)
if write:
    readme.write_text(new, encoding="utf-8")
    sys.exit(0)
if shown < 3:
    sys.exit(f"README: only {shown} checked blocks, expected at least 3")
sys.exit(1 if wrong else 0)
