#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""pages_test.py CLOCKASSAY ROOT MODULES [CHROMIUM] : pages and pictures.

Every command that has them writes a page and pictures here; what they hold is
compared with the JSON of the same run, and read by Python's own parsers. Then a
browser opens every page (tests/browser/pages.mjs), without a network.
MODULES is where npm put what that needs.
"""
import html.parser
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import unittest
import xml.etree.ElementTree

import cli_test
from cli_test import CliCase

ROOT = None
MODULES = None
CHROMIUM = None
PAGES = pathlib.Path("pages")
SVG = "{http://www.w3.org/2000/svg}"
VOID = {"meta", "link", "br", "hr", "img", "input"}
HOSTILE = "<img/src=x/onerror=alert(1)>&amp;</script>"
# docs/report.md
MOST_BYTES_OF_A_MILLION_EDGES = 3_000_000
MOST_BYTES_OF_A_BATCH = 5_000_000
MOST_BYTES_OF_A_ROW = 600
MOST_WITH_CHARTS, MOST_IN_FULL = 8, 40


class Page(html.parser.HTMLParser):
    """Tags that match, ids, attributes and the text of each element."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.attributes = [], [], []
        self.tags, self.words, self.data = [], [], ""
        self.feed(text)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        self.ids += [value for name, value in attrs if name == "id"]
        self.words += ["\0"] * (("class", "option") in attrs)
        if tag not in VOID:
            self.open.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        name, attributes = self.open.pop()
        self.words += ["\0"] * (attributes.get("class") == "option")
        assert name == tag, (name, tag, self.getpos())

    def handle_data(self, data):
        if not self.open or self.open[-1][0] in ("script", "style"):
            if self.open and self.open[-1][1].get("id") == "charts":
                self.data += data
            return
        self.words.append(data)

    def charts(self):
        return {c["id"]: c for c in json.loads(self.data)}

    def text(self):
        # An option in a sentence is no word apart.
        text = re.sub(r" ?\0 ?", "\0", " ".join(self.words)).replace("\0", "")
        return " ".join(text.split())


def page_words(text):
    """A sentence as a page has it: a minus, degrees."""
    text = re.sub(r"(^|[ (])-(?=[\d.]+([ ,;)]|$))", "\\1\u2212", text)
    return text.replace(" degC", " \u00b0C")


class PagesCase(CliCase):
    def page_of(self, code, name, *args):
        """Page, pictures by name, and JSON of one run; the page is kept."""
        path, plots = self.path(name), self.path(name + ".plots")
        result = self.path(name + ".json")
        self.expect(code, *args, "--report", path, "--plots", plots, "--json",
                    result)
        PAGES.mkdir(exist_ok=True)
        shutil.copy(path, PAGES / name)
        pictures = {p.stem: xml.etree.ElementTree.parse(p).getroot()
                    for p in pathlib.Path(plots).iterdir()}
        page = Page(pathlib.Path(path).read_text())
        self.assertEqual(len(page.ids), len(set(page.ids)))
        for name_, value in page.attributes:
            if name_ == "href" and value.startswith("#"):
                self.assertIn(value[1:], page.ids)
            elif name_ in ("src", "href", "action", "data"):
                self.fail(f"{name_}={value}: a page needs nothing but itself")
            self.assertFalse(name_.startswith("on"), (name_, value))
        for chart in page.charts().values():
            # There is room, however alike the values are.
            low, high = chart["y_range"]
            self.assertLess(low, high, chart["id"])
            for s in chart["series"]:
                for y in s["y"] + s["low"] + s["high"]:
                    if y is not None and (y > 0 or chart["y"]["scale"]
                                          == "linear"):
                        self.assertTrue(low <= y <= high, (chart["id"], y))
        return page, pictures, json.loads(pathlib.Path(result).read_text())

    def near(self, shown, exact):
        # Charts have eight digits.
        self.assertAlmostEqual(shown, exact, delta=abs(exact) * 1e-7)


