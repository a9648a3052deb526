// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "capture/csv_survey.h"

namespace clockassay {

/// Times that went through a binary floating point number before they were
/// printed move in steps of its last bit, however many digits are printed:
/// 238 ns for seconds since 1970 in 64 bits. If the last bit of the largest
/// time, in 32 or in 64 bits, is coarser than the text, and every time is a
/// number of that many bits to half its last digit, a good part of them with
/// the last bit set, it is what the times resolve; sets float_ticks (rounded
/// up) and float_reason.
/// Source: IEEE 754-2019, binary32 and binary64: 24 and 53 significant bits.
void find_binary_step(CsvSurvey& survey);

}  // namespace clockassay
