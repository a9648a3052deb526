// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <string_view>

#include "clockassay/capture/capture_reader.h"

namespace clockassay {

/// A source that hands out a text.
inline ByteSource source_of(std::string_view text) {
  return [text](std::span<char> buffer) mutable -> Result<std::size_t> {
    const std::size_t n = std::min(buffer.size(), text.size());
    std::copy_n(text.begin(), n, buffer.begin());
    text.remove_prefix(n);
    return n;
  };
}

/// A capture from its text, read as a whole.
inline Result<Capture> read_text(std::string_view text,
                                 const ReadOptions& options = {}) {
  return read_capture(source_of(text), options, PieceOptions{}, serial_for);
}

}  // namespace clockassay
