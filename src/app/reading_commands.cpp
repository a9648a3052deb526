// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/reading_commands.h"

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <utility>

#include "app/batch_list.h"
#include "app/capture_judging.h"
#include "app/console.h"
#include "app/delivery.h"
#include "app/json_lines.h"
#include "app/picture_files.h"
#include "app/store.h"
#include "app/watch_command.h"
#include "clockassay/analysis/batch.h"
#include "clockassay/report/html_report.h"
#include "clockassay/report/junit_report.h"

namespace clockassay {
namespace {

// A capture up to this size is read by one thread, several side by side: the
// threads of one have little to share out in it. Chosen.
constexpr std::uintmax_t kSmallCapture = std::uintmax_t{64} << 20;

// Judged at once before their lines are written, a thread. Chosen: keeps every
// thread busy, and few results waiting.
constexpr std::size_t kTogether = 8;

// After so many captures what a page shows of them is looked at anew. Chosen:
// their pictures are a few megabytes.
constexpr std::size_t kBetweenDrops = 32;

Result<void> check_paths(const CommandLine& line, const std::string& command,
                         const std::vector<BatchEntry>& entries) {
  std::vector<std::string> inputs;
  for (const BatchEntry& entry : entries) inputs.push_back(entry.path);
  if (line.verify.spec) inputs.push_back(*line.verify.spec);
  if (!line.verify.list.empty()) inputs.push_back(line.verify.list);
  if (line.reading.instrument) inputs.push_back(*line.reading.instrument);
  std::vector<std::string> outputs;
  for (const auto& path :
       {line.reading.json, line.reading.report, line.verify.junit,
        line.verify.json_lines, line.reading.store}) {
    if (path) outputs.push_back(*path);
  }
  add_pictures(line.reading.plots, outputs);
  if (auto checked = check_outputs(inputs, outputs); !checked) return checked;
  return check_pictures(line.reading.plots, command);
}

bool is_small(const std::string& path) {
  std::error_code trouble;
  if (!std::filesystem::is_regular_file(path, trouble)) return false;
  const std::uintmax_t size = std::filesystem::file_size(path, trouble);
  return !trouble && size <= kSmallCapture;
}

/// How many captures from `first` on are judged together.
std::size_t together(const std::vector<BatchEntry>& entries, std::size_t first,
                     std::size_t most) {
  std::size_t last = first;
  while (last < entries.size() && last - first < most &&
         is_small(entries[last].path)) {
    ++last;
  }
  return std::max<std::size_t>(last - first, 1);
}

/// Where the results of single captures go as they come.
struct Outputs {
  Record& record;
  JsonLines& lines;
  std::optional<Store> store;
  bool is_page_alone = false;  ///< pictures go to a page, and nowhere else
};

void take_part(Record part, Outputs& outputs) {
  for (const Error& error : part.errors) complain(error);
  if (outputs.record.summary) count_in(part, *outputs.record.summary);
  // What a line tells is in the store already.
  if (auto kept = keep(part, outputs.store); !kept) {
    add_error(outputs.record, kept.error());
  }
  if (auto written = outputs.lines.write(part); !written) {
    add_error(outputs.record, written.error());
  }
  append_part(std::move(part), outputs.record);
}

void take_all(const std::vector<BatchEntry>& entries, const Question& question,
              std::size_t jobs, Outputs& outputs) {
  ThreadPool pool(jobs);
  Question quiet = question;
  quiet.reading.progress = false;
  std::size_t first = 0;
  std::size_t next_drop = kBetweenDrops;
  while (first < entries.size()) {
    const std::size_t count = together(entries, first, kTogether * jobs);
    std::vector<Record> parts(count);
    if (count == 1) {
      parts[0] = take_capture(entries[first], question, pool);
    } else {
      pool.run(count, [&](std::size_t i) {
        parts[i] = take_capture(entries[first + i], quiet, pool);
      });
    }
    for (Record& part : parts) take_part(std::move(part), outputs);
    first += count;
    if (outputs.is_page_alone && first >= next_drop) {
      drop_unshown_pictures(outputs.record);
      next_drop = first + kBetweenDrops;
    }
  }
}

ExitCode deliver_all(Record& record, const CommandLine& line) {
  if (line.verify.junit) {
    const auto done =
        write_output(*line.verify.junit,
                     junit_report(record, {line.verify.allow_undecided}));
    if (!done) add_error(record, done.error());
  }
  return deliver(record, line.reading, line.verify.allow_undecided,
                 line.verify.json_lines == "-");
}

}  // namespace

ExitCode run_reading(const CommandLine& line, const std::string& version) {
  if (line.verify.watch) return run_watch(line, version);
  Record record = new_record(line, version);
  const auto entries = gather_captures(line.reading.captures, line.verify.list,
                                       line.reading.tags);
  if (!entries) {
    add_error(record, entries.error());
    return deliver_all(record, line);
  }
  if (const auto checked = check_paths(line, record.command, *entries);
      !checked) {
    return refuse_outputs(record, checked.error(), line.reading.json);
  }
  const auto question = load_question(line, record);
  if (!question) {
    add_error(record, question.error());
    return deliver_all(record, line);
  }
  auto lines = JsonLines::open(line.verify.json_lines);
  if (!lines) {
    add_error(record, lines.error());
    return deliver_all(record, line);
  }
  const bool is_batch = entries->size() > 1 || !line.verify.list.empty();
  if (question->specification && is_batch) record.summary.emplace();
  Outputs outputs{record, *lines, std::nullopt,
                  line.reading.report && !line.reading.plots};
  if (line.reading.store) {
    auto store = Store::open(*line.reading.store, StoreUse::kAppend);
    if (!store) {
      add_error(record, store.error());
      return deliver_all(record, line);
    }
    outputs.store.emplace(*std::move(store));
  }
  take_all(*entries, *question, line.reading.jobs.value_or(machine_jobs()),
           outputs);
  if (auto done = lines->commit(); !done) add_error(record, done.error());
  return deliver_all(record, line);
}

}  // namespace clockassay
