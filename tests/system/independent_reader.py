# SPDX-License-Identifier: GPL-3.0-or-later
"""A second reader of captures, written from docs/formats only.

facts(path, options) gives the lines that tests/support/list_edges prints. Every
number is a Fraction, every file is read as a whole. What it cannot decide it
raises Undecided for, which its test takes for a failure.
"""
import collections
import csv
import decimal
import io
import re
from fractions import Fraction

decimal.getcontext().prec = 200
UNITS = {"s": 0, "ms": -3, "us": -6, "\xb5s": -6, "\xc2\xb5s": -6,
         "\xce\xbcs": -6, "ns": -9, "ps": -12, "fs": -15}


class Undecided(Exception):
    pass


def printed(name):
    """A name, held as Latin-1, as list_edges prints it."""
    return "".join(c if " " <= c <= "~" and c != "\\" else f"\\x{ord(c):02X}"
                   for c in name)


# Statements of a channel → lines. A statement is (time, '0', '1' or 'x').

def level_lines(statements, end):
    settled = []
    for time, level in statements:
        if settled and settled[-1][0] == time:
            settled.pop()
        settled.append((time, level))
    lines, edges, begin, now = [], [], None, "x"
    for time, level in settled:
        if level == now:
            continue
        if now == "x":
            begin, edges = time, []
        elif level == "x":
            lines += [f"known {begin} {time}"] + edges
        else:
            edges.append(f"{'rise' if level == '1' else 'fall'} {time}")
        now = level
    return lines if now == "x" else lines + [f"known {begin} {end}"] + edges


# VCD.

BIT = {**{c: "0" for c in "0lL"}, **{c: "1" for c in "1hH"},
       **{c: "x" for c in "xXzZuUwW-"}}
PORT = {**{c: "0" for c in "DdLl0"}, **{c: "1" for c in "UuHh1"},
        **{c: "x" for c in "NZXT?FfAaBbCc"}}


def sections(tokens):
    """Header sections as lists; what is left are the values."""
    found = []
    while tokens and tokens[0].startswith("$") and \
            not tokens[0].startswith("$dump"):
        end = tokens.index("$end")
        found.append(tokens[:end])
        tokens = tokens[end + 1:]
        if found[-1][0] == "$enddefinitions":
            break
    return found, tokens


def vcd_facts(text, channels):
    header, tokens = sections(re.findall(r"[^ \t\r\n\v\f]+", text))
    tick, scopes, nets, buses, seen = Fraction(1), [], [], {}, set()
    for section in header:
        if section[0] == "$timescale":
            number, unit = re.fullmatch(r"([0-9.]+)(\w+)",
                                        "".join(section[1:])).groups()
            tick = Fraction(number) * Fraction(10) ** UNITS[unit]
        elif section[0] == "$scope":
            scopes.append(section[2])
        elif section[0] == "$upscope":
            scopes.pop()
        elif section[0] == "$var":
            name = ".".join(scopes + [re.sub(r" (?=\[)", "",
                                             " ".join(section[4:]))])
            if section[2] != "1":
                buses[section[3]] = (name, int(section[2]))
            elif section[1] not in ("real", "event", "string"):
                nets.append((name, section[3]))
    wanted = []  # (name, identifier, bit from the right or None)
    for name, identifier in nets:
        if not channels and identifier not in seen:
            wanted.append((name, identifier, None))
        seen.add(identifier)
    for asked in channels:
        wanted += asked_of_dump(asked, nets, buses)
    return vcd_values(tokens, tick, wanted)


def asked_of_dump(asked, nets, buses):
    for name, identifier in nets:
        if asked in (name, name.split(".")[-1], re.sub(r"\[.*", "", name)):
            return [(name, identifier, None)]
    bit = int(re.search(r"\[(-?\d+)\]$", asked).group(1))
    stem = asked[:asked.rindex("[")]
    for identifier, (name, width) in buses.items():
        bare = re.sub(r"\[.*", "", name)
        if stem in (bare, bare.split(".")[-1]):
            ends = re.search(r"\[(-?\d+):(-?\d+)\]$", name)
            first, last = map(int, ends.groups()) if ends else (width - 1, 0)
            return [(f"{bare}[{bit}]", identifier, abs(last - bit))]
    raise Undecided(f"no channel {asked}")


