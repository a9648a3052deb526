// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>
#include <vector>

#include "app/console.h"
#include "app/run.h"

int main(int argc, char** argv) {
  clockassay::prepare_console();
  const std::vector<std::string> args(argv + (argc > 0 ? 1 : 0), argv + argc);
  return static_cast<int>(clockassay::run(args, CLOCKASSAY_VERSION));
}
