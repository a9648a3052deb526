// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/run.h"

#include <exception>
#include <new>

#include "app/command_line.h"
#include "app/compare_command.h"
#include "app/console.h"
#include "app/delivery.h"
#include "app/drift_command.h"
#include "app/error_of_exception.h"
#include "app/plan_command.h"
#include "app/reading_commands.h"
#include "app/requirements_command.h"
#include "app/simulate_command.h"
#include "app/trend_command.h"

namespace clockassay {
namespace {

// An error before or instead of a result.
ExitCode give_up(const std::vector<std::string>& args,
                 const std::string& version, const Error& error) {
  Record record;
  record.tool_version = version;
  // The commands that print JSON.
  const bool known =
      !args.empty() &&
      (args[0] == "measure" || args[0] == "verify" || args[0] == "compare" ||
       args[0] == "drift" || args[0] == "trend" || args[0] == "requirements" ||
       args[0] == "plan");
  if (known) record.command = args[0];
  add_error(record, error);
  if (known && asks_for_json_output(args)) print_errors_as_json(record);
  return exit_code(error.code);
}

ExitCode run_command(const std::vector<std::string>& args,
                     const std::string& version) {
  const auto line = parse_command_line(args, version);
  if (!line) return give_up(args, version, line.error());
  if (line->answer) {
    const auto printed = print(*line->answer);
    if (printed) return ExitCode::kDone;
    complain(printed.error());
    return exit_code(printed.error().code);
  }
  if (line->command == Command::kRequirements) {
    const auto done = run_requirements(line->requirements, version);
    return done ? ExitCode::kDone : give_up(args, version, done.error());
  }
  if (line->command == Command::kCompare) return run_compare(*line, version);
  if (line->command == Command::kDrift) return run_drift(*line, version);
  if (line->command == Command::kTrend) return run_trend(*line, version);
  if (line->plan) {
    const auto done = run_plan(*line->plan, version);
    return done ? ExitCode::kDone : give_up(args, version, done.error());
  }
  return line->command == Command::kSimulate ? run_simulate(line->simulate)
                                             : run_reading(*line, version);
}

}  // namespace

ExitCode run(const std::vector<std::string>& args, const std::string& version) {
  try {
    try {
      return run_command(args, version);
    } catch (const std::exception& e) {
      return give_up(args, version, error_of(e, ""));
    } catch (...) {
      return give_up(args, version,
                     Error{ErrorCode::kInternal, "internal error",
                           "this is a bug; please report it with the capture"});
    }
  } catch (const std::bad_alloc&) {
    // Not even for saying it in full.
    complain_of_memory();
    return ExitCode::kInputOutput;
  }
}

}  // namespace clockassay
