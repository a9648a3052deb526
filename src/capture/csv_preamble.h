// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string_view>

#include "capture/csv_cells.h"
#include "capture/csv_head.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Lines of a preamble that are shown. Chosen: more is noise.
inline constexpr std::size_t kMostPreambleFacts = 20;

/// Blank, or a comment; above the rows a semicolon begins one too.
bool is_preamble_comment(std::string_view line);

/// A line above the header: a comment, or a key with its value, that may state
/// the sample rate, which does not count where the user states it. Adds to
/// preamble, sample_rate_hz and sample_rate_byte of `head`.
/// Errors: kBadData with the byte: a rate that cannot be read or is another
///         than the one stated before.
Result<void> take_preamble_line(const CsvLine& line, bool rate_is_stated,
                                CsvHead& head);

}  // namespace clockassay
