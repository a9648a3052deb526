// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: any bytes, unpacked in two ways that must agree. The
// first two bytes choose what is asked for and handed out at a time.
#include "clockassay/capture/decompress.h"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fuzz/require.h"
#include "support/read_text.h"

namespace clockassay {
namespace {

// Most text that is unpacked [bytes]. Chosen: a few KiB may hold gigabytes.
constexpr std::size_t kMostText = std::size_t{1} << 20;

// All that is read, and how it ends.
std::string unpacked(std::string_view packed, std::size_t asked,
                     std::size_t handed_out) {
  Compression found{};
  const ByteSource source =
      decompress(test::source_of(packed, handed_out), found);
  std::string text;
  std::vector<char> buffer(asked);
  while (text.size() < kMostText) {
    const Result<std::size_t> count = source(buffer);
    if (!count) {
      const Error& error = count.error();
      // How much comes before an error depends on the buffers.
      return std::string(compression_name(found)) + " error " + error.message +
             " at " + std::to_string(error.byte.value_or(-1));
    }
    if (*count == 0) break;
    text.append(buffer.data(), *count);
  }
  text.resize(std::min(text.size(), kMostText));
  return std::string(compression_name(found)) + " " + text;
}

}  // namespace
}  // namespace clockassay

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  if (size < 2) return 0;
  const std::string_view packed(reinterpret_cast<const char*>(data) + 2,
                                size - 2);
  const std::string whole =
      clockassay::unpacked(packed, std::size_t{1} << 16, std::string::npos);
  const std::string parts = clockassay::unpacked(
      packed, std::size_t{1} + data[0], std::size_t{1} + data[1]);
  // Past the limit an error may or may not have been met.
  const bool limited = whole.size() >= clockassay::kMostText ||
                       parts.size() >= clockassay::kMostText;
  if (whole != parts && !limited) {
    clockassay::broken(whole + "\nin parts: " + parts);
  }
  return 0;
}
