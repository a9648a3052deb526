# SPDX-License-Identifier: GPL-3.0-or-later
"""Random CSV captures with known edges, in random dialects.

capture(seed) gives the bytes, the options they are read with, and the truth:
first and last stamp and every channel's known stretches, rises and falls, as
fractions of a second. spoilt(seed) gives captures that must be refused, each
made from a good one by taking away what made it unambiguous.
"""
import dataclasses
import random
from fractions import Fraction

UNITS = {"s": 0, "ms": -3, "us": -6, "ns": -9, "ps": -12, "fs": -15}
LEVEL_WORDS = [("0", "1"), ("low", "high"), ("L", "H"), ("false", "true"),
               ("off", "on")]
SEPARATOR_WORDS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}


@dataclasses.dataclass
class Truth:
    """What a correct reader finds; the lines of list_edges."""
    first: Fraction
    last: Fraction
    channels: list  # of (name, lines)

    def lines(self):
        out = [f"first {self.first}", f"last {self.last}"]
        for name, lines in self.channels:
            out.append("channel " + printed(name))
            out += lines
        return out


@dataclasses.dataclass
class Made:
    text: bytes
    options: list
    truth: Truth
    what: str  # the dialect, for whoever reads a failure


def printed(name):
    """As list_edges prints names."""
    return "".join(chr(b) if 0x20 <= b <= 0x7E and b != 0x5C else f"\\x{b:02X}"
                   for b in name.encode())


def settled_lines(stamps):
    """[(time, '0' | '1' | 'x' | None for unchanged)] → known, rise, fall.

    Of several levels at one time the last counts; x ends what is known.
    """
    merged = []
    for time, level in stamps:
        if merged and merged[-1][0] == time:
            merged[-1][1] = level or merged[-1][1]
        else:
            merged.append([time, level])
    lines, run, begin, now = [], [], None, "x"

    def close(end):
        lines.append(f"known {begin} {end}")
        lines.extend(run)

    for time, level in merged:
        level = level or now
        if level != now and now == "x":
            begin, run = time, []
        elif level != now and level == "x":
            close(time)
        elif level != now:
            run.append(("rise " if level == "1" else "fall ") + str(time))
        now = level
    if now != "x":
        close(merged[-1][0])
    return lines


@dataclasses.dataclass
class Table:
    """A capture before it is written down."""
    place: int       # times are whole multiples of 10^place seconds
    times: list      # of int
    names: list
    levels: list     # one list a row: '0', '1', 'x' or None per channel
    samples: bool    # at a constant step

    def seconds(self, i):
        return self.times[i] * Fraction(10) ** self.place

    def truth(self):
        channels = []
        for c, name in enumerate(self.names):
            stamps = [(self.seconds(i), row[c])
                      for i, row in enumerate(self.levels)]
            channels.append((name, settled_lines(stamps)))
        return Truth(self.seconds(0), self.seconds(len(self.times) - 1),
                     channels)


NAMES = ["clk", "clk_out", "D0", "D1", "led", "bus clk", "A.b", "Kanal µ",
         "x_1", "q[3]", "reset#"]


def random_table(rng, samples=None, channels=None):
    place = rng.choice([-3, -6, -7, -9, -9, -10, -12, -13])
    samples = rng.random() < 0.4 if samples is None else samples
    rows = rng.randint(6, 40)
    unit = 10 ** rng.randint(0, 3)
    step = rng.randint(1, 9) * unit
    origin = rng.choice([0, 0, 0, -rng.randint(1, rows) * step,
                         rng.randint(1, 10**9)])
    if place == -9 and rng.random() < 0.3:
        origin = 1_700_000_000 * 10**9 + rng.randint(0, 10**9 - 1)
    times = [origin]
    for i in range(rows - 1):
        if samples:
            times.append(times[-1] + step)
        elif i and rng.random() < 0.03:
            times.append(times[-1])
        else:
            times.append(times[-1] + rng.randint(1, 9999))
    names = rng.sample(NAMES, channels or rng.choice([1, 1, 1, 2, 3]))
    now = [rng.choice("01") for _ in names]
    levels = [list(now)]
    odd = rng.random()
    for i in range(1, rows):
        row = []
        for c in range(len(names)):
            hold = rng.random() < (0.6 if samples else 0.2)
            if not hold:
                now[c] = "1" if now[c] != "1" else "0"
            if odd < 0.15 and rng.random() < 0.1:
                now[c] = "x"
            row.append(now[c])
        levels.append(row)
    # A last row without a change keeps sampled rows apart from changes.
    return Table(place, times, names, levels, samples)


