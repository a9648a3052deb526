#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""refused_test.py CLOCKASSAY ROOT [--write]

ROOT/docs/formats/refused.md lists every file of testdata/capture/*/invalid and
testdata/drift/invalid and what the program says to it. --write renews the list: look at the difference.
"""
import pathlib
import shlex
import subprocess
import sys

HEAD = """# What is refused, and with which words

Every file of `testdata/capture/*/invalid`, each of which has one fault, and what
the program answers; the exit code is 65. Bytes count from 0, lines from 1. Last,
under SERIES, those of `testdata/drift/invalid`, by `clockassay drift`.
Made and checked by `tests/system/refused_test.py`.
"""


def options_beside(path):
    beside = path.with_suffix(".options")
    return shlex.split(beside.read_text()) if beside.exists() else []


def answer(tool, command, path):
    """The message and hint as lines, and what is wrong with them."""
    run = subprocess.run([tool, command, *options_beside(path), path.name],
                         cwd=path.parent, capture_output=True, text=True,
                         check=False)
    lines = run.stderr.splitlines()
    if run.returncode != 65 or not lines or run.stdout:
        return lines, f"{path.name}: exit code {run.returncode}, {run.stdout!r}"
    return lines, None


def rendered(tool, root):
    text, faults = HEAD, []
    folders = [(folder, folder.parent.name.upper(), "measure") for folder in
               sorted((root / "testdata/capture").glob("*/invalid"))]
    folders.append((root / "testdata/drift/invalid", "SERIES", "drift"))
    for folder, title, command in folders:
        text += f"\n## {title}\n"
        files = sorted(p for p in folder.iterdir() if p.suffix != ".options")
        for path in files:
            lines, fault = answer(tool, command, path)
            if fault:
                faults.append(fault)
            options = " ".join(map(shlex.quote, options_beside(path)))
            said = f" with `{options}`" if options else ""
            text += f"\n`{path.name}`{said}\n```\n" + "\n".join(lines) + \
                "\n```\n"
    return text, faults


def main(tool, root, write):
    page = root / "docs/formats/refused.md"
    text, faults = rendered(tool, root)
    for fault in faults:
        print("not refused as it must be: " + fault)
    if write:
        page.write_text(text, encoding="utf-8")
    elif text != page.read_text(encoding="utf-8"):
        print("docs/formats/refused.md: this is what the program says now; if "
              "it is meant, renew the page with --write\n")
        old = page.read_text(encoding="utf-8").splitlines()
        for line in text.splitlines():
            if line not in old:
                print("+ " + line)
        return 1
    return 1 if faults or text.count("```") < 100 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], pathlib.Path(sys.argv[2]).resolve(),
                  sys.argv[3:] == ["--write"]))
