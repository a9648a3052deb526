// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "app/batch_list.h"
#include "app/capture_reading.h"
#include "app/command_line.h"
#include "app/store.h"
#include "app/thread_pool.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// What all captures of a run are read and judged by.
struct Question {
  ReadingArguments reading;
  std::optional<Specification> specification;  ///< of verify
  ChannelChoice channels;
  Record head;  ///< what every result says, and nothing of a capture
};

/// The head of a result of `measure` or `verify`.
Record new_record(const CommandLine& line, const std::string& version);

/// Reads what the captures are judged by; what of it every result says goes
/// into the record.
Result<Question> load_question(const CommandLine& line, Record& record);

/// The record of one capture by itself. Its errors are in it, and end nothing
/// else.
Record take_capture(const BatchEntry& entry, const Question& question,
                    ThreadPool& pool);

/// Adds the record of one capture to the store, where there is one.
Result<void> keep(const Record& part, std::optional<Store>& store);

}  // namespace clockassay