def decimal(number, exponent, mark, rng, style):
    """`number`·10^exponent written exactly, in one of the notations."""
    sign = "-" if number < 0 else ("+" if style == "plus" else "")
    digits = str(abs(number))
    if style == "exponent":
        mantissa = digits[0] + (mark + digits[1:] if len(digits) > 1 else "")
        power = exponent + len(digits) - 1
        letter, wide = rng.choice("eE"), rng.choice([1, 2])
        return f"{sign}{mantissa}{letter}{'-' if power < 0 else '+'}" \
               f"{abs(power):0{wide}d}"
    if exponent >= 0:
        return sign + digits + "0" * exponent
    digits = digits.rjust(1 - exponent, "0")
    whole, part = digits[:exponent], digits[exponent:]
    if style == "zeros":
        part += "0"
    if style == "trimmed":
        part = part.rstrip("0")
    if style == "padded":
        whole = whole.rjust(6, "0")
    return sign + whole + (mark + part if part else "")


@dataclasses.dataclass
class Dialect:
    separator: str
    mark: str
    unit: str
    header: str         # name of the time column, unit included if any
    unit_in: str        # header, cells, row, option
    quotes: str         # none, names, all
    newline: str
    bom: bool
    preamble: list
    blank: str          # after a separator
    trailing: bool      # a separator at the end of all lines
    last_newline: bool
    words: list         # (low, high) per channel
    unknown: str
    empty: bool         # unchanged levels may be left empty
    style: str          # of numbers
    time_at: int        # which column is the time
    options: list


def random_dialect(rng, table):
    separator = rng.choice([",", ",", ";", "\t", "|"])
    mark = "." if separator == "," else rng.choice([".", ","])
    quotes = rng.choice(["none", "none", "names", "all"])
    unit = rng.choice([u for u, e in UNITS.items() if -9 <= e - table.place])
    unit_in = rng.choice(["header", "header", "header", "cells", "row",
                          "option"])
    word = rng.choice(["time", "Time", "TIME", "t", "timestamp", "times"])
    form = rng.choice(["{}_{}", "{} ({})", "{} [{}]", "{}({})", "{}[{}]",
                       "{}/{}"])
    header = form.format(word, unit) if unit_in == "header" else word
    options = ["--time-unit", unit] if unit_in == "option" else []
    preamble = []
    if rng.random() < 0.4:
        sign = rng.choice(["#", "//", ";"])
        preamble = [sign + " logger 3", sign + " made by hand, twice"]
        if rng.random() < 0.3:
            preamble.append("")
    if rng.random() < 0.1:
        preamble = ["sep=" + separator] + preamble
    if rng.random() < 0.1:
        options += ["--separator", SEPARATOR_WORDS[separator]]
    if rng.random() < 0.1:
        options += ["--decimal-mark", "point" if mark == "." else "comma"]
    words = [rng.choice(LEVEL_WORDS) for _ in table.names]
    words = [tuple(rng.choice([str.lower, str.upper, str.title])(w)
                   for w in pair) for pair in words]
    if rng.random() < 0.15:
        pair = rng.choice([("-1", "1"), ("0", "5"), ("closed", "open")])
        words = [pair] * len(table.names)
        options += ["--levels", ",".join(pair)]
    style = rng.choice(["plain", "plain", "plain", "zeros", "plus", "padded",
                        "trimmed", "exponent"])
    time_at = 0
    if rng.random() < 0.15:
        time_at = rng.randint(0, len(table.names))
        if rng.random() < 0.5:
            options += ["--time-column", str(time_at + 1)]
    # A number at the very end may have lost digits, and its row is left out.
    last_newline = rng.random() < 0.85 or time_at == len(table.names)
    return Dialect(
        separator, mark, unit, header, unit_in, quotes,
        rng.choice(["\n", "\n", "\r\n"]), rng.random() < 0.2, preamble,
        " " if separator != "\t" and rng.random() < 0.15 else "",
        rng.random() < 0.1, last_newline, words,
        rng.choice(["x", "X", "z"]), rng.random() < 0.15, style, time_at,
        options)


def without(options, *names):
    """Options that have a value, but for the named ones."""
    pairs = zip(options[::2], options[1::2])
    return [word for pair in pairs if pair[0] not in names for word in pair]


