#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the commands that documents show and compares what they print.

readme_test.py CLOCKASSAY FILE... [--write]
--write puts the real output into the files instead: look at the difference.

A comment before a block of code says what the block is:

    <!-- spec -->             testdata/demo/logger.json
    <!-- file: NAME -->       a file of that name for the commands that follow
    <!-- run: ARGUMENTS -->   a command and what it prints, errors last
    <!-- run: ARGUMENTS | show: why, checks | exit: 2 -->
                              of the indented sections only these, "…" for each
                              run of others; and the exit code it returns
    <!-- setup: ARGUMENTS --> a command that is not shown, without a block
    <!-- edit: NAME: OLD => NEW --> what the reader is told to change in a file,
                              where OLD stands once; without a block

The commands of one file run in one folder, which begins as a copy of
testdata/demo and has all of testdata in it. Links between documents must lead
somewhere, and an index README.md must name every page beside it.
"""
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import urllib.parse

ROOT = pathlib.Path(__file__).resolve().parents[2]
DEMO = ROOT / "testdata/demo"
BLOCK = re.compile(
    r"^<!-- (?:(?P<quiet>setup|edit): (?P<how>[^\n]*)|"
    r"(?P<kind>spec|file|run)(?:: (?P<what>[^\n]*))?) -->\n"
    r"(?(quiet)|```\w*\n(?P<text>.*?)^```$)", re.S | re.M)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
CODE = re.compile(r"^```.*?^```$|`[^`\n]*`", re.S | re.M)


def section_of(line):
    """The name of the section that a line begins; None: it goes on."""
    return line[2:16].strip() if re.match(r"  \S", line) else None


def excerpt(out, names):
    """Of indented sections those named, and every line that is not indented."""
    kept, seen, shown = [], set(), True
    for line in out.splitlines(keepends=True):
        name = section_of(line.rstrip("\n"))
        if name:
            shown = name in names
            seen.add(name)
        elif not line.startswith(" "):
            shown = True
        if shown:
            kept.append(line)
        elif not kept or kept[-1] != "  …\n":
            kept.append("  …\n")
    missing = [name for name in names if name not in seen]
    if missing:
        sys.exit(f"no section {missing} in:\n{out}")
    return "".join(kept)


class Document:
    """A file, and the folder its commands run in."""

    def __init__(self, tool, path, folder):
        self.tool, self.path, self.folder = tool, path, pathlib.Path(folder)
        self.text = path.read_text(encoding="utf-8")
        self.shown, self.wrong = 0, 0
        for file in DEMO.iterdir():
            shutil.copy(file, self.folder)
        (self.folder / "testdata").symlink_to(ROOT / "testdata")

    def run(self, arguments):
        return subprocess.run([self.tool] + shlex.split(arguments),
                              cwd=self.folder, capture_output=True, text=True)

    def setup(self, arguments):
        done = self.run(arguments)
        if done.returncode != 0:
            sys.exit(f"{self.path}: {arguments}\n{done.stderr}")

    def edit(self, how):
        name, change = how.split(": ", 1)
        old, new = change.split(" => ")
        file = self.folder / name
        text = file.read_text(encoding="utf-8")
        if text.count(old) != 1:
            sys.exit(f"{self.path}: {old} stands {text.count(old)} times in "
                     f"{name}")
        file.write_text(text.replace(old, new), encoding="utf-8")

    def printed(self, what):
        arguments, *options = what.split(" | ")
        options = dict(option.split(": ", 1) for option in options)
        done = self.run(arguments)
        out = done.stdout + done.stderr
        if "show" in options:
            out = excerpt(out, options.pop("show").split(", "))
        expected = options.pop("exit", str(done.returncode))
        if options:
            sys.exit(f"{self.path}: unknown {options}")
        if expected != str(done.returncode):
            self.wrong += 1
            print(f"{self.path}: {arguments} returns {done.returncode}, "
                  f"said is {expected}")
        return f"$ clockassay {arguments}\n" + out

    def renewed(self, match):
        """The block as it should be."""
        if match["quiet"]:
            do = self.setup if match["quiet"] == "setup" else self.edit
            do(match["how"])
            return match[0]
        if match["kind"] == "file":
            (self.folder / match["what"]).write_text(match["text"],
                                                     encoding="utf-8")
            return match[0]
        self.shown += 1
        out = ((DEMO / "logger.json").read_text(encoding="utf-8")
               if match["kind"] == "spec" else self.printed(match["what"]))
        if out != match["text"]:
            self.wrong += 1
            print(f"{self.path}: {match['what']!r} prints:\n{out}")
        start, end = (match.start("text") - match.start(),
                      match.end("text") - match.start())
        return match[0][:start] + out + match[0][end:]


def headings(path):
    """The anchors of a document, as they are made of its headings."""
    lines = CODE.sub(lambda m: "" if m[0].startswith("```") else m[0],
                     path.read_text(encoding="utf-8")).splitlines()
    words = [line.lstrip("#").strip().lower() for line in lines
             if line.startswith("#")]
    return {re.sub(r"[^\w\- ]", "", word).replace(" ", "-") for word in words}


def broken_links(path, text):
    broken = []
    for link in LINK.findall(CODE.sub("", text)):
        to, _, anchor = urllib.parse.unquote(link).partition("#")
        if re.match(r"[a-z]+:", to):
            continue
        target = (path.parent / to) if to else path
        if not target.exists():
            broken.append(f"{link}: no such file")
        elif anchor and anchor not in headings(target):
            broken.append(f"{link}: no such heading")
    if path.name == "README.md" and path.parent != ROOT:
        broken += [f"{page.name}: not in the index"
                   for page in sorted(path.parent.glob("*.md"))
                   if page != path and f"({page.name})" not in text]
    return broken


def checked(tool, path, write):
    """How many things are wrong with a document."""
    with tempfile.TemporaryDirectory() as folder:
        document = Document(tool, path, folder)
        new = BLOCK.sub(document.renewed, document.text)
    if write:
        path.write_text(new, encoding="utf-8")
    broken = broken_links(path, new)
    for link in broken:
        print(f"{path}: {link}")
    least = 3 if path.parent == ROOT else 0 if path.name == "README.md" else 1
    if document.shown < least:
        sys.exit(f"{path}: only {document.shown} checked blocks, expected at "
                 f"least {least}")
    return len(broken) + (0 if write else document.wrong)


def main():
    tool, *files = [word for word in sys.argv[1:] if word != "--write"]
    tool = str(pathlib.Path(tool).resolve())
    if not files:
        sys.exit(__doc__)
    wrong = [checked(tool, pathlib.Path(file).resolve(), "--write" in sys.argv)
             for file in files]
    sys.exit(1 if any(wrong) else 0)


main()
