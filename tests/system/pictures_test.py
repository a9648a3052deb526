#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""pictures_test.py CLOCKASSAY ROOT : the pictures of the documents made anew.

docs/pictures/make.sh makes them. Bytes may differ from one release of the
plotting library to the next; what a picture is called, what it says, its size
and how many lines it has in which colour may not. Each is shown by a document.
"""
import collections
import pathlib
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

TOOL, ROOT = sys.argv[1], pathlib.Path(sys.argv[2])
PICTURES = ROOT / "docs/pictures"
SVG = "{http://www.w3.org/2000/svg}"
# Larger ones are no pictures for a document.
MOST_BYTES = 80_000
failed = []


def check(ok, what):
    if not ok:
        failed.append(what)
        print("FAILED:", what)


def described(path):
    """What of a picture does not depend on the plotting library's release."""
    root = xml.etree.ElementTree.parse(path).getroot()
    texts = ["".join(text.itertext()) for text in root.iter(SVG + "text")]
    return {"title": root.findtext(SVG + "title"),
            "description": root.findtext(SVG + "desc"),
            "size": root.get("viewBox"),
            "texts": sorted(texts),
            "lines": collections.Counter(
                line.get("stroke") for line in root.iter(SVG + "polyline"))}


with tempfile.TemporaryDirectory() as out:
    subprocess.run([PICTURES / "make.sh", TOOL, ROOT / "testdata/demo", out],
                   check=True)
    made = {path.name: path for path in pathlib.Path(out).iterdir()}
    kept = {path.name: path for path in PICTURES.glob("*.svg")}
    check(made.keys() == kept.keys(),
          f"make.sh makes {sorted(made)}, kept are {sorted(kept)}")
    for name in sorted(made.keys() & kept.keys()):
        now, then = described(made[name]), described(kept[name])
        for key, value in now.items():
            check(value == then[key],
                  f"{name}: the {key} is {value}, kept is {then[key]}")
        check(bool(now["title"]) and len(now["texts"]) > 4,
              f"{name} has a title and texts")
        size = kept[name].stat().st_size
        check(size < MOST_BYTES, f"{name} has {size} bytes")

documents = "".join(path.read_text(encoding="utf-8") for path in
                    [ROOT / "README.md", *(ROOT / "docs").rglob("*.md")])
for name in kept:
    check(f"pictures/{name})" in documents, f"{name} is shown by a document")
print(f"{len(kept)} pictures")
sys.exit(1 if failed else 0)
