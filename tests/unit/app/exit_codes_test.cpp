// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/exit_codes.h"

#include <doctest/doctest.h>

#include <vector>

using namespace clockassay;

namespace {

Record record_of(const std::vector<Decision>& decisions,
                 const std::vector<ErrorCode>& errors) {
  Record record;
  for (const Decision decision : decisions) {
    record.verdicts.emplace_back().decision = decision;
  }
  for (const ErrorCode code : errors) record.errors.push_back({code, ""});
  return record;
}

int code_of(const std::vector<Decision>& decisions,
            const std::vector<ErrorCode>& errors,
            bool allow_undecided = false) {
  return static_cast<int>(
      exit_code(record_of(decisions, errors), allow_undecided));
}

constexpr Decision kPass = Decision::kPass;
constexpr Decision kFail = Decision::kFail;
constexpr Decision kUndecided = Decision::kUndecided;

}  // namespace

TEST_CASE("exit_code: every error has the code scripts rely on") {
  CHECK(static_cast<int>(exit_code(ErrorCode::kUsage)) == 64);
  CHECK(static_cast<int>(exit_code(ErrorCode::kBadData)) == 65);
  CHECK(static_cast<int>(exit_code(ErrorCode::kNoInput)) == 66);
  CHECK(static_cast<int>(exit_code(ErrorCode::kReadFailed)) == 74);
  CHECK(static_cast<int>(exit_code(ErrorCode::kCannotCreate)) == 73);
  CHECK(static_cast<int>(exit_code(ErrorCode::kWriteFailed)) == 74);
  CHECK(static_cast<int>(exit_code(ErrorCode::kBadSpec)) == 78);
  CHECK(static_cast<int>(exit_code(ErrorCode::kTooFewEdges)) == 65);
  CHECK(static_cast<int>(exit_code(ErrorCode::kOutOfRange)) == 65);
  CHECK(static_cast<int>(exit_code(ErrorCode::kNoMemory)) == 74);
  CHECK(static_cast<int>(exit_code(ErrorCode::kInternal)) == 70);
}

TEST_CASE("exit_code: the worst verdict counts") {
  CHECK(code_of({}, {}) == 0);
  CHECK(code_of({kPass, kPass}, {}) == 0);
  CHECK(code_of({kPass, kUndecided}, {}) == 2);
  CHECK(code_of({kUndecided, kFail, kPass}, {}) == 1);
}

TEST_CASE("exit_code: --allow-undecided forgives undecided alone") {
  CHECK(code_of({kPass, kUndecided}, {}, true) == 0);
  CHECK(code_of({kFail, kUndecided}, {}, true) == 1);
  CHECK(code_of({kUndecided}, {ErrorCode::kBadData}, true) == 65);
}

TEST_CASE("exit_code: 70, then 1, then 65 and 66, then 2, then 0") {
  CHECK(code_of({kFail}, {ErrorCode::kBadData, ErrorCode::kInternal}) == 70);
  CHECK(code_of({kFail, kPass}, {ErrorCode::kBadData}) == 1);
  CHECK(code_of({kPass}, {ErrorCode::kBadData, ErrorCode::kNoInput}) == 65);
  CHECK(code_of({kPass}, {ErrorCode::kNoInput, ErrorCode::kBadData}) == 66);
  CHECK(code_of({kUndecided}, {ErrorCode::kNoInput}) == 66);
}

TEST_CASE("exit_code: an output that was lost outranks what it said") {
  CHECK(code_of({kPass}, {ErrorCode::kWriteFailed}) == 74);
  CHECK(code_of({kFail}, {ErrorCode::kWriteFailed}) == 74);
  CHECK(code_of({kFail}, {ErrorCode::kBadData, ErrorCode::kCannotCreate}) ==
        73);
  CHECK(code_of({kFail}, {ErrorCode::kReadFailed}) == 1);
}