def vector_bit(digits, bit):
    if bit < len(digits):
        return BIT[digits[-1 - bit]]
    return "0" if BIT[digits[0]] != "x" else "x"


def vcd_values(tokens, tick, wanted):
    now, times, off = None, [], False
    said = [[] for _ in wanted]
    early = []

    def state(identifier, level_of):
        for i, (_, own, bit) in enumerate(wanted):
            if own == identifier:
                level = "x" if off else level_of(bit or 0)
                (early if now is None else said[i]).append(
                    (i, level) if now is None else (now, level))

    def stamp(token):
        nonlocal now
        now = Fraction(token[1:]) * tick
        times.append(now)
        for i, level in early:
            said[i].append((now, level))
        early.clear()

    at = 0
    while at < len(tokens):
        token = tokens[at]
        at += 1
        if token[0] == "#":
            stamp(token)
        elif token == "$comment":
            at = tokens.index("$end", at) + 1
        elif token == "$vcdclose":
            stamp(tokens[at])
            at += 2
        elif token in ("$dumpoff", "$dumpportsoff"):
            off = True
            for i in range(len(wanted)):
                said[i].append((now, "x"))
        elif token in ("$dumpon", "$dumpportson"):
            off = False
        elif token[0] == "$":
            pass
        elif token[0] in "bB":
            state(tokens[at], lambda bit, t=token: vector_bit(t[1:], bit))
            at += 1
        elif token[0] in "rRsS":
            at += 1
        elif token[0] == "p":
            state(tokens[at + 2], lambda bit, t=token: PORT[t[-1 - bit]])
            at += 3
        else:
            state(token[1:], lambda bit, t=token: vector_bit(t[0], bit))
    lines = [f"first {times[0]}", f"last {times[-1]}"]
    for (name, _, _), statements in zip(wanted, said):
        lines += ["channel " + printed(name)]
        lines += level_lines(statements, times[-1])
    return lines


# CSV: first the table, then the times, then the values.

TIME_NAME = re.compile(
    r"(time|times|t|timestamp|timestamps|rising|rising_edge|edge|edges|delta|"
    r"sample|samples|sample #)\s*(?:[_/\[(]\s*([^\])]+?)\s*[\])]?)?$", re.I)
NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?(e[+-]?\d+)?$", re.I)
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|",
              "blank": " "}


def split_row(line, separator):
    if separator == " ":
        return re.split(r" {2,}|(?<=[^( ]) (?![( ])", line.strip())
    rows = list(csv.reader(io.StringIO(line), delimiter=separator,
                           skipinitialspace=True))
    return [cell.strip(" \t") for cell in rows[0]] if rows else []


def separator_of(lines, given, stated):
    if given.get("--separator"):
        return SEPARATORS[given["--separator"]]
    if stated:
        return stated
    def bare(line):
        return re.sub(r'"[^"]*"', "q", line)
    for mark in ("\t", ";", "|", ","):
        if 2 * sum(mark in bare(line) for line in lines) > len(lines):
            return mark
    one_column = all(re.fullmatch(r"\S+", line.strip()) for line in lines[-3:])
    return "," if one_column else " "


def number(text, mark="."):
    text = text.replace(mark, ".") if mark != "." else text
    try:
        return Fraction(decimal.Decimal(text))
    except (decimal.InvalidOperation, ValueError):
        raise Undecided(f"no number: {text!r}") from None


def is_time(cell):
    return NUMBER.match(re.sub(r"\s*(s|ms|us|ns|ps|fs|\xc2?\xb5s)$", "", cell))


