#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""install_test.py CMAKE BUILD SOURCE CXX [FLAG...] : what `cmake --install` puts
into a folder is all that a program and its users need.

The consumer is built against that folder by CMake and by pkg-config. FLAG: what
else the build was compiled and linked with, such as sanitizers.
"""
import json
import os
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile
import unittest

CMAKE = BUILD = SOURCE = CXX = None
FLAGS = []


def run(*argv, **more):
    return subprocess.run([str(a) for a in argv], capture_output=True, text=True,
                          check=False, **more)


class Install(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        cls.root = pathlib.Path(cls.temporary.name)
        cls.prefix = cls.root / "a prefix"
        done = run(CMAKE, "--install", BUILD, "--prefix", cls.prefix)
        assert done.returncode == 0, done.stderr
        cls.program = cls.prefix / "bin/clockassay"
        cls.library, = {p.parent for p in cls.prefix.rglob("*.a")}

    @classmethod
    def tearDownClass(cls):
        cls.temporary.cleanup()

    def must(self, *argv, **more):
        done = run(*argv, **more)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        return done.stdout

    def test_what_a_user_needs(self):
        version = re.search(r"VERSION (\S+)",
                            (SOURCE / "CMakeLists.txt").read_text().split(
                                "project(")[1]).group(1)
        self.assertEqual(self.must(self.program, "--version"),
                         f"clockassay {version}\n")
        share = self.prefix / "share"
        for name in ["man/man1/clockassay.1",
                     "bash-completion/completions/clockassay",
                     "zsh/site-functions/_clockassay",
                     "fish/vendor_completions.d/clockassay.fish",
                     "doc/clockassay/LICENSE", "doc/clockassay/README.md",
                     "doc/clockassay/docs/uncertainty.md",
                     "doc/clockassay/docs/formats/vcd.md",
                     "doc/clockassay/docs/schema/clockassay-1.schema.json"]:
            self.assertTrue((share / name).is_file(), name)
        self.assertEqual(
            self.must("man", "-M", share / "man", "-w", "clockassay").strip(),
            str(share / "man/man1/clockassay.1"))

    def test_the_public_headers_and_no_others(self):
        def headers(folder):
            return {p.relative_to(folder).as_posix()
                    for p in folder.rglob("*") if p.is_file()}
        self.assertEqual(headers(self.prefix / "include"),
                         headers(SOURCE / "include"))

    def test_headers_need_tl_expected_alone(self):
        include = self.prefix / "include"
        text = "".join(f"#include <{p.relative_to(include).as_posix()}>\n"
                       for p in sorted(include.rglob("*.h")))
        source = self.root / "all.cpp"
        source.write_text(text, encoding="utf-8")
        files = self.must(CXX, "-std=c++20", "-Wall", "-Wextra", "-Werror",
                          "-I", include, "-M", source)
        self.assertIn("tl/expected.hpp", files)
        self.assertIn("clockassay/analysis/record.h", files)
        self.assertNotRegex(
            files, "eigen|fftw|nlohmann|CLI/|boost|isa-l|zstd|pugi|soci|plplot")
        self.must(CXX, "-std=c++20", "-Wall", "-Wextra", "-Werror", "-I",
                  include, "-fsyntax-only", source)

    def test_nothing_names_the_folders_of_the_build(self):
        for path in [*self.library.rglob("*.cmake"), *self.library.rglob("*.pc")]:
            text = path.read_text(encoding="utf-8")
            for folder in [BUILD, SOURCE, self.prefix]:
                self.assertNotIn(str(folder), text, path)

    def answer(self, program):
        """The consumer says what the truth is and what the program says."""
        capture = SOURCE / "testdata/demo/good-board.vcd"
        name, frequency, u = self.must(program, capture, "2ppm").split()
        truth = json.loads((SOURCE / "testdata/demo/good-board.truth.json")
                           .read_text(encoding="utf-8"))
        self.assertTrue(name.endswith(truth["channel"]), name)
        # The simulated instrument's timebase is exact: the capture alone is
        # some 0.007 ppm wide, the stated 2 ppm are rectangular: U = 1.9 ppm.
        self.assertLess(abs(float(frequency) - truth["frequency_hz"]), float(u))
        self.assertAlmostEqual(float(u) / 0.75, 1.9, delta=0.05)
        said = json.loads(self.must(self.program, "measure", "--timebase",
                                    "2ppm", "--json", "-", capture))
        clock = said["captures"][0]["channels"][0]["frequency"]
        self.assertEqual(float(frequency), clock["value_hz"])
        self.assertEqual(float(u), clock["expanded_uncertainty_hz"])

    def test_by_cmake(self):
        build = self.root / "by cmake"
        self.must(CMAKE, "-S", SOURCE / "tests/install/consumer", "-B", build,
                  "-G", "Ninja", f"-DCMAKE_PREFIX_PATH={self.prefix}",
                  f"-DCMAKE_CXX_COMPILER={CXX}",
                  f"-DCMAKE_CXX_FLAGS={' '.join(FLAGS)}")
        self.must(CMAKE, "--build", build)
        self.answer(build / "frequency_of")

    def test_what_is_missing_ends_only_who_requires_it(self):
        """With no library to be found beside clockassay's own package."""
        def configure(required, *hide):
            folder = pathlib.Path(tempfile.mkdtemp(dir=self.root))
            (folder / "CMakeLists.txt").write_text(
                "cmake_minimum_required(VERSION 3.25)\n"
                "project(lacking LANGUAGES CXX)\n"
                f"find_package(clockassay CONFIG {required})\n"
                "if(clockassay_FOUND)\n  message(STATUS \"it is there\")\n"
                "endif()\n", encoding="utf-8")
            return run(CMAKE, "-S", folder, "-B", folder / "build", "-G",
                       "Ninja", f"-DCMAKE_PREFIX_PATH={self.prefix}",
                       f"-DCMAKE_CXX_COMPILER={CXX}", *hide)
        hidden = ["-DCMAKE_FIND_ROOT_PATH=/nowhere",
                  "-DCMAKE_FIND_ROOT_PATH_MODE_LIBRARY=ONLY"]
        self.assertIn("it is there", configure("").stdout)
        done = configure("", *hidden)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotIn("it is there", done.stdout)
        done = configure("REQUIRED", *hidden)
        self.assertNotEqual(done.returncode, 0)
        self.assertIn("found no library zstd", done.stderr)

    def test_the_demo_that_documents_use(self):
        demo = self.prefix / "share/doc/clockassay/testdata/demo"
        self.assertEqual({p.name for p in demo.iterdir()},
                         {p.name for p in (SOURCE / "testdata/demo").iterdir()})
        # As the README has it, from where the README is.
        said = self.must(self.program, "verify", "--spec",
                         "testdata/demo/logger.json", "--timebase", "2ppm",
                         "testdata/demo/good-board.vcd",
                         cwd=self.prefix / "share/doc/clockassay")
        self.assertTrue(said.startswith("PASS  clock output"), said)
        # What a document names of it is there.
        for page in demo.parents[1].rglob("*.md"):
            for name in re.findall(r"testdata/demo/([\w.-]*\w)",
                                   page.read_text(encoding="utf-8")):
                self.assertTrue((demo / name).exists(), (page, name))

    def test_links_of_the_documents_lead_somewhere(self):
        folder = self.prefix / "share/doc/clockassay"
        links = 0
        for page in folder.rglob("*.md"):
            for link in re.findall(r"\]\(([^)#]+)[^)]*\)",
                                   page.read_text(encoding="utf-8")):
                if ":" in link:
                    continue
                links += 1
                self.assertTrue((page.parent / link).exists(), (page, link))
        self.assertGreater(links, 20)

    def test_by_pkg_config(self):
        environment = {**os.environ, "PKG_CONFIG_PATH":
                       str(self.library / "pkgconfig")}
        self.must("pkg-config", "--validate", "clockassay", env=environment)
        self.assertEqual(
            self.must("pkg-config", "--modversion", "clockassay",
                      env=environment).strip(),
            self.must(self.program, "--version").split()[1])
        flags = shlex.split(self.must("pkg-config", "--cflags", "--libs",
                                      "--static", "clockassay",
                                      env=environment))
        program = self.root / "by_pkg_config"
        self.must(CXX, "-std=c++20", *FLAGS, "-o", program,
                  SOURCE / "tests/install/consumer/frequency_of.cpp", *flags)
        self.answer(program)


if __name__ == "__main__":
    CMAKE, BUILD, SOURCE, CXX = sys.argv[1:5]
    BUILD, SOURCE = pathlib.Path(BUILD), pathlib.Path(SOURCE)
    FLAGS = sys.argv[5:]
    unittest.main(argv=sys.argv[:1])
