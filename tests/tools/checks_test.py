#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""checks_test.py TOOLS_FOLDER : the checks find what they look for."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

TOOLS = None


class CheckCase(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.root = pathlib.Path(folder.name)

    def put(self, name, text):
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)

    def check(self, tool):
        done = subprocess.run([sys.executable, TOOLS / tool, self.root],
                              capture_output=True, text=True, check=False)
        self.assertEqual(done.stderr, "")
        return done.returncode, done.stdout.replace(f"{self.root}/", "")


class Layers(CheckCase):
    def test_an_include_to_the_left_is_right(self):
        self.put("src/report/a.cpp",
                 '#include "clockassay/base/units.h"\n'
                 '#include <nlohmann/json.hpp>\n#include "report/b.h"\n')
        self.assertEqual(self.check("check_layers.py"),
                         (0, "1 files keep to their layers\n"))

    def test_an_include_to_the_right_is_found(self):
        self.put("src/edges/a.cpp",
                 '\n#include "clockassay/estimate/edge_line.h"\n')
        self.assertEqual(
            self.check("check_layers.py"),
            (1, "src/edges/a.cpp:2: stage edges includes "
                "clockassay/estimate/edge_line.h of stage estimate\n"))

    def test_a_private_include_to_the_right_is_found(self):
        self.put("src/base/a.cpp", '#include "app/run.h"\n')
        self.assertEqual(self.check("check_layers.py"),
                         (1, "src/base/a.cpp:1: stage base includes app/run.h "
                             "of stage app\n"))

    def test_another_library_in_a_public_header_is_found(self):
        self.put("include/clockassay/report/a.h", "#include <fftw3.h>\n")
        self.assertEqual(self.check("check_layers.py"),
                         (1, "include/clockassay/report/a.h:1: a public header "
                             "includes fftw3.h\n"))

    def test_a_private_header_in_a_public_one_is_found(self):
        self.put("include/clockassay/report/a.h", '#include "base/b.h"\n')
        self.assertEqual(self.check("check_layers.py"),
                         (1, "include/clockassay/report/a.h:1: a public header "
                             "includes the private base/b.h\n"))

    def test_a_folder_that_is_no_stage_is_found(self):
        self.put("src/utils/a.cpp", "")
        self.assertEqual(self.check("check_layers.py"),
                         (1, "src/utils/a.cpp: utils is no stage\n"))

    def test_nothing_to_look_at_is_wrong(self):
        self.assertEqual(self.check("check_layers.py")[0], 1)


class Registered(CheckCase):
    def test_what_is_listed_is_right(self):
        self.put("src/base/a.cpp", "")
        self.put("src/base/CMakeLists.txt", "stage(base SOURCES a.cpp)\n")
        self.put("tests/CMakeLists.txt",
                 "add(support/b.cpp ${CMAKE_CURRENT_SOURCE_DIR}/c_test.py)\n")
        self.put("tests/support/b.cpp", "")
        self.put("tests/c_test.py", "")
        self.assertEqual(self.check("check_tests_registered.py"),
                         (0, "3 files are registered\n"))

    def test_what_is_not_listed_is_found(self):
        self.put("tests/unit/base/a_test.cpp", "")
        self.put("tests/unit/base/data_test.cpp", "")
        self.put("tests/unit/base/CMakeLists.txt", "t(data_test.cpp)\n")
        self.assertEqual(self.check("check_tests_registered.py"),
                         (1, "tests/unit/base/a_test.cpp: in no "
                             "CMakeLists.txt\n"))

    def test_a_comment_does_not_count(self):
        self.put("tests/a_test.py", "")
        self.put("tests/CMakeLists.txt", "# a_test.py\n")
        self.assertEqual(self.check("check_tests_registered.py"),
                         (1, "tests/a_test.py: in no CMakeLists.txt\n"))

    def test_nothing_to_look_at_is_wrong(self):
        self.assertEqual(self.check("check_tests_registered.py")[0], 1)


