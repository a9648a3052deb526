// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/warning.h"

#include <doctest/doctest.h>

#include <set>
#include <string>

#include "clockassay/base/result.h"

namespace clockassay {
namespace {

bool is_snake_case(const std::string& name) {
  return !name.empty() && name.front() != '_' && name.back() != '_' &&
         name.find("__") == std::string::npos &&
         name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_") ==
             std::string::npos;
}

// The last code; a code added after it must move this line.
constexpr int kCodes = static_cast<int>(WarningCode::kTauLeftOut) + 1;

TEST_CASE("warning table: every code has its own row") {
  for (int i = 0; i < kCodes; ++i) {
    const auto code = static_cast<WarningCode>(i);
    CAPTURE(i);
    CHECK(warning_info(code).code == code);
  }
}

TEST_CASE("warning table: names are unique and snake_case") {
  std::set<std::string> names;
  for (int i = 0; i < kCodes; ++i) {
    const std::string name = warning_info(static_cast<WarningCode>(i)).name;
    CAPTURE(name);
    CHECK(is_snake_case(name));
    CHECK(names.insert(name).second);
  }
}

TEST_CASE("forbids_pass: one warning that could flip the result is enough") {
  CHECK_FALSE(forbids_pass({}));
  CHECK_FALSE(forbids_pass({{WarningCode::kTimebaseAssumed, ""},
                            {WarningCode::kEdgesRepaired, ""}}));
  CHECK(forbids_pass(
      {{WarningCode::kTimebaseAssumed, ""}, {WarningCode::kUndersampled, ""}}));
  // What a verdict must never overlook, named one by one.
  for (WarningCode code :
       {WarningCode::kSpectralDisagrees, WarningCode::kUndersampled,
        WarningCode::kRepairDoubtful, WarningCode::kSamplingContradicted,
        WarningCode::kTimescaleMissing, WarningCode::kClockStopped,
        WarningCode::kTextCoarse, WarningCode::kAliasCandidate,
        WarningCode::kReferenceContradicts, WarningCode::kReferenceDoubtful}) {
    CAPTURE(warning_info(code).name);
    CHECK(warning_info(code).forbids_pass);
  }
}

TEST_CASE("forbids_fail: only what puts the reading in doubt, not the clock") {
  CHECK_FALSE(forbids_fail({}));
  CHECK_FALSE(forbids_fail(
      {{WarningCode::kUndersampled, ""}, {WarningCode::kClockStopped, ""}}));
  CHECK(forbids_fail({{WarningCode::kSpectralDisagrees, ""}}));
  CHECK(forbids_fail(
      {{WarningCode::kUndersampled, ""}, {WarningCode::kTextCoarse, ""}}));
  CHECK(forbids_fail({{WarningCode::kRepairDoubtful, ""}}));
  CHECK(forbids_fail({{WarningCode::kNarrowPulses, ""}}));
  CHECK(forbids_fail({{WarningCode::kReferenceContradicts, ""}}));
  CHECK(forbids_fail({{WarningCode::kReferenceDoubtful, ""}}));
  CHECK_FALSE(forbids_fail({{WarningCode::kReferenceAssumed, ""},
                            {WarningCode::kReferenceCommensurate, ""},
                            {WarningCode::kTimebaseWanders, ""}}));
  for (int i = 0; i < kCodes; ++i) {
    const WarningInfo& info = warning_info(static_cast<WarningCode>(i));
    CAPTURE(info.name);
    // Who doubts a fail doubts a pass as well.
    CHECK((info.forbids_pass || !info.forbids_fail));
  }
}

TEST_CASE("error_code_name: every code has its own snake_case name") {
  std::set<std::string> names;
  for (int i = 0; i <= static_cast<int>(ErrorCode::kInternal); ++i) {
    const std::string name = error_code_name(static_cast<ErrorCode>(i));
    CAPTURE(name);
    CHECK(is_snake_case(name));
    CHECK(names.insert(name).second);
  }
}

}  // namespace
}  // namespace clockassay
