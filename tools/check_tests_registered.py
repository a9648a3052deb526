#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""check_tests_registered.py ROOT : no source is left out of the build.

Every tests/**/*.cpp and src/**/*.cpp must be named in a CMakeLists.txt of its
own folder or one above it, and so must every tests/**/*_test.py: what is not
named there is neither built nor run. Prints every one that is not; exits 1 if
there is one, or if there was nothing to look at.
"""
import pathlib
import sys


def words_of(lists_file):
    lines = lists_file.read_text().splitlines()
    code = " ".join(line.split("#")[0] for line in lines)
    return set(code.replace("(", " ").replace(")", " ").split())


def is_named(path, top):
    folder = path.parent
    while True:
        lists_file = folder / "CMakeLists.txt"
        if lists_file.exists():
            name = path.relative_to(folder).as_posix()
            words = words_of(lists_file)
            if name in words or any(w.endswith("}/" + name) for w in words):
                return True
        if folder == top:
            return False
        folder = folder.parent


def main(root):
    missing = []
    seen = 0
    for top, patterns in [("src", ["*.cpp"]), ("tests", ["*.cpp", "*_test.py"])]:
        for pattern in patterns:
            for path in sorted((root / top).rglob(pattern)):
                seen += 1
                if not is_named(path, root / top):
                    missing.append(f"{path}: in no CMakeLists.txt")
    print("\n".join(missing) if missing else f"{seen} files are registered")
    return 1 if missing or seen == 0 else 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1])))
