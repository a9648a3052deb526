// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/command_line.h"
#include "app/exit_codes.h"
#include "clockassay/analysis/record.h"

namespace clockassay {

/// Writes a file, whole or not at all; "-" is standard output.
/// Errors: kCannotCreate, kWriteFailed.
Result<void> write_output(const std::string& path, const std::string& text);

/// Records an error and tells the user at once.
void add_error(Record& record, Error error);

/// Errors: kUsage when an output is also an input, or two outputs are one file.
Result<void> check_outputs(const std::vector<std::string>& inputs,
                           const std::vector<std::string>& outputs);

/// Adds what is in a folder of --plots and would be replaced or removed.
void add_pictures(const std::optional<std::string>& folder,
                  std::vector<std::string>& outputs);

/// Writes the record where the user wants it: as JSON, and as text unless JSON
/// takes standard output. Errors on the way go into the record.
/// Out: the exit code of the run.
/// In:  is_taken  standard output is taken by something else
ExitCode deliver(Record& record, const ReadingArguments& arguments,
                 bool allow_undecided, bool is_taken = false);

/// The errors of a run that came to nothing else, as JSON on standard output.
void print_errors_as_json(const Record& record);

/// Ends a run whose outputs cannot be what they are named: nothing is written
/// to them; JSON goes to standard output, if that is where it was asked for.
/// Out: the exit code of the run
ExitCode refuse_outputs(Record& record, const Error& error,
                        const std::optional<std::string>& json);

}  // namespace clockassay