class ApproxScale(CheckCase):
    FAULT = ("Approx without .scale(); testing::approx() of support/approx.h "
             "has it\n")

    def code(self, text):
        self.put("tests/unit/a_test.cpp", text)
        return self.check("check_approx.py")

    def test_what_says_its_scale_is_right(self):
        self.put("tests/support/approx.h", "doctest::Approx(value)")
        self.assertEqual(
            self.code("CHECK(a == testing::approx(b));\n"
                      "CHECK(a == doctest::Approx(f(b)).scale(2.0));\n"
                      "CHECK(a == doctest::Approx(f(b) + 1)\n"
                      "               .epsilon(g(1e-3)).scale(f(b)));\n"
                      "// Approx(b)\nputs(\"Approx(b)\");\n"),
            (0, "1 files compare small values as such\n"))

    def test_one_that_does_not_is_found(self):
        for fault in ["CHECK(a == doctest::Approx(b));",
                      "CHECK(a == Approx(b).epsilon(1e-3));",
                      "CHECK(a == doctest::Approx{b});",
                      "CHECK(a == doctest::Approx(b) && c.scale(2) == d);",
                      "CHECK(a == doctest::Approx(c.scale(2)));",
                      "using doctest::Approx;"]:
            self.assertEqual(
                self.code(f"// Approx\n{fault}\n"),
                (1, f"tests/unit/a_test.cpp:2: {self.FAULT}"))

    def test_a_header_of_tests_is_looked_at(self):
        self.put("tests/support/b.h", "\ndoctest::Approx(b)\n")
        self.assertEqual(self.check("check_approx.py"),
                         (1, f"tests/support/b.h:2: {self.FAULT}"))

    def test_nothing_to_look_at_is_wrong(self):
        self.assertEqual(self.check("check_approx.py")[0], 1)


class DocTests(CheckCase):
    def setUp(self):
        super().setUp()
        self.put("tests/unit/a_test.cpp",
                 'TEST_CASE("word: a \\"b\\" is "\n          "c") {}\n'
                 'TEST_CASE_FIXTURE(F, "word: no") {}\n')
        self.put("testdata/capture/csv/valid/plain.csv", "")
        self.put("testdata/capture/csv/invalid/odd.csv", "")

    def page(self, *cells, heading="test case"):
        rows = "".join(f"| x | {cell} |\n" for cell in cells)
        self.put("docs/formats/csv.md",
                 f"# Page\n\n| what | {heading} |\n|---|---|\n{rows}\n`none`\n")
        return self.check("check_doc_tests.py")

    def test_what_is_there_is_right(self):
        self.assertEqual(
            self.page('`word: a "b" is c`', "`a \"b\" is c`; `word: a …`",
                      "V plain; I odd", "`plain`, `odd.csv`, `a_test.cpp`",
                      "`testdata/capture/csv/valid/plain.csv`"),
            (0, "5 rows name what there is\n"))

    def test_a_test_that_is_not_there_is_found(self):
        for name in ["word: a b", "is c", "word: no …", "a: …"]:
            self.assertEqual(
                self.page(f"`word: a …`, `{name}`"),
                (1, f"docs/formats/csv.md:5: there is no {name}\n"))

    def test_a_file_that_is_not_there_is_found(self):
        self.assertEqual(self.page("fine: `plain`", "`plane`"),
                         (1, "docs/formats/csv.md:6: there is no plane\n"))
        self.assertEqual(
            self.page("V odd, plain; I odd"),
            (1, "docs/formats/csv.md:5: there is no "
                "testdata/capture/csv/valid/odd.csv\n"))

    def test_a_row_that_names_nothing_is_found(self):
        self.assertEqual(self.page("tested"),
                         (1, "docs/formats/csv.md:5: there is no test or file "
                             "in this row\n"))

    def test_nothing_to_look_at_is_wrong(self):
        self.assertEqual(self.page("`plain`", heading="answer")[0], 1)


if __name__ == "__main__":
    TOOLS = pathlib.Path(sys.argv.pop(1))
    unittest.main()