def quoted(text, always, separator):
    if always or any(c in text for c in (separator, '"')):
        return '"' + text.replace('"', '""') + '"'
    return text


def written_times(table, d, rng):
    exponent = table.place - UNITS[d.unit]
    cells = [decimal(t, exponent, d.mark, rng, d.style) for t in table.times]
    if d.unit_in == "cells":
        blank = rng.choice([" ", ""])
        cells = [c + blank + d.unit for c in cells]
    return cells


def written(table, d, rng):
    """The text of a capture as rows of cells, the header first."""
    rows = [[d.header] + table.names]
    if d.unit_in == "row":
        rows.append([d.unit] + [""] * len(table.names))
    before = [None] * len(table.names)
    for time, levels in zip(written_times(table, d, rng), table.levels):
        cells = [time]
        for c, level in enumerate(levels):
            word = d.unknown if level == "x" else d.words[c][int(level)]
            same = d.empty and level == before[c] and rng.random() < 0.7
            cells.append("" if same else word)
        before = levels
        rows.append(cells)
    for row in rows:
        row.insert(d.time_at, row.pop(0))
    return rows


def text_of(rows, d):
    lines = list(d.preamble)
    for i, row in enumerate(rows):
        always = d.quotes == "all" or (d.quotes == "names" and i == 0)
        cells = [quoted(c, always, d.separator) for c in row]
        lines.append((d.separator + d.blank).join(cells) +
                     (d.separator if d.trailing else ""))
    text = d.newline.join(lines) + (d.newline if d.last_newline else "")
    return (b"\xef\xbb\xbf" if d.bom else b"") + text.encode()


def described(table, d):
    return (f"{'samples' if table.samples else 'changes'}, separator "
            f"{d.separator!r}, mark {d.mark!r}, unit {d.unit} in {d.unit_in}, "
            f"quotes {d.quotes}, numbers {d.style}, time in column "
            f"{d.time_at + 1}")


def plain_capture(rng):
    table = random_table(rng)
    d = random_dialect(rng, table)
    return Made(text_of(written(table, d, rng), d), d.options, table.truth(),
                described(table, d))


def lone_edges(rng):
    """One column of times: rises alone, or rises and falls in turn."""
    table = random_table(rng, samples=False, channels=1)
    times = sorted({t - t % 3 for t in table.times})
    table.times = times
    d = random_dialect(rng, table)
    d.time_at, d.empty, d.trailing = 0, False, False
    d.style = "plain"
    kind = rng.choice(["rising", "both-rise-first", "both-fall-first"])
    d.options = without(d.options, "--time-column", "--decimal-mark",
                        "--levels")
    d.mark = "."  # a comma would be a separator as well
    if d.unit_in == "row":
        d.unit_in = "header"
    name = rng.choice(["rising_edge", "rising"]) if kind == "rising" \
        else rng.choice(["edge", "edges"])
    d.header = f"{name}_{d.unit}" if d.unit_in == "header" else name
    rows = [[d.header]] + [[c] for c in written_times(table, d, rng)]
    d.last_newline = True
    if kind != "rising":
        d.options += ["--edges", kind]
    seconds = [table.seconds(i) for i in range(len(times))]
    turn = {"rising": ["rise"], "both-rise-first": ["rise", "fall"],
            "both-fall-first": ["fall", "rise"]}[kind]
    lines = [f"{turn[i % len(turn)]} {t}" for i, t in enumerate(seconds)]
    truth = Truth(seconds[0], seconds[-1], [(None, lines)])
    return Made(text_of(rows, d), d.options, truth,
                f"lone {kind}, " + described(table, d))


def long_form(rng):
    """A row per channel and change, which names the channel."""
    table = random_table(rng, samples=False)
    d = random_dialect(rng, table)
    d.time_at, d.empty, d.trailing, d.last_newline = 0, False, False, True
    d.options = without(d.options, "--time-column")
    columns = written(table, d, rng)
    head = columns[0][:1] + ["channel", "value"]
    rows = [head] + ([[d.unit, "", ""]] if d.unit_in == "row" else [])
    for row in columns[len(rows):]:
        rows += [[row[0], name, cell]
                 for name, cell in zip(table.names, row[1:])]
    return Made(text_of(rows, d), d.options, table.truth(),
                "long form, " + described(table, d))


