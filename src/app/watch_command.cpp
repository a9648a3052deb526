// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watch_command.h"

#include <csignal>
#include <ctime>
#include <utility>

#include "app/capture_judging.h"
#include "app/console.h"
#include "app/delivery.h"
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
  WatchedFolder folder;
  WatchLedger ledger;
  std::optional<Store> store;
  ThreadPool pool;
};

/// Judges one capture, and counts it as done when all of it is written.
Result<void> judge(const WatchedFile& file, Watch& watch, Record& record) {
  Record part =
      take_capture({watch.folder.path_of(file), watch.question.reading.tags},
                   watch.question, watch.pool);
  part.watched = file;
  for (const Error& error : part.errors) complain(error);
  if (auto kept = keep(part, watch.store); !kept) return kept;
  if (auto added = watch.ledger.add(part); !added) return added;
  count_in(part, *record.summary);
  if (auto said = say(part, watch.question.reading); !said) return said;
  // Nobody asks for the captures again, and there may be many.
  part.captures.clear();
  append_part(std::move(part), record);
  return {};
}

Result<void> watch_on(Watch& watch, Record& record) {
  while (told_to_end == 0) {
    const auto files = watch.folder.complete(kQuiet);
    if (!files) return tl::unexpected(files.error());
    for (const WatchedFile& file : *files) {
      if (told_to_end != 0) break;
      if (watch.ledger.has(file)) continue;
      if (auto done = judge(file, watch, record); !done) return done;
    }
    if (told_to_end == 0) wait_a_while();
  }
  return {};
}

Result<void> run(const CommandLine& line, Record& record) {
  auto question = load_question(line, record);
  if (!question) return tl::unexpected(question.error());
  question->reading.progress = false;
  record.summary.emplace();  // of all, and not of each
  auto ledger = WatchLedger::open(*line.verify.json_lines);
  if (!ledger) return tl::unexpected(ledger.error());
  Watch watch{*question, WatchedFolder(*line.verify.watch), *std::move(ledger),
              std::nullopt,
              ThreadPool(line.reading.jobs.value_or(machine_jobs()))};
  if (line.reading.store) {
    auto store = Store::open(*line.reading.store, true);
    if (!store) return tl::unexpected(store.error());
    watch.store.emplace(*std::move(store));
  }
  listen_for_the_end();
  return watch_on(watch, record);
}

}  // namespace

ExitCode run_watch(const CommandLine& line, const std::string& version) {
  Record record = new_record(line, version);
  if (auto done = run(line, record); !done) add_error(record, done.error());
  return exit_code(record, line.verify.allow_undecided);
}

}  // namespace clockassay
