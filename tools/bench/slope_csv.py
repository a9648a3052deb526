# SPDX-License-Identifier: GPL-3.0-or-later
"""The frequency [Hz] of a CSV file of changes: a line through the rises."""
import sys

import numpy
import pandas

rows = pandas.read_csv(sys.argv[1], comment="#")[1:]
rises = rows.time_s[rows.clk == 1].to_numpy()
print(1 / numpy.polyfit(numpy.arange(len(rises)), rises, 1)[0])