class Table:
    """Header, time column and rows of a CSV text."""

    def __init__(self, text, given):
        text = text.removeprefix("\xef\xbb\xbf").rstrip("\0")
        lines = re.split(r"\r\n|\n|\r", text)
        stated = None
        if lines[0].startswith("sep="):
            stated, lines = lines[0][4], lines[1:]
        kept = [line for line in lines if line.strip() and
                not line.startswith(("#", "//")) and
                not (line.startswith(";") and " " in line[:2])]
        self.comments = [line for line in lines
                         if line.startswith(("#", "//", ";"))]
        self.separator = separator_of(kept, given, stated)
        rows = [split_row(line, self.separator) for line in kept]
        self.find_header(rows, given)
        width = len(self.names)
        self.rows = [r[:width] if not "".join(r[width:]) else r
                     for r in self.rows]
        if width > 1 and self.names[-1] == "" and \
                all(len(r) < width or r[-1] == "" for r in self.rows):
            self.names.pop()
            self.rows = [r[:width - 1] for r in self.rows]
        if any(len(r) != len(self.names) for r in self.rows):
            raise Undecided("ragged rows")

    def find_header(self, rows, given):
        wanted = given.get("--time-column")
        self.unit_row = None
        for i, row in enumerate(rows[:-1]):
            column = self.time_column(row, wanted)
            if column is None:
                continue
            after = i + 1
            below = rows[after][column] if column < len(rows[after]) else ""
            below = below.strip("()[]")
            if below in UNITS:
                self.unit_row, after = below, after + 1
                below = rows[after][column]
            if is_time(below):
                self.names, self.time, self.rows = row, column, rows[after:]
                return
        if wanted and wanted.isdigit() and is_time(rows[0][int(wanted) - 1]):
            self.time, self.rows = int(wanted) - 1, rows
            self.names = ["" for _ in rows[0]]
        elif wanted == "none":
            self.names, self.time, self.rows = rows[0], None, rows[1:]
        else:
            raise Undecided("no header")

    @staticmethod
    def time_column(row, wanted):
        if wanted and wanted.isdigit():
            at = int(wanted) - 1
            return at if at < len(row) and not is_time(row[at]) else None
        names = [TIME_NAME.match(cell) for cell in row]
        if wanted and wanted != "none":
            fitting = [i for i, m in enumerate(names) if row[i] == wanted or
                       (m and m.group(1) == wanted)]
            return fitting[0] if fitting else None
        fitting = [i for i, m in enumerate(names) if m]
        return fitting[0] if len(fitting) == 1 or \
            (fitting and wanted is None and len(fitting) == 1) else None


def stated_interval(table, given):
    """The sampling interval that an option or a comment states."""
    def rate(text):
        found = re.match(r"\s*([\d.]+)\s*([kMG]?)(Hz|S/s)?", text)
        return 1 / (Fraction(found.group(1)) *
                    {"": 1, "k": 10**3, "M": 10**6, "G": 10**9}[found.group(2)])
    if "--sample-rate" in given:
        return rate(given["--sample-rate"])
    for comment in table.comments:
        found = re.search(r"sample[ _-]?rate\s*[:=](.*)", comment, re.I)
        if found:
            return rate(found.group(1))
    return None


def decimal_mark(table, given):
    if "--decimal-mark" in given:
        return {"point": ".", "comma": ","}[given["--decimal-mark"]]
    cells = [c for row in table.rows for c in row]
    comma = any(re.match(r"[+-]?\d+,\d+", c) for c in cells)
    return "," if comma else "."


def times_of(table, given, mark):
    if table.time is None:
        step = stated_interval(table, given)
        return [i * step for i in range(len(table.rows))]
    name = TIME_NAME.match(table.names[table.time])
    unit = table.unit_row or (name and name.group(2)) or \
        given.get("--time-unit")
    counted = given.get("--time-unit") == "sample" or \
        (name and name.group(1).lower().startswith("sample"))
    times = []
    for row in table.rows:
        digits, own = re.fullmatch(r"(.*?)\s*((?:[munpf]|\xc2?\xb5|\xce\xbc)?s)?",
                                   row[table.time]).groups()
        if counted:
            times.append(number(digits, mark) * stated_interval(table, given))
        elif number(digits, mark) == 0:
            times.append(Fraction(0))  # in any unit
        elif (own or unit) not in UNITS:
            raise Undecided("no unit")
        else:
            times.append(number(digits, mark) *
                         Fraction(10) ** UNITS[own or unit])
    if "--time-steps" in given:
        times = [sum(times[:i + 1]) for i in range(len(times))]
    return times


# Levels, as docs/formats/csv-values.md has them.

WORDS = {"low": "0", "l": "0", "off": "0", "false": "0", "high": "1",
         "h": "1", "on": "1", "true": "1", "x": "x", "z": "x"}


