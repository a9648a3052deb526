// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watch_command.h"

#include <algorithm>
#include <csignal>
#include <ctime>
#include <map>
#include <utility>

#include "app/capture_judging.h"
#include "app/console.h"
#include "app/delivery.h"
#include "app/question_digest.h"
#include "app/watch_ledger.h"
#include "app/watched_folder.h"
#include "clockassay/analysis/batch.h"
#include "clockassay/report/report.h"

namespace clockassay {
namespace {

// How often the folder is looked at, and how long a file has to stay as it is.
// Chosen: copies over a network pause for less.
constexpr double kLookEvery = 0.5;  // s
constexpr double kQuiet = 2.0;      // s

volatile std::sig_atomic_t told_to_end = 0;

void end_watching(int /*signal*/) {
  told_to_end = 1;
}

// Without restarting what is waited for, so that waiting ends at once.
void listen_for_the_end() {
  struct sigaction action {};
  action.sa_handler = end_watching;
  sigemptyset(&action.sa_mask);
  sigaction(SIGTERM, &action, nullptr);
  sigaction(SIGINT, &action, nullptr);
  // Sent where somebody opens a file for writing just as it is looked at.
  std::signal(SIGIO, SIG_IGN);
}

void wait_a_while() {
  constexpr double kNano = 1e9;
  const timespec time{0, static_cast<long>(kLookEvery * kNano)};
  nanosleep(&time, nullptr);
}

/// The line of a verdict, or of an error, at once.
Result<void> say(const Record& part, const ReadingArguments& reading) {
  TextOptions options;
  options.color = wants_color(reading.color);
  options.quiet = true;
  options.bare = true;
  const auto text = text_report(part, options);
  return text ? print(*text) : tl::unexpected(text.error());
}

/// What a run of a watcher goes by.
struct Watch {
  const Question& question;
  std::string digest;  ///< of the question
  WatchedFolder folder;
  WatchLedger ledger;
  std::optional<Store> store;
  ThreadPool pool;
  /// Complained of once, and tried again at every look; at the end an error.
  std::map<std::string, Error> unreadable = {};
};

// What could not be read is not judged: it may be readable later.
bool is_unread(const Record& part) {
  return std::any_of(part.errors.begin(), part.errors.end(),
                     [](const Error& e) {
                       return e.code == ErrorCode::kNoInput ||
                              e.code == ErrorCode::kReadFailed ||
                              e.code == ErrorCode::kNoMemory;
                     });
}

bool is_known(const Record& record, Decision decision) {
  return std::any_of(
      record.verdicts.begin(), record.verdicts.end(),
      [decision](const Verdict& v) { return v.decision == decision; });
}

void complain_of(const Record& part) {
  for (const Error& error : part.errors) complain(error);
}

/// Judges one capture, and counts it as done when all of it is written.
Result<void> judge(const WatchedFile& file, Watch& watch, Record& record) {
  Record part =
      take_capture({watch.folder.path_of(file), watch.question.reading.tags},
                   watch.question, watch.pool);
  // What went on being written was half a capture.
  if (!watch.folder.is_unchanged(file)) return {};
  if (is_unread(part)) {
    const Error& error = part.errors.front();
    if (watch.unreadable.emplace(file.name, error).second) complain_of(part);
    return {};
  }
  watch.unreadable.erase(file.name);
  part.watched = file;
  part.watched->question = watch.digest;
  complain_of(part);
  if (auto kept = keep(part, watch.store); !kept) return kept;
  if (auto added = watch.ledger.add(part); !added) return added;
  count_in(part, *record.summary);
  if (auto said = say(part, watch.question.reading); !said) return said;
  // For the exit code; nobody asks for the rest again, and there may be much.
  for (const Verdict& v : part.verdicts) {
    Verdict bare;
    bare.decision = v.decision;
    if (!is_known(record, v.decision)) record.verdicts.push_back(bare);
  }
  if (record.errors.empty()) record.errors = part.errors;
  return {};
}

Result<void> watch_on(Watch& watch, Record& record) {
  const auto is_done = [&watch](const WatchedFile& file) {
    return watch.ledger.has(file);
  };
  while (told_to_end == 0) {
    const auto files = watch.folder.complete(kQuiet, is_done);
    if (!files) return tl::unexpected(files.error());
    for (const WatchedFile& file : *files) {
      if (told_to_end != 0) break;
      if (auto done = judge(file, watch, record); !done) return done;
    }
    if (told_to_end == 0) wait_a_while();
  }
  return {};
}

Result<void> check_paths(const CommandLine& line) {
  std::vector<std::string> inputs;
  if (line.verify.spec) inputs.push_back(*line.verify.spec);
  if (line.reading.instrument) inputs.push_back(*line.reading.instrument);
  std::vector<std::string> outputs = {*line.verify.json_lines};
  if (line.reading.store) outputs.push_back(*line.reading.store);
  return check_outputs(inputs, outputs);
}

Result<void> run(const CommandLine& line, Record& record) {
  auto question = load_question(line, record);
  if (!question) return tl::unexpected(question.error());
  question->reading.progress = false;
  record.summary.emplace();  // of all, and not of each
  const auto digest = digest_of_question(line);
  if (!digest) return tl::unexpected(digest.error());
  auto ledger = WatchLedger::open(*line.verify.json_lines, *digest);
  if (!ledger) return tl::unexpected(ledger.error());
  Watch watch{
      *question,
      *digest,
      WatchedFolder(*line.verify.watch,
                    {*line.verify.json_lines, line.reading.store.value_or("")}),
      *std::move(ledger),
      std::nullopt,
      ThreadPool(line.reading.jobs.value_or(machine_jobs()))};
  if (line.reading.store) {
    auto store = Store::open(*line.reading.store, StoreUse::kAppend);
    if (!store) return tl::unexpected(store.error());
    watch.store.emplace(*std::move(store));
  }
  listen_for_the_end();
  const auto done = watch_on(watch, record);
  for (const auto& [name, error] : watch.unreadable) {
    record.errors.push_back(error);
  }
  return done;
}

}  // namespace

ExitCode run_watch(const CommandLine& line, const std::string& version) {
  Record record = new_record(line, version);
  if (const auto checked = check_paths(line); !checked) {
    add_error(record, checked.error());
    return exit_code(checked.error().code);
  }
  if (auto done = run(line, record); !done) add_error(record, done.error());
  return exit_code(record, line.verify.allow_undecided);
}

}  // namespace clockassay
