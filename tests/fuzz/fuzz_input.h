// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

#include "clockassay/capture/read_options.h"
#include "support/read_text.h"

namespace clockassay::test {

/// Bytes at the beginning of an input that choose how the rest is read. All of
/// them 0: without options, in pieces of one byte.
inline constexpr std::size_t kChoiceBytes = 8;

/// An input of the fuzzer, taken apart.
struct FuzzInput {
  Feed feed;
  ReadOptions options;
  std::string_view text;
};

/// nullopt: too short to choose.
std::optional<FuzzInput> fuzz_input(const std::uint8_t* data, std::size_t size);

/// Reads, checks, analyses and reports what was chosen; ends the program with
/// what is wrong, which is how a fuzzer learns of it.
void check_reading(const FuzzInput& input);

}  // namespace clockassay::test
