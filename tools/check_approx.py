#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""check_approx.py ROOT : no test compares small values to an absolute 1e-5.

doctest's Approx allows epsilon * (scale + |value|), scale 1 unless it is said:
what is far below 1, such as seconds of nanoseconds, equals anything. In
tests/**/*.cpp and *.h, but for tests/support/approx.h, every Approx has to say
its scale in the chain of calls behind it. Prints every one that does not; exits 1 if there is one, or
if there was nothing to look at.
"""
import pathlib
import re
import sys

NO_CODE = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:[^"\\\n]|\\.)*"', re.DOTALL)
APPROX = re.compile(r"\bApprox\b")
CALL = re.compile(r"\s*(?:\.\s*(\w+)\s*)?(?=[({])")


def blanked(text):
    """The same without comments and strings, each line where it was."""
    return NO_CODE.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), text)


def end_of_call(code, at):
    depth = 0
    for i in range(at, len(code)):
        depth += (code[i] in "({") - (code[i] in ")}")
        if depth == 0:
            return i + 1
    return len(code)


def says_scale(code, at):
    """Whether .scale() is among the calls chained from `at` on."""
    while found := CALL.match(code, at):
        if found[1] == "scale":
            return True
        at = end_of_call(code, found.end())
    return False


def main(root):
    faults = []
    seen = 0
    tests = root / "tests"
    own = tests / "support/approx.h"
    for path in sorted([*tests.rglob("*.cpp"), *tests.rglob("*.h")]):
        if path == own:
            continue
        seen += 1
        code = blanked(path.read_text(encoding="utf-8"))
        for found in APPROX.finditer(code):
            if not says_scale(code, found.end()):
                line = code.count("\n", 0, found.start()) + 1
                faults.append(f"{path}:{line}: Approx without .scale(); "
                              "testing::approx() of support/approx.h has it")
    print("\n".join(faults) if faults
          else f"{seen} files compare small values as such")
    return 1 if faults or seen == 0 else 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1])))
