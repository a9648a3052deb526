#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""check_layers.py ROOT : a stage includes only itself and stages before it.

Looks at the include lines under ROOT/include/clockassay and ROOT/src, and for
headers of other libraries under include/. Prints every offence; exits 1 if
there is one, or if there was nothing to look at.
"""
import pathlib
import re
import sys

STAGES = ["base", "oscillator", "capture", "edges", "estimate", "uncertainty",
          "verdict", "history", "drift", "plan", "analysis", "report", "app"]

# How the headers begin that must stay out of the public ones.
FORBIDDEN = ("Eigen/", "eigen3/", "fftw3", "nlohmann/", "CLI/", "boost/",
             "immintrin", "x86intrin", "emmintrin", "arm_neon", "hwy/")

INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


def stage_of(target, quotes):
    """The stage an included path belongs to, None for other libraries."""
    parts = target.split("/")
    if parts[0] == "clockassay" and len(parts) > 2:
        return parts[1]
    return parts[0] if quotes and len(parts) > 1 else None


def offences(path, stage, public):
    for number, line in enumerate(path.read_text().splitlines(), 1):
        match = INCLUDE.match(line)
        if not match:
            continue
        target = match.group(2)
        place = f"{path}:{number}: "
        other = stage_of(target, match.group(1) == '"')
        if other is not None and other not in STAGES:
            yield place + f"{target} is in no stage"
        elif other is not None and STAGES.index(other) > STAGES.index(stage):
            yield place + f"stage {stage} includes {target} of stage {other}"
        if public and target.startswith(FORBIDDEN):
            yield place + f"a public header includes {target}"
        if public and match.group(1) == '"' and \
                not target.startswith("clockassay/"):
            yield place + f"a public header includes the private {target}"


def main(root):
    found = []
    seen = 0
    for folder, public in [("include/clockassay", True), ("src", False)]:
        for path in sorted((root / folder).rglob("*")):
            if path.suffix not in (".h", ".cpp"):
                continue
            stage = path.relative_to(root / folder).parts[0]
            seen += 1
            if stage not in STAGES:
                found.append(f"{path}: {stage} is no stage")
            else:
                found.extend(offences(path, stage, public))
    print("\n".join(found) if found else f"{seen} files keep to their layers")
    return 1 if found or seen == 0 else 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1])))
