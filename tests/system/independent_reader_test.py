#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""independent_reader_test.py LIST_EDGES ROOT

Every valid capture of testdata, read by independent_reader.py, must give the
lines that list_edges prints.
"""
import pathlib
import shlex
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import independent_reader  # noqa: E402


def options_beside(path):
    beside = path.with_suffix(".options")
    return shlex.split(beside.read_text()) if beside.exists() else []


def difference(found, own):
    for a, b in zip(found, own):
        if a != b:
            return f"read {a!r}, independently {b!r}"
    return f"{len(found)} lines, independently {len(own)}"


def fault(list_edges, path):
    options = options_beside(path)
    run = subprocess.run([list_edges, *options, str(path)],
                         capture_output=True, check=False)
    found = run.stdout.decode("latin-1").splitlines()
    if run.returncode != 0:
        return "is refused: " + found[0]
    try:
        own = independent_reader.facts(path, options)
    except Exception as error:  # whatever it cannot do is a failure
        return f"independently cannot be read: {error!r}"
    if "--edges" in options or "rising_only" in found:
        # Where every row is an edge nothing is said of the level between.
        found = [line for line in found if not line.startswith("known")]
    return None if found == own else difference(found, own)


def is_capture(path):
    """Not a series of frequencies over temperature."""
    return not path.read_bytes().startswith(b"temperature_c,")


def main(list_edges, root):
    paths = sorted(p for folder in ("capture/csv/valid", "capture/vcd/valid",
                                    "demo")
                   for p in (root / "testdata" / folder).iterdir()
                   if p.suffix in (".csv", ".vcd") and is_capture(p))
    faults = 0
    for path in paths:
        what = fault(list_edges, path)
        if what:
            faults += 1
            print(f"{path.name}: {what}")
    print(f"{len(paths)} captures, {faults} read differently")
    return 1 if faults or len(paths) < 60 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], pathlib.Path(sys.argv[2])))