def time_steps(rng):
    """Times that count from the row before."""
    table = random_table(rng, samples=False)
    d = random_dialect(rng, table)
    truth = table.truth()
    table.times = [b - a for a, b in zip([0] + table.times, table.times)]
    return Made(text_of(written(table, d, rng), d),
                d.options + ["--time-steps"], truth,
                "steps, " + described(table, d))


def capture(seed):
    rng = random.Random(seed)
    for make in (lone_edges, long_form, time_steps):
        if rng.random() < 0.1:
            return make(rng)
    return plain_capture(rng)


def clear_dialect(rng, table):
    """A dialect in which nothing is left to guess: spoilt below."""
    d = random_dialect(rng, table)
    d.unit = rng.choice([u for u, e in UNITS.items()
                         if -9 <= table.place - e < 0])
    d.unit_in, d.header = "header", "time_" + d.unit
    d.separator, d.mark, d.blank = rng.choice([(",", ".", ""), (";", ",", ""),
                                               ("\t", ".", "")])
    d.preamble, d.style, d.time_at, d.options = [], "plain", 0, []
    d.empty, d.trailing, d.last_newline = False, False, True
    d.words = [rng.choice(LEVEL_WORDS) for _ in table.names]
    return d


def spoilt(seed):
    """[(what was done, bytes, options, what the answer must name, column)]

    A column may be left out instead of the whole refused, but never be read.
    """
    rng = random.Random(seed)
    table = random_table(rng)
    table.times = [table.times[0] + 7 * i for i in range(len(table.times))]
    d = clear_dialect(rng, table)
    rows = written(table, d, rng)
    at = rng.randint(2, len(rows) - 2)
    made = []

    def spoil(what, changed, options=(), names="", dialect=d, column=None):
        made.append((what, text_of(changed, dialect), list(options), names,
                     column))

    def replace_in_last(old, new):
        what, text, *others = made.pop()
        made.append((what, text.replace(old, new), *others))

    def with_cell(row, column, cell):
        changed = [list(r) for r in rows]
        changed[row][column] = cell
        return changed

    spoil("no unit", with_cell(0, 0, "time"), names="--time-unit")
    spoil("no header", rows[1:])
    spoil("no rows", rows[:1])
    spoil("header again", rows[:at] + rows[:1] + rows[at:])
    spoil("a row goes back in time",
          rows[:at] + [rows[at + 1], rows[at]] + rows[at + 2:])
    spoil("a cell too few", rows[:at] + [rows[at][:-1]] + rows[at + 1:])
    spoil("a cell too many", rows[:at] + [rows[at] + ["1"]] + rows[at + 1:])
    for time in ["nan", "inf", "0x10", "1'000", "now", "", "12:30:01", "--1",
                 "1e", "1.5.2", "2024-02-30T00:00:00"]:
        spoil("the time " + repr(time), with_cell(at, 0, time))
    for level in ["2", "hi", "maybe", "0.3", "-1", "5", "01", "rising", "1V"]:
        spoil("the level " + repr(level), with_cell(at, 1, level),
              column=table.names[0])
    minus = [list(r) for r in rows]
    for i, row in enumerate(table.levels):
        minus[i + 1][1:] = ["-1" if x == "0" else "1" for x in row]
    spoil("levels -1 and 1", minus, names="--levels")
    volts = [list(r) for r in rows]
    for i, row in enumerate(table.levels):
        volts[i + 1][1:] = ["0" + d.mark + "12" if x == "0" else
                            "3" + d.mark + "29" for x in row]
    spoil("voltages", volts, names="--threshold")
    spoil("a quote not closed", with_cell(at, 1, "MARK"))
    replace_in_last(b"MARK", b'"1')
    lone = [[r[0]] for r in rows]
    d_lone = dataclasses.replace(d, mark=".")
    lone = [[c.replace(",", ".")] for [c] in lone]
    lone[0] = ["edge_" + d.unit]
    spoil("bare times of some edges", lone, names="--edges", dialect=d_lone)
    comma = dataclasses.replace(d, separator=";", mark=",", quotes="none")
    spoil("a decimal comma between commas", written(table, comma, rng),
          dialect=comma)
    replace_in_last(b";", b",")
    numbers = [["sample"] + rows[0][1:]]
    numbers += [[str(i)] + r[1:] for i, r in enumerate(rows[1:])]
    spoil("sample numbers and no rate", numbers, names="--sample-rate")
    rates = dataclasses.replace(d, preamble=["# sample rate: 1 MHz",
                                             "# sample rate: 2 MHz"])
    spoil("two sample rates", rows, dialect=rates)
    return made
