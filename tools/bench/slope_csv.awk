# SPDX-License-Identifier: GPL-3.0-or-later
# The frequency [Hz] of a CSV file of changes: a line through the rises.
BEGIN { FS = "," }
$2 == "1" && $1 > 0 { n++; x += n; y += $1; xx += n * n; xy += n * $1 }
END { printf "%.9f\n", (n * xx - x * x) / (n * xy - x * y) }
