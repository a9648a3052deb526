// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/batch.h"

#include <algorithm>
#include <iterator>
#include <utility>

namespace clockassay {
namespace {

template <class T>
void append(std::vector<T> from, std::vector<T>& to) {
  std::move(from.begin(), from.end(), std::back_inserter(to));
}

bool has(const Record& part, Decision decision) {
  return std::any_of(
      part.verdicts.begin(), part.verdicts.end(),
      [decision](const Verdict& v) { return v.decision == decision; });
}

}  // namespace

void count_in(const Record& part, BatchSummary& summary) {
  ++summary.captures;
  if (has(part, Decision::kFail)) {
    ++summary.fail;
  } else if (!part.errors.empty() || part.verdicts.empty()) {
    ++summary.unusable;
  } else if (has(part, Decision::kUndecided)) {
    ++summary.undecided;
  } else {
    ++summary.pass;
  }
}

void append_part(Record part, Record& whole) {
  append(std::move(part.captures), whole.captures);
  append(std::move(part.refused), whole.refused);
  append(std::move(part.sources), whole.sources);
  append(std::move(part.verdicts), whole.verdicts);
  append(std::move(part.errors), whole.errors);
}

}  // namespace clockassay
