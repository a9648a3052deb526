# SPDX-License-Identifier: GPL-3.0-or-later
# The frequency [Hz] of signal ! of a VCD file in ns: a line through its rises.
/^#/ { t = substr($0, 2) + 0; next }
$0 == "1!" && t > 0 { n++; x += n; y += t; xx += n * n; xy += n * t }
END { printf "%.9f\n", 1e9 * (n * xx - x * x) / (n * xy - x * y) }
