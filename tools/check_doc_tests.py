#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""check_doc_tests.py ROOT : the tests and files that the format pages name are.

Looks at the last column of every table of ROOT/docs/formats/*.md whose heading
there speaks of tests. What is quoted there, by backticks or double quotes, must
be: with a blank in it, a test case of tests/, whole, or behind a colon, or up to
a "…" at its end; without one, a file below testdata/ or tests/, by its name or
its path, with or without the ending. "V name, name" and "I name" are files of
testdata/capture/csv/valid and invalid. Prints every name that is not; exits 1
if there is one, or if there was nothing to look at.
"""
import pathlib
import re
import sys

TEST_CASE = re.compile(r'TEST_CASE\(\s*((?:"(?:[^"\\]|\\.)*"\s*)+)')
LITERAL = re.compile(r'"((?:[^"\\]|\\.)*)"')
QUOTED = re.compile(r'`([^`]+)`|"([^"]+)"')
LISTED = re.compile(r"\b(V and I|V|I) (\w+(?:, \w+)*)")
FOLDERS = {"V": "valid", "I": "invalid"}


def test_cases(root):
    names = set()
    for path in (root / "tests").rglob("*.cpp"):
        for found in TEST_CASE.finditer(path.read_text(encoding="utf-8")):
            name = "".join(LITERAL.findall(found[1]))
            names.add(re.sub(r"\\(.)", r"\1", name))
    return names


def file_names(root):
    """Names, stems and paths of every file that a page may name."""
    names = set()
    for top in ["testdata", "tests"]:
        for path in (root / top).rglob("*"):
            relative = path.relative_to(root)
            names |= {path.name, path.stem, relative.as_posix(),
                      relative.as_posix() + "/"}
    return names


def rows(page):
    """Line number and last cell of each row of the tables of tests."""
    of_tests = in_table = False
    for number, line in enumerate(page.read_text("utf-8").splitlines(), 1):
        if not line.startswith("|"):
            in_table = False
            continue
        last = line.rstrip().rstrip("|").split("|")[-1].strip()
        if not in_table:
            in_table = True
            of_tests = "test" in last
        elif of_tests and last.strip("-"):
            yield number, last


def is_test(name, cases):
    if name.endswith("…"):
        start = name[:-1].rstrip()
        return any(case.startswith(start) or f": {start}" in case
                   for case in cases)
    return any(case == name or case.endswith(": " + name) for case in cases)


def missing(cell, cases, files):
    if not QUOTED.search(cell) and not LISTED.search(cell):
        yield "test or file in this row"
    for found in QUOTED.finditer(cell):
        name = found[1] or found[2]
        if not (is_test(name, cases) if " " in name else name in files):
            yield name
    for found in LISTED.finditer(QUOTED.sub("", cell)):
        for letter in found[1].split(" and "):
            for name in found[2].split(", "):
                path = f"testdata/capture/csv/{FOLDERS[letter]}/{name}.csv"
                if path not in files:
                    yield path


def main(root):
    cases, files = test_cases(root), file_names(root)
    faults = []
    seen = 0
    for page in sorted((root / "docs/formats").glob("*.md")):
        for number, cell in rows(page):
            seen += 1
            for name in missing(cell, cases, files):
                faults.append(f"{page}:{number}: there is no {name}")
    print("\n".join(faults) if faults else f"{seen} rows name what there is")
    return 1 if faults or seen == 0 else 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1])))