class Measured(PagesCase):
    def setUp(self):
        super().setUp()
        self.simulate("a.vcd", "--jitter", "2ns")

    def test_the_numbers_are_those_of_the_result(self):
        page, pictures, result = self.page_of(
            0, "measure.html", "measure", self.path("a.vcd"), "--stability",
            "--spectrum")
        channel = result["captures"][0]["channels"][0]
        charts = page.charts()
        self.assertEqual(set(charts), set(pictures))
        deviation = {s["name"]: s for s in
                     charts["allan-deviation"]["series"]}
        rows = [r for r in channel["stability"] if r["adev"]]
        shown = deviation["Allan deviation"]
        self.assertEqual(len(shown["x"]), len(rows))
        for x, y, row in zip(shown["x"], shown["y"], rows):
            self.near(x, row["tau_s"])
            self.near(y, row["adev"])
        interval = deviation["95 % interval"]
        for low, high, row in zip(interval["low"], interval["high"], rows):
            if row["adev_low"] is None:
                self.assertIsNone(low)
                continue
            self.near(low, row["adev_low"])
            self.near(high, row["adev_high"])
        floor = deviation["sampling alone"]
        for y, row in zip(floor["y"], rows):
            self.near(y, row["floor_adev"])
        # The extremes of the error are those of the whole.
        [error] = charts["time-interval-error"]["series"]
        unit = {"ns": 1e-9, "\u00b5s": 1e-6}[
            charts["time-interval-error"]["y"]["label"].rsplit(" ", 1)[1]]
        jitter = channel["jitter"]
        self.near((max(error["high"]) - min(error["low"])) * unit,
                  jitter["tie_peak_to_peak_s"])
        self.assertLess(len(error["x"]), 4097)
        # All periods are in the histogram.
        [periods] = charts["periods"]["series"]
        self.assertEqual(sum(periods["y"]), jitter["cycles"])

    def test_a_million_edges_are_a_page_of_bounded_size(self):
        # 500 000 periods of 1.4 us, so 0.7 s; with jitter, so that nothing of
        # the charts is alike.
        self.expect(0, "simulate", "--frequency", "700kHz", "--sample-rate",
                    "9.7MHz", "--cycles", "500000", "--jitter", "20ns",
                    "--seed", "5", "--out", self.path("m.csv"))
        page, pictures, result = self.page_of(
            0, "million.html", "measure", self.path("m.csv"), "--stability",
            "--spectrum")
        edges = result["captures"][0]["channels"][0]["edges"]
        self.assertGreaterEqual(edges["rising"] + edges["falling"], 999_990)
        self.assertLess((PAGES / "million.html").stat().st_size,
                        MOST_BYTES_OF_A_MILLION_EDGES)
        self.assertEqual(set(pictures), {"time-interval-error", "periods",
                                         "allan-deviation", "error-spectrum"})

    def test_what_cannot_be_drawn_is_said(self):
        # Edges without any scatter: the deviation is zero, which has no place
        # on an axis of powers of ten. Nine edges have no spectrum.
        rows = "".join(f"{i}e-6,{i % 2}\n" for i in range(10))
        page, pictures, _ = self.page_of(
            0, "few.html", "measure",
            self.put("few.csv", "time_s,clk\n" + rows), "--sample-rate",
            "100MHz")
        self.assertNotIn("allan-deviation", pictures)
        self.assertNotIn("allan-deviation", page.charts())
        self.assertIn("chart-allan-deviation", page.ids)
        self.assertIn("there an Allan deviation above zero", page.text())
        self.assertIn("None is formed: fewer than", page.text())

    def test_lines_of_the_sampling_are_told_from_the_clocks(self):
        page, _, result = self.page_of(
            0, "lines.html", "measure", self.path("a.vcd"), "--spectrum")
        spectrum = result["captures"][0]["channels"][0]["spectrum"]
        chart = page.charts()["error-spectrum"]
        uprights = [l for l in chart["levels"] if l["upright"]]
        self.assertEqual(len(uprights), min(len(spectrum["spurs"]), 24))
        if not spectrum["spurs"]:
            self.assertIn("No line is the clock's", page.text())

    def test_a_result_is_the_same_with_and_without_pictures(self):
        one, other = self.path("1.json"), self.path("2.json")
        self.expect(0, "measure", self.path("a.vcd"), "--json", one)
        with_page = self.expect(0, "measure", self.path("a.vcd"), "--json",
                                other, "--report", self.path("p.html"))
        self.assertEqual(pathlib.Path(one).read_bytes(),
                         pathlib.Path(other).read_bytes())
        without = self.expect(0, "measure", self.path("a.vcd"))
        self.assertEqual(with_page.stdout, without.stdout)
        # So is a record a line each, as a batch writes them.
        batch = ["verify", self.path("a.vcd"), "--expect", "1MHz",
                 "--tolerance", "300ppm", "--json-lines"]
        self.expect(0, *batch, one)
        self.expect(0, *batch, other, "--report", self.path("p.html"),
                    "--plots", self.path("plots"))
        self.assertEqual(pathlib.Path(one).read_bytes(),
                         pathlib.Path(other).read_bytes())

    def test_pictures_are_labelled(self):
        _, pictures, _ = self.page_of(0, "labelled.html", "measure",
                                      self.path("a.vcd"))
        self.assertIn("time-interval-error", pictures)
        for name, picture in pictures.items():
            self.assertEqual(picture.get("role"), "img", name)
            self.assertTrue(picture.find(SVG + "title").text, name)
            self.assertTrue(picture.find(SVG + "desc").text, name)

    def test_an_output_is_whole_or_absent(self):
        self.expect(64, "measure", self.path("a.vcd"), "--report",
                    self.path("a.vcd"))
        done = self.expect(73, "measure", self.path("a.vcd"), "--report",
                           self.path("no/such/folder.html"))
        self.assertIn(b"folder.html", done.stderr)
        # A file stands where the folder should be.
        done = self.expect(73, "measure", self.path("a.vcd"), "--plots",
                           self.path("a.vcd"))
        self.assertIn(b"a.vcd", done.stderr)
        done = self.expect(74, "measure", self.path("a.vcd"), "--report",
                           "/dev/full")
        self.assertIn(b"/dev/full", done.stderr)

    def test_pictures_of_an_earlier_run_do_not_stay(self):
        folder = pathlib.Path(self.path("plots"))
        self.expect(0, "verify", self.path("a.vcd"), "--expect", "1MHz",
                    "--tolerance", "300ppm", "--plots", str(folder))
        self.assertTrue((folder / "limits.svg").exists())
        shutil.copy(folder / "limits.svg", folder / "limits-7.svg")
        # Renamed to be kept.
        shutil.copy(folder / "limits.svg", folder / "limits-mine.svg")
        shutil.copy(folder / "limits.svg", folder / "board-7.svg")
        # Not ours, of a name that only another command gives.
        (folder / "history.svg").write_text("mine")
        self.expect(0, "measure", self.path("a.vcd"), "--plots", str(folder))
        self.assertFalse((folder / "limits.svg").exists())
        self.assertFalse((folder / "limits-7.svg").exists())
        self.assertTrue((folder / "limits-mine.svg").exists())
        self.assertTrue((folder / "board-7.svg").exists())
        self.assertTrue((folder / "periods.svg").exists())
        self.assertEqual((folder / "history.svg").read_text(), "mine")

    def test_a_picture_that_is_not_ours_is_not_overwritten(self):
        folder = pathlib.Path(self.path("plots"))
        folder.mkdir()
        (folder / "course-2.svg").write_text("<svg><!-- my own --></svg>")
        report, result = self.path("p.html"), self.path("p.json")
        done = self.expect(73, "measure", self.path("a.vcd"), "--plots",
                           str(folder), "--report", report, "--json", result)
        for words in (b"course-2.svg", b"no picture of clockassay's",
                      b"another folder"):
            self.assertIn(words, done.stderr)
        # Before anything is written.
        self.assertEqual(done.stdout, b"")
        self.assertEqual([p.name for p in folder.iterdir()], ["course-2.svg"])
        self.assertFalse(pathlib.Path(report).exists())
        self.assertFalse(pathlib.Path(result).exists())
        done = self.expect(73, "measure", self.path("a.vcd"), "--plots",
                           str(folder), "--json", "-")
        self.assertEqual(json.loads(done.stdout)["errors"][0]["code"],
                         "cannot_create")
        for args in (("verify", self.path("a.vcd"), "--expect", "1MHz",
                      "--tolerance", "300ppm"),
                     ("compare", self.path("a.vcd"), self.path("a.vcd")),
                     ("plan", "load", "--crystal-load", "12pF",
                      "--stray-across", "3pF")):
            name = {"verify": "limits", "compare": "shifts",
                    "plan": "pull"}[args[0]]
            other = pathlib.Path(self.path("plots-" + args[0]))
            other.mkdir()
            (other / f"{name}.svg").write_text("mine")
            done = self.expect(73, *args, "--plots", str(other))
            self.assertIn(f"{name}.svg".encode(), done.stderr)
            self.assertEqual((other / f"{name}.svg").read_text(), "mine")


