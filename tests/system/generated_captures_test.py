#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""generated_captures_test.py LIST_EDGES [FIRST_SEED COUNT]

Captures in random dialects with known edges must be read exactly; those that
do not say what they mean must be refused. See generated_captures.py.
"""
import pathlib
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import generated_captures  # noqa: E402


def read(list_edges, text, options):
    with tempfile.NamedTemporaryFile(suffix=".csv") as file:
        file.write(text)
        file.flush()
        done = subprocess.run([list_edges, *options, file.name],
                              capture_output=True, check=False)
    return done.returncode, done.stdout.decode("latin-1").splitlines()


def same(found, made):
    """Whether the lines are the truth; a lone column has a name of its own and
    what is known between its edges is not compared."""
    truth = made.truth
    if truth.channels[0][0] is not None:
        return found == truth.lines()
    edges = [line for line in found
             if line.startswith(("first", "last", "rise", "fall"))]
    return edges == [f"first {truth.first}", f"last {truth.last}"] + \
        truth.channels[0][1]


def difference(found, wanted):
    for i, (a, b) in enumerate(zip(found, wanted)):
        if a != b:
            return f"line {i + 1}: read {a!r}, true {b!r}"
    return f"{len(found)} lines read, {len(wanted)} true"


def check_read(list_edges, seed):
    made = generated_captures.capture(seed)
    code, found = read(list_edges, made.text, made.options)
    if code == 0 and same(found, made):
        return 0
    what = found[0] if code else difference(found, made.truth.lines())
    print(f"seed {seed}: {made.what}\n  options {made.options}\n  {what}\n"
          f"  {made.text[:160]!r}")
    return 1


def check_refused(list_edges, seed):
    wrong = 0
    for what, text, options, names, column in \
            generated_captures.spoilt(seed):
        code, found = read(list_edges, text, options)
        answer = found[0] if found else ""
        left_out = code == 0 and column is not None and \
            "channel " + generated_captures.printed(column) not in found
        if left_out:
            continue
        if code == 65 and answer.startswith("error") and names in answer:
            continue
        wrong += 1
        print(f"seed {seed}: {what}, expected a refusal that names "
              f"{names or 'the fault'}\n  options {options}\n  {answer}\n"
              f"  {text[:160]!r}")
    return wrong


def main(list_edges, first=1, count=300):
    seeds = range(first, first + count)
    wrong = sum(check_read(list_edges, seed) for seed in seeds)
    # Two dozen captures from each of these seeds.
    refused = sum(check_refused(list_edges, seed) for seed in seeds[::15])
    print(f"{count} captures from seed {first} on: {wrong} read wrongly or "
          f"refused; {refused} spoilt ones not refused as they must be")
    return 1 if wrong or refused or count < 1 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], *map(int, sys.argv[2:4])))
