// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/batch.h"

#include <doctest/doctest.h>

namespace clockassay {
namespace {

Record with(std::vector<Decision> decisions, std::size_t errors = 0) {
  Record part;
  for (const Decision d : decisions) {
    part.verdicts.emplace_back();
    part.verdicts.back().decision = d;
  }
  part.errors.resize(errors);
  return part;
}

}  // namespace

TEST_CASE("count_in: a capture counts once, by the worst of its verdicts") {
  BatchSummary s;
  count_in(with({Decision::kPass, Decision::kPass}), s);
  CHECK(s.pass == 1);
  count_in(with({Decision::kPass, Decision::kUndecided}), s);
  CHECK(s.undecided == 1);
  count_in(with({Decision::kUndecided, Decision::kFail}), s);
  CHECK(s.fail == 1);
  count_in(with({}), s);
  count_in(with({}, 1), s);
  // Nothing passes that could not be judged whole.
  count_in(with({Decision::kPass}, 1), s);
  CHECK(s.unusable == 3);
  // A fail is one, whatever else went wrong: so says the exit code.
  count_in(with({Decision::kFail}, 1), s);
  CHECK(s.fail == 2);
  CHECK(s.captures == 7);
  CHECK(s.pass + s.fail + s.undecided + s.unusable == s.captures);
}

TEST_CASE("append_part: everything of a capture, in order") {
  Record whole = with({Decision::kPass}, 1);
  whole.title = "all";
  Record part = with({Decision::kFail}, 2);
  part.captures.resize(1);
  part.sources.resize(1);
  part.refused.resize(1);
  append_part(std::move(part), whole);
  CHECK(whole.verdicts.size() == 2);
  CHECK(whole.verdicts[1].decision == Decision::kFail);
  CHECK(whole.errors.size() == 3);
  CHECK(whole.captures.size() == 1);
  CHECK(whole.sources.size() == 1);
  CHECK(whole.refused.size() == 1);
  CHECK(whole.title == "all");
}

}  // namespace clockassay