class Judged(PagesCase):
    def test_the_verdict_comes_first(self):
        self.simulate("a.vcd")
        for code, word, tolerance in ((0, "pass", "30ppm"),
                                      (1, "fail", "0.5ppm"),
                                      (2, "undecided", "3ppm")):
            page, pictures, result = self.page_of(
                code, word + ".html", "verify", self.path("a.vcd"),
                "--expect", "1MHz", "--tolerance", tolerance, "--timebase",
                "1ppm")
            [verdict] = result["verdicts"]
            text = page.text()
            self.assertLess(text.index(word), text.index("Channel"))
            self.assertIn("limits", pictures)
            for reason in verdict.get("reasons", []):
                self.assertIn(page_words(reason), text)
            for cause in verdict["causes"]:
                self.assertIn(page_words(cause["cause"]), text)
            self.assertIn("Time error against the expected frequency", text)

    def test_a_missing_clock_and_a_missing_file_are_told(self):
        self.put("flat.csv", "time_s,clk\n0,0\n1,0\n")
        page, _, _ = self.page_of(
            1, "flat.html", "verify", self.path("flat.csv"), "--expect",
            "1MHz", "--tolerance", "30ppm")
        self.assertIn("no clock", page.text())
        page, _, _ = self.page_of(
            66, "missing.html", "verify", self.path("none.vcd"), "--expect",
            "1MHz", "--tolerance", "30ppm")
        self.assertIn("cannot open", page.text())

    def test_nothing_from_a_capture_is_markup(self):
        self.simulate("a.vcd")
        text = pathlib.Path(self.path("a.vcd")).read_text()
        text = re.sub(r"(\$var wire 1 \S+) \S+", r"\1 " + HOSTILE, text)
        hostile = self.put("'\"><script>alert(2)<%00.vcd", text)
        page, pictures, _ = self.page_of(0, "hostile.html", "measure", hostile)
        self.assertNotIn("img", page.tags)
        self.assertEqual(page.tags.count("script"), 2)
        self.assertIn(HOSTILE, page.text())
        for picture in pictures.values():
            self.assertIn(HOSTILE, picture.find(SVG + "title").text)
        # What the plotting library takes for orders of its own.
        odd = re.sub(r"(\$var wire 1 \S+) \S+", r"\1 #u#fs#(2221)##", text)
        self.page_of(0, "orders.html", "measure", self.put("o.vcd", odd))

    def test_stretches_of_a_reset_capture_are_shown(self):
        self.expect(0, "simulate", *cli_test.FREQUENCY, "--cycles", "4000",
                    "--out", self.path("a.csv"))
        lines = pathlib.Path(self.path("a.csv")).read_text().splitlines()
        head = next(i for i, r in enumerate(lines) if r.startswith("time"))
        body = [r.split(",") for r in lines[head + 1:]]
        last = float(body[-1][0])
        # The same again, a third slower.
        body += [[f"{last + 1e-4 + 1.5 * float(t):.9f}", level]
                 for t, level in body]
        self.put("reset.csv", "\n".join(
            [lines[head]] + [",".join(r) for r in body])
                 + "\n")
        page, pictures, result = self.page_of(
            0, "reset.html", "measure", self.path("reset.csv"),
            "--sample-rate", "9.7MHz")
        self.assertIn("course", pictures)
        stretches = result["captures"][0]["channels"][0]["stretches"]
        self.assertGreater(len(stretches), 1)
        [band, _] = page.charts()["course"]["series"]
        self.assertEqual(len([x for x in band["low"] if x is not None]),
                         2 * len(stretches))


