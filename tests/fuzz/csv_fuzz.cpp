// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz/fuzz_input.h"

// What libFuzzer calls: any bytes, read as CSV.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  auto input = clockassay::test::fuzz_input(data, size);
  if (!input) return 0;
  input->options.format = "csv";
  clockassay::test::check_reading(*input);
  return 0;
}
