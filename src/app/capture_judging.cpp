// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_judging.h"

#include <exception>
#include <utility>
#include <vector>

#include "app/error_of_exception.h"
#include "app/instrument_file.h"
#include "app/judging.h"
#include "app/question_digest.h"
#include "app/taken_at.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/analysis/rows_of.h"

namespace clockassay {
namespace {

// An error ends the capture it is about, not the run.
void judge(const Specification& specification, CaptureResult capture,
           Record& part) {
  auto verdicts = judge_capture(
      specification, capture,
      capture.reference ? capture.reference->timebase : part.timebase);
  part.sources = compare_outputs(specification, capture);
  part.captures.push_back(std::move(capture));
  if (!verdicts) {
    Error error = verdicts.error();
    if (error.path.empty()) error.path = part.captures.back().path;
    part.errors.push_back(std::move(error));
    return;
  }
  part.verdicts = *std::move(verdicts);
}

void take(const BatchEntry& entry, const Question& question, ThreadPool& pool,
          Record& part) {
  Understanding understood;
  auto capture = read_and_analyse(entry.path, question.reading,
                                  question.channels, pool, understood);
  if (!capture) {
    part.errors.push_back(capture.error());
    if (question.reading.explain && !understood.facts.empty()) {
      part.refused.push_back({entry.path, std::move(understood)});
    }
    return;
  }
  capture->tags = entry.tags;
  if (question.specification) {
    judge(*question.specification, *std::move(capture), part);
  } else {
    part.captures.push_back(*std::move(capture));
  }
}

}  // namespace

Record new_record(const CommandLine& line, const std::string& version) {
  Record record;
  record.tool_version = version;
  record.command = line.command == Command::kVerify ? "verify" : "measure";
  record.coverage = line.reading.coverage;
  return record;
}

Record take_capture(const BatchEntry& entry, const Question& question,
                    ThreadPool& pool) {
  Record part = question.head;
  try {
    take(entry, question, pool, part);
  } catch (const std::exception& e) {
    // What ends this capture need not end the others.
    part = question.head;
    part.errors.push_back(error_of(e, entry.path));
  }
  return part;
}

Result<void> keep(const Record& part, std::optional<Store>& store) {
  if (!store || part.captures.empty()) return {};
  const CaptureResult& capture = part.captures.front();
  std::vector<StoredRow> rows =
      rows_of(part, taken_at(capture.path, capture.tags));
  const std::string content = sha1_of_file(capture.path);
  for (StoredRow& row : rows) row.content = content;
  const auto added = store->append(rows);
  if (added) return {};
  Error error = added.error();
  error.message = "the result of " + capture.path + ": " + error.message;
  return tl::unexpected(std::move(error));
}

Result<Question> load_question(const CommandLine& line, Record& record) {
  Question question;
  question.reading = line.reading;
  auto instrument = load_instrument(question.reading);
  if (!instrument) return tl::unexpected(instrument.error());
  record.instrument = *instrument;
  record.timebase = question.reading.timebase.value_or(Timebase{});
  if (question.reading.reference) {
    record.timebase.kind = TimebaseKind::kReference;
  }
  question.channels = {question.reading.channels, false};
  if (line.command == Command::kVerify) {
    auto loaded = load_specification(line.verify, question.reading.channels);
    if (!loaded) return tl::unexpected(loaded.error());
    question.specification = *std::move(loaded);
    const Specification& s = *question.specification;
    record.title = s.title;
    // That an expected clock is missing is a verdict, not an error.
    question.channels = {channels_of(s), true, settling_of(s), expected_of(s)};
  }
  question.head = record;
  return question;
}

}  // namespace clockassay