class Several(PagesCase):
    def small(self, name, ppm, seed):
        self.expect(0, "simulate", *cli_test.FREQUENCY, "--duration", "20ms",
                    "--ppm", ppm, "--seed", str(seed), "--out", self.path(name))

    def test_a_table_comes_first_and_names_what_is_missing(self):
        self.simulate("a.vcd")
        self.small("b.vcd", "80", 7)
        bad = self.put("bad.csv", "nothing of a capture\n")
        page, _, result = self.page_of(
            1, "several.html", "verify", self.path("a.vcd"),
            self.path("b.vcd"), bad, self.path("gone.vcd"), "--expect", "1MHz",
            "--tolerance", "30ppm", "--timebase", "2ppm")
        text = page.text()
        top = text[text.index("All that was judged"):
                   text.index("Without a result")]
        for v in result["verdicts"]:
            self.assertIn(v["capture"], top)
            self.assertIn(v["decision"], top)
        for name in (bad + ":1", self.path("gone.vcd")):
            self.assertIn(name + " no result", top)
        self.assertLess(text.index("cannot open"), text.index("Expected"))
        self.assertEqual([v for n, v in page.attributes if n == "href"],
                         ["#verdict-1", "#verdict-2"] +
                         ["#without-a-result"] * 2)

    def test_of_many_the_worst_are_shown_and_all_are_named(self):
        # 50 captures of few edges, every tenth 80 ppm off.
        names = []
        for i in range(50):
            self.small(f"{i}.vcd", "80" if i % 10 == 3 else "0", i + 1)
            names.append(self.path(f"{i}.vcd"))
        page, _, result = self.page_of(
            1, "many.html", "verify", *names, "--expect", "1MHz",
            "--tolerance", "30ppm", "--timebase", "2ppm")
        text = page.text()
        self.assertIn("The table has all of them", text)
        top = text[:text.index("The table has all of them")]
        for name in names:
            self.assertIn(name, top)
        links = {v for n, v in page.attributes if n == "href"}
        self.assertEqual(len(links), MOST_IN_FULL)
        for i, v in enumerate(result["verdicts"]):
            if v["decision"] == "fail":
                self.assertIn(f"#verdict-{i + 1}", links)
        charts = [c for c in page.charts() if c.startswith("periods")]
        self.assertEqual(len(charts), MOST_WITH_CHARTS)
        # Alone it keeps the pictures of those alone, and is the same.
        alone = self.path("alone.html")
        self.expect(1, "verify", *names, "--expect", "1MHz", "--tolerance",
                    "30ppm", "--timebase", "2ppm", "--jobs", "2", "--report",
                    alone)
        self.assertEqual(pathlib.Path(alone).read_bytes(),
                         (PAGES / "many.html").read_bytes())
        self.assertLess((PAGES / "many.html").stat().st_size,
                        MOST_BYTES_OF_A_BATCH + len(names) * MOST_BYTES_OF_A_ROW)

    def test_every_headline_of_a_comparison_is_text(self):
        def two(name, ppm):
            # Two clocks in one file: 1 MHz and half of it, each ppm off.
            step = 500_000 * (1 + ppm * 1e-6)
            rows = "".join(f"{round(i * step)},{i % 2},{i // 2 % 2}\n"
                           for i in range(4000))
            return self.put(name, "time_ps,first_clock,second_clock\n" + rows)
        page, _, result = self.page_of(
            0, "two.html", "compare", two("one.csv", 0), two("other.csv", 50),
            "--same-timebase", "--time-unit", "ps", "--sample-rate", "1GHz")
        self.assertEqual(page.tags.count("pre"), 0)
        for clock in ("first_clock", "second_clock"):
            self.assertRegex(page.text(), f"MOVED {clock} [+\u2212]")

    def test_long_names_wrap(self):
        """The browser looks for pages that are too wide."""
        self.simulate("a.vcd")
        text = pathlib.Path(self.path("a.vcd")).read_text()
        name = HOSTILE + "W" * 300
        text = re.sub(r"(\$var wire 1 \S+) \S+", lambda m: m[1] + " " + name,
                      text)
        long = self.put("M" * 200 + ".vcd", text)
        page, _, _ = self.page_of(1, "long.html", "verify", long,
                                  self.path("gone-" + "g" * 200), "--expect",
                                  "2MHz", "--tolerance", "30ppm")
        self.page_of(0, "long-two.html", "compare", long, long)
        self.assertIn("W" * 50, page.text())


