// SPDX-License-Identifier: GPL-3.0-or-later
#include <unistd.h>

#include <cstdlib>
#include <exception>
#include <new>
#include <string>
#include <vector>

#include "app/console.h"
#include "app/exit_codes.h"
#include "app/heap.h"
#include "app/kernels.h"
#include "app/run.h"
#include "app/unfinished_files.h"

namespace {

std::terminate_handler usual_end = nullptr;

// Libraries that need memory to give memory back end here, not in a catch.
[[noreturn]] void end_without_memory() {
  clockassay::remove_unfinished_files();
  try {
    if (const auto thrown = std::current_exception()) {
      std::rethrow_exception(thrown);
    }
  } catch (const std::bad_alloc&) {
    clockassay::complain_of_memory();
    ::_exit(static_cast<int>(clockassay::ExitCode::kInputOutput));
  } catch (...) {
    usual_end();
  }
  std::abort();
}

}  // namespace

int main(int argc, char** argv) {
  clockassay::keep_freed_memory();
  clockassay::prepare_console();
  usual_end = std::set_terminate(end_without_memory);
  if (const auto limited = clockassay::limit_kernels(); !limited) {
    clockassay::complain(limited.error());
    return static_cast<int>(clockassay::exit_code(limited.error().code));
  }
  try {
    const std::vector<std::string> args(argv + (argc > 0 ? 1 : 0), argv + argc);
    return static_cast<int>(clockassay::run(args, CLOCKASSAY_VERSION));
  } catch (const std::bad_alloc&) {
    clockassay::complain_of_memory();
    return static_cast<int>(clockassay::ExitCode::kInputOutput);
  }
}