def level_of(cell, mark, pair):
    if cell.lower() in ("x", "z"):
        return "x"
    try:
        value = number(cell, mark)
    except Undecided:
        value = None
    if pair:
        for level, word in zip("01", pair):
            if cell == word or (value is not None and NUMBER.match(word) and
                                value == number(word)):
                return level
    if cell.lower() in WORDS:
        return WORDS[cell.lower()]
    if value in (0, 1) and not re.fullmatch(r"[01]{2,}", cell):
        return str(value)
    return None


def level_statements(times, cells, mark, pair, gaps):
    said, now = [], "x"
    for time, cell in zip(times, cells):
        now = level_of(cell, mark, pair) if cell else now
        if now is None:
            return None
        said.append((time, now))
    if pair and any(level_of(c, mark, None) is None for c in cells if c):
        fitting = {c for c in cells if c}
        if not all(level_of(c, mark, pair) for c in fitting):
            return None
    return with_gaps(said, gaps)


def with_gaps(said, gaps):
    """Nothing is known from a missing sample on to the next one there is."""
    return sorted(said + [(start, "x") for start in gaps],
                  key=lambda statement: statement[0])


def sample_gaps(times, changes):
    """Times of the first sample missing, one a hole, when rows are samples."""
    steps = [b - a for a, b in zip(times, times[1:])]
    if not steps or all(changes[:-1]):
        return [], None
    step, often = collections.Counter(steps).most_common(1)[0]
    if step <= 0 or 2 * often <= len(steps) or any(s % step for s in steps):
        return [], None
    return [a + step for a, s in zip(times, steps) if s != step], step


