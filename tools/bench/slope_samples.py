# SPDX-License-Identifier: GPL-3.0-or-later
"""The frequency [Hz] of a CSV file with a row per 2 ns: a line of rises."""
import sys

import numpy
import pandas

level = pandas.read_csv(sys.argv[1], comment="#").clk.to_numpy()
rises = numpy.flatnonzero((level[1:] == 1) & (level[:-1] == 0))
print(5e8 / numpy.polyfit(numpy.arange(len(rises)), rises, 1)[0])
