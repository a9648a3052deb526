// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/exit_codes.h"

#include <algorithm>
#include <cassert>
#include <iterator>
#include <optional>

namespace clockassay {
namespace {

// Rank of a fail; errors below it come after, errors above it before.
constexpr int kFailRank = 1;

struct Row {
  ErrorCode error;
  ExitCode exit;
  int rank;
};

// The one table from kinds of error to exit codes.
constexpr Row kRows[] = {
    {ErrorCode::kUsage, ExitCode::kUsage, 0},
    {ErrorCode::kBadData, ExitCode::kBadData, 0},
    {ErrorCode::kNoInput, ExitCode::kNoInput, 0},
    {ErrorCode::kReadFailed, ExitCode::kInputOutput, 0},
    {ErrorCode::kNoMemory, ExitCode::kInputOutput, 0},
    {ErrorCode::kCannotCreate, ExitCode::kCannotCreate, 2},
    {ErrorCode::kWriteFailed, ExitCode::kInputOutput, 2},
    {ErrorCode::kBadSpec, ExitCode::kBadSpec, 0},
    {ErrorCode::kTooFewEdges, ExitCode::kBadData, 0},
    {ErrorCode::kOutOfRange, ExitCode::kBadData, 0},
    {ErrorCode::kInternal, ExitCode::kInternal, 3},
};

constexpr ExitMeaning kMeanings[] = {
    {ExitCode::kDone, "done; of verdicts: everything conforms"},
    {ExitCode::kFail, "at least one verdict is fail"},
    {ExitCode::kUndecided, "none is fail, at least one undecided"},
    {ExitCode::kUsage, "the command line is wrong"},
    {ExitCode::kBadData, "a capture or a series cannot be used as data"},
    {ExitCode::kNoInput, "an input cannot be opened"},
    {ExitCode::kInternal, "a bug of ours"},
    {ExitCode::kCannotCreate, "an output cannot be created"},
    {ExitCode::kInputOutput, "a read or a write failed, or memory ran out"},
    {ExitCode::kBadSpec, "the specification or instrument file is wrong"},
};

const Row& row_of(ErrorCode code) {
  const auto* row =
      std::find_if(std::begin(kRows), std::end(kRows),
                   [code](const Row& r) { return r.error == code; });
  assert(row != std::end(kRows));
  return *row;
}

bool any(const Record& record, Decision decision) {
  const auto is_it = [decision](const auto& judged) {
    return judged.decision == decision;
  };
  if (std::any_of(record.verdicts.begin(), record.verdicts.end(), is_it)) {
    return true;
  }
  return record.comparison &&
         std::any_of(record.comparison->shifts.begin(),
                     record.comparison->shifts.end(), is_it);
}

}  // namespace

std::span<const ExitMeaning> exit_meanings() {
  return kMeanings;
}

ExitCode exit_code(ErrorCode code) {
  return row_of(code).exit;
}

ExitCode exit_code(const Record& record, bool allow_undecided) {
  const bool failed = any(record, Decision::kFail);
  std::optional<Row> worst;
  for (const Error& e : record.errors) {
    const Row& row = row_of(e.code);
    if (!worst || row.rank > worst->rank) worst = row;
  }
  if (worst && (!failed || worst->rank > kFailRank)) return worst->exit;
  if (failed) return ExitCode::kFail;
  const bool undecided = any(record, Decision::kUndecided);
  return undecided && !allow_undecided ? ExitCode::kUndecided : ExitCode::kDone;
}

}  // namespace clockassay