def word_bit(cell, radix, bit):
    text = cell.lower()
    if text.startswith(("0x", "0b")):
        radix, text = {"x": 16, "b": 2}[text[1]], text[2:]
    width = {16: 4, 2: 1}.get(radix)
    if width is None:
        return "x" if text in ("x", "z") else str(int(text) >> bit & 1)
    above = text[0] if text[0] in "xz" else "0"
    digit = text[-1 - bit // width] if bit // width < len(text) else above
    if digit in "xz":
        return "x"
    return str(int(digit, radix) >> bit % width & 1)


# Voltages: an edge is the last passage of the threshold before the level turns.

def last_digit(text, mark):
    return decimal.Decimal(text.replace(mark, ".")).as_tuple().exponent


def analogue_statements(times, cells, mark, given, gaps, tick):
    samples = [(t, number(c, mark)) for t, c in zip(times, cells) if c]
    threshold, band = analogue_band(given, [v for _, v in samples])
    high, low = threshold + band / 2, threshold - band / 2
    said, now, passed, before = [], "x", None, None
    for time, value in samples:
        if any(before is not None and before[0] < g <= time for g in gaps):
            now, before = "x", None
        if before is not None:
            a, b = before[1] - threshold, value - threshold
            if (a < 0) != (b < 0):
                exact = before[0] + (time - before[0]) * a / (a - b)
                passed = round_to(exact, tick)
        up = value >= high
        down = value <= low if band else value < threshold
        level = "1" if up else "0" if down else now
        if level != now:
            said.append((time if now == "x" else passed, level))
        now, before = level, (time, value)
    return with_gaps(said, gaps)


def round_to(value, tick):
    return (value / tick + Fraction(1, 2)) // 1 * tick


def analogue_band(given, values):
    stated = given["--threshold"]
    if stated != "auto":
        parts = [Fraction(p.rstrip("V")) for p in stated.split(",")]
        if len(parts) == 2:
            return parts
    ordered = sorted(values)
    cut = len(ordered) // 200
    inner = ordered[cut:len(ordered) - cut]
    middle = (inner[0] + inner[-1]) / 2
    def median(part):
        n = len(part)
        return (part[(n - 1) // 2] + part[n // 2]) / 2
    low = median([v for v in inner if v < middle])
    high = median([v for v in inner if v >= middle])
    threshold = (low + high) / 2 if stated == "auto" else parts[0]
    return threshold, (high - low) / 10


def lone_lines(table, times, given):
    kind = given.get("--edges")
    if kind in (None, "rising"):
        if kind is None and not re.match("rising", table.names[0], re.I):
            raise Undecided("which edges?")
        name = "rising" if kind else re.split(r"[_/ (\[]", table.names[0])[0]
        return name, ["rising_only"] + [f"rise {t}" for t in times]
    turn = ["rise", "fall"] if kind == "both-rise-first" else ["fall", "rise"]
    return "edges", [f"{turn[i % 2]} {t}" for i, t in enumerate(times)]


def columns_of(table):
    """(name, cells) of each column but the time, in order."""
    found = []
    times = [c for c, name in enumerate(table.names)
             if TIME_NAME.match(name) and TIME_NAME.match(name).group(2)]
    for c, name in enumerate(table.names):
        # Of several columns of times each is for those after it.
        own = [t for t in times if t < c] or [table.time]
        if c not in times and c != table.time and \
                (len(times) < 2 or own[-1] == table.time):
            cells = [row[c] for row in table.rows]
            found.append((name or f"column {c + 1}", cells))
    return found


def is_logic(cells):
    """Levels, two values, or words with a prefix: not what is merely noisy."""
    values = {c for c in cells if c and c not in "xXzZ"}
    return len(values) < 3 or all(re.match("0[xXbB]", c) for c in values) or \
        level_statements([0] * len(cells), cells, ".", None, []) is not None


def csv_facts(text, given, channels):
    table = Table(text, given)
    mark = decimal_mark(table, given)
    times = times_of(table, given, mark)
    lines = [f"first {times[0]}", f"last {times[-1]}"]
    if len(table.names) == 1 and table.time is not None:
        name, edges = lone_lines(table, times, given)
        return lines + ["channel " + printed(name)] + edges
    names = [n.lower() for n in table.names]
    if names[1:] == ["channel", "value"] or given.get("--rows") == "events":
        per = collections.defaultdict(list)
        for time, row in zip(times, table.rows):
            per[row[1]].append((time, row[2]))
        columns = [(n, [t for t, _ in v], [c for _, c in v])
                   for n, v in per.items()]
        gaps = []
    else:
        columns = [(n, times, cells) for n, cells in columns_of(table)]
        logic = [c for _, _, c in columns if is_logic(c)]
        rows = list(zip(*(logic or [c for _, _, c in columns])))
        changed = [a != b for a, b in zip(rows, rows[1:])]
        gaps, _ = sample_gaps(times, changed)
    finest = min((last_digit(re.sub(r"[^\d.,eE+-].*", "", row[table.time]),
                             mark) for row in table.rows
                  if table.time is not None), default=0)
    for line in column_lines(columns, times, mark, given, channels, gaps,
                             table, finest):
        lines.append(line)
    return lines


def column_lines(columns, times, mark, given, channels, gaps, table, finest):
    pair = given.get("--levels")
    pair = pair.split(",") if pair else None
    out = []
    for name, at, cells in columns:
        bits = [c for c in channels if re.match(re.escape(
            re.sub(r"\[.*", "", name)) + r"\[-?\d+\]$", c) and c != name]
        if channels and name not in channels and not bits:
            continue
        statements = level_statements(at, cells, mark, pair, gaps)
        if statements is not None and not bits:
            pass
        elif bits:
            ends = re.search(r"\[(-?\d+):(-?\d+)\]$", name)
            for wanted in bits:
                bit = int(re.search(r"\[(-?\d+)\]", wanted).group(1))
                low = int(ends.group(2)) if ends else 0
                radix = int(given.get("--radix", 0))
                said = [(t, word_bit(c, radix, bit - low))
                        for t, c in zip(at, cells)]
                out += ["channel " + printed(wanted)]
                out += level_lines(said, times[-1])
            continue
        elif "--threshold" in given:
            unit = table.unit_row or \
                TIME_NAME.match(table.names[table.time]).group(2)
            tick = Fraction(10) ** (UNITS[unit] + finest - 3)
            statements = analogue_statements(at, cells, mark, given, gaps,
                                             tick)
        else:
            continue
        out += ["channel " + printed(name)]
        out += level_lines(statements, times[-1])
    return out


def facts(path, options):
    given, channels, at = {}, [], 0
    while at < len(options):
        if options[at] == "--channel":
            channels.append(options[at + 1])
        elif options[at] != "--time-steps":
            given[options[at]] = options[at + 1]
        else:
            given[options[at]] = True
            at -= 1
        at += 2
    text = path.read_bytes().decode("latin-1")
    bare = text.removeprefix("\xef\xbb\xbf")
    if bare.lstrip().startswith("$"):
        return vcd_facts(bare, channels)
    return csv_facts(text, given, channels)
