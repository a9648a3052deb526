#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""package_test.py CPACK BUILD SOURCE CXX : the Debian packages of a build.

They are made, installed by dpkg into a root folder of their own with a package
database of its own, run there, and removed. The machine keeps as it is.
"""
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import unittest

CPACK = BUILD = SOURCE = CXX = None


def run(*argv, **more):
    return subprocess.run([str(a) for a in argv], capture_output=True, text=True,
                          check=False, **more)


def field(package, name):
    return run("dpkg-deb", "-f", package, name).stdout.strip()


class Packages(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.temporary.name)
        made = run(CPACK, "-G", "DEB", "--config", BUILD / "CPackConfig.cmake",
                   "-B", cls.folder / "made",
                   # Small or not is no matter here, and gzip is quick.
                   "-D", "CPACK_DEBIAN_COMPRESSION_TYPE=gzip")
        assert made.returncode == 0, made.stdout + made.stderr
        cls.program, = (cls.folder / "made").glob("clockassay_*.deb")
        cls.library, = (cls.folder / "made").glob("libclockassay-dev_*.deb")

    @classmethod
    def tearDownClass(cls):
        cls.temporary.cleanup()

    def must(self, *argv, **more):
        done = run(*argv, **more)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        return done.stdout

    def dpkg(self, root, *argv):
        first = [] if os.geteuid() == 0 else ["fakeroot"]
        return self.must(*first, "dpkg", f"--root={root}", "--force-not-root",
                         "--force-script-chrootless", "--no-triggers",
                         "--force-unsafe-io", *argv)

    def root_with_what_is_installed_here(self):
        """An empty root whose database names this machine's packages, so that
        what a package depends on is really asked for."""
        root = pathlib.Path(tempfile.mkdtemp(dir=self.folder))
        database = root / "var/lib/dpkg"
        for name in ["info", "updates", "triggers"]:
            (database / name).mkdir(parents=True)
        here = pathlib.Path("/var/lib/dpkg/status").read_text(encoding="utf-8")
        (database / "status").write_text(
            "\n\n".join(p for p in here.split("\n\n") if "clockassay" not in
                        p.split("\n")[0]), encoding="utf-8")
        return root

    def test_what_they_say_of_themselves(self):
        version = re.search(r"project\(clockassay VERSION (\S+)",
                            (SOURCE / "CMakeLists.txt").read_text()).group(1)
        for package in [self.program, self.library]:
            self.assertEqual(field(package, "Version"), version)
            self.assertIn("@example.invalid>", field(package, "Maintainer"))
        # Nothing but these is loaded at a start: gcc's own libraries only where
        # another compiler does not link them in.
        needed = {d.split()[0] for d in field(self.program, "Depends").split(",")}
        self.assertLessEqual({"libc6"}, needed)
        self.assertLessEqual(needed, {"libc6", "libisal2", "libgcc-s1",
                                      "libstdc++6"})
        self.assertEqual(field(self.program, "Recommends"), "libplplot17")
        self.assertEqual(field(self.program, "Suggests"), "libpq5")

    def test_the_copyright_file(self):
        root = self.folder / "copyright"
        for package, name in [(self.program, "clockassay"),
                              (self.library, "libclockassay-dev")]:
            self.must("dpkg-deb", "-x", package, root)
            text = " ".join((root / f"usr/share/doc/{name}/copyright").read_text(
                encoding="utf-8").replace("\n .\n", "\n").split())
            self.assertIn("License: GPL-3+", text)
            # The notice that the chart library asks to be kept, word for word.
            licence = BUILD / "src/report/web/node_modules/uplot/LICENSE"
            _, owner, notice = licence.read_text(encoding="utf-8").split(
                "\n\n", 2)
            self.assertIn(" ".join(notice.split()), text)
            self.assertIn(owner.removeprefix("Copyright (c) "), text)

    def test_installed_run_removed(self):
        root = self.root_with_what_is_installed_here()
        self.dpkg(root, "-i", self.program)
        self.assertEqual(
            self.must("dpkg-query", f"--admindir={root}/var/lib/dpkg", "-W",
                      "-f", "${db:Status-Abbrev}", "clockassay"), "ii ")
        for name in ["man/man1/clockassay.1.gz", "doc/clockassay/copyright",
                     "doc/clockassay/docs/verdict.md",
                     "bash-completion/completions/clockassay",
                     "zsh/vendor-completions/_clockassay",
                     "fish/vendor_completions.d/clockassay.fish"]:
            self.assertTrue((root / "usr/share" / name).is_file(), name)
        self.run_there(root)
        self.dpkg(root, "-r", "clockassay")
        self.assertEqual([p for p in (root / "usr").rglob("*")
                          if "clockassay" in p.name], [])

    def run_there(self, root):
        """In a root with nothing but the program and what it is linked with; as
        another user than root it stays in this one."""
        for name in ["logger.json", "good-board.vcd"]:
            shutil.copy(SOURCE / "testdata/demo" / name, root)
        program = root / "usr/bin/clockassay"
        call, place = [program], root
        if os.geteuid() == 0:
            for library in re.findall(r"(/\S+) \(0x", self.must("ldd", program)):
                (root / library[1:]).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(library, root / library[1:])
            call, place = ["chroot", root, "/usr/bin/clockassay"], "/"
        said = self.must(*call, "--version", cwd=place)
        self.assertEqual(said.split()[1], field(self.program, "Version"))
        verify = ["verify", "--spec", "logger.json", "--timebase", "2ppm",
                  "good-board.vcd"]
        said = self.must(*call, *verify, cwd=place)
        self.assertTrue(said.startswith("PASS  clock output  750.0067 kHz"),
                        said)
        if os.geteuid() == 0:
            # What is only recommended is not there: said, and how to get it.
            done = run(*call, *verify, "--plots", "charts", cwd=place)
            self.assertEqual(done.returncode, 73, done.stderr)
            self.assertIn("install the package libplplot17", done.stderr)

    def test_the_library_links(self):
        root = self.root_with_what_is_installed_here()
        self.dpkg(root, "-i", self.library)
        pc, = root.rglob("clockassay.pc")
        flags = shlex.split(self.must(
            "pkg-config", "--static", "--cflags", "--libs", "clockassay",
            env={**os.environ, "PKG_CONFIG_PATH": str(pc.parent)}))
        consumer = root / "frequency_of"
        self.must(CXX, "-std=c++20", "-o", consumer,
                  SOURCE / "tests/install/consumer/frequency_of.cpp", *flags)
        said = self.must(consumer, SOURCE / "testdata/demo/good-board.vcd",
                         "2ppm")
        # 750 006.75 Hz is true, U some 1.4 Hz.
        self.assertAlmostEqual(float(said.split()[1]), 750006.75, delta=1.5)


if __name__ == "__main__":
    CPACK, BUILD, SOURCE, CXX = sys.argv[1:]
    BUILD, SOURCE = pathlib.Path(BUILD), pathlib.Path(SOURCE)
    unittest.main(argv=sys.argv[:1])
