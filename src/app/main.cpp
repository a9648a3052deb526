// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>
#include <vector>

#include "app/console.h"
#include "app/exit_codes.h"
#include "app/heap.h"
#include "app/kernels.h"
#include "app/run.h"

int main(int argc, char** argv) {
  clockassay::keep_freed_memory();
  clockassay::prepare_console();
  if (const auto limited = clockassay::limit_kernels(); !limited) {
    clockassay::complain(limited.error());
    return static_cast<int>(clockassay::exit_code(limited.error().code));
  }
  const std::vector<std::string> args(argv + (argc > 0 ? 1 : 0), argv + argc);
  return static_cast<int>(clockassay::run(args, CLOCKASSAY_VERSION));
}