class Others(PagesCase):
    def test_curves_comparisons_and_histories(self):
        page, pictures, result = self.page_of(
            0, "drift.html", "drift", str(ROOT / "testdata/demo/chamber.csv"),
            "--expect", "24MHz / 2 / 16", "--timebase", "2ppm")
        points = {s["name"]: s for s in
                  page.charts()["temperature"]["series"]}["measured"]
        told = result["drift"][0]["points"] if isinstance(
            result["drift"], list) else result["drift"]["points"]
        for x, y, point in zip(points["x"], points["y"], told, strict=True):
            self.near(x, point["temperature_c"])
            self.near(y, point["error_ppm"])
        self.assertIn("temperature", pictures)
        # What is asked is in the headline: also where it was not measured.
        page, _, _ = self.page_of(
            2, "beyond.html", "drift", str(ROOT / "testdata/demo/chamber.csv"),
            "--expect", "24MHz / 2 / 16", "--timebase", "2ppm", "--range",
            "-60..125", "--tolerance", "50ppm")
        head = page.text()[:page.text().index("Expected")]
        for words in ("extrapolated", "limit \u00b150 ppm",
                      "over \u221260 \u2026 125 \u00b0C"):
            self.assertIn(words, head)
        # And the curve there is drawn as what it is, joined to the other.
        series = {s["name"]: s for s in
                  page.charts()["temperature"]["series"]}
        colder = series["extrapolated, colder"]
        warmer = series["extrapolated, warmer"]
        curve = series["curve"]
        low, high = min(points["x"]), max(points["x"])
        self.assertEqual(min(colder["x"]), -60)
        self.assertEqual(max(warmer["x"]), 125)
        self.assertTrue(all(low <= x <= high for x in curve["x"]))
        self.assertEqual(colder["x"][-1], curve["x"][0])
        self.assertEqual(warmer["x"][0], curve["x"][-1])
        for guess in (colder, warmer):
            self.assertEqual(guess["drawn"], "guess")
            self.assertEqual(len(guess["low"]), len(guess["x"]))
        for i in range(8):
            self.simulate(f"{i}.vcd", "--seed", str(i + 1))
            self.expect(0, "measure", self.path(f"{i}.vcd"), "--store",
                        self.path("store.db"), "--tag",
                        f"taken_at=2026-11-{10 + i}T10:00:00Z")
        page, pictures, _ = self.page_of(
            0, "trend.html", "trend", "--store", self.path("store.db"))
        self.assertIn("history", pictures)
        self.assertEqual(len(page.charts()["history"]["series"][0]["x"]), 8)
        # Tables have titles of their own.
        for words in ("upper control limit", "lower control limit"):
            self.assertIn(words, page.text())
        self.assertIn("assumed 100 ppm, not stated", page.text())
        page, pictures, result = self.page_of(
            0, "compare.html", "compare", self.path("0.vcd"),
            self.path("1.vcd"), "--same-timebase")
        self.assertIn("shifts", pictures)
        # Frequencies with U, of which the timebase's 100 ppm are most.
        for side in ("before", "after"):
            seen = result["comparisons"][0][side]
            self.assertAlmostEqual(seen["expanded_uncertainty_ppm"], 95,
                                   delta=0.1)
            self.assertLess(seen["expanded_capture_uncertainty_ppm"], 1)
        self.assertRegex(page.text(), r"before 1\.0[0 ]*\d* MHz \u00b1 9\d Hz")
        self.assertIn("timebase left out", page.text())
        # Where there is nothing to draw the reason stands.
        self.expect(0, "measure", self.path("0.vcd"), "--store",
                    self.path("one.db"))
        page, pictures, _ = self.page_of(
            0, "one.html", "trend", "--store", self.path("one.db"))
        self.assertNotIn("history", pictures)
        self.assertIn("a history begins with two captures", page.text())

    def test_a_plan_of_load(self):
        page, pictures, result = self.page_of(
            0, "plan.html", "plan", "load", "--crystal-load", "12pF",
            "--stray-across", "3pF+-1pF", "--fitted", "22pF,22pF")
        plan = result["plan"]
        series = {s["name"]: s for s in page.charts()["pull"]["series"]}
        self.near(series["fitted"]["x"][0] * 1e-12, plan["fitted"]["load_f"])
        self.near(series["fitted"]["y"][0], plan["fitted"]["pull_ppm"])
        # At the load asked for nothing is pulled, whatever the crystal.
        band = series["crystals it may be"]
        at = min(range(len(band["x"])), key=lambda i: abs(band["x"][i] - 12))
        self.assertLess(abs(band["high"][at] - band["low"][at]), 5)
        self.assertIn("pull", pictures)
        self.assertIn("two of 18 pF", page.text())


class Zz_Browser(unittest.TestCase):
    """After the others, whose pages it opens."""

    def test_every_page(self):
        if CHROMIUM is None:
            print("pages_test.py: no browser is there")
            self.skipTest("no browser is there")
        script = ROOT / "tests/browser/pages.mjs"
        done = subprocess.run(
            ["node", script, CHROMIUM, PAGES.resolve()], cwd=MODULES,
            capture_output=True, check=False, text=True)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)


if __name__ == "__main__":
    cli_test.PROGRAM = os.path.abspath(sys.argv[1])
    ROOT = pathlib.Path(sys.argv[2]).resolve()
    MODULES = sys.argv[3]
    CHROMIUM = shutil.which(sys.argv[4]) if len(sys.argv) > 4 else None
    shutil.rmtree(PAGES, ignore_errors=True)
    unittest.main(argv=sys.argv[:1])
